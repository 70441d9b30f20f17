import math
import time

import numpy as np
import pytest

from optitip.errors import OutOfRange, UserMistakes
from optitip.flight.ascent import from_ascent
from optitip.flight.atmosphere import site_atmosphere
from optitip.flight.descent import DescentPlan
from optitip.flight.trajectory import Phase
from optitip.flight.vehicle import Vehicle
from optitip.inputs.study_tables import Attitude


def vehicle(**changed):
    values = {
        "thrust_time": [0.0, 0.05, 2.5, 3.0],
        "thrust": [0.0, 2000.0, 1800.0, 0.0],
        "start_mass": 8.0,
        "propellant_mass": 2.4,
        "diameter": 0.09,
        "drag_mach": [0.0, 0.9, 1.1, 2.0],
        "drag_coefficient": [0.45, 0.48, 0.7, 0.5],
    }
    return Vehicle(**(values | changed))


def flown(which=None, **settings):
    return from_ascent(which or vehicle(), atmosphere=site_atmosphere(100.0, temperature=290.0), **settings)


def test_the_phases_follow_one_another_from_the_pad_to_the_soak():
    flight = flown(pad=30.0)
    assert set(np.diff(flight.phase)) == {0, 1}
    assert flight.phase[0] == Phase.PAD
    assert flight.phase[-1] == Phase.SOAK
    for event, phase in (("burnout", 2), ("apogee", 3), ("landing", 4)):
        assert flight.phase[np.searchsorted(flight.time, flight.events[event] - 1e-9)] == phase


def test_lift_off_is_at_time_zero_from_rest_on_the_ground():
    flight = flown(pad=30.0)
    start = np.searchsorted(flight.time, 0.0)
    assert flight.time[0] == -30.0
    assert flight.time[start] == 0.0
    assert flight.phase[start] == Phase.BOOST
    assert flight.speed[start] == 0.0
    assert flight.altitude[: start + 1] == pytest.approx(100.0)
    assert flight.speed[start + 1] > 0.0


def test_without_a_wait_the_flight_starts_at_lift_off():
    flight = flown()
    assert flight.time[0] == 0.0
    assert flight.phase[0] == Phase.BOOST


def test_the_events_stand_in_their_order_on_the_grid():
    flight = flown(soak=120.0)
    names = ["burnout", "apogee", "main", "landing", "end"]
    times = [flight.events[name] for name in names]
    assert times == sorted(times)
    assert all(np.abs(flight.time - t).min() < 1e-9 for t in (*times, *flight.kinks))
    assert flight.events["end"] == pytest.approx(flight.events["landing"] + 120.0)


def test_the_apogee_is_the_highest_point_and_the_main_opens_at_its_height():
    flight = flown()
    at = {name: np.argmin(np.abs(flight.time - t)) for name, t in flight.events.items()}
    assert flight.altitude.argmax() == at["apogee"]
    assert flight.altitude[at["main"]] == pytest.approx(300.0)
    assert flight.altitude[at["landing"]] == pytest.approx(100.0)
    assert flight.speed[-1] == 0.0


def test_the_rates_of_descent_grow_aloft_as_the_air_thins():
    flight = flown()
    z, rho, v = flight.altitude, flight.density, flight.speed
    drogue = (flight.time > flight.events["apogee"] + 15.0) & (flight.time < flight.events["main"] - 1.0)
    assert drogue.sum() >= 2
    assert v[drogue] * np.sqrt(rho[drogue] / 1.225) == pytest.approx(25.0, rel=0.01)
    assert z[drogue].max() - z[drogue].min() > 1000.0
    landing = np.argmin(np.abs(flight.time - flight.events["landing"]))
    assert v[landing] * math.sqrt(rho[landing] / 1.225) == pytest.approx(6.0, rel=0.01)


def test_the_plan_of_descent_is_heeded():
    plan = DescentPlan(attitude=Attitude.FORWARD, drogue_rate=40.0, main_height=500.0, main_rate=8.0)
    flight = flown(descent=plan)
    descent = flight.phase == Phase.DESCENT
    assert flight.attitude is Attitude.FORWARD
    assert flight.altitude[np.argmin(np.abs(flight.time - flight.events["main"]))] == pytest.approx(600.0)
    assert flight.events["landing"] < flown().events["landing"]
    # a tip that hangs nose first is held back by the drag that carries the weight
    assert np.median(flight.axial_acceleration[descent]) == pytest.approx(-9.8, abs=0.5)
    assert np.median(flown().axial_acceleration[flown().phase == Phase.DESCENT]) == pytest.approx(0.0)


def test_a_low_apogee_opens_the_main_at_once():
    flight = flown(vehicle(thrust=[0.0, 200.0, 200.0, 0.0]), descent=DescentPlan(main_height=5000.0))
    assert flight.events["main"] == flight.events["apogee"]


def test_the_grid_is_short_and_still_follows_the_fine_flight():
    flight = flown()
    assert flight.time.size <= 150
    assert np.all(np.diff(flight.time) > 0.0)
    # thrust over mass less gravity and drag, at one second: hand-checked order of size
    speed = np.interp(1.0, flight.time, flight.speed)
    assert 200.0 < speed < 250.0


def test_a_slow_rise_of_thrust_delays_lift_off_until_it_carries_the_weight():
    ramp = vehicle(thrust_time=[0.0, 1.0, 3.0], thrust=[0.0, 1000.0, 1000.0], start_mass=10.0)
    flight = flown(ramp, rail_angle=math.pi / 2)
    # 1000 t = (10 - 2.4 500 t^2/2500) 9.80634: t = 0.09794 s
    assert flight.events["burnout"] == pytest.approx(3.0 - 0.09794, abs=1e-4)


def test_a_flatter_rail_flies_lower_and_faster_over_the_top():
    steep, flat = flown(rail_angle=math.radians(88.0)), flown(rail_angle=math.radians(75.0))
    assert flat.altitude.max() < steep.altitude.max()
    assert np.interp(flat.events["apogee"], flat.time, flat.speed) > 2.0 * np.interp(
        steep.events["apogee"], steep.time, steep.speed
    )


def test_a_longer_rail_keeps_a_slanted_flight_steeper():
    short, long = (flown(rail_angle=math.radians(75.0), rail_length=length) for length in (0.5, 20.0))
    assert long.altitude.max() > short.altitude.max() + 10.0


def test_zeros_after_the_thrust_are_no_burn():
    longer = vehicle(thrust_time=[0.0, 0.05, 2.5, 3.0, 4.0, 9.0], thrust=[0.0, 2000.0, 1800.0, 0.0, 0.0, 0.0])
    assert flown(longer).events["burnout"] == flown().events["burnout"]


def test_the_ascent_warns_where_its_drag_table_ends():
    (warning,) = flown(vehicle(drag_mach=[0.0, 0.5, 0.6, 0.8])).warnings
    assert "ends at Mach 0.80" in warning
    assert flown().warnings == ()


def test_all_that_is_wrong_with_a_vehicle_is_told_together():
    wrong = vehicle(thrust_time=[0.0, 1.0, 1.0, 2.0], propellant_mass=9.0, diameter=0.0)
    with pytest.raises(UserMistakes) as caught:
        flown(wrong, rail_angle=0.1, soak=-1.0, descent=DescentPlan(main_rate=60.0))
    assert {m.place for m in caught.value.mistakes} == {
        "flight.ascent.thrust",
        "flight.ascent.propellant_mass",
        "flight.ascent.diameter",
        "flight.ascent.rail_angle",
        "flight.soak",
        "flight.descent.main_rate",
    }


def test_a_thrust_below_the_weight_is_a_mistake():
    with pytest.raises(UserMistakes, match=r"at most 40 N doesn't lift 8\.00 kg"):
        flown(vehicle(thrust=[0.0, 40.0, 40.0, 0.0]))


def test_a_vehicle_that_turns_over_while_burning_is_a_mistake():
    with pytest.raises(UserMistakes, match="turns over"):
        flown(vehicle(thrust=[0.0, 500.0, 10.0, 10.0], thrust_time=[0.0, 0.1, 0.4, 60.0]))


def test_a_vehicle_that_stays_on_its_rail_is_a_mistake():
    with pytest.raises(UserMistakes, match="comes to rest on its rail"):
        flown(vehicle(thrust_time=[0.0, 0.01, 0.05, 0.06], thrust=[0.0, 200.0, 200.0, 0.0]), rail_length=50.0)


def test_a_flight_above_mach_five_is_out_of_range():
    with pytest.raises(OutOfRange, match=r"Mach \d\.\d\d"):
        flown(vehicle(thrust=[0.0, 9000.0, 9000.0, 0.0], propellant_mass=5.0))


def test_an_ascent_is_fast():
    flown()
    start = time.process_time()
    flown()
    assert time.process_time() - start < 0.2
