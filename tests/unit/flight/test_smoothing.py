import numpy as np
import pytest

from optitip.flight.smoothing import kink_near, smooth


def test_a_parabola_comes_through_unchanged_on_an_uneven_grid():
    t = np.sort(np.random.default_rng(1).uniform(0.0, 5.0, 120))
    at = np.linspace(0.0, 5.0, 23)
    value, slope = smooth(t, values=2.0 - 3.0 * t + 4.0 * t**2, at=at, constant=0.3)
    assert value == pytest.approx(2.0 - 3.0 * at + 4.0 * at**2, abs=1e-5)
    assert slope == pytest.approx(-3.0 + 8.0 * at, abs=1e-4)


def test_noise_is_cut_as_the_number_of_samples_in_the_window_allows():
    t = np.arange(0.0, 60.0, 0.05)
    noise = np.random.default_rng(2).standard_normal(t.size)
    value, _ = smooth(t, values=noise, at=t[100:-100], constant=0.3)
    # a local parabola with Gaussian weights: variance 27/16 over 2 sqrt(pi) 0.3/0.05 = 21.3 samples, 0.28
    assert value.std() == pytest.approx(0.28, rel=0.15)


def test_a_kink_that_is_named_keeps_its_corner_and_one_that_is_not_is_rounded():
    t = np.arange(0.0, 4.0, 0.05)
    values = 300.0 - 200.0 * np.abs(t - 2.0)
    (kept,), _ = smooth(t, values=values, at=np.array([2.0]), constant=0.3, kinks=[2.0])
    (rounded,), _ = smooth(t, values=values, at=np.array([2.0]), constant=0.3)
    assert kept == pytest.approx(300.0, abs=1e-3)
    assert rounded < 285.0


def test_the_slope_jumps_at_a_named_kink():
    t = np.arange(0.0, 4.0, 0.05)
    _, slope = smooth(t, values=-np.abs(t - 2.0), at=np.array([1.95, 2.05]), constant=0.3, kinks=[2.0])
    assert slope == pytest.approx([1.0, -1.0], abs=1e-3)


def test_wild_samples_do_not_count():
    t = np.arange(0.0, 4.0, 0.05)
    values = 100.0 * t
    values[[20, 41, 60]] = [4000.0, -900.0, 0.0]
    value, _ = smooth(t, values=values, at=t[5:-5], constant=0.3)
    assert value == pytest.approx(100.0 * t[5:-5], abs=0.5)


def test_a_slow_record_is_smoothed_over_eight_samples():
    t = np.arange(0.0, 40.0, 1.0)
    value, _ = smooth(t, values=np.random.default_rng(3).standard_normal(40), at=t[5:-5], constant=0.05)
    assert value.std() < 0.85


def test_a_time_constant_of_zero_leaves_the_values_as_they_are():
    t = np.array([0.0, 1.0, 2.0])
    value, slope = smooth(t, values=np.array([0.0, 5.0, 2.0]), at=np.array([0.5, 1.0]), constant=0.0)
    assert value.tolist() == [2.5, 5.0]
    assert slope.size == 2


def test_many_windows_give_what_few_give():
    t = np.arange(0.0, 40.0, 0.05)
    values = np.sin(t) + 0.1 * np.random.default_rng(4).standard_normal(t.size)
    at = np.linspace(0.0, 40.0, 700)
    whole, _ = smooth(t, values=values, at=at, constant=0.3)
    apart, _ = smooth(t, values=values, at=at[500:510], constant=0.3)
    assert whole[500:510] == pytest.approx(apart, rel=1e-12)


def test_a_kink_is_found_in_noise():
    t = np.arange(0.0, 8.0, 0.05)
    noise = 5.0 * np.random.default_rng(5).standard_normal(t.size)
    values = np.where(t < 3.7, 200.0 * t, 740.0 - 90.0 * (t - 3.7)) + noise
    assert kink_near(t, values=values, around=3.5, half=1.0, reach=0.5) == pytest.approx(3.7, abs=0.05)


def test_a_start_from_rest_is_found_even_without_samples_at_rest():
    t = np.arange(0.0, 3.0, 0.05)
    found = kink_near(t, values=100.0 * t, around=0.2, half=1.2, reach=0.8, from_rest=True)
    assert found == pytest.approx(0.0, abs=0.01)


def test_too_few_samples_leave_the_guess_standing():
    t = np.arange(5.0)
    assert kink_near(t, values=t, around=2.2, half=1.0, reach=0.5) == 2.2
