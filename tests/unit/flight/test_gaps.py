import numpy as np
import pytest

from optitip.flight.gaps import Gap, covered, gaps_in, refusals

T = np.arange(0.0, 20.0, 0.1)
V = 600.0 * np.exp(-0.1 * T)
FAST = V > 170.0


def gaps(seen, speed=V):
    return gaps_in(seen, time=T, speed=speed, fast=FAST, within=(0.0, 18.0))


def test_a_gap_is_found_with_the_speeds_and_slopes_beside_it():
    (gap,) = gaps(T[(T < 4.0) | (T > 7.0)])
    assert (gap.start, gap.stop) == (pytest.approx(3.9), pytest.approx(7.1))
    assert gap.speeds == pytest.approx((600.0 * np.exp(-0.39), 600.0 * np.exp(-0.71)), rel=0.01)
    # a line through the second beside it: the slope half a second away
    assert gap.slopes == pytest.approx((-60.0 * np.exp(-0.34), -60.0 * np.exp(-0.76)), rel=0.01)
    assert not gap.burnout_may_hide


def test_short_gaps_slow_gaps_and_gaps_after_the_apogee_are_none():
    assert gaps(T[(T < 4.0) | (T > 5.5)]) == []
    assert gaps(T[(T < 14.0) | (T > 17.0)]) == []
    assert gaps_in(T[(T < 4.0) | (T > 7.0)], time=T, speed=V, fast=FAST, within=(0.0, 3.0)) == []


@pytest.mark.parametrize(
    ("speeds", "slopes", "hides"),
    [
        ((500.0, 400.0), (-35.0, -32.0), False),
        ((500.0, 400.0), (60.0, -32.0), True),  # boosting before, coasting after
        ((500.0, 560.0), (-35.0, -32.0), True),  # faster after than before
        ((200.0, 500.0), (100.0, 100.0), False),
        ((200.0, 320.0), (100.0, 100.0), True),  # it boosted for less than the whole gap
    ],
)
def test_a_burnout_hides_where_the_speeds_are_not_what_the_slopes_say(speeds, slopes, hides):
    gap = Gap(start=1.0, stop=4.0, speeds=speeds, slopes=slopes)
    assert gap.burnout_may_hide is hides
    assert len(refusals([gap], longest=4.0, place="log.csv")) == hides


def test_a_long_gap_is_refused_with_its_times_and_the_key():
    gap = Gap(start=1.0, stop=6.5, speeds=(500.0, 340.0), slopes=(-32.0, -27.0))
    (mistake,) = refusals([gap], longest=4.0, place="log.csv")
    assert "from 1 to 6.5 s" in mistake.problem
    assert "flight.gap above 4 s" in mistake.remedy
    assert refusals([gap], longest=6.0, place="log.csv") == []


def test_another_sensor_covers_a_gap_only_without_holes_of_its_own():
    gap = Gap(start=1.0, stop=4.0, speeds=(1.0, 1.0), slopes=(0.0, 0.0))
    times = np.arange(0.0, 6.0, 0.2)
    assert covered(gap, times)
    assert not covered(gap, times[(times < 2.0) | (times > 2.7)])
    assert not covered(gap, times[times < 3.0])


def test_a_burnout_hides_between_a_boost_and_a_coast_that_end_at_the_same_speed():
    assert Gap(start=2.0, stop=5.0, speeds=(300.0, 290.0), slopes=(50.0, -50.0)).burnout_may_hide
