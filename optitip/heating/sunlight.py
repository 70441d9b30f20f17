"""Sunlight on a body of revolution, evened out round its circumference."""

import numpy as np
from numpy.typing import ArrayLike

from optitip.arrays import FloatArray


def sunlight_absorbed(square: float, *, slope: ArrayLike) -> FloatArray:
    """Return the sun's flux into the surface (n_s,) [W/m2], the mean round the circumference.

    q = a G cos(theta)/pi, the mean of a G max(0, cos(theta) cos(phi)) over the angle phi round the axis: the
    beam meets a cylinder on D L of its pi D L. Positive: it warms.

    ``square`` a G [W/m2] is what a plane square to the beam would take up, absorptivity times irradiance;
    ``slope`` theta (n_s,) [rad] is the outline's against the axis.

    Valid for a convex surface whose axis lies across the beam; for a beam at another angle G is its part
    across the axis, and what then shines on the point is left out. Ground and sky reflect nothing. A tip that
    stands still is hotter on its lit side than this mean, by up to pi times the flux where the wall is thin.

    Source: the beam's projection on a surface of revolution (any textbook).

    >>> sunlight_absorbed(0.3 * 1000.0, slope=[0.0, np.pi / 3]).round(2)  # 300/3.1416, half of it
    array([95.49, 47.75])
    """
    flux: FloatArray = square * np.cos(np.asarray(slope, dtype=np.float64)) / np.pi
    return flux
