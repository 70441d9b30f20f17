"""The base open to the air on the way down."""

from pathlib import Path

import numpy as np
import pytest

from optitip.evaluate.assess import check
from optitip.evaluate.building import build_tip
from optitip.evaluate.conditions import conditions_of
from optitip.evaluate.levers import base_swing
from optitip.evaluate.open_base import with_open_base
from optitip.evaluate.warming import surface_of
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.inputs.study import read_study

EGG = read_study(Path(__file__).parents[3] / "studies" / "coastal-egg")
OPEN = {"flight.descent.base": "open"}
SOLID = {"tip.base.solid": True, "tip.base.bore": "14 mm"}


def surfaces(study):
    tip = build_tip(study.tables, folder=study.folder, resolution=DEFAULT_RESOLUTION)
    conditions = conditions_of(study, tip)
    heating = conditions.heatings["laminar"]
    outside = surface_of(tip, heating)
    return tip, outside, with_open_base(outside, tip=tip, heating=heating, flight=conditions.flight)


def test_a_closed_base_is_left_as_it_is():
    _, outside, whole = surfaces(EGG)
    assert whole is outside


@pytest.mark.parametrize("solid", [False, True])
def test_an_open_base_meets_the_air_on_its_aft_face_and_in_its_bore(solid):
    raw = {key: value for key, value in EGG.raw.items() if key != "tip"} | {"tip": {**EGG.raw["tip"]}}
    if solid:
        raw["tip"]["base"] = {"separate": True}
    study = type(EGG)(path=EGG.path, raw=raw, tables=EGG.tables).with_design(
        {**OPEN, **(SOLID if solid else {})}
    )
    tip, outside, whole = surfaces(study)
    added = np.arange(outside.nodes.size, whole.nodes.size)
    aft = tip.mesh.points[tip.mesh.rows[-1, [0, -1]], 0]
    length = np.ptp(tip.mesh.points[whole.nodes[added], 1])
    fore = tip.mesh.points[whole.nodes[added], 0][np.argmin(tip.mesh.points[whole.nodes[added], 1])]
    face = np.pi * (aft[0] ** 2 - aft[1] ** 2)
    bore = np.pi * (fore + aft[1]) * np.hypot(length, fore - aft[1])
    assert length > 5e-3
    assert whole.area[added].sum() == pytest.approx(face + bore, rel=5e-3)
    assert np.array_equal(whole.film[:, : outside.nodes.size], outside.film)


def test_inside_an_open_base_the_air_is_that_of_the_aft_end_and_nothing_radiates():
    tip, outside, whole = surfaces(EGG.with_design(OPEN))
    added = slice(outside.nodes.size, None)
    last = np.flatnonzero(outside.nodes == tip.mesh.rows[-1, 0])[0]
    fast = outside.recovery[:, 0] - outside.recovery[:, last] > 1.0  # the stagnation point is hotter
    assert fast.any()
    assert whole.recovery[fast, added] == pytest.approx(
        np.broadcast_to(outside.recovery[fast, last, None], whole.recovery[fast, added].shape)
    )
    assert (whole.emissivity[added] == 0.0).all()
    assert (whole.absorbed[:, added] == 0.0).all()


def test_it_keeps_less_and_changes_nothing_before_the_apogee():
    closed, opened = (check(EGG.with_design(design)) for design in ({}, OPEN))
    kept = "sample.energy_landing"
    for name, state in closed.states.items():
        other = opened.states[name]
        climbing = state.sample.time < 27.0
        assert climbing.sum() > 20
        assert np.array_equal(state.sample.mean[climbing], other.sample.mean[: climbing.sum()])
        assert other.metrics[kept] < state.metrics[kept] - 5.0
        assert abs(other.balance) < 2e-3


def test_what_it_costs_is_told_as_a_doubt_of_its_own():
    assert base_swing(EGG) is None
    swing = base_swing(EGG.with_design(OPEN))
    assert swing.closed == pytest.approx(check(EGG).metrics["sample.energy_landing"].expected)
    assert swing.opened < swing.closed
