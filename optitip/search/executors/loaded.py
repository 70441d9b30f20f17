"""The evaluators of a study, where designs are evaluated: in this process, a worker's or a cluster's."""

from collections.abc import Mapping, Sequence
from types import TracebackType

from optitip.metrics.values import Design, Evaluate, Evaluation
from optitip.search.executors.face import EvaluatorFactory, States, Task


class Loaded:
    """The evaluators of a study, loaded with the first task."""

    def __init__(self, factory: EvaluatorFactory) -> None:
        """Keep the factory."""
        self._factory = factory
        self._evaluators: Mapping[States, Evaluate] | None = None

    def load(self) -> Mapping[States, Evaluate]:
        """Return the evaluators; the factory is called once."""
        if self._evaluators is None:
            self._evaluators = self._factory()
        return self._evaluators

    def run(self, tasks: Sequence[Task]) -> list[Evaluation]:
        """Return the evaluations of tasks that all run the same flow states."""
        evaluate = self.load()[tasks[0].states]
        designs = [task.design for task in tasks]
        with _Naming(designs):
            return list(evaluate(designs))


class _Naming:
    """Adds the designs to whatever leaves the block, so that a bug names what it met; nothing is caught."""

    def __init__(self, designs: Sequence[Design]) -> None:
        self._designs = designs

    def __enter__(self) -> None:
        return

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        if error is not None:
            error.add_note("while evaluating " + ", ".join(str(dict(one)) for one in self._designs))
