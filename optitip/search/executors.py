"""Where designs are evaluated: in this process, or in worker processes beside it."""

import multiprocessing
import os
import signal
import threading
import time
from collections import deque
from collections.abc import Callable, Iterator, Mapping, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from enum import Enum
from types import TracebackType
from typing import Protocol, Self, TypeAlias

from optitip.errors import Outcome, UserMistakes
from optitip.metrics.values import Design, Evaluate, Evaluation


class States(Enum):
    """Which flow states an evaluation ran: the few a search runs, all of them, or all on a finer grid."""

    SEARCH = "search"
    ALL = "all"
    FINER = "all, finer grid"


EvaluatorFactory: TypeAlias = Callable[[], Mapping[States, Evaluate]]
"""What loads the study and returns how designs are evaluated; picklable, called once a worker."""

_THREADS = (
    "OMP_NUM_THREADS",
    "OPENBLAS_NUM_THREADS",
    "MKL_NUM_THREADS",
    "BLIS_NUM_THREADS",
    "VECLIB_MAXIMUM_THREADS",
    "NUMEXPR_NUM_THREADS",
)
DEATHS_THAT_END_IT = 8
BATCH = 16
"""Designs handed to a worker at once, at most: what a death takes with it, and what a stop waits for."""


class ExecutorKind(Enum):
    """The ways to evaluate many designs."""

    SERIAL = "serial"
    PROCESSES = "processes"


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


def make_executor(kind: ExecutorKind, *, factory: EvaluatorFactory, workers: int = 1) -> Executor:
    """Return the executor of a kind; ``workers`` counts the processes of one that has any."""
    if kind is ExecutorKind.SERIAL:
        return SerialExecutor(factory)
    if workers < 1:
        raise UserMistakes.one("workers", f"{workers} is too few", "Give 1 or more")
    return ProcessExecutor(factory, workers=workers)


class SerialExecutor:
    """Evaluates one design after the other in this process."""

    def __init__(self, factory: EvaluatorFactory) -> None:
        """Keep the factory; it is called with the first task."""
        self._evaluators = _Loaded(factory)

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
        for batch in _batches(tasks, workers=1):
            if stopping():
                return
            yield from zip(batch, self._evaluators.run([tasks[index] for index in batch]), strict=True)


class ProcessExecutor:
    """Evaluates designs in worker processes; one that kills its worker is an outcome, the others go on."""

    def __init__(self, factory: EvaluatorFactory, *, workers: int) -> None:
        """Keep what the workers need; they start with the first task."""
        self._factory = factory
        self._workers = workers
        self._pool: ProcessPoolExecutor | None = None
        self._environment: dict[str, str | None] = {}
        self._deaths_in_a_row = 0

    def __enter__(self) -> Self:
        """Hold the threads of linear algebra to one a worker: workers read this as they start."""
        self._environment = {name: os.environ.get(name) for name in _THREADS}
        os.environ.update(dict.fromkeys(_THREADS, "1"))
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """End the workers and put the environment back."""
        self._drop_pool()
        for name, value in self._environment.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value

    def evaluate(
        self, tasks: Sequence[Task], *, stopping: Callable[[], bool]
    ) -> Iterator[tuple[int, Evaluation]]:
        """Yield evaluations as they complete; no more batches are out than there are workers."""
        waiting = deque(_batches(tasks, workers=self._workers))
        suspects: deque[int] = deque()
        running: dict[Future[list[Evaluation]], list[int]] = {}
        while waiting or suspects or running:
            # a task that may have killed a worker runs alone, so that no other is blamed
            while not stopping() and not suspects and waiting and len(running) < self._workers:
                batch = waiting.popleft()
                running[self._submit([tasks[index] for index in batch])] = batch
            if suspects and not running and not stopping():
                index = suspects.popleft()
                yield index, self._run_alone(tasks[index])
                continue
            if not running:
                return
            done, _ = wait(running, return_when=FIRST_COMPLETED)
            for future in sorted(done, key=lambda one: running[one]):
                batch = running.pop(future)
                try:
                    evaluations = future.result()
                except BrokenProcessPool:
                    suspects.extend(batch)
                else:
                    self._deaths_in_a_row = 0
                    yield from zip(batch, evaluations, strict=True)
            if suspects and not running:
                self._drop_pool(broken=True)

    def _run_alone(self, task: Task) -> Evaluation:
        started = time.monotonic()
        try:
            (evaluation,) = self._submit([task]).result()
        except BrokenProcessPool:
            self._drop_pool(broken=True)
            self._deaths_in_a_row += 1
            if self._deaths_in_a_row >= DEATHS_THAT_END_IT:
                problem = f"{self._deaths_in_a_row} worker processes died one after the other"
                raise UserMistakes.one("workers", problem, "Look at the memory, or use fewer") from None
            seconds = time.monotonic() - started
            return Evaluation(
                outcome=Outcome.WORKER_DIED, detail="it died again when it ran alone", seconds=seconds
            )
        self._deaths_in_a_row = 0
        return evaluation

    def _submit(self, tasks: Sequence[Task]) -> "Future[list[Evaluation]]":
        for _ in range(2):
            if self._pool is None:
                self._pool = ProcessPoolExecutor(
                    self._workers,
                    mp_context=multiprocessing.get_context("spawn"),
                    initializer=_start_worker,
                    initargs=(self._factory,),
                )
            try:
                return self._pool.submit(_work, tasks)
            except BrokenProcessPool:  # a worker died while it had nothing to do
                self._drop_pool(broken=True)
        raise UserMistakes.one("workers", "no worker process can be started", "Look at the memory")

    def _drop_pool(self, *, broken: bool = False) -> None:
        """End the pool; of a broken one end the workers first.

        One that was being started as another died is told of nothing: the pool would wait for it for ever.
        """
        if self._pool is None:
            return
        for process in list(self._pool._processes.values()) if broken else ():  # no public way before 3.14
            process.kill()
        self._pool.shutdown(wait=True, cancel_futures=True)
        self._pool = None


class _Loaded:
    """The evaluators of a study, loaded with the first task."""

    def __init__(self, factory: EvaluatorFactory) -> None:
        self._factory = factory
        self._evaluators: Mapping[States, Evaluate] | None = None

    def run(self, tasks: Sequence[Task]) -> list[Evaluation]:
        """Return the evaluations of tasks that all run the same flow states."""
        if self._evaluators is None:
            self._evaluators = self._factory()
        designs = [task.design for task in tasks]
        with _Naming(designs):
            return list(self._evaluators[tasks[0].states](designs))


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


_worker: list[_Loaded] = []


def _start_worker(factory: EvaluatorFactory) -> None:
    """Make a worker ready: the main process decides what Ctrl-C means."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_the_parent, daemon=True).start()
    _worker.append(_Loaded(factory))


def _end_with_the_parent() -> None:
    """Leave when the main process is gone, killed too fast to say so."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def _work(tasks: Sequence[Task]) -> list[Evaluation]:
    return _worker[0].run(tasks)


def _batches(tasks: Sequence[Task], *, workers: int) -> list[list[int]]:
    """Return the tasks' numbers in batches of like flow states, several of them for each worker."""
    size = min(BATCH, max(len(tasks) // (4 * workers), 1))
    batches: list[list[int]] = []
    for index, task in enumerate(tasks):
        last = batches[-1] if batches else []
        if not last or len(last) == size or tasks[last[0]].states is not task.states:
            batches.append([])
        batches[-1].append(index)
    return batches
