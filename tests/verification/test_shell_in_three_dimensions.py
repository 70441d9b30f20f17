"""The shell of the coastal study at burnout is solved once more as a wedge of a solid in three dimensions.

Source: scikit-fem's hexahedra of 27 nodes, with Lame's law in Cartesian axes: no radius in any form, no hoop
strain, the sides of the wedge held square to themselves only. Heat, pressures and push are those of the
study's own check at burnout; the parts are bonded. The nodes are the same, so the error of the grid, which
finer grids tell, isn't in it.
Tolerance: 1e-6 of the largest movement and stress at 4 degrees (1.6e-8 and 2e-7 were had), an eighth of it at
half the angle: the swept arcs are parabolas and err with the angle's fourth power.
"""

from dataclasses import replace

import numpy as np
import pytest
from flown_shell import bonded_at_burnout
from solid_wedge import Wedge

from optitip.solvers.elastic_lines import von_mises, wall_stress


@pytest.fixture(scope="module")
def flown():
    return bonded_at_burnout()


def apart(found, expected):
    return np.abs(found - expected).max() / np.abs(expected).max()


@pytest.mark.parametrize("thermal", [False, True], ids=["loads", "loads and heat"])
def test_movement_and_stress_are_those_of_a_solid_in_three_dimensions(flown, thermal):
    body, loads, fields, burnout = flown
    wedge = Wedge(body, loads, instant=burnout, angle=np.radians(4.0))
    moved = wedge.solved(thermal=thermal)
    case = "total" if thermal else "primary"
    stress = getattr(fields, case)[burnout]
    assert apart(wedge.movement(moved), getattr(fields, f"{case}_movement")[burnout]) < 1e-6
    assert apart(wedge.stress(moved, thermal=thermal), stress) < 1e-6
    assert apart(von_mises(wedge.stress(moved, thermal=thermal)), von_mises(stress)) < 1e-6


def test_half_the_angle_leaves_an_eighth_of_the_difference_and_the_same_is_judged(flown):
    body, loads, fields, burnout = flown
    differences = []
    for degrees in (4.0, 2.0):
        wedge = Wedge(body, loads, instant=burnout, angle=np.radians(degrees))
        stress = wedge.stress(wedge.solved(thermal=True), thermal=True)
        differences.append(apart(stress, fields.total[burnout]))
    assert differences[1] < differences[0] / 8.0
    total = np.array(fields.total)
    total[burnout] = stress
    by_wedge = wall_stress(body, loads=loads, fields=replace(fields, total=total)).total[burnout]
    by_rings = wall_stress(body, loads=loads, fields=fields).total[burnout]
    assert apart(by_wedge, by_rings) < 1e-6
