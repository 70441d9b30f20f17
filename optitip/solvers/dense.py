"""Between the steps of a march: cubic Hermite interpolation from values and their slopes in time.

Each step has its own slope at both ends: where the heating bends, a thin skin's slope bends with it at once.
"""

import numpy as np

from optitip.arrays import FloatArray


def between_steps(
    at: FloatArray,
    *,
    time: FloatArray,
    values: FloatArray,
    slopes: FloatArray,
    after: FloatArray | None = None,
) -> FloatArray:
    """Return the values ``(n_at, ...)`` at the instants ``at`` [s], by the cubic through values and slopes.

    time ``(n_t,)`` [s] increasing; values ``(n_t, ...)``; slopes ``(n_t, ...)`` per second just before each
    instant, after ``(n_t, ...)`` just after it where that is another.
    Valid within ``time``; outside it the nearest end holds.

    Source: cubic Hermite interpolation, common practice.

    >>> t = np.array([0.0, 2.0])  # the cubic t^3 has slope 3 t^2
    >>> between_steps(np.array([1.0]), time=t, values=t**3, slopes=3.0 * t**2).tolist()
    [1.0]
    """
    held = np.minimum(np.maximum(at, time[0]), time[-1])
    row = time[1:-1].searchsorted(held, side="right")
    length = (time[row + 1] - time[row]).reshape(-1, *[1] * (values.ndim - 1))
    share = (held - time[row]).reshape(length.shape) / length
    rise = values[row + 1] - values[row]
    bend_before = (slopes if after is None else after)[row] * length - rise
    bend_after = rise - slopes[row + 1] * length
    bend = (1.0 - share) * bend_before + share * bend_after
    found: FloatArray = values[row] + share * (rise + (1.0 - share) * bend)
    return found


def peak(
    time: FloatArray, *, values: FloatArray, slopes: FloatArray, after: FloatArray | None = None
) -> FloatArray:
    """Return the highest value ``(...)`` of each column, between the steps included.

    time ``(n_t,)`` [s]; values, slopes and after ``(n_t, ...)`` as ``between_steps`` takes them. A peak in a
    step is the maximum of its cubic, taken only where the slope turns from rising to falling: elsewhere it
    overshoots.

    Source: cubic Hermite interpolation, common practice.

    >>> t = np.array([0.0, 2.0])  # 1 - (t - 1)^2 peaks at t = 1, between the steps
    >>> float(peak(t, values=1.0 - (t - 1.0) ** 2, slopes=-2.0 * (t - 1.0)))
    1.0
    """
    flat, coming, leaving = (
        one.reshape(time.size, -1) for one in (values, slopes, slopes if after is None else after)
    )
    columns = flat.shape[1]
    turns = np.flatnonzero((leaving[:-1] > 0.0) & (coming[1:] < 0.0))
    row, column = np.divmod(turns, columns)
    length, start = np.diff(time)[row], flat.take(turns)
    rise = flat.take(turns + columns) - start
    first, last = leaving.take(turns) * length, coming.take(turns + columns) * length
    cubic = first + last - 2.0 * rise
    square = 3.0 * rise - 2.0 * first - last
    root = np.sqrt(np.maximum(square**2 - 3.0 * cubic * first, 0.0))
    # the maximum of c s^3 + b s^2 + a s is the root of its slope where the curvature is negative
    share = np.divide(first, root - square, out=np.zeros_like(first), where=root > square)
    share = np.minimum(share, 1.0)
    highest: FloatArray = flat.max(axis=0)
    inside = start + share * (first + share * (square + share * cubic))
    np.maximum.at(highest, column, inside)
    return highest.reshape(values.shape[1:])
