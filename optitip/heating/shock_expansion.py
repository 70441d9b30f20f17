"""Second-order shock expansion: the pressure along a curved side in supersonic flow."""

import numpy as np

from optitip.arrays import FloatArray
from optitip.heating.compressible import GAMMA

_SLOWEST = 1.05  # Mach number below which Prandtl and Meyer's expansion is taken at this one
_LEAST_GAP = 1e-6  # of the pressure: keeps the decay's rate finite where the cone's pressure is met


def expanded_pressure(
    cone_pressure: FloatArray,
    *,
    log_total: FloatArray,
    trusted: FloatArray,
    arc_length: FloatArray,
    radius: FloatArray,
    slope: FloatArray,
) -> FloatArray:
    """Return p/p1 (n_t, n_s - 1), dimensionless, along a side that starts as a cone.

    The side is a row of frustums. Where one turns into the next by d the pressure falls as in a plane
    expansion, d ln p = -gamma M^2/sqrt(M^2 - 1) d, and its gradient along the surface becomes
    g2 = (B2/r) [(W1/W2) sin a1 - sin a2] + (B2 W1)/(B1 W2) g1, with B = gamma p M^2/(2 (M^2 - 1)) and
    W = (1/M) [(1 + 0.2 M^2)/1.2]^3; a is the slope. Along a frustum it nears the pressure pc of the cone of
    its slope: p = pc - (pc - p2) e^-n, g = g2 e^-n, n = g2 s/(pc - p2).

    ``cone_pressure`` (n_t, n_s) is pc/p1 of each slope, its first column that of the side's start;
    ``log_total`` (n_t,) is ln(p0/p1) behind the start's shock; ``trusted`` (n_t, n_s - 1), 0 to 1, how far
    the law holds at each station but the first: below 1 the memory of the start fades over
    r trusted/(1 - trusted), at 0 the cone's pressure is left. ``arc_length`` [m], ``radius`` [m] and
    ``slope`` [rad] are (n_s,).

    Valid for attached shocks and supersonic flow along the whole side; elsewhere the caller's ``trusted`` is
    zero. A gradient that leads away from pc decays to it as well, so that the answer stays bounded.

    Source: Syvertson & Dennis 1957, NACA Report 1328.

    >>> s = np.array([0.1, 0.2, 0.3])  # a cone keeps its pressure
    >>> p = expanded_pressure(np.array([[1.29252] * 3]), log_total=np.array([2.055]), trusted=np.ones((1, 2)),
    ...     arc_length=s, radius=0.1736 * s, slope=np.full(3, 0.17453))
    >>> p.round(5)
    array([[1.29252, 1.29252]])
    """
    middle = 0.5 * (slope[:-1] + slope[1:])
    sine = np.sin(np.append(slope[0], middle))
    step = np.diff(arc_length)
    bend = np.maximum(radius[:-1], 1e-9)
    cone = 0.5 * (cone_pressure[:, :-1] + cone_pressure[:, 1:]).T
    fading = (1.0 / np.maximum(trusted, 1e-9) - 1.0) / np.maximum(radius[1:], 1e-9)
    keep = np.exp(-fading * step).T
    total = np.exp(log_total)
    pressure = cone_pressure[:, 0]
    squared = _mach_squared(pressure, total)
    area, stiffness = _tube_area(squared), _stiffness(pressure, squared)
    gradient = np.zeros_like(pressure)
    found = np.empty_like(cone)
    for i, turn in enumerate(np.diff(np.append(slope[0], middle))):
        pressure = _turned(pressure, squared, total, turn)
        squared = _mach_squared(pressure, total)
        before, area = area, _tube_area(squared)
        per_stiffness = gradient / stiffness * before + (before * sine[i] - area * sine[i + 1]) / bend[i]
        gradient = _stiffness(pressure, squared) / area * per_stiffness
        gap = cone[i] - pressure
        left = keep[i] * np.exp(-np.abs(gradient) * step[i] / (np.abs(gap) + _LEAST_GAP * pressure))
        found[i] = pressure = cone[i] - gap * left
        gradient = gradient * left
        squared = _mach_squared(pressure, total)
        area, stiffness = _tube_area(squared), _stiffness(pressure, squared)
    # a frustum ends on a station with half a turn to go
    rest = (slope[1:] - middle)[:, None] * trusted.T
    return _turned(found, _mach_squared(found, total), total, rest).T


def _turned(pressure: FloatArray, squared: FloatArray, total: FloatArray, turn: FloatArray) -> FloatArray:
    """Return the pressure past a corner of ``turn``, by the midpoint rule."""
    half = pressure * np.exp(0.5 * GAMMA * turn * squared / np.sqrt(squared - 1.0))
    middle = _mach_squared(half, total)
    turned: FloatArray = pressure * np.exp(GAMMA * turn * middle / np.sqrt(middle - 1.0))
    return turned


def _mach_squared(pressure: FloatArray, total: FloatArray) -> FloatArray:
    squared: FloatArray = np.maximum(5.0 * ((total / pressure) ** (2.0 / 7.0) - 1.0), _SLOWEST**2)
    return squared


def _tube_area(squared: FloatArray) -> FloatArray:
    """Return W = (1/M) [(1 + 0.2 M^2)/1.2]^3, a stream tube's area over its smallest."""
    area: FloatArray = ((1.0 + 0.2 * squared) / 1.2) ** 3 / np.sqrt(squared)
    return area


def _stiffness(pressure: FloatArray, squared: FloatArray) -> FloatArray:
    """Return B = gamma p M^2/(2 (M^2 - 1))."""
    stiffness: FloatArray = 0.5 * GAMMA * pressure * squared / (squared - 1.0)
    return stiffness
