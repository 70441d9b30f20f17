import numpy as np
import pytest

from optitip.errors import Outcome
from optitip.metrics.goals import parse_goals
from optitip.metrics.values import Bracketed, Evaluation
from optitip.search.components import Components
from optitip.search.evaluated import Evaluated, joined
from optitip.search.executors.face import States
from optitip.search.front import APART, archive_of, costs, covered, front_rows, latest, spread
from optitip.search.records import Record
from optitip.search.space import Space

UNITS = {"energy": "1", "mass": "1", "margin": "1"}
GOALS = parse_goals(maximise=["energy"], minimise=["mass"], limits={"margin": ">= 0"}, units=UNITS)
SPACE = Space({"x": ("0 mm", "1 mm")}, {})
COMPONENTS = Components(GOALS)


def _record(number, *, name=None, energy=1.0, mass=1.0, margin=(0.5, 1.0), states=States.SEARCH):
    figures = {"energy": (energy, energy), "mass": (mass, mass), "margin": margin}
    metrics = {
        metric: Bracketed(unit="1", low=low, expected=expected, high=expected)
        for metric, (low, expected) in figures.items()
    }
    return Record(
        number=number,
        design_id=name or f"d{number}",
        design={"x": f"{number / 100} mm"},
        states=states,
        evaluation=Evaluation(outcome=Outcome.ANSWERED, metrics=metrics),
    )


def _failed(number):
    return Record(
        number=number,
        design_id=f"d{number}",
        design={"x": "0.5 mm"},
        states=States.SEARCH,
        evaluation=Evaluation(outcome=Outcome.TIP_TOO_SHORT, detail="short"),
    )


def _evaluated(records):
    return joined(
        [
            Evaluated.of_one(
                record.evaluation,
                number=record.number,
                design_id=record.design_id,
                states=record.states,
                metrics=COMPONENTS.metrics,
                point=SPACE.point_of(record.design),
            )
            for record in records
        ]
    )


def _numbers(records):
    found = _evaluated(records)
    return found.numbers[front_rows(found, COMPONENTS)].tolist()


def _archive(records):
    return archive_of(_evaluated(records), components=COMPONENTS, space=SPACE)


def _spread(records):
    """Return the records that a spread of these keeps."""
    cost = np.array([costs(record, GOALS) for record in records])
    rows = spread(cost, first=np.array([record.states is States.ALL for record in records]))
    return [records[row] for row in rows]


def _front(records):
    by_number = {record.number: record for record in records}
    return [by_number[number] for number in _numbers(records)]


def test_a_design_beaten_in_one_objective_and_equal_in_the_other_is_not_on_the_front():
    assert _numbers([_record(1, energy=2.0), _record(2, energy=3.0)]) == [2]


def test_more_energy_for_more_mass_stays_and_the_most_energy_comes_first():
    assert _numbers([_record(1, energy=2.0, mass=1.0), _record(2, energy=3.0, mass=2.0)]) == [2, 1]


def test_equal_designs_both_stay_in_the_order_of_their_numbers():
    assert _numbers([_record(5), _record(3)]) == [3, 5]


def test_the_order_records_arrive_in_does_not_matter():
    records = [_record(i, energy=i % 7, mass=i % 5) for i in range(1, 40)]
    assert _numbers(records) == _numbers(records[::-1])


def test_a_design_whose_worst_state_breaks_a_limit_is_out_although_its_expected_one_keeps_it():
    assert _numbers([_record(1, energy=9.0, margin=(-0.01, 1.0)), _record(2)]) == [2]


def test_a_design_without_an_answer_or_a_metric_is_out():
    lacking = _record(3, energy=9.0)
    metrics = {"energy": lacking.evaluation.metrics["energy"]}
    lacking = Record(
        number=3,
        design_id="d3",
        design=lacking.design,
        states=States.SEARCH,
        evaluation=Evaluation(outcome=Outcome.ANSWERED, metrics=metrics),
    )
    assert _numbers([_failed(1), _record(2), lacking]) == [2]


def test_figures_over_all_flow_states_take_the_place_of_the_search_ones_and_let_the_next_in():
    records = [
        _record(1, energy=9.0),
        _record(2, energy=5.0),
        _record(3, name="d1", energy=9.0, margin=(-1.0, 1.0), states=States.ALL),
    ]
    found = _evaluated(records)
    assert found.numbers[latest(found)].tolist() == [3, 2]
    assert _numbers(records) == [2]


def test_nothing_feasible_is_an_empty_front():
    assert _numbers([_failed(1), _record(2, margin=(-1.0, 0.0))]) == []


def test_a_failed_design_has_a_finite_violation_beyond_the_worst_that_answered():
    records = [_record(1), _record(2, margin=(-3.0, 1.0)), _failed(3)]
    violation = _archive(records).violation()
    assert violation[0] == 0.0
    assert 0.0 < violation[1] < violation[2] < 10.0


def test_limits_are_drawn_in_by_what_all_states_took_from_the_designs_nearest():
    # a design lies at a hundredth of its number: the third is 0.05 and 0.15 from those run both ways
    records = [
        _record(10, margin=(0.5, 1.0)),
        _record(30, margin=(0.4, 1.0)),
        _record(15, margin=(0.1, 1.0)),
        _record(10, name="d10", margin=(0.2, 1.0), states=States.ALL),
        _record(30, name="d30", margin=(-0.1, 1.0), states=States.ALL),
    ]
    archive = _archive(records)
    weighted = (0.3 / 0.05**2 + 0.5 / 0.15**2) / (1 / 0.05**2 + 1 / 0.15**2)
    assert archive.excess[:, 0] == pytest.approx([-0.2, -0.1 + weighted, 0.1], rel=1e-5)


def test_what_the_front_covers_grows_with_a_better_design_and_starts_at_nothing():
    records = [_record(1, energy=1.0, mass=2.0), _record(2, energy=2.0, mass=3.0)]
    before = covered(_archive(records), opening=2)
    records.append(_record(3, energy=1.9, mass=2.1))
    after = covered(_archive(records), opening=2)
    assert before == pytest.approx(0.0)
    assert after == pytest.approx(0.81)
    assert covered(_archive([_failed(1)]), opening=1) == 0.0


def test_a_spread_keeps_the_ends_and_drops_near_twins():
    members = _front([_record(i, energy=float(i), mass=float(i)) for i in (1, 2, 100, 101)])
    assert {record.number for record in _spread(members)} == {101, 1}


def test_a_spread_prefers_members_run_over_all_flow_states():
    members = [_record(1, energy=5.0, mass=5.0), _record(2, energy=5.001, mass=5.001, states=States.ALL)]
    ends = [_record(3, energy=9.0, mass=9.0), _record(4, energy=1.0, mass=1.0)]
    assert {record.number for record in _spread([*members, *ends])} == {2, 3, 4}


def test_a_spread_keeps_the_best_of_each_objective_whoever_stands_near_it():
    near = [
        _record(1, energy=8.99, mass=8.99, states=States.ALL),
        _record(2, energy=1.01, mass=1.01, states=States.ALL),
    ]
    ends = [_record(3, energy=9.0, mass=9.0), _record(4, energy=1.0, mass=1.0)]
    assert {record.number for record in _spread([*near, *ends])} == {3, 4}


def test_every_member_lies_close_to_one_of_the_spread():
    members = _front([_record(i, energy=i / 7, mass=(i / 7) ** 2) for i in range(1, 200)])
    kept = _spread(members)
    cost = np.array([costs(record, GOALS) for record in members])
    chosen = np.array([costs(record, GOALS) for record in kept])
    scale = np.ptp(cost, axis=0)
    gaps = np.abs((cost[:, None] - chosen) / scale).max(axis=2)
    assert gaps.min(axis=1).max() <= APART + 1e-12
    assert len(kept) < len(members)


def test_an_objective_that_never_changes_drops_no_member_of_a_spread():
    members = [_record(number, energy=float(number), mass=100.0) for number in range(11)]
    assert len(_spread(members)) == 11
