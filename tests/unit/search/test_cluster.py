"""The executor of a dask cluster, on a real one of two worker processes of this machine."""

import os
import signal
import sys
import threading
import time

import dask
import distributed
import pytest
import synthetic_search
import synthetic_tip
import synthetic_workers

from optitip.errors import Outcome, UserMistakes
from optitip.search.executors import patience
from optitip.search.executors.face import States, Task
from optitip.search.executors.make import ExecutorKind, make_executor
from optitip.search.executors.serial import SerialExecutor
from optitip.search.quasi_random import drawn


def _never():
    return False


@pytest.fixture(scope="module")
def cluster(tmp_path_factory):
    """Return a scheduler with two workers under nannies; its scratch folders are temporary."""
    folder = str(tmp_path_factory.mktemp("scratch"))
    paths = os.pathsep.join(path for path in sys.path if path)
    # a cluster that sees a worker missing some seconds after it died lets its nanny go: not in these tests
    settings = {
        "distributed.deploy.lost-worker-timeout": "1 hour",
        "distributed.scheduler.allowed-failures": 1,
    }
    with pytest.MonkeyPatch.context() as patch, dask.config.set(settings):
        patch.setenv("PYTHONPATH", paths)  # where the workers find the invented evaluators
        with distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, dashboard_address=":0", local_directory=folder, memory_limit=0
        ) as made:
            yield made


@pytest.fixture
def executor(cluster):
    def make(factory, **options):
        return make_executor(
            ExecutorKind.CLUSTER, factory=factory, address=cluster.scheduler_address, **options
        )

    return make


def _fates(*fates):
    return [Task(design={"fate": fate}, states=States.SEARCH) for fate in fates]


def _bare(results):
    return [(index, one.outcome, one.detail, one.metrics) for index, one in sorted(results.items())]


def test_a_cluster_gives_the_very_figures_that_one_process_gives(executor):
    designs = drawn(synthetic_search.space(), 60, seed=2)
    tasks = [Task(design=design, states=States.SEARCH) for design in designs]
    with SerialExecutor(synthetic_tip.evaluators) as alone:
        wanted = dict(alone.evaluate(tasks, stopping=_never))
    with executor(synthetic_tip.evaluators) as there:
        found = dict(there.evaluate(tasks, stopping=_never))
    assert _bare(found) == _bare(wanted)


def test_a_worker_killed_from_outside_costs_no_design_its_answer(cluster, executor):
    tasks = _fates(*("slow" for _ in range(200)))
    results = {}
    with executor(synthetic_workers.deadly_evaluators) as there:
        for index, one in there.evaluate(tasks, stopping=_never):
            results[index] = one
            if len(results) in {20, 120}:
                os.kill(_pids(cluster)[0], signal.SIGKILL)
    assert [results[i].detail for i in range(200)] == ["slow"] * 200


def _pids(cluster):
    with distributed.Client(cluster.scheduler_address, set_as_default=False) as client:
        return list(client.run(os.getpid).values())


def test_only_the_design_that_kills_its_workers_is_lost(executor):
    tasks = _fates(*"abcdefghi", "dies", *"jklmnopq")
    with executor(synthetic_workers.deadly_evaluators) as there:
        results = dict(there.evaluate(tasks, stopping=_never))
    assert [i for i, one in sorted(results.items()) if one.outcome is Outcome.WORKER_DIED] == [9]
    assert [results[i].detail for i in range(18) if i != 9] == [*"abcdefghi", *"jklmnopq"]


def test_a_design_that_hangs_is_given_up_and_its_worker_started_anew(executor, monkeypatch):
    monkeypatch.setattr(patience, "LEAST_FOR_A_START", 0.5)
    monkeypatch.setattr(patience, "FIRST_ANSWER", 1.0)
    tasks = _fates(*"abcdefghi", "loops in C", *"jklmnopq")
    with executor(synthetic_workers.deadly_evaluators, time_limit=1.0) as there:
        results = dict(there.evaluate(tasks, stopping=_never))
    assert [i for i, one in sorted(results.items()) if one.outcome is Outcome.TIME_LIMIT] == [9]
    assert [results[i].detail for i in range(18) if i != 9] == [*"abcdefghi", *"jklmnopq"]


def test_after_a_stop_what_runs_is_finished_and_the_rest_is_taken_back(executor):
    tasks = _fates(*("slow" for _ in range(400)))
    done = []
    with executor(synthetic_workers.deadly_evaluators) as there:
        for index, _ in there.evaluate(tasks, stopping=lambda: len(done) >= 20):
            done.append(index)
    # two or three batches of sixteen were out
    assert 20 <= len(done) <= 80


def test_a_bug_there_stays_loud_here_and_names_the_design(executor):
    with executor(synthetic_workers.broken_evaluators) as there, pytest.raises(ZeroDivisionError) as caught:
        list(there.evaluate(_fates("a"), stopping=_never))
    assert "'fate': 'a'" in caught.value.__notes__[0]


def test_a_study_that_the_workers_do_not_see_is_said_in_a_line(executor):
    with (
        executor(synthetic_workers.no_evaluators) as there,
        pytest.raises(UserMistakes, match=r"worker tcp://.*the study went away.*every worker sees it"),
    ):
        list(there.evaluate(_fates("a"), stopping=_never))


def test_workers_of_an_earlier_run_read_the_study_anew(executor):
    loads = []
    for _ in range(2):
        with executor(synthetic_workers.counting_evaluators) as there:
            results = dict(there.evaluate(_fates(*"abcdefgh"), stopping=_never))
        loads.append({int(one.detail.split()[1]) for one in results.values()})
    assert max(loads[0]) < max(loads[1])


@pytest.mark.parametrize("address", ["tcp://127.0.0.1:9", "nowhere", "what://is.this"])
def test_a_scheduler_that_is_not_there_is_said_in_a_line(address, monkeypatch):
    monkeypatch.setattr("optitip.search.executors.cluster.CONNECT", 1.0)
    made = make_executor(ExecutorKind.CLUSTER, factory=synthetic_tip.evaluators, address=address)
    with (
        pytest.raises(UserMistakes, match=r"cluster .*: no scheduler answers \(.*\)\. Start a scheduler"),
        made,
    ):
        pass


@pytest.mark.parametrize(
    ("options", "limit", "said"),
    [
        ({"nthreads": 2}, None, "2 designs at once in one process"),
        ({"nthreads": 1}, 5.0, "no nanny, which a time limit needs"),
    ],
)
def test_workers_that_can_not_do_it_are_refused_in_a_line(options, limit, said, tmp_path):
    with (
        distributed.LocalCluster(
            n_workers=1, processes=False, threads_per_worker=options["nthreads"], dashboard_address=":0",
            local_directory=str(tmp_path), protocol="tcp", memory_limit=0,
        ) as small,
        make_executor(
            ExecutorKind.CLUSTER, factory=synthetic_workers.deadly_evaluators,
            address=small.scheduler_address, time_limit=limit,
        ) as there,
        pytest.raises(UserMistakes, match=said),
    ):  # fmt: skip
        list(there.evaluate(_fates("a"), stopping=_never))


def test_a_scheduler_that_goes_away_ends_it_with_a_line_and_nothing_hangs(tmp_path, monkeypatch):
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join(path for path in sys.path if path))
    said = []
    with distributed.LocalCluster(
        n_workers=1,
        threads_per_worker=1,
        dashboard_address=":0",
        local_directory=str(tmp_path),
        memory_limit=0,
    ) as small:

        def run():
            with make_executor(
                ExecutorKind.CLUSTER,
                factory=synthetic_workers.deadly_evaluators,
                address=small.scheduler_address,
            ) as there:
                try:
                    for _ in there.evaluate(_fates(*("slow" for _ in range(5000))), stopping=_never):
                        said.append("an answer")
                except UserMistakes as error:
                    said.append(str(error))

        thread = threading.Thread(target=run, daemon=True)
        thread.start()
        deadline = time.monotonic() + 60.0
        while not said:
            assert time.monotonic() < deadline
            time.sleep(0.05)
    thread.join(60.0)
    assert not thread.is_alive()
    assert "the scheduler is gone. Start it and give the same command again" in said[-1]


def test_without_the_package_a_line_says_how_to_get_it(monkeypatch):
    monkeypatch.setitem(sys.modules, "distributed", None)
    monkeypatch.delitem(sys.modules, "optitip.search.executors.cluster", raising=False)
    with pytest.raises(UserMistakes, match=r"pip install 'optitip\[cluster\]'"):
        make_executor(ExecutorKind.CLUSTER, factory=synthetic_tip.evaluators, address="tcp://127.0.0.1:9")
