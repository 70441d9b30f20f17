import numpy as np
import pytest

from optitip.flight.sensors import (
    LeftOut,
    binned,
    noise_of,
    sensor_of,
    without_flat_top,
    without_lag,
    without_spikes,
)
from optitip.inputs.recording import Channel, Quantity

T = np.arange(0.0, 40.0, 0.05)


def sensor(values, quantity=Quantity.ALTITUDE, t=T):
    return sensor_of(Channel(quantity=quantity, time=t, values=values, file="log.csv", label="it"))


def test_cells_without_a_reading_are_missing():
    values = np.array(T)
    values[[3, 7]] = np.nan
    assert np.flatnonzero(sensor(values).left_out == LeftOut.MISSING).tolist() == [3, 7]


def test_spikes_beside_each_other_and_runs_of_a_fill_value_are_left_out():
    values = 100.0 * T
    values[[100, 300, 302, 500, 501]] += 2000.0
    values[600:607] = -999.0
    left_out = without_spikes(sensor(values), spikes=2.0)
    expected = [100, 300, 302, 500, 501, *range(600, 607)]
    assert np.flatnonzero(left_out.left_out == LeftOut.SPIKE).tolist() == expected


def test_a_quick_boost_is_no_spike():
    felt = np.where((T > 10.0) & (T < 12.5), 250.0, np.where(T < 10.0, 9.8, -60.0))
    assert without_spikes(sensor(felt, Quantity.ACCELERATION), spikes=2.0).used.all()
    speed = np.where(T < 10.0, 0.0, np.minimum(250.0 * (T - 10.0), 700.0))
    assert without_spikes(sensor(speed, Quantity.SPEED), spikes=2.0).used.all()


@pytest.mark.parametrize("lag", [0.1, 0.3, 1.0])
def test_a_first_order_lag_is_taken_back(lag):
    # x = t^2 lags as t^2 - 2 lag t + 2 lag^2 - 2 lag^2 exp(-t/lag)
    late = T**2 - 2.0 * lag * T + 2.0 * lag**2 * (1.0 - np.exp(-T / lag))
    right = without_lag(sensor(late), lag=lag).values
    assert right[200:-20] == pytest.approx(T[200:-20] ** 2, abs=1e-2)


def test_only_a_flat_top_far_above_gravity_is_the_limit_of_a_sensor():
    felt = np.clip(np.where((T > 10.0) & (T < 12.5), 250.0 + T, 9.8), -157.0, 157.0)
    left_out = without_flat_top(sensor(felt, Quantity.ACCELERATION)).left_out
    assert (left_out == LeftOut.SATURATED).sum() == ((T > 10.0) & (T < 12.5)).sum()
    assert without_flat_top(sensor(np.minimum(felt, 12.0), Quantity.ACCELERATION)).used.all()


def test_bins_keep_the_mean_and_leave_a_slow_sensor_alone():
    fine = np.arange(0.0, 4.0, 0.001)
    t, v = binned(sensor(3.0 * fine, t=fine), constant=0.3)
    assert t.size == pytest.approx(80, abs=1)
    assert v == pytest.approx(3.0 * t)
    assert binned(sensor(3.0 * T), constant=0.3)[0].size == T.size


def test_the_noise_is_told_from_the_flight():
    noise = 5.0 * np.random.default_rng(1).standard_normal(T.size)
    assert noise_of(20.0 * T**2 + noise) == pytest.approx(5.0, rel=0.1)
