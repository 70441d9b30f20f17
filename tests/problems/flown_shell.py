"""The coastal study's shell, bonded at its joints, with the loads and the stress of its own check."""

from pathlib import Path

import numpy as np

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
from optitip.solvers.march import march_together


def bonded_at_burnout():
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
