from dataclasses import replace

import numpy as np
import pytest

from optitip.solvers.body import Sink
from optitip.solvers.case import HeatCase
from optitip.solvers.march import march, march_together


@pytest.fixture
def made(column, solid, surface):
    z = np.linspace(0.0, 1e-3, 5)
    wall = column(
        (z, solid(lambda T: 100.0 + 0.1 * T, heat_capacity=2.4e6)),
        (1e-3 + z, solid(0.5, heat_capacity=4e6)),
        joints=[400.0],
    )
    mild = surface(
        wall.near, area=wall.area, film=[0.0, 300.0, 20.0], recovery=[300.0, 500.0, 290.0], time=[0, 4, 6]
    )
    hot = replace(
        surface(wall.near, area=wall.area, film=[0.0, 900.0], recovery=[300.0, 800.0], time=[0.0, 5.0]),
        wall=[300.0, 700.0],
        film=np.array([[[0.0, 0.0]] * 2, [[900.0, 700.0]] * 2]),
    )
    sinks = (Sink(nodes=wall.far, conductance=[0.5, 1.0], temperature=290.0),)

    def case(*surfaces, tolerance=0.1):
        return HeatCase(
            models=(wall.model,) * len(surfaces),
            surfaces=surfaces,
            sinks=sinks,
            start=np.full(wall.model.volume.size, 300.0),
            end_time=30.0,
            kinks=(4.0, 5.0, 6.0),
            tolerance=tolerance,
        )

    return wall, mild, hot, sinks, case


def test_alike_states_are_each_what_one_alone_is_but_for_round_off(made):
    _, mild, _, _, case = made
    (alone,), together = march_together(case(mild)), march_together(case(mild, mild, mild))
    for one in together:
        # sums of several rows at once and of one alone add up in their own order
        assert one.temperature == pytest.approx(alone.temperature, rel=1e-13)
        assert one.sunk == pytest.approx(alone.sunk, rel=1e-11)


def test_unlike_states_share_their_steps_and_each_is_its_own_answer(made):
    wall, mild, hot, sinks, case = made
    both = march_together(case(mild, hot, tolerance=1e-3))
    assert np.array_equal(both[0].time, both[1].time)
    for surface, one in zip((mild, hot), both, strict=True):
        alone = march(
            wall.model,
            surface=surface,
            sinks=sinks,
            start=300.0,
            end_time=30.0,
            kinks=(4.0, 5.0, 6.0),
            tolerance=1e-3,
        )
        assert one.temperature[-1] == pytest.approx(alone.temperature[-1], abs=0.01)
        assert one.convected[-1] == pytest.approx(alone.convected[-1], rel=1e-4)
        assert abs(one.closure) < 1e-12


def test_the_worst_state_sets_the_steps(made):
    _, mild, hot, _, case = made
    (quiet,), pair = march_together(case(mild)), march_together(case(mild, hot))
    assert pair[0].steps > quiet.steps


def test_states_of_unlike_bodies_are_refused(made, column, solid):
    _, mild, _, _, case = made
    other = column((np.linspace(0.0, 1e-3, 5), solid(1.0, heat_capacity=1e6)))
    good = case(mild)
    with pytest.raises(ValueError, match="share one topology"):
        replace(good, models=(good.models[0], other.model), surfaces=(mild, mild), condensed=None)
    with pytest.raises(ValueError, match="share one topology"):
        replace(good, surfaces=(mild, mild))
    with pytest.raises(ValueError, match="one temperature a node"):
        replace(good, start=np.full(3, 300.0))
