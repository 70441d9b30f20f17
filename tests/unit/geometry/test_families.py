import math

import numpy as np
import pytest

from optitip.errors import UserMistakes
from optitip.geometry.families import own_nose_radius, sharp_profile
from optitip.inputs.study_tables import OutlineFamily

EXPONENTS = {OutlineFamily.POWER: 0.6, OutlineFamily.PARABOLA: 0.75}


@pytest.mark.parametrize("family", OutlineFamily)
def test_a_family_starts_on_the_axis_and_ends_at_half_the_diameter(family):
    r, _ = sharp_profile([0.0, 0.2], family=family, diameter=0.05, length=0.2, exponent=EXPONENTS.get(family))
    assert r == pytest.approx([0.0, 0.025], abs=1e-15)


@pytest.mark.parametrize("family", OutlineFamily)
def test_the_gradient_is_the_derivative_of_the_radius(family):
    z = np.linspace(0.01, 0.19, 19)
    step = 1e-6
    given = {"family": family, "diameter": 0.05, "length": 0.2, "exponent": EXPONENTS.get(family)}
    difference = (sharp_profile(z + step, **given)[0] - sharp_profile(z - step, **given)[0]) / (2 * step)
    assert sharp_profile(z, **given)[1] == pytest.approx(difference, rel=1e-7, abs=1e-9)


@pytest.mark.parametrize(
    ("family", "expected"),
    [
        # by hand at half the length, R = 25 mm, L = 200 mm
        (OutlineFamily.CONE, 12.5),
        (OutlineFamily.TANGENT_OGIVE, math.sqrt(812.5**2 - 100**2) + 25 - 812.5),
        (OutlineFamily.VON_KARMAN, 25 * math.sqrt(0.5)),
        (OutlineFamily.HAACK_LV, 25 * math.sqrt(0.5 + 1 / (3 * math.pi))),
        (OutlineFamily.ELLIPSE, 25 * math.sqrt(0.75)),
        (OutlineFamily.POWER, 25 * 0.5**0.6),
        (OutlineFamily.PARABOLA, 25 * (1 - 0.75 / 4) / 1.25),
    ],
)
def test_the_radius_at_half_length_is_that_of_a_hand_calculation(family, expected):
    r, _ = sharp_profile([0.1], family=family, diameter=0.05, length=0.2, exponent=EXPONENTS.get(family))
    assert 1e3 * r[0] == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("family", [OutlineFamily.VON_KARMAN, OutlineFamily.HAACK_LV])
def test_a_haack_shape_keeps_its_digits_near_the_tip(family):
    constant = 0.0 if family is OutlineFamily.VON_KARMAN else 1 / 3
    x = 1e-8
    # theta - sin(2 theta)/2 + C sin^3(theta) -> (2/3 + C) theta^3, theta -> 2 sqrt(x)
    expected = 0.025 / math.sqrt(math.pi) * math.sqrt((2 / 3 + constant) * 8 * x**1.5)
    r, gradient = sharp_profile([0.2 * x], family=family, diameter=0.05, length=0.2)
    assert r[0] == pytest.approx(expected, rel=1e-6)
    assert gradient[0] == pytest.approx(0.75 * expected / (0.2 * x), rel=1e-6)


@pytest.mark.parametrize(
    ("family", "exponent"),
    [(OutlineFamily.ELLIPSE, None), (OutlineFamily.POWER, 0.5), (OutlineFamily.CONE, None)],
)
def test_the_own_nose_radius_is_the_limit_of_the_normals_length(family, exponent):
    given = {"diameter": 0.05, "length": 0.2, "exponent": exponent}
    r, gradient = sharp_profile([1e-9], family=family, **given)
    assert own_nose_radius(family, **given) == pytest.approx(math.hypot(r[0], r[0] * gradient[0]), abs=1e-8)


def test_an_ogive_shorter_than_its_radius_is_a_mistake():
    with pytest.raises(UserMistakes, match=r"outline\.length"):
        sharp_profile([0.0], family=OutlineFamily.TANGENT_OGIVE, diameter=0.05, length=0.02)


@pytest.mark.parametrize(
    ("family", "exponent"),
    [(OutlineFamily.POWER, None), (OutlineFamily.POWER, 0.4), (OutlineFamily.PARABOLA, 1.1)],
)
def test_an_exponent_missing_or_out_of_range_is_a_mistake(family, exponent):
    with pytest.raises(UserMistakes, match=r"outline\.exponent"):
        sharp_profile([0.0], family=family, diameter=0.05, length=0.2, exponent=exponent)
