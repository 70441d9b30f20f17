"""A built tip as the lathe meets it, against the study's own lengths and figures by hand."""

import json
import math
from pathlib import Path

import numpy as np
import pytest

from optitip.evaluate.assess import assess, check
from optitip.evaluate.building import build_tip
from optitip.evaluate.record import as_mapping
from optitip.evaluate.turnable import findings, turnable
from optitip.evaluate.turned_shape import runs_of
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.inputs.study import read_study
from optitip.inputs.turning_tables import Support
from optitip.metrics.registry import UNITS

STUDIES = Path(__file__).parents[3] / "studies"
EGG, COUPON = (read_study(STUDIES / name) for name in ("coastal-egg", "polymer-coupon"))
INSERT = {"tip.plug.insert": "20 mm", "tip.plug.material": "304", "tip.plug.fixing.thread": "M6"}


def built(study, design):
    tables = study.with_design(design).tables
    return build_tip(tables, folder=study.folder, resolution=DEFAULT_RESOLUTION)


def figure(design, name, study=EGG):
    [one] = [one for one in findings(built(study, design)) if one.name == name]
    return one


def test_the_thinnest_wall_is_the_bands_as_the_study_writes_it():
    lathe = turnable(built(EGG, {}))
    assert (lathe.walls[0].place, lathe.walls[0].thickness) == ("tip.band.thickness", pytest.approx(1.2e-3))
    assert figure({}, "turning.wall").value == pytest.approx(1.2 / 0.5 - 1.0)
    aft = turnable(built(EGG, {"tip.band.thickness_aft": "0.9 mm"}))
    assert aft.walls[0].place == "tip.band.thickness_aft"
    assert [advice.split(":")[0] for advice in aft.advice] == ["tip.band.thickness_aft"]


def test_a_solid_base_has_a_lid_and_what_its_bore_leaves():
    base = {"tip.base": {"solid": True, "separate": True, "bore": "30 mm"}}
    walls = {one.place: one.thickness for one in turnable(built(EGG, base)).walls}
    tip = built(EGG, base)
    face = float(tip.cavity.base_corner[1])
    assert walls["outline.turned_length"] == pytest.approx(0.150 - face)
    outside = np.interp(face, tip.outline.axial, tip.outline.radius)
    assert walls["tip.base.bore"] == pytest.approx(outside - 0.015, rel=1e-6)


def test_the_bars_of_shell_base_and_insert_hold_their_parts_with_their_spigots():
    """Shell from the insert's plane to its spigot's end; 2 + 4 mm and a grip of 25 on top of each."""
    tip = built(EGG, INSERT)
    lathe = turnable(tip)
    insert, shell, base = lathe.stock
    stud, spigot = lathe.laps
    assert [one.part for one in lathe.stock] == ["insert", "shell", "base"]
    assert [one.material for one in lathe.stock] == ["304", "6061-T6", "6061-T6"]
    for one, length in (
        (insert, 0.020 + stud.length),
        (shell, spigot.end - 0.020),
        (base, 0.150 - float(tip.cavity.base_corner[1])),
    ):
        assert one.length == pytest.approx(length + one.grip + 6e-3, abs=1.001e-3)
        assert one.length >= length + one.grip + 6e-3 - 1e-9
    widest = float(tip.outline.radius.max())
    assert base.bar.diameter >= 2.0 * widest + 2e-3
    assert insert.bar.diameter < shell.bar.diameter < base.bar.diameter


def test_the_taper_has_the_arcs_of_both_its_corners():
    """By the angles of the cavity's own points: r tan(turn/2) of the face's corner and the band's kink."""
    design = {"turning.nose_radius": "2 mm", "tip.plug.fillet": "2.4 mm", "tip.fore_taper": "0.6 mm"}
    tip = built(EGG, design)
    corner, fore = tip.cavity.corner, tip.cavity.band_fore
    taper = np.arctan2(fore[0] - corner[0], fore[1] - corner[1])
    band = tip.cavity.band_points(tip.cavity.band_arc[0] + np.array([0.0, 1e-5]))
    after = np.arctan2(*(band[1] - band[0]))
    face, kink = 2.4e-3 * math.tan(0.5 * (0.5 * math.pi - taper)), 2e-3 * math.tan(0.5 * (taper - after))
    room = float(np.hypot(*(fore - corner)))
    one = figure(design, "turning.corner")
    assert one.place == "tip.fore_taper"
    assert one.value == pytest.approx(room / (face + kink) - 1.0, rel=1e-3)


def test_the_push_of_the_finishing_tool_on_the_shipped_wall():
    """36.5 N along the cut by hand, half of it on the wall; Roark's long pipe gives 5.7 um of its 5."""
    lathe = turnable(built(EGG, {}))
    assert lathe.push.cutting == pytest.approx(36.5, abs=0.1)
    assert lathe.push.passive == pytest.approx(0.5 * lathe.push.cutting)
    rule = lathe.push.passive * 0.48 * 4.05**0.5 * 15.0**1.22 / (70e9 * 1.2e-3)
    assert lathe.push.deflection == pytest.approx(rule, rel=0.25)
    assert figure({}, "turning.deflection").value == pytest.approx(50e-6 / lathe.push.deflection - 1.0)


@pytest.mark.parametrize("support", ["core", "mandrel"])
def test_a_wall_with_something_behind_it_is_told_its_deflection_and_not_judged_by_it(support):
    lathe = turnable(built(EGG, {"turning.support": support, "tip.band.thickness": "0.6 mm"}))
    assert lathe.support is Support(support)
    assert "turning.deflection" not in lathe.metrics
    assert lathe.metrics["turning.deflection_length"] > 0.0
    assert "turning.smallest" in lathe.metrics
    assert support in lathe.missing["turning.deflection"]


def test_a_material_without_data_of_the_lathe_is_told_and_passes_nothing():
    """PTFE's file has walls and no force; a paraffin shell has neither: no figure, no smallest one."""
    soft = turnable(built(EGG, {"tip.material": "PTFE"}))
    assert "turning.wall" in soft.metrics
    assert soft.unknown == ("turning.deflection",)
    assert "PTFE" in soft.missing["turning.deflection"]
    assert "turning.smallest" not in soft.metrics
    strange = turnable(built(EGG, {"tip.base.material": "epoxy-heat-cure"}))
    assert set(strange.unknown) == {"turning.wall", "turning.thread"}
    assert "epoxy-heat-cure" in strange.missing["turning.wall"]
    assert "turning.smallest" not in strange.metrics


def test_a_joint_without_a_fixing_is_no_joint_to_judge_and_says_why():
    bare = turnable(built(EGG, {"tip.base": {"thickness": "5 mm", "separate": True}}))
    assert "tip.base.fixing" in bare.missing["turning.thread"]
    assert "turning.smallest" in bare.metrics
    whole = turnable(built(EGG, {"tip.base": {"thickness": "5 mm"}}))
    assert whole.missing["turning.thread"] == "no part of the shell is a part of its own"


@pytest.mark.parametrize(
    "design", [{}, {"turning.support": "core"}, {"tip.material": "PTFE"}, {"tip.base": {"thickness": "5 mm"}}]
)
def test_every_metric_of_the_lathe_has_a_value_or_a_reason(design):
    found = assess(EGG, design=design, searching=True)
    names = {name for name in UNITS if name.startswith("turning.")}
    given = {name for name in found.metrics if name.startswith("turning.")}
    assert given | {name for name in found.missing if name.startswith("turning.")} == names
    assert not given & set(found.missing)
    assert not any("food" in found.missing[name] for name in names - given)
    assert all(found.metrics[one].low == found.metrics[one].high for one in given)


def test_the_lathe_is_a_limit_of_a_study_and_no_margin_of_strength():
    plain = assess(EGG, design={}, searching=True)
    limited = assess(EGG, design={"limits": {"turning.smallest": ">= 0.5"}}, searching=True)
    [limit] = limited.limits
    assert not limit.held  # the spigot's 0.8 mm of 0.5 are 0.33 over
    foil = assess(EGG, design={"tip.base.fixing.thread": "M36x1.5"}, searching=True)
    assert foil.metrics["turning.smallest"].low == -1.0
    assert "turning" not in plain.smallest_margin()[1].name
    assert plain.metrics["sample.energy_peak"].expected == foil.metrics["sample.energy_peak"].expected


def bend(before, at, after):
    """Return by how much a path (r, z) through three points bends towards the axis; 0 where away."""
    first, second = (np.arctan2(b[0] - a[0], b[1] - a[1]) for a, b in ((before, at), (at, after)))
    return max(float(first - second), 0.0)


@pytest.mark.parametrize(
    ("base", "last"),
    [
        ({"thickness": "5 mm", "separate": True}, None),
        ({"thickness": "0.7 mm"}, "tip.base.thickness"),
        ({"solid": True, "bore": "32 mm"}, "tip.base.bore"),
    ],
    ids=["a base of its own", "a thin wall", "a bored base"],
)
def test_the_runs_between_corners_have_the_arcs_that_the_cavitys_points_ask_for(base, last):
    """r tan(c/2) in each corner bent towards the axis, by the points themselves, 10 um beside it."""
    cavity = built(EGG, {"tip.base": base}).cavity
    radius = 0.4e-3
    (start, near), (far, end) = (
        cavity.band_points(np.array(cavity.band_arc[which] + np.array(step)))
        for which, step in ((0, (0.0, 1e-5)), (1, (-1e-5, 0.0)))
    )
    if cavity.bore_corner is None:
        behind = cavity.base_points(np.array([cavity.base_arc + 1e-5]))[0]
    else:
        behind = cavity.bore_corner
    face = 1.2e-3 * math.tan(0.5 * bend(cavity.face_centre, cavity.corner, start))
    kink = radius * math.tan(0.5 * bend(cavity.corner, start, near))
    second = radius * math.tan(0.5 * bend(far, end, cavity.base_corner))
    third = 0.0 if last is None else radius * math.tan(0.5 * bend(end, cavity.base_corner, behind))
    expected = {
        "tip.plug.length": face,
        "tip.fore_taper": face + kink,
        "tip.band.length": kink + second,
        "tip.aft_taper": second + third,
        **({} if last is None else {last: third}),
    }
    found = {one.place: one.taken for one in runs_of(cavity, nose_radius=radius)}
    assert found == pytest.approx(expected, abs=3e-7)
    assert face > 0.0
    assert kink > 0.0
    assert (third > 0.0) == (last is not None)


def test_the_answer_can_be_written_as_json():
    said = json.loads(json.dumps(as_mapping(check(EGG)), allow_nan=False))
    assert said["metrics"]["turning.smallest"]["low"] == pytest.approx(0.33, abs=0.01)
    assert "lap" not in said["assembly"]
