import math

import numpy as np
import pytest
from scipy.interpolate import CubicHermiteSpline

from optitip.errors import UserMistakes
from optitip.geometry.outline import family_outline, measured_outline
from optitip.inputs.study_tables import OutlineFamily

EXPONENTS = {OutlineFamily.POWER: 0.6, OutlineFamily.PARABOLA: 0.75}


def made(family, *, tip_radius=0.004, turned_length=0.1, diameter=0.05, length=0.2):
    return family_outline(
        family,
        diameter=diameter,
        length=length,
        turned_length=turned_length,
        tip_radius=tip_radius,
        exponent=EXPONENTS.get(family),
    )


@pytest.mark.parametrize("family", OutlineFamily)
@pytest.mark.parametrize("tip_radius", [0.0035, 0.006, 0.015])
def test_the_sphere_meets_the_side_without_a_corner(family, tip_radius):
    outline = made(family, tip_radius=tip_radius, turned_length=0.08)
    join = int(np.searchsorted(outline.arc_length, outline.sphere_arc * (1 - 1e-12)))
    # the sphere's own point and slope there, from the arc alone
    angle = outline.sphere_arc / tip_radius
    assert outline.radius[join] == pytest.approx(tip_radius * math.sin(angle), rel=1e-9)
    assert outline.axial[join] == pytest.approx(tip_radius * (1 - math.cos(angle)), rel=1e-9)
    assert outline.slope[join] == pytest.approx(math.pi / 2 - angle, abs=1e-9)
    assert np.all(np.diff(outline.slope) < 1e-12)


@pytest.mark.parametrize("family", OutlineFamily)
def test_the_outline_begins_at_a_right_angle_at_its_nose_point(family):
    outline = made(family)
    assert (outline.axial[0], outline.radius[0], outline.arc_length[0]) == (0, 0, 0)
    assert outline.slope[0] == pytest.approx(math.pi / 2)
    assert outline.turned_length == pytest.approx(0.1)
    assert len(outline.arc_length) > 500


def test_between_its_points_the_outline_is_the_cubic_through_points_and_slopes():
    outline = made(OutlineFamily.VON_KARMAN)
    arc = np.linspace(-0.1, 1.1, 333) * outline.total_arc
    inside = np.clip(arc, 0, outline.total_arc)
    splines = [
        CubicHermiteSpline(outline.arc_length, values, rise(outline.slope))
        for values, rise in ((outline.axial, np.cos), (outline.radius, np.sin))
    ]
    axial, radius, slope = outline.at(arc)
    assert axial == pytest.approx(splines[0](inside), rel=1e-12, abs=1e-15)
    assert radius == pytest.approx(splines[1](inside), rel=1e-12, abs=1e-15)
    steep = [spline.derivative()(inside) for spline in splines]
    assert slope == pytest.approx(np.arctan2(steep[1], steep[0]), rel=1e-11)


def test_the_tangent_point_of_a_cone_is_that_of_plane_geometry():
    half = math.atan(0.025 / 0.2)
    outline = made(OutlineFamily.CONE, tip_radius=0.004)
    assert outline.sphere_arc == pytest.approx(0.004 * (math.pi / 2 - half), rel=1e-9)
    assert outline.blunting == pytest.approx(0.004 * (1 / math.sin(half) - 1), rel=1e-9)


def test_the_side_does_not_move_when_the_tip_is_blunted():
    sharp, blunt = made(OutlineFamily.TANGENT_OGIVE, tip_radius=0.002), made(OutlineFamily.TANGENT_OGIVE)
    station = 0.09  # from the sharp tip
    radii = [o.at(o.arc_length_of(station - o.blunting))[1] for o in (sharp, blunt)]
    assert radii[0] == pytest.approx(radii[1], abs=1e-9)


def test_a_hemisphere_has_the_arc_the_area_and_the_volume_of_a_sphere():
    outline = made(OutlineFamily.ELLIPSE, diameter=0.2, length=0.1, turned_length=0.05, tip_radius=None)
    assert outline.total_arc == pytest.approx(0.1 * math.acos(0.5), rel=1e-9)
    assert outline.surface == pytest.approx(2 * math.pi * 0.1 * 0.05, rel=1e-5)
    assert outline.volume == pytest.approx(math.pi * 0.05**2 * (0.1 - 0.05 / 3), rel=2e-5)
    assert outline.curvature == pytest.approx(10, rel=2e-3)


def test_the_arc_length_of_a_tangent_ogive_is_its_circles():
    outline = made(OutlineFamily.TANGENT_OGIVE)
    rho = (0.025**2 + 0.2**2) / 0.05
    turned = outline.slope[outline.arc_length >= outline.sphere_arc]
    side = outline.total_arc - outline.sphere_arc
    assert side == pytest.approx(rho * (turned[0] - turned[-1]), rel=1e-10)


@pytest.mark.parametrize("family", OutlineFamily)
def test_between_its_points_the_outline_follows_the_family(family):
    outline = made(family)
    s = np.linspace(0, outline.total_arc, 5000)
    z, r, slope = outline.at(s)
    # the chord of a curve is shorter than its arc by (curvature ds)^2/24 and no more
    chord = np.hypot(np.diff(z), np.diff(r)) / np.diff(s)
    assert np.max(np.abs(chord - 1)) < 1e-5
    middle = np.arctan2(np.diff(r), np.diff(z))
    # the curvature jumps where the sphere ends, so the piece over that point is left out
    away = np.abs(s[1:] - outline.sphere_arc) > 2 * s[1]
    assert np.max(np.abs(middle - 0.5 * (slope[1:] + slope[:-1]))[away]) < 2e-5


def test_axial_and_arc_length_are_each_others_inverse():
    outline = made(OutlineFamily.VON_KARMAN)
    s = np.concatenate([[0.0], np.geomspace(1e-6, outline.total_arc, 200)])
    assert outline.arc_length_of(outline.at(s)[0]) == pytest.approx(s, abs=1e-10)


def test_without_a_tip_radius_a_round_family_keeps_its_own_nose():
    outline = made(OutlineFamily.ELLIPSE, tip_radius=None)
    assert outline.tip_radius == pytest.approx(0.025**2 / 0.2)
    assert outline.blunting == 0
    assert outline.curvature[0] == pytest.approx(1 / outline.tip_radius, rel=2e-2)


@pytest.mark.parametrize(
    ("family", "changed", "place"),
    [
        (OutlineFamily.CONE, {"tip_radius": None}, "outline.tip_radius"),
        (OutlineFamily.VON_KARMAN, {"tip_radius": 0.0}, "outline.tip_radius"),
        (OutlineFamily.ELLIPSE, {"tip_radius": 0.001}, "outline.tip_radius"),
        (OutlineFamily.CONE, {"tip_radius": 0.03}, "outline.tip_radius"),
        (OutlineFamily.CONE, {"turned_length": 0.2}, "outline.turned_length"),
        (OutlineFamily.CONE, {"turned_length": 0.002}, "outline.turned_length"),
    ],
)
def test_an_outline_that_can_not_be_is_the_users_mistake(family, changed, place):
    with pytest.raises(UserMistakes) as caught:
        made(family, **changed)
    assert [mistake.place for mistake in caught.value.mistakes] == [place]


def test_a_power_outline_close_to_one_half_is_too_blunt_for_a_small_sphere():
    # its own radius is nought at the very point, R^2/(2 L) = 1.6 mm anywhere that can be turned
    given = {"diameter": 0.05, "length": 0.2, "turned_length": 0.1, "exponent": 0.5001}
    with pytest.raises(UserMistakes, match="blunter than a sphere of 1 mm"):
        family_outline(OutlineFamily.POWER, tip_radius=0.001, **given)
    assert family_outline(OutlineFamily.POWER, tip_radius=0.002, **given).blunting > 0


def test_a_measured_outline_gives_back_the_family_it_was_measured_on():
    truth = made(OutlineFamily.VON_KARMAN, turned_length=0.15)
    noise = np.random.default_rng(3).normal(0, 1e-5, 150)
    z = np.linspace(0, 0.15, 150)
    r = np.maximum(truth.at(truth.arc_length_of(z))[1] + noise, 0)
    r[0] = 0
    outline = measured_outline(z, r, turned_length=0.1, tolerance=1.2e-5)
    far = outline.arc_length > 0.01
    _, radius, slope = truth.at(truth.arc_length_of(outline.axial[far]))
    assert outline.radius[far] == pytest.approx(radius, abs=2e-5)
    assert outline.slope[far] == pytest.approx(slope, abs=math.radians(0.5))
    assert outline.tip_radius == pytest.approx(0.004, rel=0.25)


def test_a_measured_outline_that_begins_off_the_axis_gets_a_sphere():
    z = np.linspace(0.03, 0.15, 60)
    outline = measured_outline(z, 0.2 * z, turned_length=0.1, tip_radius=0.008, tolerance=1e-6)
    assert outline.tip_radius == 0.008
    assert outline.slope[-1] == pytest.approx(math.atan(0.2), abs=5e-4)
    with pytest.raises(UserMistakes, match=r"outline\.tip_radius"):
        measured_outline(z, 0.2 * z, turned_length=0.1)
    with pytest.raises(UserMistakes, match="tangent"):
        measured_outline(z, 0.2 * z, turned_length=0.1, tip_radius=0.002, tolerance=1e-6)
