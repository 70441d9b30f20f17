"""A sweep finds the same front by every road to it, and nothing drawn at random afterwards beats it."""

import multiprocessing
import time
from pathlib import Path

import numpy as np
import pytest
import synthetic_search
import synthetic_tip

from optitip.inputs.study_tables import LedBy
from optitip.search import front as front_module
from optitip.search.executors.face import States
from optitip.search.executors.processes import ProcessExecutor
from optitip.search.executors.serial import SerialExecutor
from optitip.search.front import costs, keeps_limits
from optitip.search.quasi_random import drawn
from optitip.search.records import Record, RunIdentity
from optitip.search.store import create_or_open, open_to_read
from optitip.search.sweep import Aim, sweep

EVALUATIONS = 90


def _sweep(path, executor, *, seed=1, evaluations=EVALUATIONS, lead=LedBy.BY_COST):
    with create_or_open(path, RunIdentity(study_hash="abc", seed=seed)) as store:
        return sweep(
            space=synthetic_search.space(),
            goals=synthetic_search.goals(),
            store=store,
            executor=executor,
            aim=Aim(evaluations=evaluations, seed=seed, lead=lead),
        )


def _sweep_slowly(path):
    """Sweep in a process of its own, slowly enough to be killed in the middle."""
    _sweep(Path(path), ProcessExecutor(synthetic_tip.slow_evaluators, workers=2))


@pytest.fixture(scope="module")
def alone(tmp_path_factory):
    """Return the front one process finds without a break."""
    return _sweep(tmp_path_factory.mktemp("alone") / "run.sqlite", SerialExecutor(synthetic_tip.evaluators))


@pytest.mark.parametrize("workers", [1, 2])
def test_worker_processes_find_the_front_that_one_process_finds(tmp_path, alone, workers):
    found = _sweep(tmp_path / "run.sqlite", ProcessExecutor(synthetic_tip.evaluators, workers=workers))
    assert found.front == alone.front
    assert len(alone.front) >= 3


def test_another_seed_finds_another_front(tmp_path, alone):
    found = _sweep(tmp_path / "run.sqlite", SerialExecutor(synthetic_tip.evaluators), seed=2)
    assert found.front != alone.front


def test_a_sweep_that_was_killed_goes_on_to_the_same_front_and_its_workers_do_not_linger(tmp_path, alone):
    path = tmp_path / "run.sqlite"
    process = multiprocessing.get_context("spawn").Process(target=_sweep_slowly, args=(str(path),))
    process.start()
    deadline = time.monotonic() + 60.0
    while _evaluated(path) < 30:
        assert process.is_alive()
        assert time.monotonic() < deadline
        time.sleep(0.02)
    workers = _children(process.pid)
    process.kill()
    process.join()
    left = _evaluated(path)
    assert 30 <= left < EVALUATIONS
    found = _sweep(path, SerialExecutor(synthetic_tip.evaluators))
    assert found.searched == EVALUATIONS
    assert found.front == alone.front
    while any(Path(f"/proc/{worker}").exists() for worker in workers):
        assert time.monotonic() < deadline
        time.sleep(0.05)


def _evaluated(path):
    if not path.exists() or path.stat().st_size == 0:
        return 0
    with open_to_read(path) as store:
        return len(store.records())


def _children(process):
    """Return the processes that ``process`` started, where the system tells."""
    listed = Path(f"/proc/{process}/task/{process}/children")
    return listed.read_text().split() if listed.exists() else []


def test_none_of_two_thousand_fresh_designs_beats_a_member_of_a_front_of_600(tmp_path, monkeypatch):
    monkeypatch.setattr(front_module, "APART", 0.0)
    executor = SerialExecutor(synthetic_tip.evaluators)
    found = _sweep(tmp_path / "run.sqlite", executor, evaluations=600, lead=LedBy.SURROGATE)
    goals = synthetic_search.goals()
    fresh = []
    for design in drawn(synthetic_search.space(), 2**14, seed=101):
        evaluation = synthetic_tip.evaluators()[States.ALL]([design])[0]
        record = Record(number=0, design_id="", design=design, states=States.ALL, evaluation=evaluation)
        if keeps_limits(record, goals) and len(fresh) < 2000:
            fresh.append(costs(record, goals))
    assert len(fresh) == 2000
    members = np.array([costs(member, goals) for member in found.front])
    better = [(np.array(fresh) <= member).all(axis=1).sum() for member in members]
    assert len(members) > 80
    assert sum(better) == 0
