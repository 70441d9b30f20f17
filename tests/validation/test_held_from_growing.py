"""A skin that can't grow along its surface, and a wall that can't bend, under heat.

Source: Timoshenko & Goodier, Theory of Elasticity (plates held at their edges; a plate heated on one side and
kept from bending; from memory): held along the surface, sigma = -E alpha dT/(1 - nu); a difference dT through
the wall, kept from bending, sigma = -+ E alpha dT/(2 (1 - nu)). With E 70 GPa, alpha 23.6e-6, nu 0.33 and
100 K: -246.57 MPa and -+123.28 MPa.
Tolerance: 0.2 % for a skin of 1/2000 of its radius on a core a million times as stiff that doesn't grow;
0.5 % for a ball of 200 times its wall, whose curvature is worth 2 t/(3 R) at the faces.
"""

import numpy as np
import pytest

from optitip.solvers.elastic import StressLoads, solve_stress, stress_body
from optitip.solvers.elastic_cells import nine_node_cells
from optitip.solvers.elastic_lines import wall_stress


def test_a_skin_held_by_a_stiff_core_bears_its_whole_growth(elastic, ball_lattice):
    skin = ball_lattice(0.02, 0.02001, strips=24, across=2)
    core = ball_lattice(0.018, 0.02, strips=24, across=4)
    lattice = np.concatenate((skin, core[:, 1:]), axis=1)
    rows = np.arange(lattice[..., 0].size).reshape(lattice.shape[:2])
    cells = nine_node_cells(rows, strip_zone=np.zeros(24, dtype=np.int64))
    body = stress_body(
        lattice.reshape(-1, 2),
        cells=cells,
        materials=(elastic(), elastic(70e15, expansion=0.0)),
        cell_material=np.tile([0, 1, 1], 12),
        density=np.array([2700.0, 2700.0]),
    )
    still = np.zeros((1, 25))
    loads = StressLoads(
        temperature=np.full((1, rows.size), 400.0),
        start_temperature=300.0,
        acceleration=np.zeros(1),
        outline_pressure=still,
        inner_pressure=still,
    )
    stress = solve_stress(body, loads=loads).total[0].reshape(12, 3, 4, 4)[:, 0]
    assert stress[3:9, :, 2] / 1e6 == pytest.approx(np.full((6, 4), -246.57), rel=2e-3)


def test_a_wall_hot_inside_that_cannot_bend_is_pressed_inside_and_pulled_outside(
    solve_lattice, elastic, ball_lattice
):
    lattice = ball_lattice(0.1995, 0.2005, strips=240, across=4)
    radius = (lattice**2).sum(axis=-1) ** 0.5
    ball = solve_lattice(lattice, elastic=elastic(), temperature=300.0 + 100.0 * (0.2005 - radius) / 1e-3)
    wall = wall_stress(ball.body, loads=ball.loads, fields=ball.fields)
    away = (wall.axial > -0.15) & (wall.axial < -0.05)
    hoop = wall.total[0, away, :, 2] / 1e6
    assert hoop[:, 1] == pytest.approx(np.full(away.sum(), -123.28), rel=5e-3)
    assert hoop[:, 0] == pytest.approx(np.full(away.sum(), 123.28), rel=5e-3)
