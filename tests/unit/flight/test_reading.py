import time

import numpy as np
import pytest
from clean_flight import SITE, clean

from optitip.errors import OutOfRange, UserMistakes
from optitip.flight.atmosphere import STANDARD_GRAVITY, site_atmosphere
from optitip.flight.reading import read_flight
from optitip.flight.sensors import LeftOut
from optitip.inputs.recording import Channel, Quantity
from optitip.inputs.study_tables import AltitudeAbove

G = STANDARD_GRAVITY
NOW = clean()
PEAK = float(NOW.mach(NOW.path.time).max())
APOGEE, LANDING = NOW.events["apogee"], NOW.events["landing"]


def channel(quantity, t, values, file="log.csv"):
    return Channel(quantity=quantity, time=t, values=np.asarray(values), file=file, label=quantity.value)


def noise(t, size, seed=5):
    return size * np.random.default_rng(seed).standard_normal(t.size)


def altitude(t, *, size=1.5, file="log.csv", seed=5):
    return channel(Quantity.ALTITUDE, t, NOW.altitude(t) - SITE + noise(t, size, seed), file)


def push(t, *, size=4.0, file="log.csv", seed=6):
    return channel(Quantity.ACCELERATION, t, NOW.felt(t) + noise(t, size, seed), file)


def speed(t, *, size=0.01, file="log.csv", seed=7):
    return channel(Quantity.SPEED, t, NOW.speed(t) * (1.0 + noise(t, size, seed)), file)


def read(*channels, **settings):
    return read_flight(channels, atmosphere=NOW.air, place="log.csv", **settings)


def test_a_flight_of_milliseconds_is_a_mistake_in_the_time():
    t = NOW.times(20.0)
    assert "Check the time's column and its unit" in mistake(altitude(t), push(1e-6 * t))
    assert "the rows of the altitude last 0.0" in mistake(channel(Quantity.ALTITUDE, 1e-6 * t, 0.0 * t))


def test_an_acceleration_that_begins_under_way_sets_no_clock():
    t = NOW.times(20.0)
    late = t[t > 1.0]
    begun = channel(Quantity.ACCELERATION, late + 100.0, NOW.felt(late), "push.csv")
    for order in (1, -1):
        said = mistake(*(altitude(t, file="height.csv"), begun)[::order])
        assert said.startswith("push.csv: acceleration begins under way")
    read(altitude(t, file="height.csv"), begun, clocks={"push.csv": -100.0})


def peak_error(reading):
    return float(reading.flight.mach.max()) / PEAK - 1.0


def speed_error(reading):
    """Return the RMS error of the speed over the way up [m/s]."""
    t = np.linspace(0.0, APOGEE, 500)
    off = np.interp(t, reading.used.time, reading.used.speed) - NOW.speed(t)
    return float(np.sqrt(np.mean(off**2)))


def mistake(*channels, **settings):
    with pytest.raises(UserMistakes) as caught:
        read(*channels, **settings)
    return str(caught.value)


def test_a_pressure_alone_gives_the_flight():
    t = NOW.times(20.0)
    reading = read(channel(Quantity.PRESSURE, t, NOW.pressure(t) + noise(t, 10.0)))
    assert abs(peak_error(reading)) < 0.02
    assert reading.flight.altitude.max() == pytest.approx(NOW.path.altitude.max(), abs=25.0)
    assert reading.flight.events["apogee"] == pytest.approx(APOGEE, abs=0.5)
    assert reading.flight.events["main"] == pytest.approx(NOW.events["main"], abs=1.0)


def test_a_pressure_means_more_height_on_a_warm_day():
    t = NOW.times(20.0)
    pressure = channel(Quantity.PRESSURE, t, NOW.pressure(t))
    tops = [
        read_flight([pressure], atmosphere=site_atmosphere(SITE, temperature=T)).flight.altitude.max() - SITE
        for T in (280.0, 300.0)
    ]
    assert tops[1] / tops[0] == pytest.approx(300.0 / 280.0, rel=0.012)  # hydrostatic: z goes with T


def test_a_barometer_off_by_a_few_per_cent_is_scaled_to_the_site_and_told():
    t = NOW.times(20.0)
    reading = read(channel(Quantity.PRESSURE, t, 0.96 * NOW.pressure(t)))
    assert reading.flight.altitude.max() == pytest.approx(NOW.path.altitude.max(), abs=25.0)
    assert any("was scaled to the site's" in warning for warning in reading.flight.warnings)
    assert "Check the pressure's unit" in mistake(channel(Quantity.PRESSURE, t, 0.01 * NOW.pressure(t)))


@pytest.mark.parametrize(("sign", "level"), [(1.0, 0.0), (-1.0, 0.0), (1.0, -G), (-1.0, G), (1.0, 0.15 * G)])
def test_an_acceleration_is_read_whichever_way_its_sensor_is_mounted(sign, level):
    t = NOW.times(50.0)
    raw = channel(Quantity.ACCELERATION, t, sign * NOW.felt(t) + level + noise(t, 3.0))
    reading = read(altitude(t), raw)
    assert abs(peak_error(reading)) < 0.01
    assert speed_error(reading) < 6.0
    coast = np.interp(6.0, reading.used.time, reading.used.axial_acceleration)
    assert coast == pytest.approx(NOW.felt(6.0), abs=3.0)


def test_of_three_axes_the_one_along_the_vehicle_is_taken():
    t = NOW.times(50.0)
    axes = [channel(Quantity.ACCELERATION, t, noise(t, 4.0, seed)) for seed in (1, 2)]
    along = Channel(quantity=Quantity.ACCELERATION, time=t, values=-NOW.felt(t), file="log.csv", label="down")
    reading = read(altitude(t), axes[0], along, axes[1])
    assert abs(peak_error(reading)) < 0.01
    assert [one.label for one in reading.sensors] == ["altitude", "down"]


def test_an_acceleration_at_a_level_that_is_no_rest_is_a_mistake():
    t = NOW.times(50.0)
    odd = channel(Quantity.ACCELERATION, t, NOW.felt(t) - 0.5 * G)
    assert "neither 1, 0 nor -1 g" in mistake(altitude(t), odd)
    against = channel(Quantity.ACCELERATION, t, np.where(t < 0.0, G, -NOW.felt(t)))
    assert "at rest and" in mistake(altitude(t), against)


def test_a_clipped_acceleration_is_told_and_bridged_by_the_altitude():
    t = NOW.times(50.0)
    clipped = channel(Quantity.ACCELERATION, t, np.clip(NOW.felt(t) + noise(t, 3.0), -16 * G, 16 * G))
    reading = read(altitude(t), clipped)
    assert abs(peak_error(reading)) < 0.01
    assert reading.sensors[1].counts_left_out()["saturated"] > 100
    assert any("stood at the sensor's limit" in warning for warning in reading.flight.warnings)


def test_forty_minutes_on_the_pad_are_read_in_less_than_a_second_of_one_processor():
    t = NOW.times(100.0, before=2400.0)
    jolts = np.where(np.abs(t + 300.0) < 0.1, 8 * G, np.where(np.abs(t + 900.0) < 2.0, -2 * G, 0.0))
    gusts = np.where(t < 0.0, 2.0 * np.sin(t / 7.0) + np.where(t < -600.0, -3.0, 0.0), 0.0)
    height = channel(Quantity.ALTITUDE, t, NOW.altitude(t) - SITE + gusts + noise(t, 1.0))
    pushed = channel(Quantity.ACCELERATION, t, NOW.felt(t) + jolts + noise(t, 5.0))
    start = time.process_time()
    reading = read(height, pushed)
    assert time.process_time() - start < 1.0
    assert abs(peak_error(reading)) < 0.01
    assert speed_error(reading) < 6.0
    alone = read(height)
    assert abs(peak_error(alone)) < 0.02
    assert alone.flight.events["burnout"] == pytest.approx(NOW.events["burnout"], abs=0.3)


@pytest.mark.parametrize("phase", [0.0, 0.3, 0.6])
@pytest.mark.parametrize("with_speed", [True, False])
def test_one_sample_a_second_still_gives_the_peak(phase, with_speed):
    t = NOW.times(1.0) + phase
    channels = [altitude(t, size=1.0), speed(t, size=0.005)] if with_speed else [altitude(t, size=1.0)]
    reading = read(*channels)
    assert abs(peak_error(reading)) < 0.02
    assert speed_error(reading) < 12.0


def test_a_jump_of_the_barometer_at_mach_one_is_left_out_whatever_else_is_there():
    t = NOW.times(20.0)
    jumping = channel(Quantity.ALTITUDE, t, NOW.altitude(t) - SITE + NOW.blip(t) + noise(t, 1.5))
    # with nothing else at Mach 1 the lift-off is known to a tenth of a second, 80 m at full speed
    for others, most in (([], 80.0), ([push(t)], 30.0), ([speed(t)], 30.0)):
        reading = read(jumping, *others)
        assert abs(peak_error(reading)) < 0.02
        left_out = reading.sensors[0]
        assert (left_out.left_out == LeftOut.TRANSONIC).sum() > 20
        off = np.interp(t, reading.used.time, reading.used.altitude) - NOW.altitude(t)
        assert np.abs(off[(t > 0.0) & (t < 12.0)]).max() < most
        assert any("as near Mach 1" in warning for warning in reading.flight.warnings)


def test_a_declared_lag_is_taken_back_and_one_that_is_not_is_found_beside_an_acceleration():
    t = NOW.times(20.0)
    late = channel(Quantity.PRESSURE, t, NOW.pressure(t, lag=0.3) + noise(t, 10.0))
    declared, found, ignored = read(late, push(t), lag=0.3), read(late, push(t)), read(late, lag=0.3)
    assert abs(peak_error(declared)) < 0.01
    assert abs(peak_error(ignored)) < 0.02
    assert abs(peak_error(found)) < 0.02
    assert any("late by the other channels" in warning for warning in found.flight.warnings)
    assert not any("late by the other channels" in warning for warning in declared.flight.warnings)


def without(one, start, stop):
    kept = (one.time < start) | (one.time > stop)
    return channel(one.quantity, one.time[kept], one.values[kept], one.file)


def test_a_gap_of_the_speed_is_bridged_by_the_altitude_even_over_the_burnout():
    t = NOW.times(20.0)
    reading = read(altitude(t), without(speed(t), 2.0, 5.0))
    assert abs(peak_error(reading)) < 0.02
    assert any("the other channels bridge it" in warning for warning in reading.flight.warnings)


def test_a_gap_of_everything_is_bridged_by_a_curve_where_no_burnout_can_hide():
    t = NOW.times(20.0)
    holed = [without(one, 5.0, 8.0) for one in (altitude(t), speed(t))]
    reading = read(*holed)
    assert abs(peak_error(reading)) < 0.01
    at = np.linspace(5.0, 8.0, 31)
    off = np.interp(at, reading.used.time, reading.used.speed) / NOW.speed(at) - 1.0
    assert np.abs(off).max() < 0.02
    assert any("bridged by a curve" in warning for warning in reading.flight.warnings)
    assert "raise flight.gap" in mistake(*holed, gap=2.5)
    over = [without(one, 2.0, 5.0) for one in (altitude(t), speed(t))]
    assert "the burnout may lie in it" in mistake(*over)


def test_spikes_are_left_out_and_counted_and_with_zero_they_stay():
    t = NOW.times(20.0)
    values = np.array(speed(t).values)
    hit = np.flatnonzero((t > 1.0) & (t < 20.0))[::40]
    values[hit] *= 3.0
    spiked = channel(Quantity.SPEED, t, values)
    reading = read(altitude(t), spiked)
    assert reading.sensors[1].counts_left_out() == {"spike": hit.size}
    assert any(f"{hit.size} samples were left out" in warning for warning in reading.flight.warnings)
    assert read(altitude(t), spiked, spikes=0.0).sensors[1].counts_left_out() == {}


def test_two_files_on_their_own_clocks_are_brought_together():
    slow, fast = NOW.times(10.0), NOW.times(100.0)
    high, pushed = altitude(slow, file="high.csv"), push(fast, file="push.csv")
    high = channel(high.quantity, high.time + 812.3, high.values, "high.csv")
    reading = read(high, pushed)
    assert abs(peak_error(reading)) < 0.01
    assert speed_error(reading) < 6.0
    first = reading.sensors[0]
    risen = float(np.interp(1000.0, first.values[first.time > 0.0][:40], first.time[first.time > 0.0][:40]))
    exact = float(np.interp(1000.0, NOW.path.altitude[:300], NOW.path.time[:300]))
    assert risen == pytest.approx(exact, abs=0.03)


def test_a_declared_clock_is_believed():
    slow, fast = NOW.times(10.0), NOW.times(100.0)
    high, pushed = altitude(slow, file="high.csv"), push(fast, file="push.csv")
    later = channel(pushed.quantity, pushed.time + 50.0, pushed.values, "push.csv")
    right = read(high, later, clocks={"push.csv": -50.0})
    wrong = read(high, later, clocks={"push.csv": -50.4})
    assert abs(peak_error(right)) < 0.01
    assert speed_error(wrong) > 2.0 * speed_error(right)


def test_a_record_that_only_comes_down_is_refused():
    t = NOW.times(20.0)
    down = t > APOGEE + 20.0
    assert "there is no ascent in it" in mistake(altitude(t[down]))
    both = [altitude(t[down]), channel(Quantity.SPEED, t[down], 60.0 + 0.0 * t[down])]
    assert "there is no ascent in it" in mistake(*both)


def test_a_record_that_begins_after_lift_off_is_told_when_slow_and_refused_when_fast():
    t = NOW.times(50.0)
    slow = t[t > 0.25]
    reading = read(altitude(slow), push(slow))
    assert any("the start of the boost is missing" in warning for warning in reading.flight.warnings)
    assert abs(peak_error(reading)) < 0.02
    fast = t[t > 1.5]
    assert "it begins faster than Mach 0.5" in mistake(altitude(fast), push(fast))


def test_channels_without_an_altitude_or_a_pressure_are_a_mistake():
    t = NOW.times(20.0)
    assert "no altitude nor pressure is there" in mistake(speed(t))
    assert "no channel is there" in mistake()


def test_a_record_a_hundred_metres_below_the_sea_is_out_of_range_and_one_of_fifty_is_not():
    t = NOW.times(20.0)
    deep = channel(Quantity.ALTITUDE, t, NOW.altitude(t) - 150.0)
    with pytest.raises(OutOfRange, match="m above sea level"):
        read(deep, speed(t), altitude_above=AltitudeAbove.SEA)
    shallow = channel(Quantity.ALTITUDE, t, NOW.altitude(t) - 60.0)
    assert read(shallow, speed(t), altitude_above=AltitudeAbove.SEA).flight.altitude.min() < 0.0


def test_the_sensors_stand_on_the_clock_of_the_flight():
    t = NOW.times(20.0)
    moved = [channel(one.quantity, one.time + 77.0, one.values) for one in (altitude(t), push(t))]
    reading = read(*moved)
    height = reading.sensors[0]
    assert np.interp(5.0, height.time, height.values) == pytest.approx(NOW.altitude(5.0), abs=30.0)
    assert height.time[0] == pytest.approx(-10.0, abs=0.2)
    assert reading.used.time[0] == 0.0


def test_wrong_settings_are_told_together():
    t = NOW.times(20.0)
    text = mistake(altitude(t), gap=-1.0, lag=9.0, spikes=-2.0)
    assert all(f"flight.{key}" in text for key in ("gap", "lag", "spikes"))


def test_a_speed_that_counts_down_as_negative_is_felt_no_more_than_the_drag_at_the_apogee():
    t = NOW.times(50.0)
    down = channel(Quantity.SPEED, t, np.where(t > APOGEE, -1.0, 1.0) * NOW.speed(t))
    reading = read(channel(Quantity.ALTITUDE, t, NOW.altitude(t) - SITE), down)
    late = (reading.used.time > APOGEE - 2.5) & (reading.used.time < APOGEE - 0.1)
    assert np.abs(reading.used.axial_acceleration[late]).max() < 0.5
    assert reading.used.speed[late] == pytest.approx(NOW.speed(reading.used.time[late]), abs=2.0)
    last = float(np.interp(APOGEE, reading.used.time, reading.used.speed))
    assert last == pytest.approx(float(NOW.speed(APOGEE)), abs=3.0)


@pytest.mark.parametrize("with_push", [True, False])
def test_the_rails_angle_tells_the_speed_of_a_path_that_left_it_low(with_push):
    now = clean(78.0)
    t = now.times(25.0)
    height = channel(Quantity.ALTITUDE, t, now.altitude(t) - SITE + noise(t, 1.0))
    pushed = channel(Quantity.ACCELERATION, t, now.felt(t) + noise(t, 2.0, 6))
    channels = [height, pushed] if with_push else [height]
    fastest = [read(*channels, rail_angle=np.radians(angle)).used.speed.max() for angle in (78.0, 86.0)]
    truth = now.path.speed.max()
    assert fastest[0] == pytest.approx(truth, rel=0.01)
    assert fastest[1] < 0.992 * fastest[0]


def test_a_barometers_lag_moves_neither_the_apogee_nor_the_peak_beside_an_acceleration():
    t = NOW.times(25.0)
    late = NOW.air.altitude_of(NOW.pressure(t, lag=0.3))
    seen = channel(Quantity.ALTITUDE, t, late - SITE + noise(t, 1.0))
    reading = read(seen, push(t, size=2.0), rail_angle=np.radians(NOW.rail))
    assert abs(peak_error(reading)) < 0.01
    assert reading.flight.events["apogee"] == pytest.approx(APOGEE, abs=0.1)
    assert not any("strays" in warning for warning in reading.flight.warnings)


def test_altitudes_without_noise_beside_an_acceleration_do_not_run_away():
    t = NOW.times(50.0)
    reading = read(altitude(t, size=0.0), push(t, size=0.0))
    assert abs(peak_error(reading)) < 0.004
    assert speed_error(reading) < 4.0


def test_of_several_flights_in_one_record_one_is_read_and_the_others_are_told():
    t = NOW.times(20.0)
    thrice = np.concatenate([t, t + 700.0, t + 1500.0])
    high = channel(Quantity.ALTITUDE, thrice, np.tile(NOW.altitude(t) - SITE, 3))
    reading = read(high, rail_angle=np.radians(NOW.rail))
    assert abs(peak_error(reading)) < 0.01
    assert reading.flight.events["landing"] == pytest.approx(LANDING, abs=2.0)
    assert any("lands and climbs again" in warning for warning in reading.flight.warnings)
