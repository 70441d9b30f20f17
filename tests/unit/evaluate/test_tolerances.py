import itertools
import math
import re
from pathlib import Path

import numpy as np
import pytest

from optitip.errors import DesignFailure, Outcome
from optitip.evaluate.assess import assess, check
from optitip.evaluate.assessment import SMALLEST
from optitip.evaluate.building import build_tip
from optitip.evaluate.drawn import AFT, FORE, drawn_lengths, with_the_rest_held
from optitip.evaluate.tolerances import (
    COLDEST,
    ENERGY,
    FIGURES,
    MASS,
    Lever,
    LeverEnd,
    Source,
    as_mapping,
    levers_of,
    spread,
    spread_line,
    tolerances,
)
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.inputs.study import read_study
from optitip.units import System

STUDIES = Path(__file__).parents[3] / "studies"


@pytest.fixture(scope="module")
def egg():
    return read_study(STUDIES / "coastal-egg")


@pytest.fixture(scope="module")
def told(egg):
    return tolerances(egg)


def lever(told, name):
    return next(one for one in told.levers if one.name == name)


def changes(told, name, metric=ENERGY):
    """Return by how much a figure changes at both ends of a lever."""
    return [end.figures[metric] - told.spreads[metric].nominal for end in lever(told, name).ends]


def made_up(name, source, low, high, metric=ENERGY):
    ends = tuple(LeverEnd(values=(0.0,), design={}, figures={metric: value}) for value in (low, high))
    return Lever(name=name, source=source, unit="m", drawn=(0.0,), ends=ends)


def turned(study, **values):
    keys = {f"turning.{key}": value for key, value in values.items() if key != "joint"}
    return study.with_design(
        keys | ({"sample.joint.conductance": values["joint"]} if "joint" in values else {})
    )


def test_as_drawn_is_what_a_check_says(egg, told):
    answer = check(egg)
    for name in (ENERGY, COLDEST, MASS):
        assert told.spreads[name].nominal == pytest.approx(answer.metrics[name].expected, rel=1e-9)
    assert told.spreads[SMALLEST].nominal == pytest.approx(answer.metrics[SMALLEST].low, rel=1e-9)


def test_each_lever_goes_as_far_as_the_study_lets_it(told):
    found = {one.name: [end.values for end in one.ends] for one in told.levers}
    wall, slab, depth = 5e-5, 2e-4, 1e-4  # the table's defaults
    assert found["wall"] == [(pytest.approx(1.2e-3 + k * wall),) * 2 for k in (-1, 1)]
    assert found["taper"] == [pytest.approx((1.2e-3 - k * wall, 1.2e-3 + k * wall)) for k in (1, -1)]
    assert found["slab"] == [(pytest.approx(3e-3 + k * slab),) for k in (-1, 1)]
    assert found["depth"] == [(pytest.approx(48e-3 + k * depth),) for k in (-1, 1)]
    assert found["joint"] == [(250.0,), (650.0,)]  # a wetted joint's range


def test_an_end_is_what_the_study_edited_by_hand_gives(egg, told):
    by_hand = egg.with_design({"tip.band.thickness": "1.25 mm"})
    answer = check(by_hand)
    end = lever(told, "wall").ends[1]
    assert end.figures[ENERGY] == pytest.approx(answer.metrics[ENERGY].expected, rel=1e-9)
    assert end.figures[MASS] == pytest.approx(answer.metrics[MASS].expected, rel=1e-12)


def test_the_joint_moves_the_energy_most_and_is_what_to_watch(told):
    # the order of levers that an independent estimate at Mach 3 gives: the joint before slab and wall
    assert told.watched.name == "joint"
    low, high = changes(told, "joint")
    assert low < -100.0
    assert high > 100.0
    assert max(np.abs(changes(told, "slab"))) < 0.2 * high


def test_a_thicker_slab_takes_up_more_and_its_coldest_point_less(told):
    thin, thick = changes(told, "slab")
    assert thin < 0.0 < thick
    colder, warmer = changes(told, "slab", COLDEST)
    assert colder > 0.0 > warmer


def test_a_thicker_wall_weighs_what_its_metal_does(egg, told):
    # Pappus: 2 pi r of the outline over band and half of each taper, times the change, times 2700 kg/m3
    tip = build_tip(egg.tables, folder=egg.folder, resolution=DEFAULT_RESOLUTION)
    fore, aft = tip.cavity.band_arc
    arc = np.linspace(fore - 6e-3, aft + 8e-3, 2001)
    share = np.interp(arc, [fore - 6e-3, fore, aft, aft + 8e-3], [0.0, 1.0, 1.0, 0.0])
    radius = tip.outline.at(arc)[1] - 1.2e-3
    expected = 2700.0 * 5e-5 * 2.0 * math.pi * np.trapezoid(radius * share, arc)
    lighter, heavier = changes(told, "wall", MASS)
    assert heavier == pytest.approx(expected, rel=0.02)
    assert lighter == pytest.approx(-expected, rel=0.02)


def test_half_the_tolerance_is_half_the_spread(egg):
    # small tolerances of a smooth answer are linear; a joint with one number, so that nothing else moves
    whole, half = (
        tolerances(
            turned(egg, wall_tolerance=f"{0.02 * k} mm", slab_tolerance=f"{0.04 * k} mm",
                   bore_depth_tolerance=f"{0.1 * k} mm", joint="400 W/(m2 K)")
        )
        for k in (1.0, 0.5)
    )  # fmt: skip
    for name in (ENERGY, MASS):
        widths = [np.diff(one.spreads[name].worst)[0] for one in (whole, half)]
        roots = [np.diff(one.spreads[name].root)[0] for one in (whole, half)]
        assert widths[0] > 0.0
        assert widths[1] == pytest.approx(0.5 * widths[0], rel=0.03)
        assert roots[1] == pytest.approx(0.5 * roots[0], rel=0.03)


def test_without_tolerances_and_range_nothing_spreads(egg):
    still = turned(
        egg,
        wall_tolerance="0 mm",
        slab_tolerance="0 mm",
        bore_depth_tolerance="0 mm",
        joint="400 W/(m2 K)",
    )
    told = tolerances(still)
    assert told.levers == ()
    for one in told.spreads.values():
        assert one.worst == one.root == (one.nominal, one.nominal)
    assert told.watched is None
    assert set(told.still) == {"wall", "slab", "depth", "joint", "base's joint"}
    assert spread_line(told).endswith("nothing has a tolerance or a range")


def test_a_tolerance_of_nought_takes_its_lever_away(egg):
    names = {one.name for one in levers_of(turned(egg, wall_tolerance="0 mm"))}
    assert names == {"slab", "depth", "joint"}


def test_sides_add_in_the_worst_case_and_by_squares_in_the_root():
    # 3-4-5: sides worked by hand
    levers = [made_up("slab", Source.SLAB, 97.0, 103.0), made_up("depth", Source.DEPTH, 104.0, 96.0)]
    found = spread(levers, metric=ENERGY, nominal=100.0)
    assert found.worst == (93.0, 107.0)
    assert found.root == (95.0, 105.0)
    # 5-12-13 above, 3-4-5 below
    levers = [made_up("slab", Source.SLAB, 97.0, 105.0), made_up("depth", Source.DEPTH, 112.0, 96.0)]
    found = spread(levers, metric=ENERGY, nominal=100.0)
    assert (found.worst, found.root) == ((93.0, 117.0), (95.0, 113.0))


def test_a_lever_that_only_lowers_has_no_upper_side():
    found = spread([made_up("slab", Source.SLAB, 97.0, 99.0)], metric=ENERGY, nominal=100.0)
    assert found.worst == (97.0, 100.0)


def test_the_ends_of_a_wall_together_and_apart_are_one_tolerance():
    # energy a f + b g of the ends' thickness off by f and g: its extremes over the whole square +-t
    a, b, t = 3.0, 1.0, 0.1

    def energy(f, g):
        return 100.0 + a * f + b * g

    levers = [
        made_up("wall", Source.WALL, energy(-t, -t), energy(t, t)),
        made_up("taper", Source.WALL, energy(-t, t), energy(t, -t)),
    ]
    steps = np.linspace(-t, t, 41)
    grid = [energy(f, g) for f, g in itertools.product(steps, steps)]
    assert spread(levers, metric=ENERGY, nominal=100.0).worst == pytest.approx((min(grid), max(grid)))


def test_an_end_that_cannot_be_built_is_told_and_not_dropped(egg):
    # a slab of 3 mm +- 40 mm: neither end can be
    told = tolerances(turned(egg, slab_tolerance="40 mm"))
    slab = lever(told, "slab")
    assert [end.outcome for end in slab.ends] == [Outcome.NOT_A_STUDY, Outcome.SLAB_TOO_THICK]
    assert all(end.detail and end.figures is None for end in slab.ends)
    assert len(told.failed) == 2
    assert "can't be made" in spread_line(told)
    written = next(one for one in as_mapping(told)["levers"] if one["name"] == "slab")
    assert [end["metrics"] for end in written["ends"]] == [None, None]
    assert [end["outcome"] for end in written["ends"]] == ["not_a_study", "slab_too_thick"]


def test_a_design_without_an_answer_raises_as_a_check_does(egg):
    with pytest.raises(DesignFailure):
        tolerances(egg.with_design({"sample.slab.thickness": "40 mm"}))


def test_lengths_that_scale_with_the_wall_stay_as_drawn():
    study = read_study(STUDIES / "upland-potato")  # leaves plug's wall, base's thickness and tapers out
    drawn = drawn_lengths(study)
    values = {FORE: 1.1e-3, AFT: 1.2e-3, "sample.slab.thickness": 2.1e-3}
    off = drawn_lengths(study.with_design(with_the_rest_held(study, values)))
    assert off == {**drawn, **values}


def test_the_outline_is_held_only_beside_another_of_its_lengths():
    written = read_study(STUDIES / "upland-potato")
    named = {
        key: value for key, value in written.raw["outline"].items() if key in {"family", "diameter", "length"}
    }
    study = written.with_design(
        {"outline": named}
    )  # its turned length and tip radius scale with the diameter
    assert not any(key.startswith("outline") for key in with_the_rest_held(study, {FORE: 1e-3}))
    drawn = drawn_lengths(study)
    values = {"outline.diameter": 68.1e-3}
    off = drawn_lengths(study.with_design(with_the_rest_held(study, values)))
    assert off == {**drawn, **values}


def test_the_limit_of_a_glued_joint_stays_at_both_ends_of_its_range():
    coupon = read_study(STUDIES / "polymer-coupon")  # epoxy, to 80 degC
    for conductance in ("1000 W/(m2 K)", "4000 W/(m2 K)"):
        answer = assess(coupon, design={"sample.joint.conductance": conductance}, searching=True)
        assert answer.metrics["margin.joint"].low < 0.2


def test_the_line_for_a_drawing(told):
    said = spread_line(told)
    pattern = (
        r"As drawn (\d+) J; within the tolerances of wall, slab, depth of the cavity and joint "
        r"(\d+) to (\d+) J \(worst case\), smallest margin \d\.\d\d( to \d\.\d\d)?"
    )
    found = re.fullmatch(pattern, said)
    drawn, low, high = (float(found[k]) for k in (1, 2, 3))
    assert low == pytest.approx(told.spreads[ENERGY].worst[0], abs=0.5)
    assert high == pytest.approx(told.spreads[ENERGY].worst[1], abs=0.5)
    assert low < drawn < high
    assert " BTU (worst case)" in spread_line(told, units=System.US)


def test_the_root_of_squares_lies_within_the_worst_case(told):
    for name in FIGURES:
        one = told.spreads[name]
        assert one.worst[0] <= one.root[0] <= one.nominal <= one.root[1] <= one.worst[1]


def test_an_end_that_cannot_be_turned_where_the_drawing_can_is_told(egg):
    # 0.65 mm of 6061 is turned; 0.25 mm less is below the 0.5 mm that a shop refuses
    thin = egg.with_design({"tip.band.thickness": "0.65 mm", "turning.wall_tolerance": "0.25 mm"})
    told = tolerances(thin)
    less, more = lever(told, "wall").ends
    assert "turning.wall" in {one.name for one in less.unturned}
    assert more.unturned == ()
    assert less.figures is not None  # it still has an answer, which counts
    written = next(one for one in as_mapping(told)["levers"] if one["name"] == "wall")
    assert written["ends"][0]["unturned"][0].startswith("tip.band.thickness")
    assert written["ends"][1]["unturned"] == []


def test_what_the_drawing_breaks_itself_is_not_told_of_its_levers(egg):
    thinner = egg.with_design({"tip.band.thickness": "0.4 mm", "turning.wall_tolerance": "0.02 mm"})
    told = tolerances(thinner)
    assert not any(
        one.name == "turning.wall" for each in told.levers for end in each.ends for one in end.unturned
    )


@pytest.mark.parametrize("name", ["coastal-egg", "heated-rig", "polymer-coupon"])
def test_the_design_with_every_lever_at_its_worse_end_lies_where_the_sum_says(name):
    # nothing is added here: the corner is built and marched
    study = read_study(STUDIES / name)
    told = tolerances(study)
    for side, worse in ((0, min), (1, max)):
        lengths, joint = {}, {}
        for one in told.levers:
            end = worse(one.ends, key=lambda end: end.figures[ENERGY])
            if one.name == "joint":
                joint = dict(end.design)
            elif one.name != "taper":  # the wall's ends together move each of these studies farther
                keys = {
                    "wall": (FORE, AFT),
                    "slab": ("sample.slab.thickness",),
                    "depth": ("tip.plug.length",),
                }
                lengths |= zip(keys[one.name], end.values, strict=True)
        corner = assess(study, design=with_the_rest_held(study, lengths) | joint, searching=True)
        found, one = corner.metrics[ENERGY].expected, told.spreads[ENERGY]
        assert found == pytest.approx(one.worst[side], abs=0.04 * (one.worst[1] - one.worst[0]))
