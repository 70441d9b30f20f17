"""What becomes of designs whose workers die, hang or are stopped, on a crew that does what it is told."""

import itertools
from collections import Counter

import pytest

from optitip.errors import Outcome, UserMistakes
from optitip.metrics.values import Evaluation
from optitip.search.executors import dispatch
from optitip.search.executors.crew import Report, Said
from optitip.search.executors.dispatch import DEATHS_ALONE, CrewExecutor
from optitip.search.executors.face import States, Task
from optitip.search.executors.patience import MOST_A_TICK, Patience, WorkingClock


class ToldCrew:
    """A crew whose batches begin unless it ``holds`` them and end as ``fate(numbers)`` says."""

    def __init__(self, fate, *, holds=lambda _: False, size=2):
        self.size, self._fate, self._holds = size, fate, holds
        self._tickets = itertools.count()
        self._out, self._begun = {}, set()
        self.log, self.ended, self.closed = [], [], None

    def open(self):
        pass

    def close(self, *, now):
        self.closed = now

    def start(self, tasks):
        ticket = next(self._tickets)
        self._out[ticket] = [int(task.design["number"]) for task in tasks]
        self.log.append((self._out[ticket], len(self._out)))
        return ticket

    def end(self, ticket, *, hung):
        self.ended.append((self._out.pop(ticket), hung))

    def hear(self, seconds):
        assert seconds == dispatch.TICK
        reports = []
        for ticket, numbers in list(self._out.items()):
            if ticket not in self._begun:
                if not self._holds(numbers):
                    self._begun.add(ticket)
                    reports.append(Report(ticket=ticket, said=Said.BEGUN))
            elif (said := self._fate(numbers)) is not None:
                del self._out[ticket]
                found = [Evaluation(outcome=Outcome.MESH_FOLDED, detail=str(one)) for one in numbers]
                reports.append(Report(ticket=ticket, said=said, evaluations=found))
        return reports


def _tasks(count):
    return [Task(design={"number": str(number)}, states=States.SEARCH) for number in range(count)]


def _run(crew, count, *, stopping=lambda: False, **options):
    with CrewExecutor(crew, **options) as executor:
        return dict(executor.evaluate(_tasks(count), stopping=stopping))


def test_a_design_is_given_up_when_it_died_three_times_with_nothing_else_at_work():
    crew = ToldCrew(lambda numbers: Said.DIED if 9 in numbers else Said.ANSWERED)
    results = _run(crew, 40)
    assert {i for i, one in results.items() if one.outcome is Outcome.WORKER_DIED} == {9}
    assert sorted(results) == list(range(40))
    at_work = [out for numbers, out in crew.log if numbers == [9]]
    assert at_work == [1] * DEATHS_ALONE


def test_deaths_that_come_and_go_blame_nobody():
    alone = Counter()

    def fate(numbers):
        if len(numbers) > 1:
            return Said.DIED
        alone[numbers[0]] += 1
        return Said.ANSWERED if alone[numbers[0]] == DEATHS_ALONE else Said.DIED

    results = _run(ToldCrew(fate), 16)
    assert [results[i].detail for i in range(16)] == [str(i) for i in range(16)]


def test_a_worker_that_dies_before_it_begins_blames_nobody_and_ends_it_when_none_begins():
    class Stillborn(ToldCrew):
        def hear(self, seconds):
            assert seconds == dispatch.TICK
            return [Report(ticket=self._out.popitem()[0], said=Said.DIED)] if self._out else []

    crew = Stillborn(lambda _: Said.DIED)
    with pytest.raises(UserMistakes, match="die one after the other"):
        _run(crew, 8)
    assert len(crew.log) <= dispatch.DEATHS_THAT_END_IT
    assert crew.closed is True


def _ticking(monkeypatch, seconds):
    times = itertools.count(step=seconds)
    monkeypatch.setattr(dispatch, "WorkingClock", lambda: WorkingClock(lambda: next(times)))


def test_a_batch_that_ran_over_is_run_one_by_one_and_who_runs_over_alone_is_given_up(monkeypatch):
    _ticking(monkeypatch, 0.4)
    crew = ToldCrew(lambda numbers: None if 5 in numbers else Said.ANSWERED)
    results = _run(crew, 40, time_limit=10.0)
    assert {i for i, one in results.items() if one.outcome is Outcome.TIME_LIMIT} == {5}
    assert crew.ended == [([5, 6, 7, 8, 9], True), ([5], True)]
    assert 10.0 < results[5].seconds < 10.5


def test_a_machine_that_sleeps_over_every_tick_takes_half_a_second_of_a_limit_each(monkeypatch):
    _ticking(monkeypatch, 3600.0)
    turns = itertools.count()
    crew = ToldCrew(lambda _: Said.ANSWERED if next(turns) > 7 else None, size=1)
    results = _run(crew, 1, time_limit=9 * MOST_A_TICK)
    assert results[0].outcome is Outcome.MESH_FOLDED


def test_without_a_limit_nothing_is_ever_late():
    assert not Patience(None).is_over(worked=1e9, designs=1, fresh=False)


def test_a_batch_has_the_limit_and_what_as_many_designs_took_on_the_average():
    patience = Patience(10.0)
    assert patience.is_over(worked=10.1, designs=16, fresh=False)
    patience.learn(worked=8.0, designs=16, fresh=False)
    assert not patience.is_over(worked=17.9, designs=16, fresh=False)
    assert patience.is_over(worked=18.1, designs=16, fresh=False)
    assert patience.is_over(worked=10.1, designs=1, fresh=False)


def test_the_first_answer_of_a_worker_may_take_twice_what_the_longest_so_far_took():
    patience = Patience(10.0)
    assert not patience.is_over(worked=300.0, designs=16, fresh=True)
    assert patience.is_over(worked=311.0, designs=16, fresh=True)
    patience.learn(worked=25.0, designs=16, fresh=True)
    patience.learn(worked=2.0, designs=16, fresh=True)
    assert not patience.is_over(worked=59.0, designs=1, fresh=True)
    assert patience.is_over(worked=61.0, designs=1, fresh=True)
    assert patience.is_over(worked=10.1, designs=16, fresh=False)


def test_what_was_begun_is_finished_after_a_stop_and_what_waits_is_taken_back():
    stopped = []

    def fate(numbers):
        stopped.append(numbers)
        return Said.ANSWERED

    crew = ToldCrew(fate, holds=lambda numbers: numbers[0] != 0)
    assert set(_run(crew, 32, stopping=lambda: bool(stopped))) == {0, 1, 2, 3}
    assert crew.ended == [([4, 5, 6, 7], False)]
    assert len(crew.log) == 2
