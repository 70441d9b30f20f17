"""Designs that can't be turned, each by one rule alone: that figure is below 0, no other is.

So with that rule switched off, or its need forgotten, the design would pass and its test goes red.
"""

from pathlib import Path

import pytest

from optitip.errors import DesignFailure, Outcome
from optitip.evaluate.building import build_tip
from optitip.evaluate.turnable import findings, turnable
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.inputs.study import read_study

STUDIES = Path(__file__).parents[2] / "studies"
SHIPPED = ("coastal-egg", "upland-potato", "polymer-coupon", "heated-rig")
EGG = read_study(STUDIES / "coastal-egg")
INSERT = {"tip.plug.insert": "20 mm", "tip.plug.material": "304"}
THICK = {"tip.base.thickness": "8 mm"}

# the name of the design: what to change, the rule, the study key it points at
UNTURNABLE = {
    "a foil of a band": ({"tip.band.thickness": "0.45 mm"}, "turning.wall", "tip.band.thickness"),
    "a foil at the band's aft end": (
        {"tip.band.thickness_aft": "0.45 mm"},
        "turning.wall",
        "tip.band.thickness_aft",
    ),
    "a foil beside the plug": ({"tip.plug.wall": "0.4 mm"}, "turning.wall", "tip.plug.wall"),
    "a web behind the insert": (
        {"tip.plug.insert": "47.6 mm", "tip.plug.material": "304", "tip.plug.wall": "1 mm"},
        "turning.wall",
        "tip.plug.insert",
    ),
    "a bar that is too thick": ({"turning.smallest_bar": "13 mm"}, "turning.bore", "tip.base.thickness"),
    "a fillet tighter than the tool": ({"tip.plug.fillet": "0.3 mm"}, "turning.corner", "tip.plug.fillet"),
    "a taper without room for the tool's nose": (
        {
            "tip.base": {"thickness": "2 mm", "separate": True},
            "tip.aft_taper": "0.3 mm",
            "tip.plug.fillet": "1.6 mm",
            "turning.nose_radius": "1.6 mm",
        },
        "turning.corner",
        "tip.aft_taper",
    ),
    "a wall that gives way": (
        {"tip.band.thickness": "0.6 mm", "turning.depth_of_cut": "1 mm", "turning.feed": "0.3 mm"},
        "turning.deflection",
        "tip.band.thickness",
    ),
    "a nose too thick for the lathe": (
        {"turning.largest_stock": "50 mm"},
        "turning.stock",
        "outline.turned_length",
    ),
    "a thread inside the bore": (
        {"tip.base.fixing.thread": "M36x1.5"},
        "turning.thread",
        "tip.base.fixing.thread",
    ),
    "a thread through the outside": (
        {"tip.base.fixing.thread": "M43x1.5"},
        "turning.thread",
        "tip.base.fixing.thread",
    ),
    "a thread of two turns": (
        {"tip.base.fixing.engagement": "3 mm"},
        "turning.thread",
        "tip.base.fixing.engagement",
    ),
    "a thread longer than the base": (
        {**THICK, "tip.base.fixing": {"thread": "M38x1.5", "engagement": "21 mm"}},
        "turning.thread",
        "tip.base.fixing.engagement",
    ),
    "screws too coarse for the spigot": (
        {"tip.base.fixing": {"screw": "M6", "engagement": "8 mm"}},
        "turning.thread",
        "tip.base.fixing.screw",
    ),
    "screws at the edge": (
        {**THICK, "tip.base.fixing": {"screw": "M3", "engagement": "3.5 mm"}},
        "turning.thread",
        "tip.base.fixing.engagement",
    ),
    "a rod wider than the plug": (
        {"tip.base.fixing": {"rod": "M14", "engagement": "40 mm"}, "tip.base.thickness": "5 mm"},
        "turning.thread",
        "tip.base.fixing.rod",
    ),
    "a rod's hole out of the nose": (
        # a blunt nose: M5, 4 mm bear, 2 mm run-out and 1.3 mm of point in a plug of 7 mm
        {
            "outline.tip_radius": "14 mm",
            "tip.plug.length": "7.5 mm",
            "tip.base.fixing": {"rod": "M5", "engagement": "4 mm"},
        },
        "turning.thread",
        "tip.base.fixing.engagement",
    ),
    "a rod's hole into the insert's": (
        {
            **INSERT,
            "tip.plug.fixing": {"thread": "M6", "engagement": "6 mm"},
            "tip.base.fixing": {"rod": "M5", "engagement": "14 mm"},
        },
        "turning.thread",
        "tip.base.fixing.engagement",
    ),
    "a drill's point through the face behind a stud": (
        {**INSERT, "tip.plug.fixing": {"thread": "M8", "engagement": "19.5 mm"}},
        "turning.thread",
        "tip.plug.fixing.engagement",
    ),
    "screws whose holes run into each other": (
        {**THICK, "tip.base.fixing": {"screw": "M3", "screws": 20}},
        "turning.thread",
        "tip.base.fixing.screws",
    ),
    "a stud wider than the nose": (
        {**INSERT, "tip.plug.fixing.thread": "M14"},
        "turning.thread",
        "tip.plug.fixing.thread",
    ),
    "a stud into the cavity": (
        {**INSERT, "tip.plug.fixing": {"thread": "M6", "engagement": "24 mm"}},
        "turning.thread",
        "tip.plug.fixing.engagement",
    ),
}


def built(study, design):
    tables = study.with_design(design).tables
    return build_tip(tables, folder=study.folder, resolution=DEFAULT_RESOLUTION)


@pytest.mark.parametrize("name", UNTURNABLE)
def test_a_design_that_can_not_be_turned_is_refused_by_its_own_rule_and_by_no_other(name):
    design, rule, place = UNTURNABLE[name]
    broken = [one for one in findings(built(EGG, design)) if not one.kept]
    assert [(one.name, one.place) for one in broken] == [(rule, place)]
    assert -1.0 <= broken[0].value < 0.0
    assert broken[0].said().startswith(f"{place}: ")
    assert broken[0].said().count(". ") == 1


def test_each_rule_that_can_be_broken_is_broken_here():
    """The overhang alone is refused before a rule sees it: such a tip isn't built."""
    rules = {one.name for one in findings(built(EGG, {}))}
    assert rules - {rule for _, rule, _ in UNTURNABLE.values()} == {"turning.bar"}


@pytest.mark.parametrize(
    "design",
    [
        {"tip.plug.length": "36 mm", "tip.boring": "steel"},
        {"tip.base": {"solid": True, "bore": "14 mm"}},
    ],
    ids=["too deep for a steel bar", "an undercut behind a narrow bore"],
)
def test_a_cavity_that_no_bar_reaches_is_an_outcome_with_a_remedy(design):
    with pytest.raises(DesignFailure) as caught:
        built(EGG, design)
    assert caught.value.outcome is Outcome.CANNOT_BE_TURNED
    assert caught.value.place.startswith("tip.base.")
    assert "shorten the cavity" in caught.value.outcome.remedy


@pytest.mark.parametrize("name", SHIPPED)
def test_every_shipped_tip_can_be_turned_with_nothing_left_unjudged(name):
    lathe = turnable(built(read_study(STUDIES / name), {}))
    assert [one.said() for one in lathe.findings if not one.kept] == []
    assert lathe.unknown == ()
    assert lathe.advice == ()
