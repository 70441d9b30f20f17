import math

import numpy as np
import pytest

from optitip.export.parts.arcs import Segment, Sense, largest_corner
from optitip.export.parts.profile import (
    Profile,
    cut_apart,
    half_section,
    outline_segments,
    polygon,
    revolved_volume,
    split_at,
)

QUARTER = math.tan(math.pi / 8.0)
# a round nose of 10 mm, then a 10 mm cylinder to z = 40 mm
OUTER = (
    Segment(start=(0.0, 0.0), end=(0.01, 0.01), bulge=-QUARTER),
    Segment(start=(0.01, 0.01), end=(0.04, 0.01)),
)
# a bore of 8 mm radius from z = 20 mm with a 2 mm fillet in its corner
INNER = (
    Segment(start=(0.02, 0.0), end=(0.02, 0.006)),
    Segment(start=(0.02, 0.006), end=(0.022, 0.008), bulge=-QUARTER),
    Segment(start=(0.022, 0.008), end=(0.04, 0.008)),
)
FILLET_LOSS = 2.0 * math.pi * 0.002**2 * (1.0 - math.pi / 4.0)


def solid_volume():
    return 2.0 / 3.0 * math.pi * 0.01**3 + math.pi * 0.01**2 * 0.03


def bore_volume():
    # the corner square less its quarter circle, at the radius of its centre of area (Pappus)
    square, disc = 0.002**2, math.pi / 4.0 * 0.002**2
    moment = square * 0.007 - disc * (0.006 + 4.0 * 0.002 / (3.0 * math.pi))
    return math.pi * 0.008**2 * 0.02 - 2.0 * math.pi * moment


def test_a_ball_turned_from_its_half_circle_has_its_volume():
    half = Segment(start=(0.0, 0.0), end=(0.02, 0.0), bulge=-1.0)
    assert revolved_volume([half, half.reversed()]) == pytest.approx(0.0, abs=1e-20)
    ball = [half, Segment(start=(0.02, 0.0), end=(0.0, 0.0))]
    assert revolved_volume(ball) == pytest.approx(4.0 / 3.0 * math.pi * 0.01**3, rel=1e-12)


def test_a_ring_has_the_volume_that_pappus_gives():
    ring = [
        Segment(start=(0.0, 0.05), end=(0.02, 0.05), bulge=-1.0),
        Segment(start=(0.02, 0.05), end=(0.0, 0.05), bulge=-1.0),
    ]
    assert revolved_volume(ring) == pytest.approx(2.0 * math.pi * 0.05 * math.pi * 0.01**2, rel=1e-12)


def test_a_half_section_is_closed_and_holds_the_shell_without_its_bore():
    section = half_section(OUTER, INNER)
    for before, after in zip(section, (*section[1:], section[0]), strict=True):
        assert before.end == pytest.approx(after.start, abs=1e-12)
    assert revolved_volume(section) == pytest.approx(solid_volume() - bore_volume(), rel=1e-12)
    aft_face = [one for one in section if one.start[0] == one.end[0] == 0.04]
    assert [(one.start[1], one.end[1]) for one in aft_face] == [(0.01, 0.008)]


def test_parts_cut_apart_fill_the_whole_between_them():
    whole = revolved_volume(half_section(OUTER, INNER))
    parts = cut_apart(OUTER, INNER, [(0.004, (0.004, 0.0)), (0.03, (0.03, 0.008))])
    assert len(parts) == 3
    assert sum(revolved_volume(part) for part in parts) == pytest.approx(whole, rel=1e-12)
    cap = math.pi * 0.004**2 * (3.0 * 0.01 - 0.004) / 3.0
    assert revolved_volume(parts[0]) == pytest.approx(cap, rel=1e-10)
    assert revolved_volume(parts[2]) == pytest.approx(math.pi * (0.01**2 - 0.008**2) * 0.01, rel=1e-10)


def test_a_cut_to_the_end_of_the_cavitys_fore_face_leaves_the_face_to_the_fore_part():
    fore, aft = cut_apart(OUTER, INNER, [(0.02, INNER[0].end)])
    assert revolved_volume(fore) == pytest.approx(solid_volume() - math.pi * 0.01**2 * 0.02, rel=1e-12)
    whole = revolved_volume(half_section(OUTER, INNER))
    assert revolved_volume(aft) == pytest.approx(whole - revolved_volume(fore), rel=1e-12)


def test_a_split_arc_stays_on_its_circle():
    fore, aft = split_at(OUTER, 0.004)
    assert fore[-1].end[0] == aft[0].start[0] == 0.004
    assert fore[-1].centre == pytest.approx((0.01, 0.0), abs=1e-12)
    assert aft[0].centre == pytest.approx((0.01, 0.0), abs=1e-12)


def test_a_cut_may_lean():
    _, aft = cut_apart(OUTER, INNER, [(0.035, (0.03, 0.008))])
    leaning = math.pi * 0.005 * (0.01**2 - (0.008**2 + 0.008 * 0.01 + 0.01**2) / 3.0)
    assert revolved_volume(aft) == pytest.approx(math.pi * (0.01**2 - 0.008**2) * 0.01 - leaning, rel=1e-9)


def test_a_cut_to_a_point_off_the_cavity_is_refused():
    with pytest.raises(ValueError, match="no line"):
        cut_apart(OUTER, INNER, [(0.03, (0.03, 0.0075))])


@pytest.mark.parametrize("station", [-0.001, 0.0, 0.04, 1.0])
def test_a_cut_outside_the_tip_is_refused(station):
    with pytest.raises(ValueError, match="no cut"):
        split_at(OUTER, station)


def blunted_cone(radius=0.005):
    half_angle = math.radians(10.0)
    on_ball = np.linspace(0.0, math.pi / 2.0 - half_angle, 200)
    ball = np.column_stack([radius * (1.0 - np.cos(on_ball)), radius * np.sin(on_ball)])
    along = np.linspace(0.0, 0.1, 400)[1:]
    cone = ball[-1] + np.outer(along, [math.cos(half_angle), math.sin(half_angle)])
    direction = np.concatenate([math.pi / 2.0 - on_ball, np.full(len(along), half_angle)])
    return np.vstack([ball, cone]), direction


def test_a_blunted_cone_is_its_own_nose_arc_and_one_line():
    points, direction = blunted_cone()
    fit = outline_segments(points, direction=direction, nose_points=200)
    assert [one.sense for one in fit.segments] == [Sense.CLOCKWISE, Sense.LINE]
    assert fit.segments[0].centre == pytest.approx((0.005, 0.0), abs=1e-12)
    assert fit.segments[0].radius == pytest.approx(0.005, rel=1e-12)
    assert fit.error < 1e-12
    assert largest_corner(fit.segments) < 1e-8


def test_a_curved_outline_keeps_its_nose_arc_exact_and_leaves_it_tangent():
    points, _ = blunted_cone()
    tail = points[-1] + np.column_stack([np.linspace(0.0, 0.05, 300)[1:], np.zeros(299)])
    x = tail[:, 0] - points[-1, 0]
    tail[:, 1] = points[-1, 1] + math.tan(math.radians(10.0)) * (x - x**2 / 0.1)
    slope = np.arctan(math.tan(math.radians(10.0)) * (1.0 - 2.0 * x / 0.1))
    direction = np.concatenate([blunted_cone()[1], slope])
    fit = outline_segments(np.vstack([points, tail]), direction=direction, nose_points=200)
    assert fit.segments[0].centre == pytest.approx((0.005, 0.0), abs=1e-12)
    assert fit.error <= 5e-6
    assert largest_corner(fit.segments) < 1e-6


def test_what_follows_the_nose_takes_its_direction_from_the_arc_itself():
    points, direction = blunted_cone()
    direction[199] += 1e-4
    fit = outline_segments(points, direction=direction, nose_points=200)
    assert largest_corner(fit.segments) < 1e-8
    assert fit.error < 5e-6


def test_a_sharp_outline_needs_no_nose_arc():
    z = np.linspace(0.0, 0.1, 100)
    fit = outline_segments(
        np.column_stack([z, 0.1 * z]), direction=np.full(100, math.atan(0.1)), nose_points=1
    )
    assert [one.sense for one in fit.segments] == [Sense.LINE]


def test_a_slab_given_by_its_corners_has_the_volume_of_its_ring():
    corners = np.array([[0.02, 0.007], [0.02, 0.008], [0.03, 0.008], [0.03, 0.007]])
    slab = Profile(layer="slab", material="egg white", segments=polygon(corners), metal=False)
    assert slab.volume == pytest.approx(math.pi * (0.008**2 - 0.007**2) * 0.01, rel=1e-12)
    strip = Profile(layer="slab", material="egg white", segments=polygon(corners), metal=False, share=0.25)
    assert strip.volume == pytest.approx(0.25 * slab.volume, rel=1e-12)
