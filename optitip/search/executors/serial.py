"""One design after the other, in this process."""

from collections.abc import Callable, Iterator, Sequence
from types import TracebackType
from typing import Self

from optitip.metrics.values import Evaluation
from optitip.search.executors.face import EvaluatorFactory, Task, batches
from optitip.search.executors.loaded import Loaded


class SerialExecutor:
    """Evaluates designs in this process, which is lost with a design that kills or hangs it.

    Nothing can interrupt a design here, so it knows no time limit: ``make_executor`` takes a worker process
    where there is one.
    """

    def __init__(self, factory: EvaluatorFactory) -> None:
        """Keep the factory; it is called with the first task."""
        self._evaluators = Loaded(factory)

    def __enter__(self) -> Self:
        """Return the executor."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Do nothing: nothing was opened."""

    def evaluate(
        self, tasks: Sequence[Task], *, stopping: Callable[[], bool]
    ) -> Iterator[tuple[int, Evaluation]]:
        """Yield the evaluations in the order of the tasks."""
        for batch in batches(tasks, workers=1):
            if stopping():
                return
            yield from zip(batch, self._evaluators.run([tasks[index] for index in batch]), strict=True)
