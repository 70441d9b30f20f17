"""Conductivity and heat capacity with corners and tenfold changes, against a fine march of another kind.

The reference takes temperature for its unknown and the conductivity midway between two nodes, in 400 cells of
one size, marched by scipy's LSODA: no enthalpy, no Kirchhoff, no table. Its own error, from 200 cells, is
asserted.
Tolerance: 0.1 % of the heat, of the rise of the temperature at each depth.
"""

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from optitip.solvers.march import march

DEPTH, START, RECOVERY, FILM, SECONDS = 4e-3, 300.0, 900.0, 3000.0, 4.0
CORNERS_K = (np.array([300.0, 380.15, 400.15, 600.15, 900.0]), np.array([0.4, 4.0, 0.6, 0.4, 3.0]))
CORNERS_C = (np.array([300.0, 350.15, 360.15, 520.15, 530.15]), np.array([1e6, 1e7, 2e6, 4e6, 1e6]))
PROBES = np.array([0.0, 0.5e-3, 1e-3, 2e-3, 4e-3])


def _conductivity(temperature):
    return np.interp(temperature, *CORNERS_K)


def _capacity(temperature):
    return np.interp(temperature, *CORNERS_C)


def _reference(cells):
    """Return the temperatures at the probes and the heat that entered [J/m2]."""
    width = DEPTH / cells
    share = np.full(cells + 1, width)
    share[[0, -1]] *= 0.5

    def rate(_, t):
        flux = np.zeros(cells + 2)
        flux[0] = FILM * (RECOVERY - t[0])
        flux[1:-1] = _conductivity(0.5 * (t[1:] + t[:-1])) * (t[:-1] - t[1:]) / width
        return (flux[:-1] - flux[1:]) / (share * _capacity(t))

    begin = np.full(cells + 1, START)
    banded = {"method": "LSODA", "lband": 1, "uband": 1, "rtol": 1e-7, "atol": 1e-5}
    final = solve_ivp(rate, (0.0, SECONDS), begin, **banded).y[:, -1]
    fine = np.linspace(START, RECOVERY, 60_001)
    stored = np.append(0.0, np.cumsum(np.diff(fine) * _capacity(0.5 * (fine[1:] + fine[:-1]))))
    heat = share @ np.interp(final, fine, stored)
    return np.interp(PROBES, np.linspace(0.0, DEPTH, cells + 1), final), heat


def test_corners_and_tenfold_changes_march_as_finely_resolved(column, solid, surface):
    table = solid(_conductivity, heat_capacity=_capacity)
    slab = column((DEPTH * np.linspace(0.0, 1.0, 81) ** 1.3, table))
    face = surface(slab.near, area=slab.area, film=FILM, recovery=RECOVERY)
    history = march(slab.model, surface=face, start=START, end_time=SECONDS, tolerance=0.05)
    coarse, fine = _reference(200), _reference(400)
    rise = fine[0] - START
    assert rise.max() > 450.0
    assert coarse[1] == pytest.approx(fine[1], rel=1e-3)
    assert np.abs(coarse[0] - fine[0]) == pytest.approx(0.0, abs=1e-3 * rise.max())
    assert history.convected[-1] == pytest.approx(fine[1], rel=1e-3)
    depth = slab.body.points[slab.layers[0], 1]
    found = np.interp(PROBES, depth, history.temperature[-1, slab.layers[0]])
    assert np.abs(found - fine[0]) == pytest.approx(0.0, abs=1e-3 * rise.max())
