"""Gaps in what was recorded: which are bridged, by what, and which are refused."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from optitip.arrays import BoolArray, FloatArray
from optitip.errors import Mistake

UNSEEN = 2.0  # [s]: a shorter one is no gap, but a slow record or a lost row
LONGEST_GAP = 4.0  # [s]: see test_reading for what longer ones cost
_BESIDE = 1.0  # [s] either side, in which the slope is read
_SURPRISE, _LEAST_SURPRISE = 0.35, 0.05  # of the change of speed and of the speed


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """From the last time before to the first time after [s], with speed and slope on either side."""

    start: float
    stop: float
    speeds: tuple[float, float]
    slopes: tuple[float, float]

    @property
    def burnout_may_hide(self) -> bool:
        """Return whether the speed did something else between than the slopes on either side say.

        It boosts on both sides or coasts on both, and the speed changes by the mean of the two slopes to a
        third, or to 5 % of the speed: then no motor started or stopped in between.
        """
        (before, after), (left, right) = self.speeds, self.slopes
        change, said = after - before, 0.5 * (left + right) * (self.stop - self.start)
        surprise = max(_SURPRISE * abs(change), _LEAST_SURPRISE * max(before, after))
        return left * right <= 0.0 or abs(change - said) > surprise


def gaps_in(
    seen: FloatArray, *, time: FloatArray, speed: FloatArray, fast: BoolArray, within: tuple[float, float]
) -> list[Gap]:
    """Return the gaps of over 2 s between the times ``seen`` (m,) that are flown fast.

    ``speed`` (n,) [m/s] at ``time`` (n,) tells speeds and slopes, from the second before and the second
    after; ``fast`` (n,) where it is above Mach 0.5; ``within`` [s] lift-off and apogee.
    """
    found = []
    for i in np.flatnonzero(np.diff(seen) > UNSEEN):
        start, stop = float(seen[i]), float(seen[i + 1])
        ends = np.interp([start, stop], time, fast.astype(np.float64)) > 0.0
        if stop <= within[0] or start >= within[1] or not ends.any():
            continue
        before, after = (time >= start - _BESIDE) & (time <= start), (time >= stop) & (time <= stop + _BESIDE)
        (left, v0), (right, v1) = _line(time, speed, before, start), _line(time, speed, after, stop)
        found.append(Gap(start=start, stop=stop, speeds=(v0, v1), slopes=(left, right)))
    return found


def refusals(gaps: Sequence[Gap], *, longest: float, place: str) -> list[Mistake]:
    """Return the mistakes of gaps that no channel covers and no curve may bridge, under ``place``."""
    found = []
    for gap in gaps:
        problem = f"nothing is recorded from {gap.start:g} to {gap.stop:g} s, flown faster than Mach 0.5"
        if gap.stop - gap.start > longest:
            remedy = f"Fill the gap from another instrument's record, or raise flight.gap above {longest:g} s"
            found.append(Mistake(place, problem, remedy))
        elif gap.burnout_may_hide:
            problem += ", and the burnout may lie in it"
            remedy = "Fill the gap from another instrument's record, or use an ascent"
            found.append(Mistake(place, problem, remedy))
    return found


def covered(gap: Gap, times: FloatArray) -> bool:
    """Return whether the times (n,) of another sensor leave no half second of the gap open."""
    inside = times[(times > gap.start) & (times < gap.stop)]
    return bool(np.diff(inside, prepend=gap.start, append=gap.stop).max() <= 0.5)


def _line(time: FloatArray, speed: FloatArray, part: BoolArray, at: float) -> tuple[float, float]:
    """Return slope and value at ``at`` of the line through a part of the speeds."""
    t, v = time[part] - at, speed[part]
    if t.size < 2:
        return 0.0, float(np.interp(at, time, speed))
    slope, value = np.polyfit(t, v, 1)
    return float(slope), float(value)
