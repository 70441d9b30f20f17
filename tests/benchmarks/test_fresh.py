"""The designs whose whole cost is told are fresh, and the whole is told."""

import fresh
from marched import SIZES


def test_no_two_draws_share_their_flight_their_day_or_their_outline():
    drawn = list(fresh.draws(8, seed=1))
    assert len({float(one.flight.mach.max()) for one in drawn}) == 8
    assert len({one.start for one in drawn}) == 8
    assert len({one.study.tables.outline.length for one in drawn}) == 8
    assert all(1.3 < one.flight.mach.max() < 4.0 for one in drawn)


def test_every_stage_of_every_design_that_can_be_built_is_counted():
    for costs_of in (fresh.plain_costs, fresh.compiled_costs):
        costs = costs_of(3, seed=1, resolution=SIZES["usual"])
        assert len(costs.all_in()) + costs.failed == 3
        assert all(spent > 0.0 for stage in costs.stages.values() for spent in stage)
        assert costs.median("march") < costs.all_in().max()


def test_the_cases_of_fresh_designs_are_as_many_as_asked_for():
    assert len(fresh.cases(2, seed=1, resolution=SIZES["usual"])) == 2
