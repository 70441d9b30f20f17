import numpy as np
import pytest

from optitip.errors import DesignFailure, Outcome
from optitip.solvers.body import Sink
from optitip.solvers.march import march


@pytest.fixture
def wall(column, solid):
    return column((np.linspace(0.0, 1e-3, 5), solid(167.0, heat_capacity=2.4e6)))


@pytest.fixture
def pulse(wall, surface):
    return surface(
        wall.near,
        area=wall.area,
        film=[0.0, 800.0, 50.0],
        recovery=[300.0, 700.0, 290.0],
        time=[0.0, 4.0, 6.0],
    )


def test_the_march_starts_ends_and_lands_on_every_kink(wall, pulse):
    history = march(wall.model, surface=pulse, start=300.0, end_time=30.0, kinks=[4.0, 6.0, 99.0, 0.0])
    assert history.time[0] == 0.0
    assert history.time[-1] == 30.0
    assert {4.0, 6.0} <= set(history.time.tolist())
    assert (np.diff(history.time) > 0.0).all()
    assert history.steps == history.time.size - 1


def test_a_kink_that_a_sum_of_floats_misses_is_landed_on_to_the_last_bit(wall):
    assert 0.28 + (3.9 - 0.28) != 3.9
    history = march(wall.model, start=300.0, end_time=1000.0, kinks=[0.28, 3.9])
    # a still body takes each stretch in the fewest steps
    assert history.time[:3].tolist() == [0.0, 0.28, 3.9]


def test_a_large_quiet_part_does_not_hide_the_error_of_a_small_busy_one(column, solid, surface):
    busy, quiet = solid(167.0, heat_capacity=2.4e6), solid(0.5, heat_capacity=4e6)
    thin, thick = np.linspace(0.0, 1e-3, 5), np.linspace(1e-3, 0.1, 80)
    steps = []
    for layers, joints in ((((thin, busy),), ()), (((thin, busy), (thick, quiet)), (0.0,))):
        body = column(*layers, joints=joints)
        hot = surface(body.near, area=body.area, film=800.0, recovery=700.0)
        steps.append(march(body.model, surface=hot, start=300.0, end_time=20.0).steps)
    assert steps[0] == steps[1] > 10


def test_a_march_may_start_before_lift_off(wall, pulse):
    history = march(wall.model, surface=pulse, start=300.0, start_time=-10.0, end_time=5.0, kinks=[0.0])
    waiting = history.time <= 0.0
    assert history.time[0] == -10.0
    assert history.temperature[waiting] == pytest.approx(300.0, abs=1e-9)
    assert history.temperature[-1].min() > 400.0


def test_two_marches_of_one_model_are_the_same_to_the_last_bit(wall, pulse):
    first, second = (march(wall.model, surface=pulse, start=300.0, end_time=20.0) for _ in range(2))
    assert np.array_equal(first.temperature, second.temperature)


def test_a_tighter_tolerance_comes_nearer_to_the_answer(wall, pulse):
    kinks = [4.0, 6.0]
    exact = march(wall.model, surface=pulse, start=300.0, end_time=20.0, kinks=kinks, tolerance=1e-4)
    at = np.linspace(0.0, 20.0, 101)
    errors = []
    for tolerance in (1.0, 0.1, 0.01):
        history = march(
            wall.model, surface=pulse, start=300.0, end_time=20.0, kinks=kinks, tolerance=tolerance
        )
        apart = history.temperature_at(at, nodes=wall.near) - exact.temperature_at(at, nodes=wall.near)
        errors.append(np.abs(apart).max())
    assert errors[0] > errors[1] > errors[2]
    assert errors[1] < 0.3


def test_the_peak_is_found_between_the_steps(wall, pulse):
    coarse, fine = (
        march(wall.model, surface=pulse, start=300.0, end_time=20.0, kinks=[4.0, 6.0], tolerance=tolerance)
        for tolerance in (0.1, 1e-3)
    )
    reached = coarse.highest[wall.near]
    assert reached == pytest.approx(fine.temperature.max(axis=0)[wall.near], abs=0.1)


def test_the_start_may_differ_from_node_to_node(wall):
    start = np.repeat(np.linspace(300.0, 380.0, 5), 2)
    history = march(wall.model, start=start, end_time=1.0)
    assert history.temperature[0] == pytest.approx(start, abs=1e-9)
    assert np.ptp(history.temperature[-1]) < 0.2


def test_a_body_with_nothing_around_it_stays_as_it_is(wall):
    history = march(wall.model, start=350.0, end_time=100.0)
    assert history.temperature == pytest.approx(350.0, abs=1e-9)
    assert abs(history.closure) < 1e-9


def test_each_sink_reports_the_heat_it_took(wall):
    sinks = [
        Sink(nodes=wall.near, conductance=[1.0, 2.0], temperature=400.0),
        Sink(nodes=wall.far, conductance=[3.0, 6.0], temperature=300.0),
    ]
    history = march(wall.model, sinks=sinks, start=350.0, end_time=1e4)
    # 3 and 9 W/K meet where 3 (400 - T) = 9 (T - 300)
    assert history.temperature[-1] == pytest.approx(325.0, abs=0.1)
    assert history.sunk[-1].sum() == pytest.approx(history.sensible[-1, 0], rel=1e-8)
    assert history.sunk[-1, 0] > 0.0 > history.sunk[-1, 1]


def test_a_tolerance_below_round_off_is_a_stalled_march(wall, pulse):
    with pytest.raises(DesignFailure, match="step") as failure:
        march(wall.model, surface=pulse, start=300.0, end_time=10.0, tolerance=1e-16)
    assert failure.value.outcome is Outcome.MARCH_STALLED


def test_a_heating_no_number_can_hold_is_a_stalled_march_and_never_a_nan(wall, surface):
    sun = surface(wall.near, area=wall.area, film=1e300, recovery=1e300)
    with pytest.raises(DesignFailure) as failure:
        march(wall.model, surface=sun, start=300.0, end_time=10.0)
    assert failure.value.outcome is Outcome.MARCH_STALLED


def test_too_many_steps_are_a_stalled_march(wall, pulse, monkeypatch):
    monkeypatch.setattr("optitip.solvers.march.MOST_STEPS", 5)
    with pytest.raises(DesignFailure, match="5 steps"):
        march(wall.model, surface=pulse, start=300.0, end_time=10.0)


def test_the_history_is_read_only(wall):
    history = march(wall.model, start=350.0, end_time=1.0)
    with pytest.raises(ValueError, match="read-only"):
        history.temperature[0, 0] = 0.0


def test_a_long_wait_after_a_jump_is_followed_between_its_ends_too(column, solid, surface):
    """A step of an hour right after the air's film falls off ends right: L-stability sees to that alone."""
    wall = column((np.linspace(0.0, 2e-3, 5), solid(20.0, heat_capacity=2e6)))
    hot = surface(
        wall.near,
        area=wall.area,
        film=[400.0, 400.0, 8.0, 8.0],
        recovery=[320.0, 320.0, 300.0, 300.0],
        time=[0.0, 100.0, 100.2, 4000.0],
    )
    given = {"surface": hot, "start": 300.0, "end_time": 4000.0, "kinks": [100.0, 100.2]}
    rough, fine = march(wall.model, **given), march(wall.model, **given, tolerance=1e-4)
    at = np.geomspace(100.2, 4000.0, 60)
    apart = rough.temperature_at(at, nodes=wall.far) - fine.temperature_at(at, nodes=wall.far)
    assert np.abs(apart).max() < 0.5
    assert abs(rough.balance) < 1e-3
    assert rough.steps < 40
