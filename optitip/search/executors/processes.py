"""Worker processes beside this one."""

import multiprocessing
import os
import signal
import threading
import time
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from types import TracebackType
from typing import Self

from optitip.errors import Outcome, UserMistakes
from optitip.metrics.values import Evaluation
from optitip.search.executors.face import EvaluatorFactory, Task, batches
from optitip.search.executors.loaded import Loaded

_THREADS = (
    "OMP_NUM_THREADS",
    "OPENBLAS_NUM_THREADS",
    "MKL_NUM_THREADS",
    "BLIS_NUM_THREADS",
    "VECLIB_MAXIMUM_THREADS",
    "NUMEXPR_NUM_THREADS",
)
DEATHS_THAT_END_IT = 8


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
        waiting = deque(batches(tasks, workers=self._workers))
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


_worker: list[Loaded] = []


def _start_worker(factory: EvaluatorFactory) -> None:
    """Make a worker ready: the main process decides what Ctrl-C means."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_the_parent, daemon=True).start()
    _worker.append(Loaded(factory))


def _end_with_the_parent() -> None:
    """Leave when the main process is gone, killed too fast to say so."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def _work(tasks: Sequence[Task]) -> list[Evaluation]:
    return _worker[0].run(tasks)
