"""A thin truncated cone under pressure from outside, and a thick ball under pressure inside.

Source: membrane theory of shells of revolution (Timoshenko & Woinowsky-Krieger, Theory of Plates and Shells,
from memory): a cone of half angle a and wall t, at the radius r of its middle, under p outside: hoop
-p r/(t cos a); along it, closed at its apex, -p r/(2 t cos a). Cut open at the radius r_0 it lacks what
pushed on the cap, by the balance of forces along the axis: -p (r^2 - r_0^2)/(2 r t cos a). Ball: Lame's
hollow sphere (Timoshenko & Goodier, Theory of Elasticity): a 20 mm, b 40 mm, p 10 MPa inside: hoop
p (2 a^3 + b^3)/(2 (b^3 - a^3)) = 7.1429 MPa at the inside, 3 p a^3/(2 (b^3 - a^3)) = 2.1429 MPa outside.
Tolerance: 0.5 % of the cone's largest membrane stress away from its ends (its wall is 1/60 of its radius and
pressed on its outside: r there is larger by t/2, corrected in the balance), 0.5 % of the ball's stress.
"""

import numpy as np
import pytest

from optitip.solvers.elastic_lines import wall_stress

HALF_ANGLE = np.radians(15.0)
WALL = 0.5e-3
PRESSURE = 1e6


@pytest.fixture
def cone(solve_lattice, elastic):
    along = np.linspace(0.0, 0.12, 121)[:, None]
    depth = WALL * np.linspace(0.0, 1.0, 5)[None, :]
    sin, cos = np.sin(HALF_ANGLE), np.cos(HALF_ANGLE)
    lattice = np.stack((0.02 + along * sin - depth * cos, along * cos + depth * sin), axis=-1)
    shell = solve_lattice(lattice, elastic=elastic(), outline_pressure=PRESSURE)
    wall = wall_stress(shell.body, loads=shell.loads, fields=shell.fields)
    away = (wall.axial > 0.04) & (wall.axial < 0.09)
    return wall.place[away], wall.primary[0, away].mean(axis=1)


def test_the_hoop_stress_is_that_of_a_membrane(cone):
    place, stress = cone
    expected = -PRESSURE * place[:, 0, 0] / (WALL * np.cos(HALF_ANGLE))
    assert stress[:, 2] == pytest.approx(expected, rel=5e-3)


def test_the_stress_along_the_cone_balances_the_pressure_ahead(cone):
    place, stress = cone
    sin, cos = np.sin(HALF_ANGLE), np.cos(HALF_ANGLE)
    found = stress[:, 0] * sin**2 + stress[:, 1] * cos**2 + 2.0 * stress[:, 3] * sin * cos
    middle = place[..., 0].mean(axis=1)
    expected = -PRESSURE * (place[:, 0, 0] ** 2 - 0.02**2) / (2.0 * middle * WALL * cos)
    assert found == pytest.approx(expected, abs=5e-3 * np.abs(expected).max())


def test_a_thick_ball_bears_lames_stress_at_both_faces(solve_lattice, elastic, ball_lattice):
    lattice = ball_lattice(0.02, 0.04, strips=24, across=32)
    ball = solve_lattice(lattice, elastic=elastic(), inner_pressure=10e6)
    hoop = ball.at_lattice(ball.fields.primary)[..., 2] / 1e6
    assert hoop[12, -1] == pytest.approx(7.1429, rel=5e-3)
    assert hoop[12, 0] == pytest.approx(2.1429, rel=5e-3)
