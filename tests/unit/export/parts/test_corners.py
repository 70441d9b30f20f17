"""Inside corners with the tool's radius: tangent, in the void, or named where they have no room."""

import itertools
import math

import pytest

from optitip.export.parts.arcs import Segment, wrapped
from optitip.export.parts.corners import Void, fillet, rounded

R = 0.4e-3


def line(*points):
    return [Segment(start=a, end=b) for a, b in itertools.pairwise(points)]


def kinks(segments):
    return [abs(wrapped(b.start_direction - a.end_direction)) for a, b in itertools.pairwise(segments)]


def test_the_arc_in_a_square_corner_has_its_textbook_centre():
    # the root of a shoulder on the outside: down at z = 10 mm to radius 5 mm, then aft
    shoulder = line((0.010, 0.008), (0.010, 0.005), (0.020, 0.005))
    found = rounded(shoulder, radius=R, void=Void.LEFT)
    _, arc, _ = found.segments
    assert arc.centre == pytest.approx((0.010 + R, 0.005 + R), abs=1e-12)
    assert arc.radius == pytest.approx(R, rel=1e-12)
    assert max(kinks(found.segments)) < 1e-9
    assert found.sharp == ()


@pytest.mark.parametrize(("degrees"), [2.0, 20.0, 45.0, 90.0, 150.0])
def test_a_corner_takes_the_textbook_length_of_both_sides(degrees):
    """Of each side rho tan(turn / 2)."""
    turn = math.radians(degrees)
    far = (0.01 + 0.01 * math.cos(turn), 0.01 * math.sin(turn))
    before, after = line((0.0, 0.0), (0.01, 0.0), far)
    arc = fillet(before, after, radius=R, void=Void.LEFT)
    assert math.dist(arc.start, (0.01, 0.0)) == pytest.approx(R * math.tan(turn / 2.0), rel=1e-9)
    assert math.dist(arc.end, (0.01, 0.0)) == pytest.approx(R * math.tan(turn / 2.0), rel=1e-9)
    assert arc.turn == pytest.approx(turn, rel=1e-9)


def test_an_edge_stays_and_a_bores_corner_is_on_its_other_side():
    path = line((0.0, 0.006), (0.01, 0.006), (0.01, 0.002), (0.02, 0.002))
    inside = rounded(path, radius=R, void=Void.RIGHT).segments
    outside = rounded(path, radius=R, void=Void.LEFT).segments
    assert [one.radius < 1.0 for one in inside] == [False, True, False, False]
    assert [one.radius < 1.0 for one in outside] == [False, False, True, False]


def test_arcs_that_meet_in_a_kink_are_joined_by_an_arc_that_touches_both():
    first = Segment(start=(0.0, 0.010), end=(0.01, 0.0105), bulge=-0.01)
    second = Segment(start=(0.01, 0.0105), end=(0.02, 0.0125), bulge=-0.02)
    found = rounded([first, second], radius=R, void=Void.LEFT)
    fore, arc, aft = found.segments
    assert max(kinks(found.segments)) < 1e-9
    assert arc.radius == pytest.approx(R, rel=1e-9)
    for trimmed, whole in ((fore, first), (aft, second)):
        assert trimmed.radius == pytest.approx(whole.radius, rel=1e-8)
        assert trimmed.centre == pytest.approx(whole.centre, abs=1e-9)


def test_a_tighter_arc_gives_way_to_the_tools():
    small = 0.2e-3
    face, side = (0.010, 0.0), (0.020, 0.005)
    bulge = -math.tan(math.pi / 8.0)
    path = [
        Segment(start=face, end=(0.010, 0.005 - small)),
        Segment(start=(0.010, 0.005 - small), end=(0.010 + small, 0.005), bulge=bulge),
        Segment(start=(0.010 + small, 0.005), end=side),
    ]
    found = rounded(path, radius=R, void=Void.RIGHT)
    _, arc, _ = found.segments
    assert arc.centre == pytest.approx((0.010 + R, 0.005 - R), abs=1e-12)
    assert max(kinks(found.segments)) < 1e-9


def test_a_corner_without_room_stays_and_is_named():
    step = line((0.0, 0.006), (0.01, 0.006), (0.01, 0.006 - 0.5 * R), (0.02, 0.006 - 0.5 * R))
    found = rounded(step, radius=R, void=Void.LEFT)
    assert list(found.segments) == step
    assert found.sharp == ((0.01, 0.006 - 0.5 * R),)
