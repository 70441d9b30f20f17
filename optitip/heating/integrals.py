"""Integrals along the surface, by which a boundary layer remembers what lies ahead of it."""

import numpy as np
from numpy.typing import ArrayLike

from optitip.arrays import FloatArray

_GAUSS_POINTS, _GAUSS_WEIGHTS = np.polynomial.legendre.leggauss(5)


def weighted_integral(arc_length: ArrayLike, radius: ArrayLike, *, exponent: float) -> FloatArray:
    """Return the matrix (n_s, n_s) that turns values f(s) into the integral of f r^exponent ds from 0 to s.

    Its unit is [m] to the power 1 + exponent, itself dimensionless.

    Between stations f and r are linear (five Gauss points a cell); before the first station, if that is not
    at s = 0, f and r rise from zero in proportion to s, as at a stagnation point.

    ``arc_length`` (n_s,) [m] increasing, ``radius`` (n_s,) [m].

    Valid for any exponent of zero or more.

    Source: Gauss & Legendre's rule.

    >>> s = np.array([0.0, 1.0, 2.0])
    >>> weighted_integral(s, s, exponent=2.0) @ np.ones(3)  # s^3/3
    array([0.        , 0.33333333, 2.66666667])
    """
    s, r = np.asarray(arc_length, dtype=np.float64), np.asarray(radius, dtype=np.float64)
    lead = s[0] > 0.0
    nodes = np.append(0.0, s) if lead else s
    radii = np.append(0.0, r) if lead else r
    share = 0.5 * (_GAUSS_POINTS + 1.0)[:, None]
    width = 0.5 * _GAUSS_WEIGHTS[:, None] * np.diff(nodes)
    weight = width * (radii[:-1] + share * np.diff(radii)) ** exponent
    cells = np.zeros((nodes.size - 1, nodes.size))
    index = np.arange(nodes.size - 1)
    cells[index, index] = np.sum(weight * (1.0 - share), axis=0)
    cells[index, index + 1] = np.sum(weight * share, axis=0)
    total = np.cumsum(np.vstack([np.zeros(nodes.size), cells]), axis=0)
    return total[1:, 1:] if lead else total
