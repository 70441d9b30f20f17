"""Designs made to fail, each in one way alone: that margin is below 0, no other that counts is.

So with that margin switched off, or its load forgotten, the design would pass and its test goes red.
"""

from pathlib import Path

import pytest

from optitip.evaluate.assess import assess
from optitip.evaluate.sources import flown
from optitip.inputs.study import read_study

STUDIES = Path(__file__).parents[2] / "studies"
EGG, RIG, COUPON = (read_study(STUDIES / name) for name in ("coastal-egg", "heated-rig", "polymer-coupon"))
TELLS = {"margin.smallest", "margin.shakedown"}  # the second counts from the second flight on

FAILING = {
    "margin.yield": (
        EGG,
        {
            "strength.landing_load": "1500 N",
            "tip.base.thickness": "8 mm",
            "tip.base.fixing": {"thread": "M38x1.5", "engagement": "10 mm"},
        },
    ),
    "margin.strain": (EGG, {"strength.strain_range": 0.0005}),
    "margin.shakedown": (
        EGG,
        {
            "tip.material": "304",
            "tip.base.thickness": "8 mm",
            "tip.base.fixing": {"screw": "M4", "screws": 8},
            "strength.factors": {"shakedown": 1.8},
            "strength.flights": 20,
        },
    ),
    "margin.buckling": (
        EGG,
        {
            "tip.band.thickness": "0.8 mm",
            "tip.base.fixing": {"rod": "M8", "preload": "6 kN", "engagement": "30 mm", "material": "7075-T6"},
            "strength.factors": {"buckling": 4.0, "loads": 1.0, "fixing": 1.0},
        },
    ),
    "margin.retention": (EGG, {"tip.base.fixing": {"screw": "M2", "screws": 3}}),
    "margin.thread": (EGG, {"tip.base.fixing.engagement": "0.12 mm"}),
    "margin.rod": (EGG, {"tip.base.fixing": {"rod": "M5", "preload": "2 kN", "engagement": "20 mm"}}),
    "margin.temperature": (EGG, {"tip.material": "7075-T6"}),
    "margin.joint": (EGG, {"strength.joint_limit": "90 degC"}),
    "margin.inside": (
        EGG,
        {"strength.inside": [{"name": "solder of the wires", "place": "band", "limit": "120 degC"}]},
    ),
    "margin.exposure": (RIG, {"tip.material": "7075-T6", "strength.flights": 10000}),
    "margin.coupler": (EGG, {"strength.coupler_clearance": "0.01 mm"}),
    "margin.shoulder": (EGG, {"sample.slab.strength": "8 kPa"}),
    "margin.pressing": (EGG, {"sample.joint.force": "5 N"}),
    "margin.contact": (EGG, {"sample.joint.travel": "0.02 mm"}),
}


def negative(study, design):
    """Return the margins below 0 of a design that count, and the smallest."""
    found = assess(study, design=design, searching=True)
    assert found.metrics, found.detail
    margins = {name: one.low for name, one in found.metrics.items() if name.startswith("margin.")}
    counted = TELLS if study.with_design(design).tables.strength.flights == 1 else {"margin.smallest"}
    return {name for name, value in margins.items() if value < 0.0} - counted, margins["margin.smallest"]


@pytest.mark.parametrize("mode", FAILING)
def test_a_design_made_to_fail_is_caught_by_its_own_mode_and_by_no_other(mode):
    study, design = FAILING[mode]
    failed, smallest = negative(study, design)
    assert failed == {mode}
    assert smallest < 0.0


def test_steel_is_not_refused_for_the_one_heating_that_it_yields_in():
    """The design that fails when it flies again passes when it flies once; that it yields is told."""
    design = {**FAILING["margin.shakedown"][1], "strength.flights": 1, "strength.factors": {"shakedown": 3.0}}
    found = assess(EGG, design=design, searching=False)
    assert found.metrics["margin.shakedown"].low < 0.0 < found.metrics["margin.smallest"].low
    assert any("keeps a set" in note for note in found.warnings)
    state, first = found.smallest_margin()
    assert first.name != "margin.shakedown"
    assert first.value == found.states[state].metrics["margin.smallest"]
    assert first.value == found.metrics["margin.smallest"].low


def test_a_304_shell_at_mach_3_is_not_refused_for_the_strain_of_one_flight():
    """Twice its yield is passed, as steel's poor conduction makes it: one flight leaves a set, no crack."""
    design = {
        "flight.ascent.start_mass": "4.35 kg",
        "tip.material": "304",
        "tip.coating": {"thickness": "0.001 mm"},
        "sample.joint": {"build": "wetted"},
    }
    flight = flown(COUPON.with_design(design))
    assert flight.mach.max() > 3.0
    found = assess(COUPON, design=design, searching=True)
    assert found.metrics["margin.shakedown"].low < 0.0
    assert found.metrics["margin.strain"].low > 1.0
    assert found.metrics["margin.smallest"].low > 0.0


@pytest.mark.parametrize("study", [EGG, RIG], ids=["egg", "rig"])
def test_the_study_itself_passes(study):
    assert negative(study, {}) == (set(), pytest.approx(0.4, abs=0.2))
