"""Which way the wall's thickness moves the energy: a lumped wall on a slab of plain cells, marched by scipy.

Source: lumped capacity, rho c t dT/dt = h (Tr - T) - g (T - Ts) (Incropera & DeWitt, Fundamentals of Heat and
Mass Transfer, chapter 5, from memory), with the film and recovery temperature of the pocket's middle and
handbook properties written again; nothing along the wall, no radiation. Where the air stays hot to the end a
thicker wall only lags, and less gets in; on a flight that is fast for some seconds and then cooled by its own
air, a thicker wall keeps more of the heat to hand on. Tolerance: none on the sign; a factor of three on the
size, since the lumped wall has neither plug nor base to share its heat with (found: 2.5 and 0.8).
"""

from pathlib import Path

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from optitip.evaluate.exposed import exposed, values_at
from optitip.evaluate.tolerances import ENERGY, tolerances
from optitip.inputs.study import read_study

STUDIES = Path(__file__).parents[2] / "studies"
METAL = 2700.0 * 900.0  # [J/(m3 K)] 6061
SLAB = 1030.0 * 3900.0  # [J/(m3 K)] egg white, Choi & Okos
CONDUCTIVITY = 0.57  # [W/(m K)]
JOINT = 400.0  # [W/(m2 K)]
CELLS = 30


def lumped_peak(study, *, thickness):
    """Return the highest heat a square metre of the slab holds over its start [J/m2]."""
    shown = exposed(study)
    heating = shown.heatings[shown.expected]
    middle = np.array([0.5 * sum(shown.pocket)])
    recovery = values_at(heating.recovery, heating=heating, time=heating.time, arc_length=middle)[:, 0]
    films = [
        values_at(heating.film[..., k], heating=heating, time=heating.time, arc_length=middle)[:, 0]
        for k in range(heating.wall.size)
    ]
    cell = 3e-3 / CELLS

    def rates(time, temperature):
        wall, slab = temperature[0], temperature[1:]
        film = np.interp(wall, heating.wall, [np.interp(time, heating.time, one) for one in films])
        into = (wall - slab[0]) / (1.0 / JOINT + 0.5 * cell / CONDUCTIVITY)
        flux = np.concatenate([[into], CONDUCTIVITY * (slab[:-1] - slab[1:]) / cell, [0.0]])
        warming = (film * (np.interp(time, heating.time, recovery) - wall) - into) / (METAL * thickness)
        return np.concatenate([[warming], (flux[:-1] - flux[1:]) / (SLAB * cell)])

    start = np.full(CELLS + 1, shown.wall)
    span = (float(heating.time[0]), min(float(heating.time[-1]), 120.0))
    found = solve_ivp(rates, span, start, method="BDF", rtol=1e-7, atol=1e-6, max_step=0.5)
    return float((SLAB * cell * (found.y[1:] - shown.wall).sum(axis=0)).max())


@pytest.mark.parametrize(("name", "sign"), [("coastal-egg", 1.0), ("heated-rig", -1.0)])
def test_a_thicker_wall_brings_more_on_a_flight_and_less_on_a_rig(name, sign):
    study = read_study(STUDIES / name)
    wall = next(one for one in tolerances(study).levers if one.name == "wall")
    thin, thick = (end.figures[ENERGY] for end in wall.ends)
    lumped = [lumped_peak(study, thickness=t) for t in (1.15e-3, 1.25e-3)]
    assert sign * (thick - thin) > 0.0
    assert sign * (lumped[1] - lumped[0]) > 0.0
    ratio = (lumped[1] / lumped[0] - 1.0) / (thick / thin - 1.0)
    assert 1.0 / 3.0 < ratio < 3.0
