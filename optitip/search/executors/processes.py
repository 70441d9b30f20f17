"""Worker processes beside this one, each with a pipe of its own.

A worker that dies is known by its pipe, and one that hangs is killed alone; the others go on undisturbed.
"""

import ctypes
import multiprocessing
import os
import signal
import sys
import threading
import traceback
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from itertools import count
from multiprocessing import connection, resource_tracker
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess

from optitip.errors import OptitipError, UserMistakes
from optitip.metrics.values import Evaluation
from optitip.search.executors.crew import Report, Said
from optitip.search.executors.dispatch import CrewExecutor
from optitip.search.executors.face import EvaluatorFactory, Task
from optitip.search.executors.loaded import Loaded

_THREADS = (
    "OMP_NUM_THREADS",
    "OPENBLAS_NUM_THREADS",
    "MKL_NUM_THREADS",
    "BLIS_NUM_THREADS",
    "VECLIB_MAXIMUM_THREADS",
    "NUMEXPR_NUM_THREADS",
)
_PLAIN = (str, int, float, bool, type(None))
_LEAVE = 2.0  # seconds that a worker has to leave by itself


class ProcessExecutor(CrewExecutor):
    """Evaluates designs in worker processes; they start with the first task."""

    def __init__(self, factory: EvaluatorFactory, *, workers: int, time_limit: float | None = None) -> None:
        """Keep what the workers need."""
        super().__init__(ProcessCrew(factory, workers=workers), time_limit=time_limit)


@dataclass(slots=True, kw_only=True, eq=False)
class _Hand:
    """A worker process and what it has."""

    process: BaseProcess
    pipe: "Connection[Sequence[Task], _Answer]"
    ticket: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Answer:
    """What a worker sends back."""

    said: Said
    evaluations: Sequence[Evaluation] = ()
    error: Exception | None = field(default=None)
    fresh: bool = False


class ProcessCrew:
    """Up to ``workers`` processes, each started when there is a batch for it."""

    def __init__(self, factory: EvaluatorFactory, *, workers: int) -> None:
        """Keep what the workers need."""
        self._factory, self._workers = factory, workers
        self._hands: list[_Hand] = []
        self._tickets = count()
        self._environment: dict[str, str | None] = {}

    @property
    def size(self) -> int:
        """Return the number of workers."""
        return self._workers

    def open(self) -> None:
        """Hold the threads of linear algebra to one a worker: workers read this as they start."""
        self._environment = {name: os.environ.get(name) for name in _THREADS}
        os.environ.update(dict.fromkeys(_THREADS, "1"))

    def close(self, *, now: bool) -> None:
        """End the workers and put the environment back."""
        for hand in self._hands:
            hand.pipe.close()
            if now:
                hand.process.kill()
        for hand in self._hands:
            hand.process.join(_LEAVE)
            _kill(hand)
        self._hands.clear()
        for name, value in self._environment.items():
            if value is None:
                os.environ.pop(name, None)
            else:
                os.environ[name] = value

    def start(self, tasks: Sequence[Task]) -> int:
        """Hand a batch to a worker that has none, or to a new one."""
        ticket = next(self._tickets)
        while True:
            hand = next((one for one in self._hands if one.ticket is None), None) or self._new_hand()
            try:
                hand.pipe.send(tasks)
            except OSError:  # it died while it had nothing to do
                self._drop(hand)
                continue
            hand.ticket = ticket
            return ticket

    def hear(self, seconds: float) -> list[Report]:
        """Return what the workers send within ``seconds``."""
        hands = {hand.pipe: hand for hand in self._hands}
        ready = [hands[pipe] for pipe in connection.wait(list(hands), timeout=seconds) if pipe in hands]
        # in the order they were handed out, whichever happens to be listed first
        ready.sort(key=lambda hand: -1 if hand.ticket is None else hand.ticket)
        return [report for hand in ready for report in self._heard(hand)]

    def end(self, ticket: int, *, hung: bool) -> None:  # noqa: ARG002 (a batch can't be had back otherwise)
        """Kill the worker that has a batch."""
        for hand in [one for one in self._hands if one.ticket == ticket]:
            self._drop(hand)

    def _heard(self, hand: _Hand) -> Iterator[Report]:
        ticket = hand.ticket
        try:
            answer = hand.pipe.recv()
        except (EOFError, OSError):
            self._drop(hand)
            if ticket is not None:
                yield Report(ticket=ticket, said=Said.DIED)
            return
        if ticket is None:
            return
        if answer.said is not Said.BEGUN:
            hand.ticket = None
        yield Report(
            ticket=ticket,
            said=answer.said,
            evaluations=answer.evaluations,
            error=answer.error,
            fresh=answer.fresh,
        )

    def _new_hand(self) -> _Hand:
        context = multiprocessing.get_context("spawn")
        try:
            here, there = context.Pipe()
            process = context.Process(target=_serve, args=(self._factory, there), daemon=True)
            with _unheard():
                process.start()
        except OSError as error:
            problem = f"no worker process can be started ({error.strerror or error})"
            raise UserMistakes.one("workers", problem, "Look at the memory, or use fewer") from None
        there.close()
        self._hands.append(_Hand(process=process, pipe=here))
        return self._hands[-1]

    def _drop(self, hand: _Hand) -> None:
        self._hands.remove(hand)
        hand.pipe.close()
        _kill(hand)


def _kill(hand: _Hand) -> None:
    hand.process.kill()
    hand.process.join(_LEAVE)  # one that waits for a dead disk can't be killed, and isn't waited for


@contextmanager
def _unheard() -> Iterator[None]:
    """Hold Ctrl-C back while a process is started: it is born deaf, and this one hears it afterwards."""
    if sys.platform == "win32":
        yield
        return
    resource_tracker.ensure_running()  # it would lift the mask again
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _serve(factory: EvaluatorFactory, pipe: "Connection[_Answer, Sequence[Task]]") -> None:
    """Evaluate batches until the pipe closes: what a worker process does."""
    _become_a_worker()
    loaded, fresh = Loaded(factory), True
    with suppress(EOFError, OSError):
        while True:
            tasks = pipe.recv()
            try:
                loaded.load()
                pipe.send(_Answer(said=Said.BEGUN, fresh=fresh))
                answer = _Answer(said=Said.ANSWERED, evaluations=loaded.run(tasks))
            except MemoryError:
                os._exit(1)  # as where the system kills it
            except Exception as error:  # noqa: BLE001 (it goes on in the main process)
                answer = _Answer(said=Said.RAISED, error=_to_be_sent(error))
            pipe.send(answer)
            fresh = False


def _become_a_worker() -> None:
    """Leave Ctrl-C to the main process, and leave with it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if sys.platform == "linux":
        # a hang in compiled code lets no thread run, which the system's own way doesn't need
        parent_death_signal = 1
        with suppress(OSError, AttributeError):
            ctypes.CDLL(None).prctl(parent_death_signal, signal.SIGKILL)
    threading.Thread(target=_end_with_the_parent, daemon=True).start()


def _end_with_the_parent() -> None:
    """Leave when the main process is gone, killed too fast to say so."""
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def _to_be_sent(error: Exception) -> Exception:
    """Return the error with its trace as a note, or as text what may not cross a process border whole.

    Whole are the package's own, which say how, and Python's own of nothing but words and numbers.
    """
    trace = "".join(traceback.format_exception(error))
    plain = type(error).__module__ == "builtins" and all(isinstance(one, _PLAIN) for one in error.args)
    if not (plain or isinstance(error, OptitipError)):
        return RuntimeError(trace)
    error.add_note(f"in a worker process:\n{trace}")
    return error
