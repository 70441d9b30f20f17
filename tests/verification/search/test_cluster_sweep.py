"""A sweep on a dask cluster of two worker processes, one of them killed midway, finds the serial front."""

import os
import signal
import sys

import pytest
import synthetic_search
import synthetic_tip

from optitip.inputs.study_tables import LedBy
from optitip.search.executors.make import ExecutorKind, make_executor
from optitip.search.executors.serial import SerialExecutor
from optitip.search.records import RunIdentity
from optitip.search.store import create_or_open
from optitip.search.sweep import Aim, sweep

distributed = pytest.importorskip("distributed")


def _sweep(path, executor, *, report=lambda _: None):
    with create_or_open(path, RunIdentity(study_hash="abc", seed=1)) as store:
        return sweep(
            space=synthetic_search.space(),
            goals=synthetic_search.goals(),
            store=store,
            executor=executor,
            aim=Aim(evaluations=90, seed=1, lead=LedBy.GENETIC),
            report=report,
        )


def test_a_cluster_that_loses_a_worker_finds_the_front_of_one_process_and_writes_nothing_else(
    tmp_path, monkeypatch
):
    alone = _sweep(tmp_path / "alone.sqlite", SerialExecutor(synthetic_tip.evaluators))
    here = tmp_path / "here"
    here.mkdir()
    monkeypatch.chdir(here)
    monkeypatch.setenv("PYTHONPATH", os.pathsep.join(path for path in sys.path if path))
    killed = []
    with distributed.LocalCluster(
        n_workers=2,
        threads_per_worker=1,
        dashboard_address=":0",
        memory_limit=0,
        local_directory=str(tmp_path / "scratch"),
    ) as cluster:
        with distributed.Client(cluster.scheduler_address, set_as_default=False) as client:
            workers = list(client.run(os.getpid).values())

        def report(progress):
            if progress.done >= 30 and not killed:
                killed.append(workers[0])
                os.kill(workers[0], signal.SIGKILL)

        executor = make_executor(
            ExecutorKind.CLUSTER,
            factory=synthetic_tip.slow_evaluators,
            address=cluster.scheduler_address,
            time_limit=60.0,
        )
        found = _sweep(tmp_path / "there.sqlite", executor, report=report)
    assert killed
    assert len(alone.front) >= 3
    assert found.front == alone.front
    assert list(here.iterdir()) == []
