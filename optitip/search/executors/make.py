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


def make_executor(
    kind: ExecutorKind, *, factory: EvaluatorFactory, workers: int = 1, time_limit: float | None = None
) -> Executor:
    """Return the executor of a kind; ``workers`` counts the processes of one that has any.

    ``time_limit`` is the working time [s] of a design; only a worker can be killed for it, so that a serial
    executor with a limit is one worker process.
    """
    if workers < 1:
        raise UserMistakes.one("workers", f"{workers} is too few", "Give 1 or more")
    if kind is ExecutorKind.SERIAL and time_limit is None:
        return SerialExecutor(factory)
    count = 1 if kind is ExecutorKind.SERIAL else workers
    return ProcessExecutor(factory, workers=count, time_limit=time_limit)
