import numpy as np
import pytest

from optitip.inputs.sampling import own_samples

T = np.arange(-60.0, 160.0, 0.01)
BOOST, COAST = np.clip(T, 0.0, 2.5), np.clip(T - 2.5, 0.0, 21.5)
# down at a steady rate, then at rest from one row to the next
SPEED = np.where(T > 123.0, 0.0, 130.0 * BOOST - 14.0 * COAST)


@pytest.mark.parametrize("digits", [0, 1, 2])
def test_a_speed_that_stands_still_here_and_there_and_leaps_at_the_impact_is_no_slow_sensor(digits):
    assert own_samples(np.round(SPEED, digits)).all()
    assert own_samples(np.round(SPEED - 3000.0 * (T > 123.0), digits)).all()


@pytest.mark.parametrize("rows", [2, 5, 20])
def test_a_slow_sensor_is_told_in_spite_of_the_leap(rows):
    slow = np.repeat((SPEED + 5000.0 * (T > 150.0))[::rows], rows)
    own = own_samples(slow)
    flying = np.flatnonzero((T > 0.5) & (T < 20.0))
    assert own[flying].mean() == pytest.approx(1.0 / rows, rel=0.02)
    assert (np.flatnonzero(own[flying]) + flying[0])[:10].tolist() == [
        one for one in flying.tolist() if one % rows == 0
    ][:10]
