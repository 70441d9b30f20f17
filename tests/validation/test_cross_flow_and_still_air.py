"""A cylinder across a stream and a horizontal pipe in still air.

Source: Incropera & DeWitt, Fundamentals of Heat and Mass Transfer, examples 7.4 (12.7 mm at 128.4 C across
10 m/s at 26.2 C: 96 W/(m2 K) by Churchill & Bernstein) and 9.4 (0.1 m pipe of emissivity 0.85 at 165 C in a
room at 23 C: 763 W/m, convection by Churchill & Chu and radiation together); both from memory.
Tolerance: 2 %, which covers the book's air against the viscosity and Prandtl number used here.
"""

import math

import pytest

from optitip.heating.descent import cross_flow_film, still_air_film
from optitip.properties.air import AIR


def test_the_cylinder_across_the_stream():
    film = cross_flow_film(
        [10.0], temperature=[299.35], pressure=[101325.0], diameter=[0.0127], wall=[401.55], gas=AIR
    )
    assert film[0, 0, 0] == pytest.approx(96.0, rel=0.02)


def test_the_pipe_in_still_air():
    film = still_air_film([296.15], pressure=[101325.0], diameter=0.1, wall=[438.15], gas=AIR)
    radiated = 0.85 * 5.670374e-8 * (438.15**4 - 296.15**4)
    loss = math.pi * 0.1 * (film[0, 0] * (438.15 - 296.15) + radiated)
    assert loss == pytest.approx(763.0, rel=0.02)
