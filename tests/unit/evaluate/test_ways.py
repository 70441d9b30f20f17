"""What would get there: the smallest change is the smallest, and does what is said of it."""

import math
import shutil
from dataclasses import replace
from pathlib import Path

import pytest
import tomli_w

from optitip.cli.ways_lines import ways_lines
from optitip.evaluate.assess import assess_many, check
from optitip.evaluate.assessment import LimitResult
from optitip.evaluate.pulls import Pull, Swap, pulls_of
from optitip.evaluate.ways import HARDLY, Change, Way, Ways, _nearest, as_mapping, ways
from optitip.inputs.keys import set_keys
from optitip.inputs.study import read_study
from optitip.metrics.goals import Limit, Sense
from optitip.metrics.values import Bracketed
from optitip.units import System

STUDIES = Path(__file__).parents[3] / "studies"
COLDEST = "sample.temperature_coldest_peak"
FLIGHT = ("the flight's peak Mach number", "its length of burn")
TARGET = Limit(metric=COLDEST, sense=Sense.AT_LEAST, value=318.15)


@pytest.fixture(scope="module")
def egg():
    return read_study(STUDIES / "coastal-egg")


@pytest.fixture(scope="module")
def told(egg):
    (one,) = ways(egg, base=check(egg))
    return one


def seeking(name, folder, target, **keys):
    """Return a shipped study with another target."""
    shutil.copytree(STUDIES / name, folder / name)
    raw = set_keys(read_study(STUDIES / name).raw, {"target": target, **keys})
    path = folder / name / "study.toml"
    path.write_text(tomli_w.dumps(raw))
    return read_study(path)


def by_lever(told):
    return {way.levers[0]: way for way in told.single}


def test_the_levers_come_in_the_order_of_the_physics(told):
    names = [way.levers[0] for way in told.single]
    assert names == [
        *FLIGHT,
        "the joint's build",
        "the conductance of the wetted joint",
        "the slab's thickness",
        "the band's wall",
        "the metal",
        "the sample's start",
    ]


@pytest.mark.parametrize("lever", [*FLIGHT, "the slab's thickness", "the sample's start"])
def test_a_study_set_to_what_is_printed_just_meets_the_target(lever, egg, told, tmp_path):
    change = by_lever(told)[lever].reaching
    shutil.copytree(egg.folder, tmp_path / "egg")
    (tmp_path / "egg" / "study.toml").write_text(tomli_w.dumps(set_keys(egg.raw, change.design)))
    found = check(tmp_path / "egg")
    assert found.metrics[COLDEST].expected >= TARGET.value
    assert found.metrics[COLDEST].expected == pytest.approx(change.value.expected, abs=1e-6)
    assert found.targets[0].held == change.everywhere
    pull = next(one for one in pulls_of(egg, target=TARGET) if one.name == lever)
    value = float(str(change.design[pull.key]).split()[0])
    short = value - math.copysign(pull.step, value - pull.now)
    (less,) = assess_many(egg, designs=[pull.design(short)], searching=False)
    assert less.metrics[COLDEST].expected < TARGET.value + 2e-3 * told.missing


def test_what_cannot_reach_alone_tells_its_best(egg, told):
    ways_of = by_lever(told)
    for lever in ("the joint's build", "the conductance of the wetted joint", "the band's wall"):
        assert ways_of[lever].reaching is None
        assert told.value.expected < ways_of[lever].best.value.expected < TARGET.value
    assert ways_of["the conductance of the wetted joint"].best.design == {
        "sample.joint.conductance": "650 W/(m2 K)"  # the published range's end
    }
    builds = ("dry", "sprung", "paste", "epoxy")
    tried = assess_many(egg, designs=[{"sample.joint.build": one} for one in builds], searching=True)
    best = max(one.metrics[COLDEST].expected for one in tried)
    assert ways_of["the joint's build"].best.value.expected == pytest.approx(best, abs=0.01)


def test_no_pair_is_sought_where_the_tip_alone_can_do_it(told):
    assert told.pair is None


def test_a_target_that_is_met_asks_for_nothing():
    potato = read_study(STUDIES / "upland-potato")
    assert ways(potato, base=check(potato)) == ()


def test_two_levers_together_where_none_reaches_alone(tmp_path):
    study = seeking("coastal-egg", tmp_path, {COLDEST: ">= 82 degC"})
    (told,) = ways(study, base=check(study))
    assert all(way.reaching is None for way in told.single)
    assert told.pair.groups[0] != told.pair.groups[1]
    assert not set(told.pair.levers) & set(FLIGHT)
    change = told.pair.reaching
    assert 355.15 <= change.value.expected <= told.pair.best.value.expected
    again = check(study.with_design(change.design))
    assert again.metrics[COLDEST].expected == pytest.approx(change.value.expected, abs=1e-6)
    lines = list(ways_lines(told, System.METRIC))
    assert "two together do" in lines[0]
    assert lines[-1].startswith(f"- Two together: {' and '.join(told.pair.levers)}: ")
    assert "the slab's thickness" in told.pair.levers


def test_the_best_pair_is_told_where_no_two_reach(tmp_path):
    study = seeking("coastal-egg", tmp_path, {COLDEST: ">= 180 degC"})
    (told,) = ways(study, base=check(study))
    assert told.pair.reaching is None
    alone = max(way.best.value.expected for way in told.single if way.best is not None)
    assert told.pair.best.value.expected > alone
    lines = list(ways_lines(told, System.METRIC))
    assert "nor do two of the tip's" in lines[0]
    assert "- Two together: " in lines[-1]


def test_a_target_from_above_is_sought_downwards(tmp_path):
    study = seeking("coastal-egg", tmp_path, {"band.temperature_peak": "<= 125 degC"})
    base = check(study)
    (told,) = ways(study, base=base)
    ways_of = by_lever(told)
    slower, coat = ways_of[FLIGHT[0]].reaching, ways_of["the coating"]
    assert float(slower.design["flight.varied.peak_mach"]) < 2.44
    assert slower.value.expected <= 398.15
    assert coat.was == ("none",)
    assert coat.best.value.expected < base.metrics["band.temperature_peak"].expected
    assert float(str(ways_of["the band's wall"].best.design["tip.band.thickness"]).split()[0]) > 1.2


def test_a_change_that_breaks_a_limit_says_so(tmp_path):
    limit = {"limits": {"margin.smallest": ">= 0.3"}}
    study = seeking("coastal-egg", tmp_path, {COLDEST: ">= 45 degC"}, **limit)
    (told,) = ways(study, base=check(study))
    faster = by_lever(told)[FLIGHT[0]]
    assert [one.limit.metric for one in faster.reaching.broken] == ["margin.smallest"]
    line = next(one for one in ways_lines(told, System.METRIC) if FLIGHT[0] in one and one.startswith("-"))
    assert line.endswith("not in every flow state; but margin.smallest isn't held.")
    assert not by_lever(told)["the slab's thickness"].reaching.broken


def _said_of(*, best=None, **change):
    """Return the summary, and the line of one lever with this change."""
    value = Bracketed(unit="K", low=310.0, expected=319.0, high=330.0)
    made = None if best else Change(to=("C110",), design={}, value=value, **change)
    metal = {"levers": ("the metal",), "groups": ("metal",), "was": ("304",), "reaching": made, "best": best}
    told = Ways(target=TARGET, value=replace(value, expected=313.0), single=(Way(**metal),), pair=None)
    return list(ways_lines(told, System.METRIC))


def test_a_wall_that_fails_is_told_beside_another_limit_that_is_broken():
    heavy = Limit(metric="shell.mass", sense=Sense.AT_MOST, value=0.1)
    mass = LimitResult(limit=heavy, value=Bracketed(unit="kg", low=0.2, expected=0.2, high=0.2))
    summary, line = _said_of(broken=(mass,), margin=-0.25)
    assert summary.endswith("One change alone that reaches it, but breaks something: the metal (C110).")
    assert line.endswith("but shell.mass isn't held and the smallest margin is -0.25.")
    summary, line = _said_of(margin=0.25)
    assert summary.endswith("the metal (C110).")
    assert line.endswith(", not in every flow state.")


def test_what_reaches_but_has_no_answer_in_some_flow_state_is_not_called_too_little():
    value = Bracketed(unit="K", low=319.0, expected=319.0, high=319.0)
    _, line = _said_of(best=Change(to=("C110",), design={}, value=value))
    assert line.endswith("expected, but some flow state has no answer there.")


def test_the_page_says_the_figures_in_either_system(told):
    metric, us = ("\n".join(ways_lines(told, one)) for one in System)
    slab = by_lever(told)["the slab's thickness"].reaching.design["sample.slab.thickness"]
    assert f"- the slab's thickness: {slab} instead of 3 mm gives 45" in metric
    assert f"{float(slab.split()[0]) / 25.4:.3g} inch instead of 0.118" in us.replace(
        " inch instead of 0.1181", " inch instead of 0.118"
    )
    assert "degF" in us
    assert "degC" not in us


@pytest.mark.parametrize(
    ("nearer", "said"),
    [(0.9, "the metal hardly matters: C110"), (1.1, "the metal: not enough alone; C110")],
)
def test_a_lever_that_brings_less_than_a_tenth_of_what_is_missing_hardly_matters(nearer, said):
    reached = 313.0 + nearer * HARDLY * (TARGET.value - 313.0)
    value = Bracketed(unit="K", low=reached, expected=reached, high=reached)
    _, line = _said_of(best=Change(to=("C110",), design={}, value=value))
    assert line.startswith(f"- {said} gives ")
    assert line.endswith(" K nearer.")


def test_the_ways_are_plain_mappings(told):
    (one,) = as_mapping([told])
    assert one["metric"] == COLDEST
    assert [way["levers"][0] for way in one["single"]] == [way.levers[0] for way in told.single]
    slab = next(way for way in one["single"] if way["levers"] == ["the slab's thickness"])
    assert slab["reaching"]["expected"] >= 318.15
    assert slab["reaching"]["in_every_state"] is False


def test_motors_and_flights_of_the_sweep_are_tried_as_levers(tmp_path):
    study = seeking("coastal-egg", tmp_path, {COLDEST: ">= 45 degC"})
    shutil.copy(study.folder / "flight.csv", study.folder / "other.csv")
    raw = set_keys(study.raw, {"sweep.choices": {"flight.record": ["flight.csv", "other.csv"]}})
    study.path.write_text(tomli_w.dumps({**raw, "sweep": {**raw["sweep"], "free": {}}}))
    first = next(iter(pulls_of(read_study(study.path), target=TARGET)))
    assert isinstance(first, Swap)
    assert first.options == {"other.csv": {"flight.record": "other.csv"}}


@pytest.mark.parametrize("root", [0.3, 3.7, 4.0, 11.2, 39.0])
@pytest.mark.parametrize("way", [1, -1])
@pytest.mark.parametrize("bent", [lambda x: x, lambda x: x**3, lambda x: math.expm1(x / 8.0)])
def test_the_nearest_step_that_reaches_is_found_exactly(root, way, bent):
    pull = Pull(
        name="a", group="a", key="a", si="1", unit="", now=50.0, low=0.0, high=100.0, step=1.0, beside={}
    )

    def past(place):
        return bent(way * (place - 50.0)) - bent(root)

    job, asked = _nearest(pull, 50.0, past(50.0), 50 + 40 * way, past(50 + 40 * way)), 0
    answer = None
    while True:
        try:
            design = job.send(answer)
        except StopIteration as stop:
            place, over = stop.value
            break
        asked += 1
        answer = past(float(design["a"]))
    assert place == 50 + way * max(math.ceil(root), 1)
    assert over == past(place) >= 0.0
    assert asked <= 14


def test_what_reaches_but_breaks_a_limit_is_told_apart_at_once(told):
    first, second, *rest = told.single
    broken = LimitResult(
        limit=Limit(metric="margin.smallest", sense=Sense.AT_LEAST, value=0.0),
        value=Bracketed(unit="1", low=-0.5, expected=0.1, high=1.0),
    )
    harmed = replace(first, reaching=replace(first.reaching, broken=(broken,)))
    said = next(iter(ways_lines(replace(told, single=(harmed, second, *rest)), System.METRIC)))
    sound, _, harmful = said.partition("Another that reaches it, but breaks something: ")
    assert first.levers[0] in harmful
    assert first.levers[0] not in sound
    assert second.levers[0] in sound
    alone = next(iter(ways_lines(replace(told, single=(harmed,)), System.METRIC)))
    assert "One change alone that reaches it, but breaks something: the flight's peak Mach number" in alone
