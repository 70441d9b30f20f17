"""The rules of the lathe, against figures by hand."""

import math

import pytest

from optitip.geometry.lap import Lap, LapKind
from optitip.metrics.margins import CAP
from optitip.metrics.turning import (
    Held,
    Run,
    Wall,
    arc_takes,
    bar_rule,
    bore_rule,
    corner_rule,
    deflection_rule,
    rod_needs,
    room_over,
    smallest,
    stock_rule,
    thin_walls,
    thread_rule,
    wall_rule,
)
from optitip.properties.threads import thread_of
from optitip.units import System

FINE = thread_of("M39x1.5")


def wall(thickness, place="tip.band.thickness", thinnest=0.5e-3, advised=1e-3):
    return Wall(part="band", place=place, axial=0.1, thickness=thickness, thinnest=thinnest, advised=advised)


def held(
    *,
    screw=None,
    edge=0.0,
    spigot=1e-3,
    skirt=2e-3,
    room=5e-3,
    engaged=6e-3,
    kind=LapKind.THREAD,
    thinnest=0.5e-3,
):
    """Return a lap, of whose aft part walls of ``thinnest`` can be turned, of its fore part's 0.5 mm."""
    lap = Lap(
        joint="base",
        kind=kind,
        thread=FINE if kind is LapKind.THREAD else None,
        start=0.12,
        radius=0.0195,
        recess=0.0187,
        root=0.0186,
        relief=3.75e-3,
        engaged=engaged,
        inner=0.0178,
        spigot_wall=spigot,
        skirt_wall=skirt,
        room=room,
    )
    return Held(
        lap=lap,
        key="tip.base.fixing",
        wall_place="tip.base.thickness",
        spigot_thinnest=0.5e-3,
        skirt_thinnest=thinnest,
        screw=screw,
        edge=edge,
    )


def test_a_figure_is_what_there_is_over_what_is_needed_less_one():
    assert room_over(1.5, needs=1.0) == pytest.approx(0.5)
    assert room_over(0.0, needs=1.0) == -1.0
    assert room_over(-3.0, needs=1.0) == -1.0
    assert room_over(1e9, needs=1.0) == CAP
    assert room_over(0.0, needs=0.0) == CAP


def test_of_several_walls_the_one_nearest_to_its_own_limit_is_told():
    """0.9 mm of 0.5 has more room than 1.2 of 1.0."""
    found = wall_rule([wall(0.9e-3), wall(1.2e-3, place="tip.base.thickness", thinnest=1e-3)])
    assert found.place == "tip.base.thickness"
    assert found.value == pytest.approx(0.2)
    assert found.kept


def test_aluminium_is_refused_below_half_a_millimetre_and_advised_one():
    """The shop's rule: warn below 1.0 mm, refuse below 0.5."""
    thin = wall(0.49e-3)
    assert wall_rule([thin]).value == pytest.approx(-0.02)
    assert "0.49 mm" in wall_rule([thin]).said()
    assert "inch" in wall_rule([thin]).said(System.US)
    assert thin_walls([wall(0.8e-3), wall(1e-3), thin])[0].startswith("tip.band.thickness: ")
    assert len(thin_walls([wall(0.8e-3), wall(1e-3), thin])) == 1


def test_a_bar_out_by_as_much_as_its_kind_cuts_is_at_its_limit():
    assert bar_rule(4.0, limit=4.0).value == 0.0
    assert bar_rule(5.0, limit=4.0).value == pytest.approx(-0.2)
    assert bore_rule(8e-3, smallest=10e-3, place="tip.plug.length").value == pytest.approx(-0.2)


def test_the_arc_in_a_corner_takes_what_a_tangent_takes():
    """Square: the radius. 60 degrees of turn: r tan 30. By a circle's tangent from the corner."""
    assert arc_takes(math.pi / 2.0, radius=2.0) == pytest.approx(2.0)
    assert arc_takes(math.pi / 3.0, radius=1.0) == pytest.approx(1.0 / math.sqrt(3.0))
    assert arc_takes(0.0, radius=1.0) == 0.0


def test_a_fillet_tighter_than_the_tool_and_a_run_shorter_than_its_arcs():
    roomy = [Run(place="tip.fore_taper", length=6e-3, taken=1e-3)]
    tight = [*roomy, Run(place="tip.aft_taper", length=1e-3, taken=1.25e-3)]
    found = corner_rule(0.3e-3, nose_radius=0.4e-3, runs=roomy)
    assert (found.place, found.value) == ("tip.plug.fillet", pytest.approx(-0.25))
    found = corner_rule(0.8e-3, nose_radius=0.4e-3, runs=tight)
    assert (found.place, found.value) == ("tip.aft_taper", pytest.approx(-0.2))
    # no fillet at all: the tool leaves its own, which has to fit
    assert corner_rule(0.0, nose_radius=0.4e-3, runs=roomy).value == pytest.approx(5.0)


def test_the_wall_may_give_way_by_its_tolerance():
    assert deflection_rule(50e-6, tolerance=50e-6).value == pytest.approx(0.0)
    assert deflection_rule(100e-6, tolerance=50e-6).value == pytest.approx(-0.5)
    assert deflection_rule(1e-6, tolerance=0.0).value == -1.0


def test_the_lathe_takes_a_bar_of_its_own_size():
    assert stock_rule(0.16, largest=0.16).kept
    assert stock_rule(0.2, largest=0.16).value == pytest.approx(-0.2, abs=1e-6)


@pytest.mark.parametrize(
    ("changed", "place", "value"),
    [
        ({"spigot": 0.4e-3}, "tip.base.fixing.thread", -0.2),
        ({"skirt": 0.3e-3}, "tip.base.fixing.thread", -0.4),
        ({"room": 0.25e-3}, "tip.base.fixing.engagement", -0.5),
        ({"engaged": 3.6e-3}, "tip.base.fixing.engagement", -0.2),  # three turns of 1.5 are 4.5
        ({"kind": LapKind.PLAIN, "spigot": 0.4e-3}, "tip.base.thickness", -0.2),
    ],
)
def test_a_joint_lacks_metal_turns_or_room(changed, place, value):
    found = thread_rule([held(), held(**changed)])
    assert (found.place, found.value) == (place, pytest.approx(value))


def test_spigot_and_skirt_are_each_held_to_their_own_material():
    long = {"engaged": 20e-3, "thinnest": 1e-3}
    assert thread_rule([held(**long, spigot=0.8e-3)]).value == pytest.approx(0.6)  # 0.8/0.5 - 1
    assert thread_rule([held(**long, skirt=1.2e-3)]).value == pytest.approx(0.2)  # 1.2/1.0 - 1


def test_screws_need_turns_in_the_spigot_and_an_edge():
    """M3: two turns are 1.0 mm, 1.2 diameters 3.6 mm."""
    screw = {"kind": LapKind.SCREWS, "screw": thread_of("M3")}
    assert thread_rule([held(**screw, edge=6e-3)]).value == pytest.approx(0.0)
    thin = thread_rule([held(**screw, spigot=0.8e-3, edge=6e-3)])
    assert (thin.place, thin.value) == ("tip.base.fixing.screw", pytest.approx(-0.2))
    near = thread_rule([held(**screw, spigot=3e-3, edge=2.7e-3)])
    assert (near.place, near.value) == ("tip.base.fixing.engagement", pytest.approx(-0.25))


def test_a_rod_needs_three_turns_and_metal_round_its_hole():
    """M5: three turns are 2.4 mm; a plug of 2.9 mm radius leaves 0.4 round it."""
    turns, wall_left, ahead = rod_needs(
        thread_of("M5"), engaged=1.2e-3, around=2.9e-3, ahead=-2e-3, thinnest=0.5e-3
    )
    assert ahead.value == -1.0
    assert "deeper than the plug" in ahead.gone
    assert turns.value == pytest.approx(-0.5)
    assert wall_left.value == pytest.approx(-0.2)


def test_what_has_no_metal_at_all_says_so_and_not_a_negative_length():
    for found in (thread_rule([held(spigot=-0.7e-3)]), thread_rule([held(room=-2e-3)])):
        assert found.value == -1.0
        assert "-" not in found.problem
    assert "0.7 mm wider" in thread_rule([held(spigot=-0.7e-3)]).problem


def test_the_smallest_of_several_findings():
    assert smallest([bar_rule(3.0, limit=4.0), bar_rule(5.0, limit=4.0)]).value == pytest.approx(-0.2)
