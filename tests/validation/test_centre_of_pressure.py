"""Centre of pressure of noses by slender-body theory, x = L - V/A from the nose point; what bends them there.

Source: Munk 1924, NACA Report 184 (the normal force grows with the section's area); volumes by hand:
cone A L/3, slender ogive (r = R (2 x - x^2)) 8/15 A L, power n = 1/2 A L/2, ellipse 2/3 A L, von Karman
A L/2, Haack C: (1/2 + 3 C/16) A L; a blunted cone as a frustum and a spherical cap.
Tolerance: 2e-4 of the length (the smallest round tips take that off); the ogive 2e-3 at fineness 12, where
the arc isn't quite the slender parabola; the blunted cone 1e-6; moment over force
along the outline's points 1e-3 of the length.
"""

import numpy as np
import pytest

from optitip.geometry.outline import family_outline
from optitip.inputs.study_tables import OutlineFamily
from optitip.metrics.bending import sections_of, slender_moment, slender_normal_force
from optitip.metrics.outside import slender_pressure_centre

DIAMETER = 0.08
AREA = np.pi / 4.0 * DIAMETER**2


def centre(family, *, fineness, **options):
    """Return the centre of pressure from the nose point, over the length of the sharp nose."""
    length = fineness * DIAMETER
    nose = family_outline(family, diameter=DIAMETER, length=length, **options)
    found = slender_pressure_centre(nose.volume, length=nose.turned_length, base_area=AREA)
    return (found + nose.blunting) / length


@pytest.mark.parametrize(
    ("family", "expected", "options"),
    [
        (OutlineFamily.CONE, 2.0 / 3.0, {"tip_radius": 6e-5}),
        (OutlineFamily.POWER, 1.0 / 2.0, {"exponent": 0.5}),
        (OutlineFamily.ELLIPSE, 1.0 / 3.0, {}),
        (OutlineFamily.PARABOLA, 7.0 / 15.0, {"exponent": 1.0, "tip_radius": 6e-5}),
        (OutlineFamily.VON_KARMAN, 1.0 / 2.0, {"tip_radius": 6e-5}),
        (OutlineFamily.HAACK_LV, 7.0 / 16.0, {"tip_radius": 6e-5}),
    ],
)
def test_the_centre_of_pressure_of_a_family_stands_where_its_volume_says(family, expected, options):
    assert centre(family, fineness=5.0, **options) == pytest.approx(expected, abs=2e-4)


def test_the_centre_of_a_long_tangent_ogive_is_that_of_the_slender_parabola():
    assert centre(OutlineFamily.TANGENT_OGIVE, fineness=12.0, tip_radius=6e-5) == pytest.approx(
        7.0 / 15.0, abs=2e-3
    )


def test_the_centre_of_a_blunted_cone_is_that_of_its_frustum_and_cap():
    # half angle a: the cap of 5 mm ends at r = Rn cos a; frustum from there to R
    length, radius, tip = 0.4, 0.5 * DIAMETER, 0.005
    a = np.arctan(radius / length)
    joint, cap = tip * np.cos(a), tip * (1.0 - np.sin(a))
    height = (radius - joint) / np.tan(a)
    volume = np.pi / 3.0 * height * (radius**2 + radius * joint + joint**2)
    volume += np.pi / 3.0 * cap**2 * (3.0 * tip - cap)
    expected = (height + cap - volume / AREA) + (length - height - cap)
    found = centre(OutlineFamily.CONE, fineness=5.0, tip_radius=tip)
    assert found * length == pytest.approx(expected, abs=1e-6 * length)


@pytest.mark.parametrize(
    ("family", "expected", "options"),
    [
        (OutlineFamily.CONE, 2.0 / 3.0, {"tip_radius": 6e-5}),
        (OutlineFamily.VON_KARMAN, 1.0 / 2.0, {"tip_radius": 6e-5}),
        (OutlineFamily.HAACK_LV, 7.0 / 16.0, {"tip_radius": 6e-5}),
    ],
)
def test_a_gust_bends_a_nose_at_its_base_by_its_force_there(family, expected, options):
    nose = family_outline(family, diameter=DIAMETER, length=0.4, **options)
    z, r, _ = nose.at(nose.total_arc * np.linspace(0.0, 1.0, 400))
    base = sections_of(
        [nose.turned_length], outline_axial=z, outline_radius=r, mass=np.zeros(1), centre=np.zeros(1)
    )
    air = {"incidence": np.array([0.02])}
    force = slender_normal_force(np.array([5e4]), area=base.area, **air)[0, 0]
    moment = slender_moment(np.array([5e4]), volume=base.volume, **air)[0, 0]
    assert force == pytest.approx(2.0 * 0.02 * 5e4 * AREA, rel=1e-6)
    assert 1.0 - moment / force / 0.4 == pytest.approx(expected, abs=1e-3)
