import math

import numpy as np
import pytest

from optitip.export.parts.arcs import Segment, Sense, directions, fit_curve, joined, largest_corner

TOLERANCE = 5e-6


def von_karman(n=4000, length=0.25, radius=0.027, fore=0.004):
    """A von Karman outline aft of z = fore, with its slopes by the formula's own derivative."""
    z = np.linspace(fore, length, n)
    angle = np.arccos(1.0 - 2.0 * z / length)
    r = radius / math.sqrt(math.pi) * np.sqrt(angle - 0.5 * np.sin(2.0 * angle))
    # d(r2)/dz = (radius2 / pi) (1 - cos 2 angle) (2 / length) / sin angle
    squared = radius**2 / math.pi * 4.0 / length * np.sin(angle)
    slope = squared / (2.0 * r)
    return np.column_stack([z, r]), np.arctan(slope)


def ellipse(n=3000, length=0.2, radius=0.03):
    t = np.linspace(0.0, 0.5 * math.pi, n)
    points = np.column_stack([length * (1.0 - np.cos(t)), radius * np.sin(t)])
    return points, np.arctan2(radius * np.cos(t), length * np.sin(t))


def ogive(n=2000, length=0.2, radius=0.03):
    rho = (radius**2 + length**2) / (2.0 * radius)
    angle = np.linspace(math.asin(length / rho), 0.0, n)
    return np.column_stack([length - rho * np.sin(angle), radius - rho + rho * np.cos(angle)]), angle


def distance_to_polyline(points, polyline):
    """Return the distance of points from a dense polyline, an independent measure of the error."""
    start, step = polyline[:-1], np.diff(polyline, axis=0)
    share = np.einsum("pij,ij->pi", points[:, None] - start, step) / np.sum(step**2, axis=1)
    nearest = start + np.clip(share, 0.0, 1.0)[..., None] * step
    return np.linalg.norm(points[:, None] - nearest, axis=2).min(axis=1)


@pytest.mark.parametrize(("curve", "most"), [(von_karman, 16), (ellipse, 24), (ogive, 1)])
def test_a_curve_becomes_few_tangent_arcs_within_the_tolerance(curve, most):
    points, direction = curve()
    fit = fit_curve(points, direction=direction, tolerance=TOLERANCE)
    assert len(fit.segments) <= most
    assert fit.error <= TOLERANCE
    assert largest_corner(fit.segments) <= 1e-6
    drawn = np.vstack([one.points(np.linspace(0.0, 1.0, 200)) for one in fit.segments])
    distance = distance_to_polyline(drawn[::7], points)
    assert distance.max() <= 1.02 * TOLERANCE
    assert fit.segments[0].start == tuple(points[0])
    assert fit.segments[-1].end == tuple(points[-1])
    for before, after in zip(fit.segments[:-1], fit.segments[1:], strict=True):
        assert before.end == after.start


def test_a_tighter_tolerance_takes_more_arcs_and_errs_less():
    points, direction = von_karman()
    coarse = fit_curve(points, direction=direction, tolerance=50e-6)
    fine = fit_curve(points, direction=direction, tolerance=0.5e-6)
    assert len(fine.segments) > len(coarse.segments)
    assert fine.error <= 0.5e-6


@pytest.mark.parametrize("tolerance", [3e-6, 12e-6])
def test_the_last_arcs_are_no_stub_that_the_others_left_over(tolerance):
    # taking the longest each time leaves a last pair of a hundredth of the one before it
    points, direction = von_karman()
    chords = [one.chord for one in fit_curve(points, direction=direction, tolerance=tolerance).segments]
    assert chords[-1] + chords[-2] > 0.2 * (chords[-3] + chords[-4])


def test_a_half_circle_keeps_its_centre_and_radius():
    angle = np.linspace(0.0, math.pi, 500)
    points = np.column_stack([0.01 - 0.01 * np.cos(angle), 0.01 * np.sin(angle)])
    fit = fit_curve(points, direction=0.5 * math.pi - angle)
    assert fit.error < 1e-12
    assert len(fit.segments) <= 2
    for one in fit.segments:
        assert one.sense is Sense.CLOCKWISE
        assert one.radius == pytest.approx(0.01, rel=1e-9)
        assert one.centre == pytest.approx((0.01, 0.0), abs=1e-11)


def test_a_straight_curve_is_one_line():
    z = np.linspace(0.0, 0.1, 50)
    fit = fit_curve(np.column_stack([z, 0.2 * z]), direction=np.full(50, math.atan(0.2)))
    assert len(fit.segments) == 1
    assert fit.segments[0].sense is Sense.LINE
    assert fit.error < 1e-15


def test_a_curve_with_an_inflection_turns_both_ways():
    z = np.linspace(0.0, 0.1, 2000)
    r = 0.02 + 0.004 * np.sin(2.0 * math.pi * z / 0.1)
    slope = np.arctan(0.004 * 2.0 * math.pi / 0.1 * np.cos(2.0 * math.pi * z / 0.1))
    fit = fit_curve(np.column_stack([z, r]), direction=slope)
    assert fit.error <= TOLERANCE
    assert {one.sense for one in fit.segments} >= {Sense.CLOCKWISE, Sense.COUNTER_CLOCKWISE}


def test_directions_from_points_alone_are_exact_on_an_even_circle_and_second_order_elsewhere():
    angle = np.linspace(0.2, 1.2, 40)
    circle = np.column_stack([np.sin(angle), 1.0 - np.cos(angle)])
    assert directions(circle) == pytest.approx(angle, abs=1e-12)
    errors = []
    for n in (200, 400):
        points, direction = von_karman(n=n, fore=0.05)
        # aft of 0.2 m the formula's curvature grows without bound towards the base
        inside = (points[:, 0] < 0.2) & (points[:, 0] > 0.055)
        errors.append(np.abs(directions(points) - direction)[inside].max())
    assert errors[0] / errors[1] == pytest.approx(4.0, rel=0.1)


def test_directions_are_second_order_on_unlike_spacing_too():
    errors = []
    for n in (200, 400):
        dense, slope = von_karman(n=20 * n + 1, fore=0.05)
        # spacings of 8, 12, 8, 12 ... so that no neighbour is as far as the other
        picked = np.cumsum([0] + [8, 12] * (2 * n))
        picked = picked[picked < np.searchsorted(dense[:, 0], 0.2)]
        errors.append(np.abs(directions(dense[picked]) - slope[picked])[1:-1].max())
    assert errors[0] / errors[1] == pytest.approx(4.0, rel=0.15)


def test_a_curve_of_unlike_spacing_and_no_given_directions_is_fitted_too():
    points, _ = von_karman()
    uneven = points[np.unique((np.linspace(0.0, 1.0, 1500) ** 2 * (len(points) - 1)).astype(int))]
    fit = fit_curve(uneven)
    assert fit.error <= TOLERANCE
    assert largest_corner(fit.segments) <= 1e-6


def test_an_arc_keeps_its_distance_digits_when_it_is_nearly_straight():
    flat = Segment(start=(0.0, 0.0), end=(0.1, 0.0), bulge=1e-7)
    middle = flat.points(np.array([0.5]))
    assert middle[0] == pytest.approx([0.05, -0.5e-8], rel=1e-6)
    assert flat.distance(middle)[0] < 1e-16
    assert flat.distance(middle + np.array([0.0, 1e-6]))[0] == pytest.approx(1e-6, rel=1e-9)


def test_an_arc_run_backwards_passes_the_same_points():
    arc = Segment(start=(0.0, 0.0), end=(0.02, 0.01), bulge=-0.3)
    share = np.linspace(0.0, 1.0, 9)
    assert arc.reversed().points(share) == pytest.approx(arc.points(share)[::-1], abs=1e-15)
    assert arc.reversed().centre == pytest.approx(arc.centre)
    assert arc.points(share)[0] == pytest.approx(arc.start)
    assert arc.points(share)[-1] == pytest.approx(arc.end)


def test_only_neighbours_on_one_circle_or_line_are_joined():
    lines = [
        Segment(start=(0, 0), end=(1, 0)),
        Segment(start=(1, 0), end=(2, 0)),
        Segment(start=(2, 0), end=(3, 1)),
    ]
    assert [one.end for one in joined(lines)] == [(2, 0), (3, 1)]
    tangent = [
        Segment(start=(0.0, 0.0), end=(1.0, 1.0), bulge=-math.tan(math.pi / 8.0)),
        Segment(start=(1.0, 1.0), end=(3.0, -1.0), bulge=-math.tan(math.pi / 8.0)),
    ]
    assert len(joined(tangent)) == 2


@pytest.mark.parametrize("points", [[[0.0, 0.0]], [[0.0, 0.0], [0.0, 0.0], [1.0, 1.0]]])
def test_points_that_are_no_curve_are_refused(points):
    with pytest.raises(ValueError, match="two points"):
        fit_curve(np.array(points))
