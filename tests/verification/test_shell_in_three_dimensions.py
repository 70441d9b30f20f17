"""The shell of the coastal study at burnout is solved once more as a wedge of a solid in three dimensions.

Source: scikit-fem's hexahedra of 27 nodes, with Lame's law in Cartesian axes: no radius in any form, no hoop
strain, the sides of the wedge held square to themselves only. Heat, pressures and push are those of the
study's own check at burnout; the parts are bonded. The nodes are the same, so the error of the grid, which
finer grids tell, isn't in it.
Tolerance: 1e-6 of the largest movement and stress at 4 degrees (1.6e-8 and 2e-7 were had), an eighth of it at
half the angle: the swept arcs are parabolas and err with the angle's fourth power.
"""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from solid_wedge import Wedge

from optitip.evaluate.breathing import ambient_pressure, pocket_pressure
from optitip.evaluate.building import build_tip
from optitip.evaluate.conditions import conditions_of
from optitip.evaluate.moments import moments_of
from optitip.evaluate.shell import shell_of
from optitip.evaluate.strength import stress_loads
from optitip.evaluate.warming import heat_case
from optitip.evaluate.weights import weights_of
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.inputs.study import read_study
from optitip.solvers.elastic import solve_stress, stress_body
from optitip.solvers.elastic_lines import von_mises, wall_stress
from optitip.solvers.march import march_together


@pytest.fixture(scope="module")
def flown():
    """Return the shell, bonded, its loads at all instants judged, its stress, and the number of burnout."""
    study = read_study(Path(__file__).parents[2] / "studies" / "coastal-egg")
    tip = build_tip(study.tables, folder=study.folder, resolution=DEFAULT_RESOLUTION)
    conditions = conditions_of(study, tip)
    heating = conditions.heatings["turbulent"]
    history = march_together(heat_case(tip, conditions=conditions, heatings=[heating], models={}))[0]
    ambient = ambient_pressure(history.time, heating=heating, flight=conditions.flight)
    pocket = pocket_pressure(
        tip,
        history=history,
        ambient=ambient,
        flight=conditions.flight,
        slab_volume=weights_of(tip).slab_volume,
    )
    when = moments_of(
        tip, history=history, heating=heating, flight=conditions.flight, ambient=ambient, pocket=pocket
    )
    fitted = shell_of(tip).body
    body = stress_body(
        tip.mesh.points,
        cells=tip.parts.nine_node,
        materials=fitted.materials,
        cell_material=fitted.cell_material,
        density=np.array(
            [fitted.density[fitted.cell_material == n][0] for n in range(len(fitted.materials))]
        ),
    )
    loads = stress_loads(tip, when, start=conditions.start)
    return body, loads, solve_stress(body, loads=loads), when.places("burnout")[0]


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
