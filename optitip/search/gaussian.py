"""Gaussian processes with a length a feature: smooth figures learnt from few designs."""

from dataclasses import dataclass

import numpy as np
from scipy.linalg import cho_solve, cholesky, solve_triangular
from scipy.linalg.lapack import dpotrf, dpotri
from scipy.optimize import minimize

from optitip.arrays import FloatArray

_LENGTHS = (0.1, 100.0)
_NOISES = (1e-8, 1e-2)
_STEPS = 40


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shape:
    """How a figure varies: over which length of each feature (d,), and the share of it that is noise."""

    lengths: FloatArray
    noise: float


class Process:
    """The mean of a Gaussian process through values (n,) at points (n, d).

    m(x) = k(x, X) (k(X, X) + noise I)^-1 y with k = (1 + a + a^2/3) exp(-a), a^2 = 5 sum_j (dx_j / l_j)^2,
    y the values less their mean.

    Source: Rasmussen & Williams 2006, equations 2.23 and 4.17 (Matern 5/2), from memory.
    """

    def __init__(self, points: FloatArray, values: FloatArray, *, shape: Shape) -> None:
        """Solve for the weights."""
        self._lengths = shape.lengths
        self._known = points / shape.lengths
        self._mean = float(values.mean())
        correlation = _matern(_squared(self._known, self._known))
        correlation[np.diag_indices_from(correlation)] += shape.noise
        self._factor = cholesky(correlation, lower=True)
        self._weights = cho_solve((self._factor, True), values - self._mean)
        scale = (values - self._mean) @ self._weights / len(values)
        self._deviation = float(np.sqrt(max(scale, 0.0)))

    def at(self, points: FloatArray, *, deviations: float = 0.0) -> FloatArray:
        """Return the mean (m,) at points (m, d), and so many standard deviations beyond it."""
        near = _matern(_squared(points / self._lengths, self._known))
        mean: FloatArray = self._mean + near @ self._weights
        if deviations == 0.0:
            return mean
        known = solve_triangular(self._factor, near.T, lower=True, check_finite=False)
        open_share = np.maximum(1.0 - (known**2).sum(axis=0), 0.0)
        beyond: FloatArray = mean + deviations * self._deviation * np.sqrt(open_share)
        return beyond


def fitted(points: FloatArray, values: FloatArray, *, start: Shape | None = None) -> Shape:
    """Return the shape that makes values (n,) at points (n, d) likeliest, the scale being the best for it.

    Source: Rasmussen & Williams 2006, equations 5.8 and 5.9, from memory.
    """
    count = points.shape[1]
    start = Shape(lengths=np.full(count, 2.0), noise=1e-4) if start is None else start
    spread = values.std()
    if spread <= 1e-12 * abs(values).max(initial=0.0):
        return start
    scaled = (values - values.mean()) / spread
    bounds = [tuple(np.log(_LENGTHS))] * count + [tuple(np.log(_NOISES))]
    found = minimize(
        _unlikeliness,
        np.log([*start.lengths, start.noise]),
        args=(points, scaled),
        jac=True,
        method="L-BFGS-B",
        bounds=bounds,
        options={"maxiter": _STEPS},
    )
    return Shape(lengths=np.exp(found.x[:-1]), noise=float(np.exp(found.x[-1])))


def _unlikeliness(logs: FloatArray, points: FloatArray, values: FloatArray) -> tuple[float, FloatArray]:
    """Return the negative log likelihood of values, but for a constant, and its slope in the logs."""
    lengths, noise = np.exp(logs[:-1]), np.exp(logs[-1])
    scaled = points / lengths
    a = np.sqrt(5.0 * _squared(scaled, scaled))
    decay = np.exp(-a)
    correlation = (1.0 + a + a**2 / 3.0) * decay
    correlation[np.diag_indices_from(correlation)] += noise
    factor, failed = dpotrf(correlation, lower=1, clean=1)
    if failed:
        return 1e10, np.zeros(len(logs))
    inverse = dpotri(factor, lower=1)[0]
    inverse = np.tril(inverse) + np.tril(inverse, -1).T
    weights = inverse @ values
    fit, n = float(values @ weights), len(values)
    # slope of the likelihood in each entry of the correlation, times that of the entry in a length's log
    pull = inverse - (n / fit) * np.outer(weights, weights)
    by_length = pull * (5.0 / 3.0) * (1.0 + a) * decay
    both = by_length.sum(axis=1) @ scaled**2 - np.einsum("ij,ij->j", scaled, by_length @ scaled)
    slope = np.append(both, 0.5 * noise * np.trace(pull))
    return 0.5 * n * np.log(fit) + np.log(np.diag(factor)).sum(), slope


def _squared(some: FloatArray, others: FloatArray) -> FloatArray:
    squared = (some**2).sum(axis=1)[:, None] + (others**2).sum(axis=1)[None, :]
    apart: FloatArray = np.maximum(squared - 2.0 * some @ others.T, 0.0)
    return apart


def _matern(squared: FloatArray) -> FloatArray:
    a = np.sqrt(5.0 * squared)
    kept: FloatArray = (1.0 + a + a * a / 3.0) * np.exp(-a)
    return kept
