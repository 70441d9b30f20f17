"""Thick tube under inside pressure: hoop stress at the bore and at the outside.

Source: Lame's solution (Timoshenko & Goodier, Theory of Elasticity): with a 20 mm, b 40 mm, p 10 MPa,
sigma_theta(a) = p (b2 + a2)/(b2 - a2) = 16.6667 MPa and sigma_theta(b) = 2 p a2/(b2 - a2) = 6.6667 MPa.
Tolerance: 0.2 % at the faces, 0.3 % for the radial stress there (stress is carried there from the points
inside), 0.001 % for the movement, 0.05 % for what is judged: membrane p a/(b - a) = 10 MPa and bending of
A + B/r^2, A = p a^2/(b^2 - a^2) = 3.3333 MPa, B = A b^2, by int (r - (a + b)/2) B/r^2 dr = B (ln(b/a) - 3/4):
the faces carry 10 -+ 6 B (3/4 - ln 2)/t^2 = 10 -+ 4.5482 MPa.
"""

import numpy as np
import pytest

from optitip.solvers.elastic import Restraint
from optitip.solvers.elastic_lines import wall_stress


@pytest.fixture
def tube(solve_lattice, elastic, tube_lattice):
    lattice = tube_lattice(0.02, 0.04, length=0.01, strips=2, across=32)
    return solve_lattice(
        lattice, elastic=elastic(), restraint=Restraint.BOTH_FACES, inner_pressure=10e6, start=300.0
    )


def test_the_hoop_stress_at_the_bore_and_outside_is_lames(tube):
    hoop = tube.at_lattice(tube.fields.primary)[1, :, 2]
    assert hoop[-1] / 1e6 == pytest.approx(16.6667, rel=2e-3)
    assert hoop[0] / 1e6 == pytest.approx(6.6667, rel=2e-3)


def test_the_radial_stress_at_the_bore_is_the_pressure_pushing(tube):
    assert tube.at_lattice(tube.fields.primary)[1, -1, 0] / 1e6 == pytest.approx(-10.0, rel=3e-3)


def test_the_bore_widens_as_in_plane_strain(tube):
    a, b, p, E, nu = 0.02, 0.04, 10e6, 70e9, 0.33
    widening = (1 + nu) * p * a**2 / (E * (b**2 - a**2)) * ((1 - 2 * nu) * a + b**2 / a)
    moved = tube.fields.primary_movement[0][tube.cells.rows]
    assert moved[:, -1, 0] == pytest.approx(np.full(3, widening), rel=1e-5)


def test_the_judged_hoop_stress_is_lames_membrane_and_bending(tube):
    wall = wall_stress(tube.body, loads=tube.loads, fields=tube.fields)
    hoop = wall.primary[0, :, :, 2] / 1e6
    assert hoop[:, 1] == pytest.approx(np.full(len(hoop), 14.5482), rel=5e-4)
    assert hoop[:, 0] == pytest.approx(np.full(len(hoop), 5.4518), rel=5e-4)
