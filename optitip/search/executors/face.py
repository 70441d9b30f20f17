"""What every executor shows to a sweep: tasks in, evaluations out as they complete."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from types import TracebackType
from typing import Protocol, Self, TypeAlias

from optitip.metrics.values import Design, Evaluate, Evaluation

BATCH = 16
"""Designs handed to a worker at once, at most: what a death takes with it, and what a stop waits for."""


class States(Enum):
    """Which flow states an evaluation ran: the few a search runs, all of them, or all on a finer grid."""

    SEARCH = "search"
    ALL = "all"
    FINER = "all, finer grid"


EvaluatorFactory: TypeAlias = Callable[[], Mapping[States, Evaluate]]
"""What loads the study and returns how designs are evaluated; picklable, called once a worker."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """A design to evaluate over a choice of flow states."""

    design: Design
    states: States


class Executor(Protocol):
    """Evaluates tasks; results come as they complete, each with the index of its task.

    Once ``stopping`` says so, nothing more is started and the iterator ends with what runs.
    """

    def __enter__(self) -> Self:
        """Get ready."""

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Let go of everything."""

    def evaluate(
        self, tasks: Sequence[Task], *, stopping: Callable[[], bool]
    ) -> Iterator[tuple[int, Evaluation]]:
        """Yield the index of a task and its evaluation, in the order they complete."""


def batches(tasks: Sequence[Task], *, workers: int) -> list[list[int]]:
    """Return the tasks' numbers in batches of like flow states, several of them for each worker.

    >>> task = Task(design={}, states=States.ALL)
    >>> batches([task] * 9, workers=1)
    [[0, 1], [2, 3], [4, 5], [6, 7], [8]]
    """
    size = min(BATCH, max(len(tasks) // (4 * workers), 1))
    made: list[list[int]] = []
    for index, task in enumerate(tasks):
        last = made[-1] if made else []
        if not last or len(last) == size or tasks[last[0]].states is not task.states:
            made.append([])
        made[-1].append(index)
    return made
