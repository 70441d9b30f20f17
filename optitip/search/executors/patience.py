"""How long workers may take: a clock that counts working time, and the time a batch is allowed."""

import time
from collections.abc import Callable

MOST_A_TICK = 0.5
"""Seconds that one look at the clock can add: a suspended machine adds no more than this."""
FIRST_ANSWER = 300.0
"""Seconds beyond the limit that a worker's first answer may take, until one was given."""
LEAST_FOR_A_START = 10.0


class WorkingClock:
    """Counts the time between looks at it, as long as somebody looks often.

    A machine that sleeps, a closed lid or a stopped process group adds one tick at most.

    >>> times = iter([0.0, 0.25, 3600.0])
    >>> clock = WorkingClock(lambda: next(times))
    >>> clock.tick(), clock.tick()
    (0.25, 0.5)
    """

    def __init__(self, now: Callable[[], float] = time.monotonic) -> None:
        """Start now."""
        self._now = now
        self._last = now()

    def tick(self) -> float:
        """Return the working time [s] since the last tick."""
        last, self._last = self._last, self._now()
        return min(self._last - last, MOST_A_TICK)


class Patience:
    """The working time a batch is allowed, learnt from those that were answered.

    Several designs together have the limit, and what as many took on the average so far; one alone has the
    limit. A worker's first batch has more: what the first answers of others took, twice.
    """

    def __init__(self, limit: float | None) -> None:
        """Keep the limit [s] of one design; None waits for ever."""
        self.limit = limit
        self._worked, self._designs = 0.0, 0
        self._longest_start: float | None = None

    def learn(self, *, worked: float, designs: int, fresh: bool) -> None:
        """Take in how long a batch took that was answered."""
        if fresh:
            self._longest_start = max(worked, self._longest_start or 0.0)
        else:
            self._worked += worked
            self._designs += designs

    def is_over(self, *, worked: float, designs: int, fresh: bool) -> bool:
        """Return whether a batch has had its time."""
        if self.limit is None:
            return False
        allowed = self.limit
        if designs > 1 and self._designs:
            allowed += designs * self._worked / self._designs
        if fresh:
            known = self._longest_start
            allowed += FIRST_ANSWER if known is None else max(LEAST_FOR_A_START, 2.0 * known)
        return worked > allowed
