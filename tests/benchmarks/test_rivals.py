"""The rivals are no straw men: they solve the same body, by a scheme of the order that it has."""

import numpy as np
import pytest
import tr_bdf2
from marched import SIZES, Course, Error, apart, figures, marched_tip
from measuring import settings_as_exact
from ours import Plain
from outer_heat import OuterHeat
from rival_scikit_fem import ScikitFem
from rival_scipy import Lsoda, Ode

from optitip.solvers.surface import heat_over_time


@pytest.fixture(scope="module")
def marched():
    return marched_tip(SIZES["usual"])


@pytest.fixture(scope="module")
def ours(marched):
    plain = Plain(marched)
    return figures(marched, plain.read(plain.run(plain.tight)))


@pytest.mark.parametrize("rival", [ScikitFem, Lsoda])
def test_a_rival_that_is_given_time_finds_our_figures(rival, marched, ours):
    one = rival(marched)
    found = apart(figures(one.marched, one.read(one.run(2e-3))), ours)
    assert found.energy < 0.03
    assert found.temperature < 0.05


def test_the_jacobian_given_to_scipy_is_the_slope_of_the_rate(marched):
    ode = Ode(marched, Plain(marched).model)
    rng = np.random.default_rng(3)
    state, way = ode.start + 1e7 * rng.random(ode.nodes), rng.standard_normal(ode.nodes)
    slope = (ode.rate(5.0, state + 1e2 * way) - ode.rate(5.0, state - 1e2 * way)) / 2e2
    exact = ode.jacobian(5.0, state) @ way
    width = ode.model.stiffness.shape[0] - 1
    packed = ode.banded_jacobian(5.0, state)
    n = np.arange(ode.nodes)
    whole = np.zeros((ode.nodes, ode.nodes))
    for row in range(2 * width + 1):
        i = n + row - width
        there = (i >= 0) & (i < ode.nodes)
        whole[i[there], n[there]] = packed[row, there]
    assert slope == pytest.approx(exact, rel=1e-6, abs=1e-6 * abs(exact).max())
    assert whole @ way == pytest.approx(exact, rel=1e-12, abs=1e-12 * abs(exact).max())


def test_the_rivals_read_the_same_heat_off_the_surface_as_the_balance_does(marched):
    rng = np.random.default_rng(4)
    wall = rng.uniform(250.0, 900.0, marched.surface.nodes.size)
    for time in (-5.0, 0.0, 2.345, 7.0, 40.0, 1e4):
        expected = heat_over_time(marched.surface, time=np.array([time]), wall=wall[None])
        found = OuterHeat(marched.surface).at(time, wall=wall)
        assert found.heat == pytest.approx((expected.convected + expected.radiated)[0], rel=1e-9, abs=1e-9)


class _Cooling:
    """T' = -T^2 from 1, one unknown with an enthalpy that isn't straight in T: e = T^3/3, so e' = -T^4."""

    class marched:  # noqa: N801 (stands for the body's own)
        start_time, end_time, stops = 0.0, 2.0, [2.0]

    def enthalpy(self, temperature):
        return temperature**3 / 3.0

    def kelvin(self, rate, temperature):
        return rate / temperature**2

    def worst(self, kelvin):
        return float(abs(kelvin).max())

    def solve(self, time, *, guess, base, length, fresh):
        del time, fresh
        left = -(guess**4) - (self.enthalpy(guess) - base) / length
        return guess + left / (4.0 * guess**3 + guess**2 / length)


def test_the_scheme_of_the_rivals_is_of_second_order():
    errors, steps = [], []
    for tolerance in (1e-4, 1e-5, 1e-6, 1e-7):
        course = tr_bdf2.march(_Cooling(), start=np.ones(1), tolerance=tolerance)
        errors.append(abs(course.temperature[-1, 0] - 1.0 / 3.0))
        steps.append(course.steps)
    orders = -np.diff(np.log(errors)) / np.diff(np.log(steps))
    assert orders[-2:] == pytest.approx(2.0, abs=0.25)


class _Stated:
    """A rival whose error is its tolerance, in per cent and in kelvin."""

    first, tight = 8.0, 1e-3

    def __init__(self, marched):
        self.marched = marched
        self.tried = []

    def run(self, tolerance):
        self.tried.append(tolerance)
        return tolerance

    def read(self, tolerance):
        # warming by 1 K at all nodes, and by what the tolerance leaves
        warm = self.marched.start + 100.0 + tolerance
        both = np.stack([self.marched.start, warm])
        return Course(time=np.array([0.0, 1.0]), temperature=both, steps=1)


def test_a_rival_gets_the_coarsest_setting_that_is_as_exact(marched, ours):
    rival = _Stated(marched)
    bounds = [Error(energy=50.0, temperature=1.5), Error(energy=50.0, temperature=0.6)]
    coarse, setting = settings_as_exact(rival, bounds=bounds, ours=ours)
    assert coarse.tolerance == 1.0
    assert setting.tolerance == 0.5
    assert setting.kept
    assert rival.tried == [1e-3, 8.0, 4.0, 2.0, 1.0, 0.5]


def test_a_rival_that_is_never_as_exact_is_told_so(marched, ours):
    setting = settings_as_exact(_Stated(marched), bounds=[Error(energy=50.0, temperature=1e-9)], ours=ours)[0]
    assert not setting.kept
    assert setting.tolerance < 0.04
