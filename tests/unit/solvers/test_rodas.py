import numpy as np
import pytest

from optitip.solvers import rodas


class Relaxing:
    """y' = -rate_constant (y - sin t) + cos t, whose answer from 0 is sin t at any stiffness."""

    mass = np.array([2.0])

    def __init__(self, rate_constant):
        self.rate_constant = rate_constant

    def rate(self, time, state):
        return self.mass * (np.cos(time) - self.rate_constant * (state - np.sin(time)))

    def linearise(self, time, state):
        return RelaxingAt(self, time, state)


class RelaxingAt:
    def __init__(self, system, time, state):
        self.system, self.time, self.state = system, time, state
        self.rate = system.rate(time, state)
        self.rate_slope = system.mass * (-np.sin(time) + system.rate_constant * np.cos(time))

    def solver(self, length):
        mass = self.system.mass
        return lambda right: right / (mass / length + mass * self.system.rate_constant)


def _end_error(rate_constant, *, steps, end=2.0):
    system, state = Relaxing(rate_constant), np.zeros(1)
    for number in range(steps):
        here = system.linearise(number * end / steps, state)
        state = rodas.step(system, start=here, length=end / steps).state
    return abs(state[0] - np.sin(end))


def test_the_error_falls_with_the_third_power_of_the_step():
    errors = [_end_error(1.0, steps=steps) for steps in (10, 20, 40)]
    assert np.log2(np.array(errors[:-1]) / errors[1:]) == pytest.approx(3.0, abs=0.1)


def test_a_stiff_pull_is_followed_and_not_rung():
    assert _end_error(1e8, steps=20) < 1e-3


def test_what_is_far_off_a_stiff_pull_is_back_on_it_after_one_step():
    here = Relaxing(1e8).linearise(0.0, np.array([5.0]))
    assert rodas.step(here.system, start=here, length=0.1).state[0] == pytest.approx(np.sin(0.1), abs=1e-3)


def test_the_slope_after_a_stiff_step_is_the_answers_and_not_the_stiffness_times_its_error():
    here = Relaxing(1e8).linearise(1.0, np.array([np.sin(1.0)]))
    done = rodas.step(here.system, start=here, length=0.1)
    assert done.slope[0] == pytest.approx(np.cos(1.1), abs=0.05)


def _slope_error_just_after_the_start(rate_constant, *, length):
    here = Relaxing(rate_constant).linearise(1.0, np.array([np.sin(1.0)]))
    return abs(rodas.step(here.system, start=here, length=length).slope_after[0] - np.cos(1.0))


def test_the_slope_just_after_the_start_is_known_to_second_order():
    errors = [_slope_error_just_after_the_start(1.0, length=length) for length in (0.2, 0.1, 0.05)]
    assert np.log2(np.array(errors[:-1]) / errors[1:]) == pytest.approx(2.0, abs=0.2)


def test_the_slope_just_after_a_stiff_start_is_the_answers():
    assert _slope_error_just_after_the_start(1e8, length=0.1) < 1e-6


def test_the_slope_after_a_bend_in_the_pull_is_the_new_one_where_it_is_stiff():
    # on sin t until now; from here on the pull runs away with another slope
    here = Relaxing(1e8).linearise(1.0, np.array([np.sin(1.0)]))
    here.rate_slope = here.rate_slope + here.system.mass * 1e8 * 5.0
    done = rodas.step(here.system, start=here, length=1e-3)
    assert done.slope_after[0] == pytest.approx(np.cos(1.0) + 5.0, abs=0.01)
