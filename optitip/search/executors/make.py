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


def make_executor(kind: ExecutorKind, *, factory: EvaluatorFactory, workers: int = 1) -> Executor:
    """Return the executor of a kind; ``workers`` counts the processes of one that has any."""
    if kind is ExecutorKind.SERIAL:
        return SerialExecutor(factory)
    if workers < 1:
        raise UserMistakes.one("workers", f"{workers} is too few", "Give 1 or more")
    return ProcessExecutor(factory, workers=workers)
