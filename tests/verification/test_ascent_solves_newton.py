"""Ascent and descent against closed forms: rocket equation, energy, coast and fall with drag, order."""

import math
from itertools import pairwise

import numpy as np
import pytest

from optitip.flight import climb as climb_module
from optitip.flight.atmosphere import AirState, gravity, site_atmosphere
from optitip.flight.climb import climb
from optitip.flight.descent import DescentPlan, fall
from optitip.flight.motion import advance
from optitip.flight.vehicle import Vehicle

G = 9.80665
EARTH = 6_356_766.0


class UniformAir:
    """Air of one density everywhere, so that quadratic drag has a closed form."""

    site_altitude = 0.0

    def __init__(self, density):
        self.density = density

    def at(self, altitude):
        one = np.ones_like(np.asarray(altitude, dtype=float))
        return AirState(temperature=288.15 * one, pressure=101_325.0 * one, density=self.density * one)


def vehicle(drag=0.0, thrust=2000.0, burn=3.0):
    return Vehicle(
        thrust_time=[0.0, burn],
        thrust=[thrust, thrust],
        start_mass=8.0,
        propellant_mass=3.0,
        diameter=0.08,
        drag_mach=[0.0, 2.0],
        drag_coefficient=[drag, drag],
    )


def climbed(which, air=None, degrees=90.0):
    air = air if air is not None else site_atmosphere()
    return climb(which, atmosphere=air, rail_angle=math.radians(degrees), rail_length=2.0, place="test")


def test_without_drag_the_burnout_speed_is_the_rocket_equations():
    up = climbed(vehicle())
    exhaust = 2000.0 * 3.0 / 3.0
    expected = exhaust * math.log(8.0 / 5.0) - G * 3.0
    got = float(np.interp(up.burnout, up.path.time, up.path.speed))
    # gravity weakens by 4e-4 over the 1.3 km, which gives back 0.006 m/s of 910
    assert got == pytest.approx(expected, rel=2e-5)


def test_the_felt_acceleration_is_thrust_over_the_mass_left():
    up = climbed(vehicle())
    felt = np.interp([0.0, 1.5, up.burnout], up.path.time, up.path.axial_acceleration)
    assert felt == pytest.approx([2000.0 / 8.0, 2000.0 / 6.5, 2000.0 / 5.0], rel=1e-5)


@pytest.mark.parametrize("degrees", [90.0, 60.0])
def test_without_drag_a_coast_keeps_its_energy(degrees):
    up = climbed(vehicle(), degrees=degrees)
    coast = up.path.time >= up.burnout
    energy = 0.5 * up.path.speed[coast] ** 2 - G * EARTH**2 / (EARTH + up.path.altitude[coast])
    assert np.ptp(energy) < 1e-8 * 0.5 * up.path.speed.max() ** 2


def test_without_drag_the_speed_at_the_apogee_is_the_level_part_kept_from_burnout():
    up = climbed(vehicle(), degrees=60.0)
    after = np.searchsorted(up.path.time, up.burnout)
    rise = np.gradient(up.path.altitude, up.path.time)[after + 20]
    level = math.sqrt(up.path.speed[after + 20] ** 2 - rise**2)
    assert abs(up.state[3]) < 1e-9
    assert up.state[2] == pytest.approx(level, rel=1e-5)


def test_a_coast_against_drag_follows_the_tangent_law():
    density, drag = 1.0, 0.6
    up = climbed(vehicle(drag=drag, thrust=4000.0, burn=0.3), air=UniformAir(density))
    area = math.pi * 0.04**2
    g = gravity(400.0)  # half way up; it changes by 2.5e-4 on the way
    terminal = math.sqrt(2.0 * 5.0 * g / (density * drag * area))
    start = float(np.interp(up.burnout, up.path.time, up.path.speed))
    angle = math.atan(start / terminal)
    assert up.path.time[-1] - up.burnout == pytest.approx(terminal / g * angle, rel=2e-4)
    later = up.path.time >= up.burnout
    expected = terminal * np.tan(angle - g * (up.path.time[later] - up.burnout) / terminal)
    assert up.path.speed[later] == pytest.approx(expected, abs=2e-4 * start)


def test_a_fall_from_rest_under_drogue_follows_the_hyperbolic_tangent():
    plan = DescentPlan(drogue_rate=30.0, main_height=0.0)
    down = fall(plan, atmosphere=UniformAir(1.225), time=5.0, altitude=600.0, velocity=(0.0, 0.0))
    expected = 30.0 * np.tanh(G * (down.path.time - 5.0) / 30.0)
    assert down.path.speed == pytest.approx(expected, abs=1e-3)
    height = 600.0 - 30.0**2 / G * np.log(np.cosh(G * (down.path.time - 5.0) / 30.0))
    assert down.path.altitude == pytest.approx(height, abs=5e-3)


def test_the_step_is_of_fourth_order():
    terminal = 100.0

    def drag(_, state):
        return 0.0, -G - G * state[3] * abs(state[3]) / terminal**2

    def error(count):
        state = (0.0, 0.0, 0.0, 300.0)
        for i in range(count):
            state = advance(drag, time=i * 4.0 / count, state=state, step=4.0 / count)
        return abs(state[3] - terminal * math.tan(math.atan(3.0) - G * 4.0 / terminal))

    ratios = [a / b for a, b in pairwise([error(n) for n in (20, 40, 80, 160)])]
    assert all(14.0 < ratio < 20.0 for ratio in ratios)


def test_the_step_is_of_fourth_order_where_the_force_depends_on_the_place():
    def error(count):
        state = (1.0, 0.0, 0.0, 1.0)
        for _ in range(count):
            state = advance(lambda _, s: (-s[0], -s[1]), time=0.0, state=state, step=2.0 / count)
        return abs(state[0] - math.cos(2.0)) + abs(state[1] - math.sin(2.0))

    ratios = [a / b for a, b in pairwise([error(n) for n in (20, 40, 80)])]
    assert all(14.0 < ratio < 18.0 for ratio in ratios)


def test_a_slanted_rail_carries_the_weight_but_for_its_part_along_it():
    up = climb(
        vehicle(), atmosphere=site_atmosphere(), rail_angle=math.radians(40.0), rail_length=90.0, place="test"
    )
    expected = 2000.0 * math.log(8.0 / 7.3) - G * math.sin(math.radians(40.0)) * 0.7
    assert float(np.interp(0.7, up.path.time, up.path.speed)) == pytest.approx(expected, rel=1e-4)
    assert float(np.interp(0.7, up.path.time, up.path.altitude)) < 90.0 * math.sin(math.radians(40.0))


def test_halving_the_step_of_a_whole_climb_changes_nothing_to_see(monkeypatch):
    which = vehicle(drag=0.5)
    usual = climbed(which, degrees=80.0)
    monkeypatch.setattr(climb_module, "LONGEST_STEP", 0.01)
    fine = climbed(which, degrees=80.0)
    assert fine.path.time.size > 1.8 * usual.path.time.size
    assert usual.path.altitude[-1] == pytest.approx(fine.path.altitude[-1], rel=1e-6)
    assert usual.path.speed.max() == pytest.approx(fine.path.speed.max(), rel=1e-6)
