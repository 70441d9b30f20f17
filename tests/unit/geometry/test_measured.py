import numpy as np
import pytest

from optitip.errors import UserMistakes
from optitip.geometry.measured import smooth_profile


def test_a_smoothed_profile_never_narrows_and_stays_within_its_tolerance():
    z = np.linspace(0, 0.2, 120)
    truth = np.sqrt(2 * 0.004 * z + 0.01 * z**2)
    r = np.maximum(truth + np.random.default_rng(0).normal(0, 2e-5, z.size), 0)
    r[0] = 0
    profile = smooth_profile(z, r, tolerance=2.5e-5)
    fine = np.linspace(0, 0.2, 3000)
    assert np.all(np.diff(profile(fine)[0]) >= -1e-12)
    assert np.sqrt(np.mean((profile(z)[0] - r) ** 2)) < 3e-5
    assert profile(z)[0] == pytest.approx(truth, abs=4e-5)


def test_the_gradient_of_a_smoothed_profile_is_its_derivative():
    z = np.linspace(0, 0.2, 60)
    profile = smooth_profile(z, np.sqrt(2 * 0.004 * z))
    at = np.linspace(0.01, 0.19, 50)
    difference = (profile(at + 1e-7)[0] - profile(at - 1e-7)[0]) / 2e-7
    assert profile(at)[1] == pytest.approx(difference, abs=1e-5)


def test_stations_count_from_the_first_point():
    z = np.linspace(0.5, 0.7, 40)
    assert smooth_profile(z, 0.1 * (z - 0.4)).length == pytest.approx(0.2)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda z, r: (z[:4], r[:4]), "six points"),
        (lambda z, r: (z[::-1], r), "don't increase"),
        (lambda z, r: (z, np.where(z > 0.15, r - 0.002, r)), "narrows by"),
        (lambda z, r: (z, np.where(z > 0.15, np.nan, r)), "no number"),
        (lambda z, r: (z, r - 1e-3), "negative"),
    ],
)
def test_points_that_make_no_outline_are_the_users_mistake(change, said):
    z = np.linspace(0, 0.2, 60)
    with pytest.raises(UserMistakes, match=said):
        smooth_profile(*change(z, 0.2 * z))


def test_noise_on_a_straight_end_does_not_make_the_profile_narrow():
    z = np.linspace(0, 0.2, 200)
    r = np.minimum(0.3 * z, 0.03) + 5e-6 * np.sin(4000 * z)
    r[0] = 0
    profile = smooth_profile(z, np.maximum(r, 0), tolerance=1e-6)
    fine = np.linspace(0, 0.2, 5000)
    assert np.all(np.diff(profile(fine)[0]) >= -1e-12)
