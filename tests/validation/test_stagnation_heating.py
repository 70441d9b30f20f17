"""Heat flux at the stagnation point of a 10 mm sphere in flight, and the velocity gradient there.

Source: Fay & Riddell 1958, J. Aero. Sci. 25, 73, Lewis term zero, worked with constant cp and a 300 K wall;
gradient: Crawford & McCauley 1957, NACA Report 1323 (supersonic), potential flow round a sphere (at rest).
Tolerance: 0.05 % on flux and film, whose worked figures have four digits, 0.2 % where one has three; 1e-3 on
the gradient.
"""

import numpy as np
import pytest

from optitip.heating.edge import edge_state, gradient_factor
from optitip.heating.stagnation import stagnation_film
from optitip.heating.stream import stations_of, stream_of
from optitip.properties.air import CALORIC_AIR as GAS


def film_and_flux(mach, *, temperature, pressure, tip_radius=0.01, wall=300.0):
    """Return the film coefficient and the heat flux at the stagnation point."""
    tip = stations_of(arc_length=[0.0], radius=[0.0], slope=[0.5 * np.pi], tip_radius=tip_radius)
    speed = mach * GAS.sound_speed([temperature])
    stream = stream_of(speed=speed, temperature=[temperature], pressure=[pressure], gas=GAS)
    edge = edge_state(stream, stations=tip, gas=GAS)
    film = float(stagnation_film(stream, edge=edge, wall=[wall], gas=GAS)[0, 0])
    return film, film * (float(GAS.temperature(stream.total_enthalpy)[0]) - wall)


def test_mach_3_at_10_km():
    film, flux = film_and_flux(3.0, temperature=223.252, pressure=26499.9)
    assert film == pytest.approx(1712.0, rel=5e-4)
    assert flux == pytest.approx(0.5565e6, rel=5e-4)


def test_mach_2_at_5_km():
    film, flux = film_and_flux(2.0, temperature=255.676, pressure=54048.3)
    assert film == pytest.approx(1569.0, rel=5e-4)
    assert flux == pytest.approx(0.251e6, rel=2e-3)


def test_a_wall_hotter_than_the_air_is_cooled():
    _, flux = film_and_flux(2.0, temperature=255.676, pressure=54048.3, wall=600.0)
    assert flux < 0.0


def test_the_film_goes_with_one_over_the_root_of_the_radius():
    large = film_and_flux(3.0, temperature=223.252, pressure=26499.9, tip_radius=0.04)[0]
    small = film_and_flux(3.0, temperature=223.252, pressure=26499.9, tip_radius=0.01)[0]
    assert small / large == pytest.approx(2.0, rel=1e-9)


@pytest.mark.parametrize("mach", [1.2, 2.0, 3.0, 5.0])
def test_the_supersonic_gradient_is_newtons(mach):
    # (Rn/V) sqrt(2 (pt2 - p)/rho0), straight from the Rayleigh pitot formula
    pitot = (1.2 * mach**2) ** 3.5 * (6.0 / (7.0 * mach**2 - 1.0)) ** 2.5
    density_ratio = pitot / (1.0 + 0.2 * mach**2)
    expected = np.sqrt(2.0 * (pitot - 1.0) / (1.4 * mach**2 * density_ratio))
    assert gradient_factor(mach) == pytest.approx(expected, rel=1e-3)


def test_the_gradient_at_low_speed_is_that_of_potential_flow():
    assert gradient_factor(0.01) == pytest.approx(1.5, rel=1e-3)
