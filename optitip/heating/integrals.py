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
    total = np.zeros((nodes.size, nodes.size))
    np.cumsum(cells, axis=0, out=total[1:])
    return total[1:, 1:] if lead else total


def momentum_reynolds(
    flux: FloatArray, *, viscosity: FloatArray, growth: FloatArray, radius: FloatArray
) -> FloatArray:
    """Return the dimensionless Reynolds number (n_t, n_s, n_w) that a turbulent layer has grown to.

    Re = integral of f r^(5/4) ds/(mu^2 r^(5/4)), f = rho mu u: on a plate rho u s/mu, on a cone 4/9 of it. It
    is 1 where nothing has grown yet.

    ``flux`` f [kg2/(m3 s2)] and ``viscosity`` mu [Pa s] are (n_t, n_s, n_w), ``growth`` (n_s, n_s) is
    ``weighted_integral``'s with 5/4, ``radius`` (n_s,) [m].

    Valid for friction that goes with Re^(-1/5), the wall at one temperature from the tip on.

    Source: the momentum integral's form with rho mu u as in Vaglio-Laurin, from memory.

    >>> s = np.linspace(0.0, 0.3, 31)
    >>> growth = weighted_integral(s, s, exponent=1.25)
    >>> cone = momentum_reynolds(np.ones((1, 31, 1)), viscosity=np.ones((1, 31, 1)), growth=growth, radius=s)
    >>> cone[0, -1].round(4)  # 4/9 x 0.3
    array([0.1333])
    """
    grown = growth @ flux
    swept = viscosity * viscosity
    swept *= radius[:, None] ** 1.25
    # nothing has grown where the flux is nothing, nor at the point of a cone
    np.copyto(swept, np.inf, where=swept <= 0.0)
    grown /= swept
    np.copyto(grown, 1.0, where=grown <= 0.0)
    return grown
