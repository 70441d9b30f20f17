import numpy as np
import pytest
from clean_flight import SITE, clean

from optitip.errors import UserMistakes
from optitip.flight.atmosphere import STANDARD_GRAVITY
from optitip.flight.lift_off import lift_off_of, next_ascent
from optitip.flight.sensors import sensor_of
from optitip.inputs.recording import Channel, Quantity

NOW = clean()


def found(quantity, t, values):
    channel = Channel(quantity=quantity, time=t + 500.0, values=values, file="log.csv", label=quantity.value)
    return lift_off_of(sensor_of(channel)) - 500.0


def gauss(t, seed=3):
    return np.random.default_rng(seed).standard_normal(t.size)


@pytest.mark.parametrize("rate", [20.0, 100.0])
def test_each_kind_of_sensor_sees_the_lift_off(rate):
    t = NOW.times(rate, before=120.0)
    z = NOW.altitude(t) - SITE + 2.0 * gauss(t)
    assert found(Quantity.ALTITUDE, t, z) == pytest.approx(0.0, abs=0.25)
    assert found(Quantity.PRESSURE, t, NOW.pressure(t) + 20.0 * gauss(t)) == pytest.approx(0.0, abs=0.25)
    v = NOW.speed(t) * (1.0 + 0.01 * gauss(t)) + 0.5 * gauss(t)
    assert found(Quantity.SPEED, t, v) == pytest.approx(0.0, abs=0.06)
    assert found(Quantity.MACH, t, v / 340.0) == pytest.approx(0.0, abs=0.06)
    for sign, level in ((1.0, 0.0), (-1.0, 0.0), (1.0, -STANDARD_GRAVITY)):
        a = sign * NOW.felt(t) + level + 4.0 * gauss(t)
        assert found(Quantity.ACCELERATION, t, a) == pytest.approx(0.0, abs=0.06)


def test_jolts_and_handling_on_the_pad_are_no_lift_off():
    t = NOW.times(50.0, before=1200.0)
    a = NOW.felt(t) + 3.0 * gauss(t)
    a = np.where(np.abs(t + 200.0) < 0.1, 150.0, a)  # a knock
    a = np.where((t > -900.0) & (t < -600.0), 1.0, a)  # lying in the hand
    assert found(Quantity.ACCELERATION, t, a) == pytest.approx(0.0, abs=0.06)
    v = NOW.speed(t) + np.where(np.abs(t + 200.0) < 0.4, 25.0, 0.0)
    assert found(Quantity.SPEED, t, v) == pytest.approx(0.0, abs=0.06)


def test_being_put_on_the_rail_and_gusts_are_no_lift_off():
    t = NOW.times(20.0, before=1200.0)
    z = NOW.altitude(t) - SITE + np.where(t < -400.0, -3.0, 0.0) + 3.0 * np.sin(t / 7.0) * (t < 0.0)
    z += np.where(np.abs(t + 60.0) < 3.0, 12.0, 0.0) + gauss(t)
    assert found(Quantity.ALTITUDE, t, z) == pytest.approx(0.0, abs=0.3)


def test_a_flight_under_way_lifts_off_at_the_first_row():
    t = NOW.times(50.0)
    t = t[t > 0.5]
    first = float(t[0])
    assert found(Quantity.ACCELERATION, t, NOW.felt(t)) == pytest.approx(first, abs=1e-9)
    assert found(Quantity.SPEED, t, NOW.speed(t)) == pytest.approx(first, abs=1e-9)


@pytest.mark.parametrize(
    ("quantity", "values", "said"),
    [
        (Quantity.SPEED, lambda t: 3.0 + 0.0 * t, "no flight in it"),
        (Quantity.ALTITUDE, lambda t: 900.0 - 5.0 * (t + 20.0), "no ascent in it"),
        (Quantity.ACCELERATION, lambda t: STANDARD_GRAVITY + 0.1 * np.sin(t), "no boost"),
    ],
)
def test_a_record_without_a_flight_is_a_mistake(quantity, values, said):
    t = np.arange(-20.0, 100.0, 0.05)
    with pytest.raises(UserMistakes, match=said):
        found(quantity, t, values(t))


@pytest.mark.parametrize("quantity", [Quantity.ALTITUDE, Quantity.PRESSURE])
def test_the_next_flight_of_a_record_is_told_from_the_one_before_and_a_blip_from_both(quantity):
    now = clean()
    t = now.times(20.0)
    height = now.altitude(t) - SITE
    twice = np.concatenate([t, t + 700.0])
    high = np.tile(height + now.blip(t), 2)
    values = high if quantity is Quantity.ALTITUDE else now.air.at(high + SITE).pressure
    both = Channel(quantity=quantity, time=twice, values=values, file="a", label="b")
    assert now.events["landing"] < next_ascent(sensor_of(both)) < 700.0
    one = Channel(quantity=quantity, time=t, values=values[: t.size], file="a", label="b")
    assert next_ascent(sensor_of(one)) is None
