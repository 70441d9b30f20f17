"""The rows of a recorder as samples of its sensors: times that rise, and no reading told twice."""

from dataclasses import dataclass

import numpy as np

from optitip.arrays import BoolArray, FloatArray, IntArray

_MOST_AHEAD = 5000  # rows looked at one by one; a file with more is refused anyway
_ALIKE = 0.6  # of the changes' weight has to stand in runs of about the usual length
_GAP = 3.5  # usual steps without a row: beyond, rows are missing


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Gaps:
    """Rows that are missing: how many gaps, about how many rows, the longest [s] and where it begins [s]."""

    count: int
    rows: int
    longest: float
    begins: float


def usual_step(time: FloatArray) -> float:
    """Return the usual time [s] from one row to the next that is later; 0 where there is none.

    >>> usual_step(np.array([0.0, 0.1, 0.1, 0.2, 9.0]))
    0.1
    """
    steps = np.diff(time)
    steps = steps[steps > 0.0]
    return float(np.quantile(steps, 0.5, method="lower")) if steps.size else 0.0


def spread_equal(time: FloatArray) -> FloatArray:
    """Return times (n,) whose runs of equal ones, written too coarsely, are spread evenly over one step.

    >>> spread_equal(np.array([0.0, 0.0, 1.0, 1.0, 2.0])).tolist()
    [0.0, 0.5, 1.0, 1.5, 2.0]
    """
    starts = np.flatnonzero(np.concatenate([[True], np.diff(time) != 0.0]))
    lengths = np.diff(np.append(starts, time.size))
    turn = np.arange(time.size) - np.repeat(starts, lengths)
    return np.asarray(time + usual_step(time) * turn / np.repeat(lengths, lengths), dtype=np.float64)


def rising(time: FloatArray) -> BoolArray:
    """Return which rows (n,) are later than all before them; a wild time far ahead counts as none.

    >>> rising(np.array([0.0, 1.0, 99.0, 2.0, 2.0, 3.0])).tolist()
    [True, True, False, True, False, True]
    """
    last_to_come = np.minimum.accumulate(time[::-1])[::-1]
    ahead = np.zeros(time.size, dtype=bool)
    for index in np.flatnonzero(time > last_to_come)[:_MOST_AHEAD].tolist():
        following = time[index + 1 : index + 6]
        before = time[index - 1] if index else -np.inf
        # the next rows go on from the one before: this one is out of turn, not they
        ahead[index] = 2 * int(((following < time[index]) & (following > before)).sum()) > following.size
    tame = np.where(ahead, -np.inf, time)
    latest = np.concatenate([[-np.inf], np.maximum.accumulate(tame)[:-1]])
    return np.asarray(~ahead & (time > latest))


def own_samples(values: FloatArray) -> BoolArray:
    """Return which rows (n,) hold a reading of the sensor's own, where it is slower than the rows.

    A value that stands for about as many rows each time, while it changes fast, is one reading repeated: its
    first row is kept, and of a longer run each row at which the next reading was due.

    >>> own_samples(np.repeat(np.arange(20.0) ** 2, 4)).sum()
    np.int64(20)
    """
    starts = np.flatnonzero(np.concatenate([[True], np.diff(values) != 0.0]))
    lengths = np.diff(np.append(starts, values.size))
    if starts.size < 10:
        return np.ones(values.size, dtype=bool)
    usual = _usual_run(np.diff(values[starts]), lengths[1:])
    if usual < 2:
        return np.ones(values.size, dtype=bool)
    turn = np.arange(values.size) - np.repeat(starts, lengths)
    left = np.repeat(lengths, lengths) - turn
    return np.asarray((turn == 0) | ((turn % usual == 0) & (2 * left > usual)))


def _usual_run(changes: FloatArray, lengths: IntArray) -> int:
    """Return for how many rows a reading stands where it changes fast; 1 where that has no rule.

    A repeat there is no lack of resolution. One leap, as of a speed at the impact, weighs no more than the
    fast changes do, and the runs have to be alike: else values just stand still here and there.
    """
    size = np.abs(changes)
    weight = np.minimum(size, 2.0 * float(np.quantile(size, 0.9))) ** 2
    order = np.argsort(lengths)
    heavy = np.cumsum(weight[order])
    usual = int(lengths[order][np.searchsorted(heavy, 0.5 * heavy[-1])])
    alike = np.abs(lengths - usual) <= max(0.5 * usual, 1.0)
    return usual if float(weight[alike].sum()) > _ALIKE * heavy[-1] else 1


def gaps_of(time: FloatArray) -> Gaps | None:
    """Return what is missing between rows that follow each other evenly, or None if nothing is."""
    step = usual_step(time)
    steps = np.diff(time)
    wide = np.flatnonzero(steps > _GAP * step)
    if not wide.size or step == 0.0:
        return None
    at = int(wide[np.argmax(steps[wide])])
    rows = int(np.round(steps[wide] / step).sum()) - wide.size
    return Gaps(count=wide.size, rows=rows, longest=float(steps[at]), begins=float(time[at]))
