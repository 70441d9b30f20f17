import itertools
import math

import numpy as np
import pytest

from optitip.export.parts.arcs import Segment
from optitip.export.parts.profile import split_at
from optitip.export.sheets.part_features import features_of, radius_on

QUARTER = math.tan(math.pi / 8.0)


def lines(*points):
    return [Segment(start=a, end=b) for a, b in itertools.pairwise(points)]


@pytest.mark.parametrize("bulge", [-QUARTER, -0.003, -1e-9, 0.0, 1e-6, 0.05])
def test_a_radius_between_the_ends_is_that_of_the_cut_segment(bulge):
    one = Segment(start=(0.01, 0.004), end=(0.05, 0.021), bulge=bulge)
    if bulge == -QUARTER:
        one = Segment(start=(0.0, 0.0), end=(0.02, 0.02), bulge=bulge)
    for z in np.linspace(one.start[0], one.end[0], 9)[1:-1]:
        expected = split_at((one,), float(z))[0][-1].end[1]
        assert radius_on((one,), float(z)) == pytest.approx(expected, abs=1e-12)


def test_a_spheres_radius_is_that_of_pythagoras():
    nose = Segment(start=(0.0, 0.0), end=(0.005, 0.005), bulge=-QUARTER)
    # r^2 + (R - z)^2 = R^2
    assert radius_on((nose,), 0.002) == pytest.approx(math.sqrt(0.005**2 - 0.003**2), abs=1e-14)


def test_at_a_face_both_radii_are_told():
    step = lines((0.0, 0.01), (0.02, 0.01), (0.02, 0.015), (0.05, 0.015))
    assert radius_on(step, 0.02, ahead=True) == 0.01
    assert radius_on(step, 0.02) == 0.015
    assert radius_on(step, -1.0) == 0.01
    assert radius_on(step, 1.0) == 0.015


def test_a_rounded_shoulder_counts_where_it_would_be_sharp():
    # a shoulder from r 20 down to 10 at z 30, its corner rounded by 0.8
    curve = [
        *lines((0.0, 0.02), (0.03, 0.02), (0.03, 0.0108)),
        Segment(start=(0.03, 0.0108), end=(0.0308, 0.01), bulge=QUARTER),
        *lines((0.0308, 0.01), (0.05, 0.01)),
    ]
    found = features_of(curve)
    assert found.stations == pytest.approx((0.0, 0.03, 0.05), abs=1e-12)
    assert [r for _, r in found.diameters] == [0.02, 0.01]
    assert [one.size for one in found.rounds] == pytest.approx([0.0008])


def test_a_chamfer_is_one_label_and_no_station():
    curve = lines((0.0, 0.009), (0.001, 0.01), (0.04, 0.01))
    curve = [*lines((0.0, 0.002), (0.0, 0.009)), *curve]
    found = features_of(curve)
    assert found.stations == pytest.approx((0.0, 0.04))
    assert [one.size for one in found.chamfers] == pytest.approx([0.001])
    assert [r for _, r in found.diameters] == [0.01]


def test_tangent_arcs_are_one_curve_with_a_diameter_at_each_end():
    first = Segment(start=(0.0, 0.01), end=(0.02, 0.015), bulge=-0.01)
    turn = first.end_direction
    end = (0.05, 0.02)
    chord = math.atan2(end[1] - 0.015, end[0] - 0.02)
    second = Segment(start=first.end, end=end, bulge=math.tan(0.5 * (chord - turn)))
    found = features_of([first, second])
    assert found.stations == pytest.approx((0.0, 0.05))
    assert found.diameters == ((0.0, 0.01), (0.05, 0.02))


def test_metal_on_the_axis_has_no_station_and_no_diameter():
    curve = lines((0.0, 0.0), (0.03, 0.0), (0.03, 0.012), (0.06, 0.012))
    found = features_of(curve)
    assert found.stations == pytest.approx((0.03, 0.06))
    assert [r for _, r in found.diameters] == [0.012]


def test_a_rounded_corner_between_a_cone_and_a_cylinder_counts_where_their_lines_meet():
    # a cone of 45 degrees from (0, 0.01) meets the cylinder of r 0.03 at z = 0.02; rounded by 2 mm
    reach = 0.002 * math.tan(math.radians(22.5))
    leg = reach / math.sqrt(2.0)
    curve = [
        *lines((0.0, 0.01), (0.02 - leg, 0.03 - leg)),
        Segment(
            start=(0.02 - leg, 0.03 - leg),
            end=(0.02 + reach, 0.03),
            bulge=-math.tan(math.radians(45.0) / 4.0),
        ),
        *lines((0.02 + reach, 0.03), (0.05, 0.03)),
    ]
    found = features_of(curve)
    assert found.stations == pytest.approx((0.0, 0.02, 0.05), abs=1e-9)
    assert [one.size for one in found.rounds] == pytest.approx([0.002])
    assert [r for _, r in found.diameters] == pytest.approx([0.01, 0.03])
