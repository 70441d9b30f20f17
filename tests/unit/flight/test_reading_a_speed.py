import math
from functools import cache

import numpy as np
import pytest

from optitip.errors import OutOfRange, UserMistakes
from optitip.flight.atmosphere import site_atmosphere
from optitip.flight.climb import climb
from optitip.flight.descent import DescentPlan, fall
from optitip.flight.reading import read_flight
from optitip.flight.timeline import join
from optitip.flight.trajectory import Phase
from optitip.flight.vehicle import Vehicle
from optitip.inputs.recording import Channel, Quantity
from optitip.inputs.study_tables import AltitudeAbove, Attitude

SITE = 150.0


@cache
def air():
    return site_atmosphere(SITE, temperature=291.0)


@cache
def truth():
    """A flight whose motor stops at once at 2.5 s, after 5 s on the pad."""
    which = Vehicle(
        thrust_time=[0.0, 0.02, 2.5],
        thrust=[0.0, 2200.0, 2300.0],
        start_mass=8.0,
        propellant_mass=2.4,
        diameter=0.09,
        drag_mach=[0.0, 0.9, 1.1, 2.0],
        drag_coefficient=[0.45, 0.48, 0.7, 0.5],
    )
    up = climb(which, atmosphere=air(), rail_angle=math.radians(86.0), rail_length=4.0, place="test")
    apogee = float(up.path.time[-1])
    down = fall(
        DescentPlan(),
        atmosphere=air(),
        time=apogee,
        altitude=float(up.path.altitude[-1]),
        velocity=(up.state[2], up.state[3]),
    )
    events = {"burnout": up.burnout, "apogee": apogee, "main": down.main, "landing": down.landing}
    return join([up.path, down.path]), events


def log(*, rate=20.0, noise=1.0, seed=7, last=None):
    """Return time, altitude above ground and speed as a recorder would keep them."""
    path, events = truth()
    t = np.arange(-5.0, events["landing"] + 10.0 if last is None else last, 1.0 / rate)
    rng = np.random.default_rng(seed)
    z = np.interp(t, path.time, path.altitude) - SITE + noise * rng.standard_normal(t.size)
    v = np.interp(t, path.time, path.speed, left=0.0, right=0.0)
    return t + 40.0, z, v * (1.0 + 0.01 * noise * rng.standard_normal(t.size))


def channel(quantity, time, values):
    return Channel(
        quantity=quantity, time=np.asarray(time), values=np.asarray(values), file="", label=quantity.value
    )


def read(time, altitude, speed, *, kind=Quantity.SPEED, **settings):
    channels = (channel(Quantity.ALTITUDE, time, altitude), channel(kind, time, speed))
    return read_flight(channels, atmosphere=air(), **settings).flight


def speed_error(flight, start, stop):
    path, _ = truth()
    t = np.linspace(start, stop, 500)
    return np.interp(t, flight.time, flight.speed) - np.interp(t, path.time, path.speed)


@pytest.mark.parametrize(("rate", "seed"), [(20.0, 7), (20.0, 8), (100.0, 9), (10.0, 10)])
def test_the_events_are_found_in_a_noisy_record(rate, seed):
    flight, (_, events) = read(*log(rate=rate, seed=seed)), truth()
    assert flight.events["burnout"] == pytest.approx(events["burnout"], abs=0.1)
    assert flight.events["apogee"] == pytest.approx(events["apogee"], abs=0.5)
    assert flight.events["main"] == pytest.approx(events["main"], abs=1.0)
    assert flight.events["landing"] == pytest.approx(events["landing"], abs=1.2)
    assert flight.warnings == ()


def test_the_smoothed_speed_is_nearer_the_truth_than_the_noise():
    flight = read(*log())
    noise = 0.01 * flight.speed.max()
    assert np.sqrt(np.mean(speed_error(flight, 0.3, 20.0) ** 2)) < 0.5 * noise
    # at a kink half the samples bear on each side: 0.7 % there, thrice that at most
    assert flight.speed.max() == pytest.approx(truth()[0].speed.max(), rel=0.02)


def test_without_noise_the_peak_speed_and_the_acceleration_come_through():
    flight, (path, _) = read(*log(noise=0.0)), truth()
    assert flight.speed.max() == pytest.approx(path.speed.max(), rel=3e-3)
    assert flight.altitude.max() == pytest.approx(path.altitude.max(), abs=3.0)
    felt = np.interp([1.0, 2.0, 5.0], flight.time, flight.axial_acceleration)
    assert felt == pytest.approx(np.interp([1.0, 2.0, 5.0], path.time, path.axial_acceleration), rel=0.02)


def test_the_phases_follow_one_another_and_lift_off_is_at_time_zero():
    flight = read(*log(), pad=60.0, soak=300.0)
    assert flight.time[0] == -60.0
    assert set(np.diff(flight.phase)) == {0, 1}
    assert flight.phase[0] == Phase.PAD
    assert flight.phase[-1] == Phase.SOAK
    start = np.searchsorted(flight.time, 0.0)
    assert flight.speed[: start + 1] == pytest.approx(0.0)
    assert flight.phase[start] == Phase.BOOST
    assert flight.events["end"] == pytest.approx(flight.events["landing"] + 300.0)
    assert flight.speed[-2:].tolist() == [0.0, 0.0]
    assert np.all(flight.speed >= 0.0)


def test_a_fast_noisy_record_still_makes_a_short_grid_that_holds_the_kinks():
    flight = read(*log(rate=200.0, noise=3.0))
    assert flight.time.size <= 150
    assert np.all(np.diff(flight.time) > 0.0)
    assert all(np.abs(flight.time - kink).min() < 1e-9 for kink in flight.kinks)


def test_the_origin_of_the_times_does_not_matter():
    t, z, v = log()
    # steps of 1/16 s and a shift by a power of two leave no rounding to choose differently by
    t = np.arange(t.size) / 16.0
    first, second = read(t, z, v), read(t - 1024.0, z, v)
    assert second.speed == pytest.approx(first.speed, abs=1e-6)
    assert second.events["landing"] == pytest.approx(first.events["landing"], abs=1e-6)


def test_an_altitude_above_the_sea_reads_as_one_above_the_ground():
    t, z, v = log()
    ground = read(t, z, v)
    sea = read(t, z + SITE, v, altitude_above=AltitudeAbove.SEA)
    assert sea.altitude == pytest.approx(ground.altitude, abs=1e-9)
    assert ground.altitude[0] == pytest.approx(SITE, abs=3.0)


def test_a_mach_number_reads_as_the_speed_it_is():
    t, z, v = log(noise=0.0)
    a = air().at(np.maximum(z + SITE, 0.0)).sound_speed
    flight = read(t, z, v / a, kind=Quantity.MACH)
    assert flight.speed.max() == pytest.approx(read(t, z, v).speed.max(), rel=1e-4)


def test_a_speed_that_counts_down_as_negative_is_a_speed():
    t, z, v = log()
    apogee = t[z.argmax()]
    flight = read(t, z, np.where(t > apogee, -v, v))
    drogue = (flight.time > flight.events["apogee"] + 10.0) & (flight.time < flight.events["main"])
    assert np.all(flight.speed[drogue] > 20.0)


def test_wild_samples_do_not_make_a_faster_flight():
    t, z, v = log()
    v[[130, 155, 171]] *= 2.5
    z[[120, 350]] += [4000.0, -2000.0]
    flight, calm = read(t, z, v), read(*log())
    assert flight.speed.max() == pytest.approx(calm.speed.max(), rel=2e-3)
    assert flight.altitude.max() == pytest.approx(calm.altitude.max(), abs=2.0)
    assert flight.events["burnout"] == pytest.approx(calm.events["burnout"], abs=0.02)


def test_a_barometer_that_dips_near_mach_one_is_left_out_and_told():
    t, z, v = log()
    dip = (t > 41.6) & (t < 42.4)
    z[dip] -= 400.0
    flight = read(t, z, v)
    up = (flight.time >= 0.0) & (flight.time <= flight.events["apogee"])
    assert np.all(np.diff(flight.altitude[up]) >= 0.0)
    calm = read(*log())
    at = np.linspace(0.0, 4.0, 41)
    off = np.interp(at, flight.time, flight.altitude) - np.interp(at, calm.time, calm.altitude)
    assert np.abs(off).max() < 8.0
    assert any("a fall during the climb" in warning for warning in flight.warnings)


def test_missing_cells_are_bridged():
    t, z, v = log()
    z[5::3], v[3::4] = np.nan, np.nan
    flight, (path, _) = read(t, z, v), truth()
    assert flight.speed.max() == pytest.approx(path.speed.max(), rel=0.02)


def test_a_record_that_ends_at_the_apogee_is_carried_on_by_the_descent_settings():
    _, events = truth()
    plan = DescentPlan(attitude=Attitude.FORWARD, drogue_rate=30.0, main_rate=5.0)
    flight = read(*log(last=events["apogee"] + 0.2), descent=plan)
    assert flight.attitude is Attitude.FORWARD
    assert "the descent's settings go on" in flight.warnings[-1]
    at = {name: int(np.argmin(np.abs(flight.time - t))) for name, t in flight.events.items()}
    assert flight.altitude[at["main"]] == pytest.approx(SITE + 200.0)
    assert flight.altitude[at["landing"]] == pytest.approx(SITE)
    assert flight.speed[at["landing"]] * math.sqrt(flight.density[at["landing"]] / 1.225) == pytest.approx(
        5.0, rel=0.01
    )


def test_a_record_that_ends_under_drogue_is_carried_on_from_there():
    _, events = truth()
    flight = read(*log(last=events["apogee"] + 40.0))
    assert flight.events["landing"] == pytest.approx(events["landing"], abs=2.0)
    assert flight.events["main"] == pytest.approx(events["main"], abs=2.0)
    assert "the record ends" in flight.warnings[-1]


def test_a_record_that_ends_under_the_main_has_not_landed():
    _, events = truth()
    flight = read(*log(last=events["landing"] - 10.0))
    assert flight.events["landing"] == pytest.approx(events["landing"], abs=1.5)
    assert "the record ends" in flight.warnings[-1]


def test_a_record_that_begins_at_lift_off_loses_nothing():
    t, z, v = log(noise=0.0)
    flying = t > 39.99
    flight, (_, events) = read(t[flying], z[flying], v[flying]), truth()
    assert flight.events["burnout"] == pytest.approx(events["burnout"], abs=0.06)  # a sample is 0.05 s
    assert flight.warnings == ()


def test_a_record_that_begins_with_speed_waits_on_the_pad_at_rest():
    t, z, v = log(noise=0.0)
    flying = t > 40.2
    flight = read(t[flying], z[flying], v[flying], pad=100.0)
    assert flight.speed[0] == 0.0
    assert np.interp(-1.0, flight.time, flight.speed) == 0.0
    assert np.interp(0.0, flight.time, flight.speed) > 20.0


def test_a_landed_record_that_shows_no_main_has_it_at_the_apogee():
    t = np.arange(-3.0, 140.0, 0.05)
    speed = np.interp(t, [0.0, 2.0, 12.0, 13.0, 112.0, 112.1], [0.0, 100.0, 0.0, 6.0, 6.0, 0.0])
    altitude = np.interp(t, t, np.cumsum(np.where(t < 12.0, speed, -speed)) * 0.05)
    flight = read(t, altitude, speed)
    assert flight.events["main"] == flight.events["apogee"]


def test_smoothing_of_zero_keeps_the_recorded_speeds():
    t, z, v = log(noise=0.0)
    flight = read(t, z, v, smoothing=0.0)
    assert flight.speed.max() == pytest.approx(v.max(), rel=1e-3)


def test_a_speed_in_the_wrong_unit_is_doubted():
    t, z, v = log()
    assert any("check both units" in warning for warning in read(t, z, v * 0.3048).warnings)


def test_an_altitude_above_the_sea_called_above_ground_is_doubted():
    t, z, v = log()
    assert any("check what its altitude counts from" in w for w in read(t, z + 900.0, v).warnings)


def test_a_speed_that_drifted_on_the_way_down_is_doubted():
    t, z, v = log()
    drift = np.where(t > t[z.argmax()], 150.0, 0.0)
    assert any("end the record at the apogee" in warning for warning in read(t, z, v + drift).warnings)


def mistake(time, altitude, speed, **settings):
    with pytest.raises(UserMistakes) as caught:
        read(time, altitude, speed, **settings)
    return str(caught.value)


def test_a_time_that_steps_back_is_a_mistake_with_its_moment():
    t, z, v = log()
    t[100] = t[99]
    assert f"the time does not increase at {t[99]:g} s" in mistake(t, z, v)


def test_too_few_rows_are_a_mistake():
    t, z, v = log()
    assert "at least 10 rows" in mistake(t[:6], z[:6], v[:6])


def test_a_record_of_a_vehicle_at_rest_is_a_mistake():
    t, z, v = log()
    assert "there is no flight in it" in mistake(t, z, 0.03 * v)


def test_a_record_deep_below_the_sea_is_out_of_range():
    t, z, v = log()
    with pytest.raises(OutOfRange, match="m above sea level"):
        read(t, z - 800.0, v)


def test_a_gap_while_fast_is_a_mistake_that_names_its_times():
    t, z, v = log()
    whole = (t < 42.0) | (t > 45.0)
    text = mistake(t[whole], z[whole], v[whole])
    assert "from 41.95 to 45.05 s" in text or "from 42 to 45" in text


def test_a_gap_while_slow_is_let_pass():
    t, z, v = log()
    whole = (t < 60.0) | (t > 63.0)
    assert read(t[whole], z[whole], v[whole]).warnings == ()


def test_a_record_that_begins_fast_is_a_mistake_and_one_that_begins_slowly_is_told():
    t, z, v = log()
    fast, slow = t > 42.0, t > 40.25
    assert "it begins faster than Mach 0.5" in mistake(t[fast], z[fast], v[fast])
    assert any("the start of the boost is missing" in w for w in read(t[slow], z[slow], v[slow]).warnings)


def test_a_record_that_ends_while_climbing_is_a_mistake():
    assert "still climbing" in mistake(*log(last=8.0))


def test_wrong_settings_are_told_together():
    text = mistake(*log(), smoothing=9.0, pad=-1.0)
    assert "flight.smoothing" in text
    assert "flight.pad" in text


def test_a_flight_above_mach_five_is_out_of_range():
    t, z, v = log()
    with pytest.raises(OutOfRange, match="check the speed's unit"):
        read(t, z, v * 3.2808)
