import numpy as np
import pytest

from optitip.errors import Outcome
from optitip.metrics.goals import parse_goals
from optitip.metrics.values import Bracketed, Evaluation
from optitip.search.executors.face import States
from optitip.search.records import Record
from optitip.search.verified import Rank, members_to_verify, verify

UNITS = {"energy": "J", "mass": "kg", "margin": "1"}


@pytest.fixture
def goals():
    return parse_goals(maximise=("energy",), minimise=("mass",), limits={"margin": ">= 0"}, units=UNITS)


def _record(name, energy, mass, *, margin=0.5, states=States.ALL):
    values = {"energy": energy, "mass": mass, "margin": margin}
    metrics = {
        key: Bracketed(unit=UNITS[key], low=value, expected=value, high=value)
        for key, value in values.items()
    }
    evaluation = Evaluation(outcome=Outcome.ANSWERED, metrics=metrics)
    return Record(number=0, design_id=name, design={"x": name}, states=states, evaluation=evaluation)


def _finer(*records):
    return {record.design_id: record for record in records}


def test_a_member_that_another_beats_on_the_finer_grid_is_marked(goals):
    front = [_record("a", 10.0, 2.0), _record("b", 9.0, 1.9)]
    finer = _finer(_record("a", 9.8, 2.0), _record("b", 9.9, 1.9))
    found = verify(front, finer=finer, goals=goals)
    assert found["a"].rank is Rank.BEATEN
    assert found["b"].rank is Rank.KEPT
    assert found["a"].errors == pytest.approx({"energy": -0.2, "mass": 0.0})


def test_a_member_that_breaks_a_limit_there_is_marked_and_beats_no_other(goals):
    front = [_record("a", 10.0, 2.0), _record("b", 9.0, 1.9)]
    finer = _finer(_record("a", 10.0, 1.8, margin=-0.01), _record("b", 9.0, 1.9))
    found = verify(front, finer=finer, goals=goals)
    assert found["a"].rank is Rank.BROKEN
    assert found["b"].rank is Rank.KEPT


def test_a_member_without_an_answer_there_is_marked(goals):
    lost = Record(
        number=0,
        design_id="a",
        design={"x": "a"},
        states=States.FINER,
        evaluation=Evaluation(outcome=Outcome.MESH_FOLDED),
    )
    found = verify([_record("a", 10.0, 2.0)], finer={"a": lost}, goals=goals)
    assert found["a"].rank is Rank.LOST
    assert found["a"].errors == {}


def test_of_a_long_front_its_ends_its_knee_and_an_even_spread_are_run(goals):
    angle = np.linspace(0.0, 0.5 * np.pi, 1000)
    front = [
        _record(str(row), float(np.cos(turn)), float(1.0 - np.sin(turn))) for row, turn in enumerate(angle)
    ]
    front = [_record("knee", 0.99, 0.001), *front]
    names = [one.design_id for one in members_to_verify(front, goals, confirmed=200)]
    assert {"0", "999", "knee"} <= set(names)
    assert len(names) <= 120
    places = [int(name) for name in names if name != "knee"]
    assert max(np.diff(places)) < 12
    assert members_to_verify(front[:30], goals, confirmed=50) == front[:30]
