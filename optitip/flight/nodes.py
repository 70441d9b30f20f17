"""An acceleration that is straight between nodes, and what it makes of speed and height."""

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from optitip.arrays import FloatArray, IntArray

_FINE = 0.2  # of the spacing of the nodes: the step of the integrals
_MOST_STEPS = 3000
Place: TypeAlias = tuple[IntArray, FloatArray]
"""left neighbour on a grid and the share of the way to the next"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Basis:
    """What one unit of acceleration at each node (k,) does to the whole ascent, on a fine grid (m,)."""

    time: FloatArray
    """(m,) [s]; the burnout stands twice, before its jump and after"""
    nodes: FloatArray
    """(k,) [s]; the burnout stands twice"""
    acceleration: FloatArray
    """(m, k)"""
    speed: FloatArray
    """(m, k)"""
    steps: FloatArray
    """(k - 1,) [s] between neighbouring nodes; infinite across the burnout"""

    def heights(self, steepness: FloatArray) -> FloatArray:
        """Return the heights (m, k) on a path of ``steepness`` (m,), the sine of its angle."""
        return summed(self.time, self.speed * steepness[:, None])


def basis(*, burnout: float, apogee: float, spacing: float) -> Basis:
    """Return the basis from lift-off at 0 to ``apogee``, with a jump at ``burnout``, all [s].

    The nodes stand ``spacing`` apart up to the burnout and right after it, and five times that at the end.

    >>> two = basis(burnout=2.0, apogee=10.0, spacing=1.0)
    >>> two.nodes[:4].tolist(), float(two.speed[-1].sum().round(9))  # an acceleration of 1 all along
    ([0.0, 1.0, 2.0, 2.0], 10.0)
    """
    fine = max(_FINE * spacing, apogee / _MOST_STEPS)
    boost = np.linspace(0.0, burnout, max(int(burnout / spacing), 1) + 1)
    share = np.linspace(0.0, 1.0, max(int((apogee - burnout) / (3.0 * spacing)), 4) + 1)
    coast = burnout + (apogee - burnout) * (share + 2.0 * share**2) / 3.0
    before, after = (
        np.linspace(part[0], part[-1], max(int((part[-1] - part[0]) / fine), 4) + 1)
        for part in (boost, coast)
    )
    time = np.concatenate([before, after])
    acceleration = np.zeros((time.size, boost.size + coast.size))
    acceleration[: before.size, : boost.size] = _hats(before, boost)
    acceleration[before.size :, boost.size :] = _hats(after, coast)
    return Basis(
        time=time,
        nodes=np.concatenate([boost, coast]),
        acceleration=acceleration,
        speed=summed(time, acceleration),
        steps=np.concatenate([np.diff(boost), [np.inf], np.diff(coast)]),
    )


def summed(time: FloatArray, rate: FloatArray) -> FloatArray:
    """Return the integrals (m, ...) of ``rate`` (m, ...) from the first time (m,), by the trapezoidal rule.

    >>> summed(np.array([0.0, 1.0, 3.0]), np.array([2.0, 2.0, 4.0])).tolist()
    [0.0, 2.0, 8.0]
    """
    width = np.diff(time).reshape(-1, *[1] * (rate.ndim - 1))
    pieces = 0.5 * (rate[1:] + rate[:-1]) * width
    return np.concatenate([np.zeros((1, *rate.shape[1:])), np.cumsum(pieces, axis=0)])


def lagged(time: FloatArray, values: FloatArray, *, lag: float) -> FloatArray:
    """Return what a sensor with a first-order ``lag`` [s] reads of ``values`` (m,), from rest at the first.

    x' = (values - x)/lag, the values held over each step; a lag of nought or less changes nothing.

    >>> lagged(np.array([0.0, 0.1, 0.2]), np.array([0.0, 1.0, 1.0]), lag=0.1).round(3).tolist()
    [0.0, 0.632, 0.865]
    """
    if lag <= 0.0:
        return values
    shares = -np.expm1(-np.diff(time) / lag)
    late = [float(values[0])]
    for share, value in zip(shares.tolist(), values[1:].tolist(), strict=True):
        late.append(late[-1] + share * (value - late[-1]))
    return np.array(late)


def place_of(grid: FloatArray, time: FloatArray) -> Place:
    """Return where on the rising ``grid`` (m,) the times (n,) stand; beyond its ends, at its ends."""
    left = np.clip(np.searchsorted(grid, time, side="right") - 1, 0, grid.size - 2)
    width = np.maximum(grid[left + 1] - grid[left], 1e-12)
    return left.astype(np.int64), np.clip((time - grid[left]) / width, 0.0, 1.0)


def between(values: FloatArray, place: Place) -> FloatArray:
    """Return the values (m, ...) of a grid at places (n,), straight between its points.

    >>> between(np.array([0.0, 10.0]), place_of(np.array([0.0, 2.0]), np.array([0.5]))).tolist()
    [2.5]
    """
    left, share = place
    share = share.reshape(-1, *[1] * (values.ndim - 1))
    return np.asarray(values[left] + share * (values[left + 1] - values[left]), dtype=np.float64)


def _hats(time: FloatArray, nodes: FloatArray) -> FloatArray:
    """Return the hat functions (m, k) of the nodes (k,) at ``time`` (m,)."""
    left, share = place_of(nodes, time)
    hats = np.zeros((time.size, nodes.size))
    row = np.arange(time.size)
    hats[row, left] = 1.0 - share
    hats[row, left + 1] = share
    return hats
