"""Why a search ends, and what a person's Ctrl-C does to it."""

import signal
import threading
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from enum import Enum
from types import FrameType

from optitip.search.records import Milestone

STALLED_BELOW = 1e-3
"""Of what the front covers: a search that gains less than that over its patience has stalled."""


class End(Enum):
    """Why a search ended; the value is what a person reads."""

    BUDGET = "as many designs as were asked for are evaluated"
    STALLED = "the front has stopped growing"
    UNTIL = "the hour it was to end at has come"
    NO_MORE = "no new design is left in the space"


def stalled(milestones: Sequence[Milestone], *, searched: int, patience: int) -> bool:
    """Return whether the last ``patience`` designs grew what the front covers by less than a thousandth.

    With a patience of 0 a search never stalls.

    >>> stones = [Milestone(searched=n, covered=c, front_size=9, reached=0.0)
    ...           for n, c in ((100, 0.5), (200, 0.6), (300, 0.6003))]
    >>> stalled(stones, searched=300, patience=100), stalled(stones, searched=300, patience=200)
    (True, False)
    """
    before = [one.covered for one in milestones if one.searched <= searched - patience]
    now = [one.covered for one in milestones if one.searched <= searched]
    if patience <= 0 or not before or now[-1] <= 0.0:
        return False
    return now[-1] - before[-1] < STALLED_BELOW * now[-1]


@contextmanager
def interruption(heard: Callable[[], None] = lambda: None) -> Iterator[Callable[[], bool]]:
    """Give a question that is answered yes after the first Ctrl-C; the second one stops at once.

    A shutdown and a terminal that is closed ask like Ctrl-C, unless the system was told that they don't
    matter (nohup). ``heard`` is called when the first one comes.
    """
    asked_to_stop = threading.Event()
    if threading.current_thread() is not threading.main_thread():
        yield asked_to_stop.is_set
        return

    def note(number: int, place: FrameType | None) -> None:  # noqa: ARG001 (the system calls it with both)
        if asked_to_stop.is_set():
            raise KeyboardInterrupt
        asked_to_stop.set()
        with suppress(OSError, RuntimeError):  # the terminal is gone, or is just being written to
            heard()

    asking = [number for number in _ASKING if signal.getsignal(number) is not signal.SIG_IGN]
    before = {number: signal.signal(number, note) for number in {signal.SIGINT, *asking}}
    try:
        yield asked_to_stop.is_set
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


_ASKING = [getattr(signal, name) for name in ("SIGTERM", "SIGHUP") if hasattr(signal, name)]
