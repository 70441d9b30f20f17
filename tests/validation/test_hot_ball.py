"""Hollow ball with steady heat through its wall: stress along its surface at both faces.

Source: Timoshenko & Goodier, Theory of Elasticity, the hollow sphere with temperature in 1/r: a 20 mm,
b 40 mm, E 70 GPa, alpha 23.6e-6, nu 0.33, 100 K hotter inside: -176.119 MPa at the inside and
+70.448 MPa outside (recomputed).
Tolerance: 0.5 % at the faces on 32 cells across.
"""

import pytest


def test_the_stress_along_the_surface_is_the_published_one(solve_lattice, elastic, ball_lattice):
    lattice = ball_lattice(0.02, 0.04, strips=24, across=32)
    radius = (lattice**2).sum(axis=-1) ** 0.5
    heat = 300.0 + 100.0 * (0.04 / radius - 1.0)
    ball = solve_lattice(lattice, elastic=elastic(), temperature=heat)
    hoop = ball.at_lattice(ball.fields.total)[..., 2] / 1e6
    for row in (8, 16, 24):
        assert hoop[row, -1] == pytest.approx(-176.119, rel=5e-3)
        assert hoop[row, 0] == pytest.approx(70.448, rel=5e-3)
