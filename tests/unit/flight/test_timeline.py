import numpy as np
import pytest

from optitip.flight.timeline import Path, join, thin


def wander(count=2000):
    return np.cumsum(np.random.default_rng(11).standard_normal((2, count)), axis=1)


def test_the_times_kept_never_pass_their_limit():
    channels = wander()
    kept = thin(np.arange(2000.0), channels=channels, keep=np.array([7, 1203]), limit=60)
    assert kept.size == 60
    assert {0, 7, 1203, 1999} <= set(kept.tolist())


def test_straight_lines_between_the_kept_times_follow_every_channel():
    channels, time = wander(), np.sort(np.random.default_rng(12).uniform(0.0, 9.0, 2000))
    kept = thin(time, channels=channels, keep=np.array([0]), limit=2000)
    assert kept.size < 1990
    for channel in channels:
        assert np.abs(np.interp(time, time[kept], channel[kept]) - channel).max() <= 1.0


def test_a_path_joined_to_another_does_not_repeat_its_end():
    one = np.array([0.0, 1.0])
    first = Path(time=one, altitude=one, speed=one, axial_acceleration=one)
    second = Path(time=one + 1.0, altitude=5.0 * one, speed=one, axial_acceleration=one)
    both = join([first, second])
    assert both.time.tolist() == [0.0, 1.0, 2.0]
    assert both.altitude.tolist() == pytest.approx([0.0, 1.0, 5.0])
