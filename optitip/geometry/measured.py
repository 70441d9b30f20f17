"""A measured outline as a smooth, monotone r(z)."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from optitip.arrays import FloatArray, frozen
from optitip.errors import UserMistakes

KNOTS = 120
FEWEST_POINTS = 6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MeasuredProfile:
    """The square of the radius as a monotone cubic in z, from the first measured point.

    r^2 is smooth in z at a blunt nose, where r itself starts with an infinite slope.
    """

    knots: FloatArray  # (m,) [m] axial
    square: FloatArray  # (m,) [m2] radius squared
    gradient: FloatArray  # (m,) [m] of the square along z

    def __call__(self, axial: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Return the radius [m] and its gradient [-] at ``axial`` (n,) [m]."""
        z = np.atleast_1d(np.asarray(axial, dtype=np.float64))
        i = np.clip(np.searchsorted(self.knots, z, side="right") - 1, 0, self.knots.size - 2)
        h = self.knots[i + 1] - self.knots[i]
        t = (z - self.knots[i]) / h
        y0, y1, d0, d1 = self.square[i], self.square[i + 1], h * self.gradient[i], h * self.gradient[i + 1]
        y = y0 + t * (d0 + t * (3 * (y1 - y0) - 2 * d0 - d1 + t * (2 * (y0 - y1) + d0 + d1)))
        slope = (d0 + t * (2 * (3 * (y1 - y0) - 2 * d0 - d1) + 3 * t * (2 * (y0 - y1) + d0 + d1))) / h
        r = np.sqrt(np.maximum(y, 0))
        with np.errstate(divide="ignore", invalid="ignore"):
            return r, np.where(r > 0, slope / (2 * r), np.inf)

    @property
    def length(self) -> float:
        """Return the measured length [m]."""
        return float(self.knots[-1])

    @property
    def own_nose_radius(self) -> float:
        """Return half the gradient of r^2 at the first point [m], or 0 where that isn't on the axis."""
        return 0.5 * float(self.gradient[0]) if self.square[0] == 0 else 0.0


def smooth_profile(axial: ArrayLike, radius: ArrayLike, *, tolerance: float = 2e-5) -> MeasuredProfile:
    """Return the smoothest monotone profile within ``tolerance`` [m] (root mean square) of the points.

    Least squares on knots with a penalty on third differences, its weight the largest the tolerance allows;
    then no knot below the one before, and monotone cubic pieces (Fritsch & Carlson 1980, from memory).
    ``axial`` (n,) [m] increasing, ``radius`` (n,) [m]; z is counted from the first point.
    Valid for outlines that never narrow aft; a point over ten tolerances below an earlier one is a mistake.
    """
    z, r = np.asarray(axial, dtype=np.float64), np.asarray(radius, dtype=np.float64)
    _check_points(z, r, tolerance=tolerance)
    z = z - z[0]
    knots = z[-1] * np.linspace(0, 1, KNOTS) ** 2
    values = np.maximum.accumulate(np.maximum(_fit(z, r, knots=knots, tolerance=tolerance), 0))
    return MeasuredProfile(
        knots=frozen(knots), square=frozen(values), gradient=frozen(_monotone_gradient(knots, values))
    )


def _check_points(z: FloatArray, r: FloatArray, *, tolerance: float) -> None:
    place = "outline.profile"
    if z.shape != r.shape or z.ndim != 1 or z.size < FEWEST_POINTS:
        raise UserMistakes.one(place, f"{z.size} stations and {r.size} radii", "Give six points or more")
    if not (np.all(np.isfinite(z)) and np.all(np.isfinite(r)) and np.all(r >= 0)):
        raise UserMistakes.one(place, "a value is negative or no number", "Correct the row")
    if np.any(np.diff(z) <= 0):
        raise UserMistakes.one(place, "the axial stations don't increase", "Sort the rows, drop doubles")
    drop = np.maximum.accumulate(r) - r
    if drop.max() > 10 * tolerance:
        row = int(drop.argmax()) + 1
        raise UserMistakes.one(
            place,
            f"the outline narrows by {drop.max() * 1e3:.3g} mm at row {row}",
            "End it where it is widest",
        )


def _fit(z: FloatArray, r: FloatArray, *, knots: FloatArray, tolerance: float) -> FloatArray:
    """Return r^2 at the knots; on the axis at the first one if the first point is."""
    i = np.clip(np.searchsorted(knots, z, side="right") - 1, 0, KNOTS - 2)
    t = (z - knots[i]) / (knots[i + 1] - knots[i])
    weight = 1 / (2 * np.maximum(r, 0.02 * r.max()))
    A = np.zeros((z.size, KNOTS))
    A[np.arange(z.size), i], A[np.arange(z.size), i + 1] = weight * (1 - t), weight * t
    b = weight * r**2
    D = np.diff(np.eye(KNOTS), n=3, axis=0)
    free = slice(None)
    if r[0] <= tolerance:
        # a round nose is even in the root of z: mirror the knots, so that it isn't drawn flat
        mirrored = np.vstack([np.eye(KNOTS)[2:0:-1], np.eye(KNOTS)])
        D, free = np.diff(mirrored, n=3, axis=0), slice(1, None)
    A, D = A[:, free], D[:, free]
    normal, rough, right = A.T @ A, D.T @ D, A.T @ b
    scale = np.trace(normal) / np.trace(rough)

    def solved(exponent: float) -> FloatArray:
        return np.linalg.solve(normal + 10.0**exponent * scale * rough, right)

    low, high = -8.0, 6.0
    for _ in range(30):
        middle = 0.5 * (low + high)
        rms = np.sqrt(np.mean((A @ solved(middle) - b) ** 2))
        low, high = (middle, high) if rms < tolerance else (low, middle)
    values = solved(low)
    return np.concatenate([np.zeros(1), values]) if free.start else values


def _monotone_gradient(x: FloatArray, y: FloatArray) -> FloatArray:
    """Return the gradients of the monotone cubic: weighted harmonic means of the neighbouring secants."""
    h = np.diff(x)
    d = np.diff(y) / h
    w1, w2 = 2 * h[1:] + h[:-1], h[1:] + 2 * h[:-1]
    both = (d[1:] > 0) & (d[:-1] > 0)
    gradient = np.zeros_like(y)
    gradient[1:-1][both] = (
        ((w1 + w2)[both]) / ((w1 / np.where(both, d[:-1], 1) + w2 / np.where(both, d[1:], 1))[both])
    )
    gradient[0] = np.clip(d[0] + (d[0] - gradient[1]), 0, 3 * d[0])
    gradient[-1] = np.clip(d[-1] + (d[-1] - gradient[-2]), 0, 3 * d[-1])
    return gradient
