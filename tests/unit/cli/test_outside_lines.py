from dataclasses import replace

import pytest

from optitip.cli.outside_lines import UNTOUCHED, front_lines, outside_lines
from optitip.evaluate.outside import DragChange, Outside, StabilityChange
from optitip.metrics.values import Bracketed
from optitip.units import System

STABILITY = StabilityChange(
    tip_mass=0.2,
    replaced_mass=0.3,
    centre_of_mass_shift=0.02,
    pressure_centre_shift=0.0,
    change=-0.25,
    bound=False,
    before=1.5,
    after=1.25,
    ballast=0.1,
    station=0.15,
)


def said(**changes):
    """Return the line on the static margin, on an outside that is untouched."""
    lines = outside_lines(Outside(touched=False, stability=replace(STABILITY, **changes)), System.METRIC)
    assert lines[0] == UNTOUCHED
    return lines[1]


def test_a_lighter_tip_is_said_to_move_the_margin_the_wrong_way_with_what_restores_it():
    assert said() == (
        "With its sample the tip is 100 g lighter than the part it replaces and the centre of mass moves "
        "20 mm aft: the static margin changes by -0.25 calibres, from 1.50 to 1.25. The wrong way: ballast "
        "of 100 g 150 mm from the given nose point restores it."
    )


def test_a_heavier_tip_needs_no_ballast():
    line = said(tip_mass=0.4, centre_of_mass_shift=-0.02, change=0.25, after=1.75, ballast=0.0)
    assert "100 g heavier" in line
    assert "20 mm fore" in line
    assert "+0.25 calibres, from 1.50 to 1.75. It needs no ballast." in line


def test_a_margin_no_ballast_can_restore_is_told_so():
    assert "no ballast 150 mm from the given nose point restores it" in said(ballast=None)


def test_without_a_centre_of_pressure_the_change_alone_is_told():
    line = said(before=None, after=None)
    assert "-0.25 calibres. The wrong way" in line


def test_a_bound_is_named_as_one():
    assert "at the worst (vehicle.normal_force_slope would tell)" in said(bound=True)


@pytest.mark.parametrize(
    ("drag", "expected"),
    [
        (DragChange(mach=2.44, before=0.04, after=0.05), "0.0400 to 0.0500 (+0.0100, +25.0 %) at Mach 2.44"),
        (DragChange(mach=0.7, before=0.0, after=0.0), "no wave drag, as the flight never passes Mach 0.70"),
        (None, "no flight, so no wave drag"),
    ],
)
def test_a_touched_outside_tells_its_drag_or_why_it_has_none(drag, expected):
    (line,) = outside_lines(Outside(touched=True, drag=drag, pressure_centre_change=-0.001), System.METRIC)
    assert expected in line
    assert line.endswith("the nose's own centre of pressure moves 1 mm fore.")


def test_a_front_tells_the_range_of_what_its_members_change():
    def figures(drag):
        return {"outline.drag_change": Bracketed(unit="1", low=drag, expected=drag, high=drag)}

    front = [figures(0.002), figures(-0.001), {}]
    assert front_lines(front, free=True, units=System.METRIC) == [
        "On this front, against the vehicle as it was: wave drag coefficient, change -0.001 to 0.002."
    ]
    assert front_lines(front, free=False, units=System.METRIC) == [UNTOUCHED]
