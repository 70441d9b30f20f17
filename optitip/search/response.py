"""A cheap stand-in for the evaluation: smooth surfaces through what has been evaluated so far."""

from collections.abc import Sequence
from enum import Enum

import numpy as np
from scipy.linalg import helmert, lu_factor, lu_solve

from optitip.arrays import FloatArray

OPTION_SPACING = 0.6
_SMOOTHING = {"cubic": 1e-6, "linear": 1e-3}


class Kernel(Enum):
    """How the value at one design speaks for another at distance r: r^3 for values, -r for yes and no."""

    CUBIC = "cubic"
    LINEAR = "linear"


class Surface:
    """Radial basis interpolation with a linear trend through values (n, m) at points (n, d).

    s(x) = sum_i w_i phi(|x - x_i|) + c0 + c.x, with sum_i w_i = 0 and sum_i w_i x_i = 0, and a smoothing
    that keeps two designs at nearly the same point from pulling it apart.

    Source: Powell 1992, in Advances in Numerical Analysis II, equation from memory.

    >>> surface = Surface(np.array([[0.0], [0.5], [1.0]]), np.array([[0.0], [1.0], [2.0]]))
    >>> round(float(surface.at(np.array([[0.25]]))[0, 0]), 3)
    0.5
    """

    def __init__(self, points: FloatArray, values: FloatArray, *, kernel: Kernel = Kernel.CUBIC) -> None:
        """Solve for the weights."""
        self._points = points
        self._kernel = kernel
        n, tail = len(points), points.shape[1] + 1
        system = np.zeros((n + tail, n + tail))
        system[:n, :n] = self._phi(points) + _SMOOTHING[kernel.value] * np.eye(n)
        system[:n, n:] = _trend(points)
        system[n:, :n] = system[:n, n:].T
        # keeps the system solvable when the points leave a direction of the trend open
        system[n:, n:] = -1e-8 * np.eye(tail)
        right = np.vstack([values, np.zeros((tail, values.shape[1]))])
        weights = lu_solve(lu_factor(system, overwrite_a=True), right)
        self._weights, self._trend = weights[:n], weights[n:]

    def at(self, points: FloatArray) -> FloatArray:
        """Return the values (n, m) at points (n, d)."""
        values: FloatArray = self._phi(points) @ self._weights + _trend(points) @ self._trend
        return values

    def _phi(self, points: FloatArray) -> FloatArray:
        squared = (points**2).sum(axis=1)[:, None] + (self._points**2).sum(axis=1)[None, :]
        squared = np.maximum(squared - 2.0 * points @ self._points.T, 0.0)
        phi: FloatArray = squared * np.sqrt(squared) if self._kernel is Kernel.CUBIC else -np.sqrt(squared)
        return phi


def features(points: FloatArray, *, options: Sequence[int]) -> FloatArray:
    """Return points (n, d) with each choice spread out so that all its options lie equally far apart.

    ``options`` gives how many options each of the last columns has; one with n options becomes the n
    corners of a regular simplex in n - 1 columns.
    """
    numbers = points.shape[1] - len(options)
    columns = [points[:, :numbers]]
    for column, count in enumerate(options, start=numbers):
        index = np.clip((points[:, column] * count).astype(np.int64), 0, count - 1)
        corners = OPTION_SPACING * helmert(count).T if count > 1 else np.zeros((1, 0))
        columns.append(corners[index])
    return np.hstack(columns)


def tamed(values: FloatArray) -> FloatArray:
    """Return values (n, m) with the far ends pulled in, so that a few huge ones don't bend the surface.

    The ends are half the span between the 2nd and 98th percentile beyond these.
    """
    low, high = np.percentile(values, [2.0, 98.0], axis=0)
    reach = 0.5 * (high - low) + 1e-12
    return np.clip(values, low - reach, high + reach)


def _trend(points: FloatArray) -> FloatArray:
    return np.hstack([np.ones((len(points), 1)), points])
