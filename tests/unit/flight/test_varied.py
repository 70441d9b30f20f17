"""A flight to another peak Mach number or with another burn."""

import math
from dataclasses import replace

import numpy as np
import pytest

from optitip.errors import UserMistakes
from optitip.flight.ascent import from_ascent
from optitip.flight.atmosphere import STANDARD_GRAVITY, site_atmosphere
from optitip.flight.varied import as_vehicle, varied_vehicle
from optitip.flight.vehicle import Vehicle

AIR = site_atmosphere(0.0)
RAIL = {"rail_angle": math.radians(86.0), "rail_length": 3.0}
TANGIBLE = {"drag_mach": [0.0, 0.9, 1.1, 2.0, 4.0], "drag_coefficient": [0.4, 0.42, 0.6, 0.46, 0.4]}


def vehicle(**changes):
    made = {
        "thrust_time": [0.0, 0.05, 2.5, 3.0],
        "thrust": [0.0, 1900.0, 2000.0, 0.0],
        "start_mass": 9.0,
        "propellant_mass": 3.0,
        "diameter": 0.098,
        **TANGIBLE,
    }
    return Vehicle(**{**made, **changes})


def flown(one, **rail):
    return from_ascent(one, atmosphere=AIR, **{**RAIL, **rail})


@pytest.mark.parametrize(("mach", "longer"), [(1.2, 1.0), (2.6, 1.0), (1.8, 0.5), (2.2, 2.0)])
def test_the_varied_vehicle_reaches_the_mach_number_in_the_burn_asked_for(mach, longer):
    own = flown(vehicle())
    made, done = varied_vehicle(vehicle(), peak_mach=mach, longer=longer, atmosphere=AIR, **RAIL)
    flight = flown(made)
    assert flight.peak_mach == pytest.approx(mach, rel=2e-3)  # the flight's few times may pass the peak by
    assert flight.events["burnout"] == pytest.approx(longer * own.events["burnout"], rel=1e-6)
    assert made.thrust.max() == pytest.approx(done.thrust * 2000.0)


def test_without_drag_the_peak_speed_is_the_rocket_equations():
    # Tsiolkovsky 1903 with weight: V = c ln(m0/m1) - g t, straight up
    light = vehicle(drag_coefficient=[0.0] * 5, thrust_time=[0.0, 2.0], thrust=[2500.0, 2500.0])
    exhaust = 2500.0 * 2.0 / 3.0
    up = {"rail_angle": 0.5 * math.pi, "rail_length": 3.0}
    made, _ = varied_vehicle(light, peak_mach=2.0, longer=1.5, atmosphere=AIR, **up)
    flight = flown(made, **up)
    empty = made.start_mass - made.propellant_mass
    speed = exhaust * math.log(made.start_mass / empty) - STANDARD_GRAVITY * 3.0
    assert empty == pytest.approx(6.0)
    assert flight.speed.max() == pytest.approx(speed, rel=1e-4)
    assert flight.peak_mach == pytest.approx(2.0, rel=1e-4)


def test_asked_for_what_it_flies_anyway_the_vehicle_stays_as_it_is():
    fine = {"atmosphere": AIR, **RAIL}
    own = flown(vehicle())
    made, done = varied_vehicle(vehicle(), peak_mach=own.peak_mach, longer=1.0, **fine)
    assert done.time == pytest.approx(1.0, rel=1e-6)
    assert done.thrust == pytest.approx(1.0, rel=2e-3)
    assert made.start_mass == pytest.approx(9.0, rel=1e-3)


@pytest.mark.parametrize(("mach", "longer"), [(1.2, 20.0), (0.9, 30.0)])
def test_a_burn_too_long_to_lift_the_vehicle_is_a_mistake(mach, longer):
    with pytest.raises(UserMistakes, match=r"flight\.varied: no thrust takes the vehicle to Mach"):
        varied_vehicle(vehicle(), peak_mach=mach, longer=longer, atmosphere=AIR, **RAIL)


def test_thrust_and_drag_per_mass_are_read_off_a_flight_of_constant_mass():
    # of all but constant mass, so that what is read can be compared with what was put in
    one = vehicle(
        start_mass=6.0, propellant_mass=1e-6, drag_coefficient=[0.5] * 5, thrust=[0.0, 1400, 1500, 0]
    )
    found = as_vehicle(flown(one))
    area = 0.25 * math.pi * 0.098**2
    fast = found.drag_mach > 0.4
    assert found.drag_coefficient[fast] == pytest.approx(0.5 * area / 6.0, rel=0.03)
    assert found.impulse[-1] == pytest.approx(one.impulse[-1] / 6.0, rel=0.01)
    middle = np.interp(1.5, found.thrust_time, found.thrust)
    assert middle == pytest.approx(np.interp(1.5, one.thrust_time, one.thrust) / 6.0, rel=0.02)


def test_a_flight_read_as_a_vehicle_flies_as_it_did():
    own = flown(vehicle())
    again = flown(as_vehicle(own))
    time = np.linspace(0.2, 15.0, 60)
    assert np.interp(time, again.time, again.speed) == pytest.approx(
        np.interp(time, own.time, own.speed), rel=0.012, abs=1.5
    )
    assert again.events["apogee"] == pytest.approx(own.events["apogee"], rel=0.01)
    assert again.altitude.max() == pytest.approx(own.altitude.max(), rel=0.01)


def test_a_heavier_vehicle_of_the_same_flight_is_read_alike():
    own = flown(vehicle())
    double = flown(vehicle(thrust=2.0 * vehicle().thrust, start_mass=18.0, propellant_mass=6.0,
                           diameter=0.098 * math.sqrt(2.0)))  # fmt: skip
    assert as_vehicle(double).thrust == pytest.approx(as_vehicle(own).thrust, rel=1e-6)
    assert replace(double, warnings=()).peak_mach == pytest.approx(own.peak_mach, rel=1e-9)
