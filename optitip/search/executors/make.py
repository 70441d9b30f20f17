"""The choice of an executor."""

from enum import Enum

from optitip.errors import UserMistakes
from optitip.search.executors.face import EvaluatorFactory, Executor
from optitip.search.executors.processes import ProcessExecutor
from optitip.search.executors.serial import SerialExecutor


class ExecutorKind(Enum):
    """The ways to evaluate many designs."""

    SERIAL = "serial"
    PROCESSES = "processes"
    CLUSTER = "cluster"


def make_executor(
    kind: ExecutorKind,
    *,
    factory: EvaluatorFactory,
    workers: int = 1,
    time_limit: float | None = None,
    address: str = "",
) -> Executor:
    """Return the executor of a kind; ``workers`` counts the processes, ``address`` is a cluster's scheduler.

    ``time_limit`` is the working time [s] of a design; only a worker can be killed for it, so that a serial
    executor with a limit is one worker process.
    """
    if workers < 1:
        raise UserMistakes.one("workers", f"{workers} is too few", "Give 1 or more")
    if kind is ExecutorKind.SERIAL and time_limit is None:
        return SerialExecutor(factory)
    if kind is ExecutorKind.CLUSTER:
        return _on_cluster(factory, address=address, time_limit=time_limit)
    count = 1 if kind is ExecutorKind.SERIAL else workers
    return ProcessExecutor(factory, workers=count, time_limit=time_limit)


def _on_cluster(factory: EvaluatorFactory, *, address: str, time_limit: float | None) -> Executor:
    try:
        from optitip.search.executors.cluster import ClusterExecutor  # noqa: PLC0415 (an optional extra)
    except ModuleNotFoundError as missing:
        if missing.name not in {"distributed", "dask"}:
            raise
        remedy = "Install it with: pip install 'optitip[cluster]'"
        raise UserMistakes.one("cluster", "the package 'distributed' isn't installed", remedy) from None
    return ClusterExecutor(factory, address=address, time_limit=time_limit)
