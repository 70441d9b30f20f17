"""What a flight's own physics says of columns whose unit or meaning is nowhere written.

Only good enough to tell one unit from another: the flight is reckoned elsewhere.
"""

import math
from collections.abc import Mapping

import numpy as np

from optitip.arrays import FloatArray

GRAVITY = 9.80665
_FEWEST = 8
_MOST_AT_REST = 20  # rows
_NEAR_APOGEE, _LEAST_FALL = 0.04, 30.0  # share of the rise, and what noise asks for at least
_DRAG = 1.02  # drag there, 0.7 to 3.5 per cent of g on flights to 150 to 3,700 m
_BINS = 80


def tame(values: FloatArray) -> FloatArray:
    """Return each value's median with its two neighbours on either side, so that a spike is none.

    >>> tame(np.array([1.0, 2.0, 99.0, 4.0, 5.0])).tolist()
    [1.0, 2.0, 4.0, 5.0, 5.0]
    """
    padded = np.pad(values, 2, mode="edge")
    near = np.lib.stride_tricks.sliding_window_view(padded, 5)
    return np.asarray(np.median(near, axis=-1), dtype=np.float64)


def height_under(pressure: FloatArray) -> FloatArray:
    """Return the height [m] above the first readings in standard air: 44331 (1 - (p/p0)^0.1903) to 11 km.

    Above, where it is 216.65 K throughout, 11000 + 6341.6 ln(0.2234 p0/p). The unit of ``pressure`` (n,) does
    not matter. Source: US Standard Atmosphere 1976, to 20 km.

    >>> round(float(height_under(np.array([1013.25] * 5 + [898.76]))[-1]))
    1000
    >>> round(float(height_under(np.array([1013.25] * 5 + [54.75]))[-1]), -2)  # printed for 20 km
    20000.0
    """
    share = np.maximum(pressure / start_level(pressure), 1e-3)
    cold = 11000.0 + 6341.6 * np.log(0.2234 / share)
    return np.where(share < 0.2234, cold, 44331.0 * (1.0 - share**0.1903))


def start_level(values: FloatArray) -> float:
    """Return the level a column starts from, before anything moves: of few rows, as it may soon move.

    >>> start_level(np.arange(1000.0))
    9.5
    """
    return float(np.median(values[: min(max(5, values.size // 50), _MOST_AT_REST)]))


def rise(height: FloatArray) -> float:
    """Return how far a column climbs above where it starts."""
    return float(np.quantile(height, 0.9999) - start_level(height))


def fall_at_apogee(time: FloatArray, height: FloatArray) -> float | None:
    """Return the downward acceleration [unit of height / unit of time^2] just before the highest point.

    A body that coasts nearly upright falls there with g and a little drag, which is taken off; None where
    too little is seen.

    >>> t = np.linspace(0.0, 20.0, 401)
    >>> round(1.02 * fall_at_apogee(t, 196.133 * t - 4.903325 * t**2), 4)
    9.8067
    """
    top = int(np.argmax(height))
    climbed = rise(height)
    low = height[top] - min(max(_NEAR_APOGEE * climbed, _LEAST_FALL), 0.3 * climbed)
    below = np.flatnonzero(height[: top + 1] < low)
    first = int(below[-1]) + 1 if below.size else 0
    t, z = time[first : top + 1], height[first : top + 1]
    if t.size < _FEWEST or not t[-1] > t[0] or np.unique(z).size < 5:
        return None
    u = (t - t[-1]) / (t[-1] - t[0])
    curve = np.polynomial.polynomial.polyfit(u, z - z[-1], 2)[2]
    down = -2.0 * float(curve) / float(t[-1] - t[0]) ** 2 / _DRAG
    return down if down > 0.0 else None


def way_up(time: FloatArray, speed: FloatArray, height: FloatArray) -> float:
    """Return the distance [unit of speed x unit of time] flown until the highest point of ``height``."""
    top = max(int(np.argmax(height)), 1)
    v, t = np.abs(speed[: top + 1]), time[: top + 1]
    return float(np.sum(0.5 * (v[1:] + v[:-1]) * np.diff(t)))


def gain(time: FloatArray, acceleration: FloatArray) -> float:
    """Return the speed gained in the boost by a sensor's reading above its rest, signed.

    In [unit of acceleration x unit of time]: the largest excursion of the integral within ten seconds, or
    the whole column if that is shorter, of the first strong push.
    """
    felt = acceleration - start_level(acceleration)
    strong = np.abs(np.convolve(felt, np.ones(3) / 3.0, mode="same"))
    first = int(np.argmax(strong > 0.25 * strong.max()))
    last = int(np.searchsorted(time, time[first] + 10.0))
    part, t = felt[first : last + 1], time[first : last + 1]
    sums = np.concatenate([[0.0], np.cumsum(0.5 * (part[1:] + part[:-1]) * np.diff(t))])
    return float(sums[np.argmax(np.abs(sums))])


def nearest(value: float, choices: Mapping[str, float], *, within: float) -> str:
    """Return the choice nearest to ``value`` in ratio, or nothing if none is ``within`` that factor.

    >>> nearest(3.2, {"m": 1.0, "ft": 3.2808}, within=1.2)
    'ft'
    """
    if not value > 0.0 or not math.isfinite(value):
        return ""
    best = min(choices, key=lambda one: abs(math.log(value / choices[one])))
    return best if abs(math.log(value / choices[best])) <= math.log(within) else ""


def alike(rate_of: FloatArray, other: FloatArray, time: FloatArray) -> float:
    """Return how well ``other`` goes with the rate of change of ``rate_of`` on its way up, 1 at best."""
    level, top = start_level(rate_of), int(np.argmax(rate_of))
    above = np.flatnonzero(rate_of[: top + 1] > level + 0.01 * (rate_of[top] - level))
    if not above.size or top - above[0] < _FEWEST:
        return 0.0
    window = slice(max(int(above[0]) - 2, 0), top + 1)
    edges = np.linspace(0, top + 1 - window.start, min(_BINS, (top - window.start) // 2 + 2)).astype(np.int64)
    parts = np.unique(edges[:-1])
    counts = np.diff(np.append(parts, top + 1 - window.start))
    t, a, b = (np.add.reduceat(one[window], parts) / counts for one in (time, rate_of, other))
    if t.size < 4 or np.ptp(b) == 0.0:
        return 0.0
    rates, between = np.diff(a) / np.diff(t), 0.5 * (b[1:] + b[:-1])
    if np.ptp(rates) == 0.0 or np.ptp(between) == 0.0:
        return 0.0
    return float(np.corrcoef(rates, between)[0, 1])
