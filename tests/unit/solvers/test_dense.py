import numpy as np
import pytest

from optitip.solvers.dense import between_steps, peak


def test_a_cubic_is_met_everywhere():
    t = np.array([0.0, 1.0, 4.0])
    law = np.polynomial.Polynomial([3.0, -1.0, 0.5, 0.25])
    at = np.linspace(0.0, 4.0, 33)
    values, slopes = np.stack([law(t), -law(t)], axis=1), np.stack([law.deriv()(t), -law.deriv()(t)], axis=1)
    found = between_steps(at, time=t, values=values, slopes=slopes)
    assert found == pytest.approx(np.stack([law(at), -law(at)], axis=1))


def test_outside_the_march_its_nearest_end_holds():
    t = np.array([0.0, 1.0])
    assert between_steps(np.array([-1.0, 2.0]), time=t, values=t, slopes=t).tolist() == [0.0, 1.0]


def test_a_peak_between_two_steps_is_found_for_each_column():
    t = np.linspace(0.0, 6.0, 7)
    crests = np.array([1.3, 2.0, 4.8])
    values, slopes = np.cos(0.5 * (t[:, None] - crests)), -0.5 * np.sin(0.5 * (t[:, None] - crests))
    assert values.max(axis=0)[0] < 0.99
    assert peak(t, values=values, slopes=slopes) == pytest.approx(1.0, abs=2e-4)


def test_a_rise_that_stops_at_a_plateau_has_no_peak_above_it():
    # boiling: warming at 5 K/s until the temperature holds
    t, values, slopes = (
        np.array([0.0, 1.0, 2.0]),
        np.array([372.0, 373.15, 373.15]),
        np.array([5.0, 0.0, 0.0]),
    )
    assert peak(t, values=values, slopes=slopes) == 373.15


def test_a_column_that_only_rises_peaks_at_its_end():
    t = np.array([0.0, 1.0, 2.0])
    assert peak(t, values=t**2, slopes=2.0 * t) == 4.0


def test_a_slope_that_jumps_at_an_instant_counts_on_its_own_side_of_it():
    # rising at 2 until t = 1, falling at 3 from there: straight on both sides
    t, values = np.array([0.0, 1.0, 2.0]), np.array([0.0, 2.0, -1.0])
    before, after = np.array([2.0, 2.0, -3.0]), np.array([2.0, -3.0, -3.0])
    found = between_steps(np.array([0.5, 1.5]), time=t, values=values, slopes=before, after=after)
    assert found == pytest.approx([1.0, 0.5])
    assert peak(t, values=values, slopes=before, after=after) == 2.0
