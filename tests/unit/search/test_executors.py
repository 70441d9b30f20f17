import multiprocessing
import os
import signal
import threading
from dataclasses import replace

import pytest
import synthetic_search
import synthetic_tip
import synthetic_workers

from optitip.errors import Outcome, UserMistakes
from optitip.search.executors import dispatch, patience, processes
from optitip.search.executors.face import BATCH, States, Task, batches
from optitip.search.executors.make import ExecutorKind, make_executor
from optitip.search.executors.processes import ProcessExecutor
from optitip.search.executors.serial import SerialExecutor
from optitip.search.quasi_random import drawn


def _never():
    return False


def _tasks(count):
    designs = drawn(synthetic_search.space(), count, seed=2)
    return [Task(design=design, states=States.SEARCH) for design in designs]


def _without_seconds(results):
    return [(index, one.outcome, one.detail, one.metrics) for index, one in sorted(results.items())]


def test_workers_give_the_very_figures_that_one_process_gives():
    tasks = _tasks(12)
    with SerialExecutor(synthetic_tip.evaluators) as executor:
        alone = dict(executor.evaluate(tasks, stopping=_never))
    with ProcessExecutor(synthetic_tip.evaluators, workers=2) as executor:
        together = dict(executor.evaluate(tasks, stopping=_never))
    assert _without_seconds(together) == _without_seconds(alone)
    assert len(alone) == 12


def _fates(*fates):
    return [Task(design={"fate": fate}, states=States.SEARCH) for fate in fates]


def test_only_the_designs_that_kill_their_worker_are_lost_and_the_pool_goes_on():
    tasks = _fates("a", "b", "dies", "c", "d", "dies", "e")
    with ProcessExecutor(synthetic_workers.deadly_evaluators, workers=2) as executor:
        results = dict(executor.evaluate(tasks, stopping=_never))
    assert sorted(results) == list(range(7))
    assert [i for i, one in sorted(results.items()) if one.outcome is Outcome.WORKER_DIED] == [2, 5]
    assert [results[i].detail for i in (0, 1, 3, 4, 6)] == ["a", "b", "c", "d", "e"]


def test_a_worker_that_hangs_is_killed_and_only_its_design_is_given_up(monkeypatch):
    monkeypatch.setattr(patience, "LEAST_FOR_A_START", 0.5)
    monkeypatch.setattr(patience, "FIRST_ANSWER", 2.0)
    tasks = _fates(*"abcdefgh", "hangs", *"ijklmnop", "loops in C", "q")
    with ProcessExecutor(synthetic_workers.deadly_evaluators, workers=2, time_limit=1.0) as executor:
        results = dict(executor.evaluate(tasks, stopping=_never))
    late = [tasks[i].design["fate"] for i, one in results.items() if one.outcome is Outcome.TIME_LIMIT]
    assert sorted(late) == ["hangs", "loops in C"]
    assert len(results) == len(tasks)
    assert all(one.seconds >= 1.0 for one in results.values() if one.outcome is Outcome.TIME_LIMIT)


def test_what_a_worker_takes_to_start_is_no_time_of_a_design(monkeypatch):
    monkeypatch.setattr(patience, "FIRST_ANSWER", 0.1)
    with ProcessExecutor(synthetic_workers.sluggish_evaluators, workers=1, time_limit=0.5) as executor:
        results = dict(executor.evaluate(_fates("a", "b"), stopping=_never))
    assert [one.outcome for one in results.values()] == [Outcome.MESH_FOLDED] * 2


def test_a_worker_without_memory_is_one_that_died():
    with ProcessExecutor(synthetic_workers.deadly_evaluators, workers=1) as executor:
        results = dict(executor.evaluate(_fates("no memory", "a"), stopping=_never))
    assert [results[i].outcome for i in (0, 1)] == [Outcome.WORKER_DIED, Outcome.MESH_FOLDED]


def test_workers_killed_from_outside_at_any_moment_cost_no_design_its_answer():
    """Also as they start, and while they have nothing to do."""
    tasks = _fates(*("slow" for _ in range(60)))
    results = {}
    with ProcessExecutor(synthetic_workers.deadly_evaluators, workers=2) as executor:
        kills = 0
        for index, one in executor.evaluate(tasks, stopping=_never):
            results[index] = one
            if len(results) % 6 == 1:
                kills += 1
                for worker in multiprocessing.active_children():
                    worker.kill()
    assert kills >= 8
    assert [results[i].detail for i in range(60)] == ["slow"] * 60


def test_no_worker_lingers_after_its_executor():
    with ProcessExecutor(synthetic_workers.deadly_evaluators, workers=2) as executor:
        running = executor.evaluate(_fates("a", "hangs"), stopping=_never)
        next(running)
        assert multiprocessing.active_children()
        running.close()
        assert len(multiprocessing.active_children()) == 1
    assert not multiprocessing.active_children()


@pytest.mark.skipif(not hasattr(signal, "pthread_sigmask"), reason="needs signal masks")
def test_ctrl_c_while_workers_start_reaches_this_process_alone():
    with ProcessExecutor(synthetic_workers.sluggish_evaluators, workers=1) as executor:
        asked = threading.Event()
        before = signal.signal(signal.SIGINT, lambda *_: asked.set())
        start = processes.multiprocessing.process.BaseProcess.start

        def interrupted(process):
            start(process)
            os.kill(process.pid, signal.SIGINT)
            os.kill(os.getpid(), signal.SIGINT)
            assert not asked.is_set()

        try:
            with pytest.MonkeyPatch.context() as patch:
                patch.setattr(processes.multiprocessing.process.BaseProcess, "start", interrupted)
                results = dict(executor.evaluate(_fates("a"), stopping=_never))
        finally:
            signal.signal(signal.SIGINT, before)
    assert asked.is_set()
    assert results[0].detail == "a"


def test_ctrl_c_reaches_the_workers_too_and_they_finish_what_they_do():
    with ProcessExecutor(synthetic_workers.deadly_evaluators, workers=1) as executor:
        results = dict(executor.evaluate(_fates("interrupted"), stopping=_never))
    assert results[0].detail == "interrupted"


def test_workers_that_all_die_end_the_sweep_with_one_line(monkeypatch):
    monkeypatch.setattr(dispatch, "DEATHS_THAT_END_IT", 2)
    with (
        ProcessExecutor(synthetic_workers.deadly_evaluators, workers=1) as executor,
        pytest.raises(UserMistakes, match="worker processes die one after the other"),
    ):
        list(executor.evaluate(_fates("dies", "dies", "dies"), stopping=_never))


@pytest.mark.parametrize("kind", [ExecutorKind.SERIAL, ExecutorKind.PROCESSES])
def test_a_bug_in_the_evaluation_stays_loud_and_names_the_design(kind):
    with (
        make_executor(kind, factory=synthetic_workers.broken_evaluators) as executor,
        pytest.raises(ZeroDivisionError, match="a bug met with 8 keys") as caught,
    ):
        list(executor.evaluate(_tasks(1), stopping=_never))
    if kind is ExecutorKind.SERIAL:
        assert "tip.band.length" in caught.value.__notes__[0]


def test_a_study_that_can_not_be_loaded_in_a_worker_says_why():
    with (
        ProcessExecutor(synthetic_workers.no_evaluators, workers=1) as executor,
        pytest.raises(FileNotFoundError, match="the study went away"),
    ):
        list(executor.evaluate(_tasks(1), stopping=_never))


def test_workers_hold_linear_algebra_to_one_thread_and_this_process_keeps_its_setting(monkeypatch):
    monkeypatch.setenv("OPENBLAS_NUM_THREADS", "3")
    monkeypatch.delenv("MKL_NUM_THREADS", raising=False)
    tasks = [
        Task(design={"name": name}, states=States.ALL) for name in ("OPENBLAS_NUM_THREADS", "MKL_NUM_THREADS")
    ]
    with ProcessExecutor(synthetic_workers.environment_evaluators, workers=1) as executor:
        told = [one.detail for _, one in executor.evaluate(tasks, stopping=_never)]
    assert told == ["1", "1"]
    assert os.environ["OPENBLAS_NUM_THREADS"] == "3"
    assert "MKL_NUM_THREADS" not in os.environ


@pytest.mark.parametrize("kind", [ExecutorKind.SERIAL, ExecutorKind.PROCESSES])
def test_when_it_is_to_stop_what_runs_is_finished_and_nothing_new_begins(kind):
    done = []
    with make_executor(kind, factory=synthetic_tip.evaluators, workers=2) as executor:
        for index, _ in executor.evaluate(_tasks(40), stopping=lambda: len(done) >= 5):
            done.append(index)
    # a batch of ten is done in this process, or two of five in the workers while a third is taken in
    assert 5 <= len(done) <= 15


def test_batches_are_of_like_states_and_leave_each_worker_several():
    tasks = _tasks(40)
    mixed = [*tasks[:3], *(replace(task, states=States.ALL) for task in tasks[3:])]
    assert [len(one) for one in batches(mixed, workers=2)] == [3, 5, 5, 5, 5, 5, 5, 5, 2]
    assert {len(one) for one in batches(tasks * 30, workers=2)} == {BATCH}
    assert batches(tasks[:3], workers=2) == [[0], [1], [2]]


@pytest.mark.parametrize(
    ("options", "said"), [({"workers": 0}, "too few"), ({"time_limit": 0.0}, "0 s is too short")]
)
def test_no_workers_and_no_time_are_mistakes(options, said):
    with pytest.raises(UserMistakes, match=said):
        make_executor(ExecutorKind.PROCESSES, factory=synthetic_tip.evaluators, **options)


def test_a_time_limit_takes_a_process_where_there_would_be_none():
    made = make_executor(ExecutorKind.SERIAL, factory=synthetic_tip.evaluators, workers=4, time_limit=3.0)
    assert isinstance(made, ProcessExecutor)
    assert made._crew.size == 1
    assert isinstance(make_executor(ExecutorKind.SERIAL, factory=synthetic_tip.evaluators), SerialExecutor)
