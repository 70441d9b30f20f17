"""Workers of a dask cluster, on this machine or on many; needs the extra ``cluster``.

Nothing is written here or there but what dask keeps in its workers' own scratch folders. The workers read the
study by its path, so that its folder must be seen by all of them under the same name.
"""

import logging
import pickle
import queue
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Any
from uuid import uuid4

from distributed import Client, Future, KilledWorker, get_worker

from optitip import __version__
from optitip.errors import UserMistakes
from optitip.metrics.values import Evaluation
from optitip.search.executors.crew import Report, Said
from optitip.search.executors.dispatch import CrewExecutor
from optitip.search.executors.face import EvaluatorFactory, Task
from optitip.search.executors.loaded import Loaded

CONNECT = 10.0  # seconds for the scheduler to answer
LOOK_AROUND = 2.0  # seconds between looks at which workers there are
RESTART = 30.0
HEARD = 0.005  # seconds in which a worker's word that it begins gets out, should the design let no thread run
GATHER = 5.0
_LOGS = ("distributed", "distributed.client", "distributed.core")
_GONE = "Start it and give the same command again: nothing is lost"


class ClusterExecutor(CrewExecutor):
    """Evaluates designs on the workers of the dask scheduler at ``address``, however many come and go.

    Each worker has one thread. A batch whose workers died is tried elsewhere as often as the scheduler's
    ``allowed-failures`` say, then its designs one by one. A time limit needs workers under a nanny, which
    they have unless it was turned off.
    """

    def __init__(self, factory: EvaluatorFactory, *, address: str, time_limit: float | None = None) -> None:
        """Keep what the workers need."""
        crew = ClusterCrew(factory, address=address, restarts=time_limit is not None)
        super().__init__(crew, time_limit=time_limit)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Stint:
    """What the workers are told with each batch; ``name`` is this run's own, so that no old study is kept."""

    name: str
    version: str
    factory: bytes
    restarts: bool


@dataclass(slots=True, kw_only=True, eq=False)
class _Out:
    """A batch that is out, and the worker that began it."""

    tasks: Sequence[Task]
    future: "Future[list[Evaluation]]"
    place: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class _News:
    """A batch was begun at a place, or its future is done with."""

    ticket: int
    future: "Future[list[Evaluation]] | None" = None
    place: str = ""
    fresh: bool = False


class ClusterCrew:
    """The workers of a dask scheduler."""

    def __init__(self, factory: EvaluatorFactory, *, address: str, restarts: bool) -> None:
        """Keep what the workers need."""
        self._address = address
        self._stint = _Stint(
            name=f"optitip-{uuid4().hex}",
            version=__version__,
            factory=pickle.dumps(factory),
            restarts=restarts,
        )
        self._client: Client | None = None
        self._out: dict[int, _Out] = {}
        self._inbox: queue.SimpleQueue[_News] = queue.SimpleQueue()
        self._workers: frozenset[str] = frozenset()
        self._tickets, self._looked = 0, 0.0
        self._log_levels: dict[str, int] = {}

    @property
    def size(self) -> int:
        """Return the number of workers and a few more, so that none waits for this process."""
        return len(self._workers) + max(1, len(self._workers) // 4)

    def open(self) -> None:
        """Find the scheduler."""
        self._log_levels = {name: logging.getLogger(name).level for name in _LOGS}
        for name in _LOGS:
            logging.getLogger(name).setLevel(logging.CRITICAL)  # what matters of it is said here, in a line
        try:
            self._client = Client(self._address, timeout=CONNECT, set_as_default=False)
        except (OSError, ValueError) as error:
            said = str(error).split("\n", maxsplit=1)[0] or "no answer"
            remedy = "Start a scheduler there, or give the address it prints, like tcp://10.0.0.5:8786"
            raise UserMistakes.one(
                f"cluster {self._address}", f"no scheduler answers ({said})", remedy
            ) from None
        self._client.subscribe_topic(self._stint.name, self._note_begin)
        self._look_around()

    def close(self, *, now: bool) -> None:  # noqa: ARG002 (what runs there ends there, and nobody waits for it)
        """Take back what is out and leave the scheduler."""
        if self._client is not None:
            with suppress(Exception):  # whatever a scheduler that is gone makes of it
                self._client.cancel([one.future for one in self._out.values()])
            with suppress(Exception):
                self._client.close(timeout=2.0)
            self._client = None
        self._out.clear()
        for name, level in self._log_levels.items():
            logging.getLogger(name).setLevel(level)

    def start(self, tasks: Sequence[Task]) -> int:
        """Hand a batch to the scheduler."""
        self._tickets += 1
        self._out[self._tickets] = _Out(tasks=tasks, future=self._submit(self._tickets, tasks))
        return self._tickets

    def _submit(self, ticket: int, tasks: Sequence[Task]) -> "Future[list[Evaluation]]":
        key = f"{self._stint.name}-{ticket}-{uuid4().hex}"
        future = self._here().submit(evaluate_there, self._stint, ticket, tasks, key=key, pure=False)
        future.add_done_callback(lambda one: self._inbox.put(_News(ticket=ticket, future=one)))
        return future

    def hear(self, seconds: float) -> list[Report]:
        """Return what the workers say within ``seconds``."""
        reports: list[Report] = []
        wait = seconds
        with suppress(queue.Empty):
            while True:
                news = self._inbox.get(timeout=wait) if wait else self._inbox.get_nowait()
                reports += self._heard(news)
                wait = 0.0
        if time.monotonic() - self._looked > LOOK_AROUND:
            self._look_around()
            reports += self._strays()
        return reports

    def end(self, ticket: int, *, hung: bool) -> None:
        """Take a batch back; a worker that hangs in it is started anew."""
        out = self._out.pop(ticket, None)
        if out is None:
            return
        out.future.cancel()
        if hung and out.place is not None:
            with suppress(KeyError, TimeoutError):  # it went by itself, or it comes later
                self._here().restart_workers([out.place], timeout=RESTART, raise_for_error=False)

    def _note_begin(self, event: tuple[float, Any]) -> None:
        ticket, place, fresh = event[1]
        self._inbox.put(_News(ticket=ticket, place=place, fresh=fresh))

    def _heard(self, news: _News) -> Iterator[Report]:
        out = self._out.get(news.ticket)
        if out is None or news.future not in {None, out.future}:
            return
        if news.future is None:
            out.place = news.place
            yield Report(ticket=news.ticket, said=Said.BEGUN, fresh=news.fresh)
            return
        report = _ended(news.ticket, out.future, self._address)
        if report.said is Said.BACK:
            out.future.cancel()
            out.future, out.place = self._submit(news.ticket, out.tasks), None
        else:
            del self._out[news.ticket]
        yield report

    def _strays(self) -> Iterator[Report]:
        """Yield the batches whose worker is gone: the scheduler gives them to another."""
        for ticket, out in self._out.items():
            if out.place is not None and out.place not in self._workers:
                out.place = None
                yield Report(ticket=ticket, said=Said.BACK)

    def _look_around(self) -> None:
        self._looked = time.monotonic()
        try:
            self._workers = frozenset(self._here().nthreads())
        except OSError:
            raise UserMistakes.one(f"cluster {self._address}", "the scheduler is gone", _GONE) from None

    def _here(self) -> Client:
        if self._client is None or self._client.status == "closed":
            raise UserMistakes.one(f"cluster {self._address}", "the scheduler is gone", _GONE)
        return self._client


def _ended(ticket: int, future: "Future[list[Evaluation]]", address: str) -> Report:
    """Return what became of a batch that a worker is done with, or that died with its workers."""
    if future.status == "finished":
        with suppress(TimeoutError):
            return Report(ticket=ticket, said=Said.ANSWERED, evaluations=future.result(timeout=GATHER))
    if future.status in {"finished", "pending", "lost"}:  # its worker died with the answer in its hands
        return Report(ticket=ticket, said=Said.BACK)
    error = future.exception() if future.status == "error" else None
    if isinstance(error, KilledWorker):
        return Report(ticket=ticket, said=Said.DIED, deaths=error.allowed_failures + 1, at_work=True)
    if isinstance(error, MemoryError):
        return Report(ticket=ticket, said=Said.DIED, at_work=True)
    if isinstance(error, ModuleNotFoundError):
        problem = f"a worker lacks a package ({error})"
        error = UserMistakes.one(f"cluster {address}", problem, "Install optitip[cluster] where workers run")
    if not isinstance(error, Exception):
        error = UserMistakes.one(f"cluster {address}", "the scheduler is gone", _GONE)
    return Report(ticket=ticket, said=Said.RAISED, error=error)


_one_at_a_time = threading.Lock()
_loaded: dict[str, Loaded] = {}
_answered: set[str] = set()


def evaluate_there(stint: _Stint, ticket: int, tasks: Sequence[Task]) -> list[Evaluation]:
    """Evaluate a batch in a worker of the cluster, and say when it begins."""
    worker = get_worker()
    with _one_at_a_time:
        loaded = _evaluators(stint, place=worker.address)
        _check_worker(stint, place=worker.address, threads=worker.state.nthreads, nanny=worker.nanny)
        fresh = stint.name not in _answered
        worker.log_event(stint.name, (ticket, worker.address, fresh))
        time.sleep(HEARD if stint.restarts else 0.0)
        evaluations = loaded.run(tasks)
        _answered.add(stint.name)
    return evaluations


def _evaluators(stint: _Stint, *, place: str) -> Loaded:
    """Return the study of a stint, read once; that of an earlier stint is let go."""
    if stint.name not in _loaded:
        _loaded.clear()
        factory: Callable[[], Any] = pickle.loads(stint.factory)
        loaded = Loaded(factory)
        try:
            loaded.load()
        except (UserMistakes, OSError) as error:
            said = str(error).split("\n", maxsplit=1)[0]
            remedy = "Put its folder where every worker sees it by the same path"
            raise UserMistakes.one(
                f"worker {place}", f"the study can't be read there ({said})", remedy
            ) from None
        _loaded[stint.name] = loaded
    return _loaded[stint.name]


def _check_worker(stint: _Stint, *, place: str, threads: int, nanny: object) -> None:
    if stint.version != __version__:
        problem = f"it has optitip {__version__}, and the sweep {stint.version}"
        raise UserMistakes.one(f"worker {place}", problem, "Install the same version")
    if threads > 1:
        problem = f"it runs {threads} designs at once in one process, and one's death would blame the others"
        raise UserMistakes.one(f"worker {place}", problem, "Start it with --nthreads 1 and --nworkers")
    if stint.restarts and nanny is None:
        problem = "it has no nanny, which a time limit needs to start it anew"
        raise UserMistakes.one(f"worker {place}", problem, "Start it with --nanny, or give no time limit")
