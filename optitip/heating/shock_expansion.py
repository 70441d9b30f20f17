"""Second-order shock expansion: the pressure along a curved side in supersonic flow."""

from typing import NamedTuple

import numpy as np

from optitip.arrays import FloatArray
from optitip.heating.compressible import GAMMA

_SLOWEST = 1.05  # Mach number below which Prandtl and Meyer's expansion is taken at this one
_SHARE = (GAMMA - 1.0) / GAMMA
_LEAST_GAP = 1e-6  # of the stream's pressure: keeps the decay's rate finite where the cone's pressure is met


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
    step = np.diff(arc_length)
    bend = 0.5 * GAMMA / np.maximum(radius[:-1], 1e-9)
    sine = np.sin(np.append(slope[0], middle))
    cone = 0.5 * (cone_pressure[:, :-1] + cone_pressure[:, 1:]).T
    fading = ((1.0 / np.maximum(trusted, 1e-9) - 1.0) / np.maximum(radius[1:], 1e-9) * step).T
    turns = np.diff(np.append(slope[0], middle))
    # the level is ln(5 (p0/p)^(2/7)), so that its exponential is 5 + M^2
    top = log_total + np.log(5.0) / _SHARE
    pressure = cone_pressure[:, 0]
    level = (top - np.log(pressure)) * _SHARE
    state = _state(level)
    gradient, found = np.zeros_like(pressure), np.empty_like(cone)
    rows = zip(
        cone, fading, turns.tolist(), step.tolist(), (bend * sine[:-1]).tolist(), (bend * sine[1:]).tolist(),
        strict=True,
    )  # fmt: skip
    for i, (aim, fade, turn, length, before, after) in enumerate(rows):
        level = _turned(level, state.rate, turn)
        ahead, state = state, _state(level)
        pressure = np.exp(top - level * (1.0 / _SHARE))
        gradient = gradient * (ahead.area / ahead.stiffness) + ahead.area * before - state.area * after
        gradient *= pressure * state.stiffness / state.area
        gap = aim - pressure
        decay = np.abs(gradient) * length / (np.abs(gap) + _LEAST_GAP)
        left = np.exp(-(decay + fade))
        found[i] = pressure = aim - gap * left
        gradient = gradient * left / pressure
        level = (top - np.log(pressure)) * _SHARE
        state = _state(level)
    # a frustum ends on a station with half a turn to go, which where the law isn't trusted the cone takes
    level = (top - np.log(found)) * _SHARE
    level = _turned(level, _state(level).rate, (slope[1:] - middle)[:, None] * trusted.T)
    ended: FloatArray = np.exp(top - level * (1.0 / _SHARE))
    ended += (1.0 - trusted.T) * (cone_pressure[:, 1:].T - cone)
    return ended.T


class _State(NamedTuple):
    """What depends on the Mach number alone, and so on the level: each (n_t,)."""

    rate: FloatArray
    """M^2/sqrt(M^2 - 1)"""
    stiffness: FloatArray
    """M^2/(M^2 - 1), times gamma p/2 it is B"""
    area: FloatArray
    """(1/M) (5 + M^2)^3: W but for a factor, which cancels"""


def _state(level: FloatArray) -> _State:
    five_more = np.maximum(np.exp(level), 5.0 + _SLOWEST**2)
    squared = five_more - 5.0
    beyond = five_more - 6.0
    area = five_more * five_more
    area *= five_more
    area /= np.sqrt(squared)
    return _State(squared / np.sqrt(beyond), squared / beyond, area)


def _turned(level: FloatArray, rate: FloatArray, turn: FloatArray | float) -> FloatArray:
    """Return the level past a corner of ``turn``, by the midpoint rule: d level = -gamma 2/7 rate d."""
    half = np.maximum(np.exp(level - rate * (0.5 * GAMMA * _SHARE * turn)), 5.0 + _SLOWEST**2)
    turned: FloatArray = level - (half - 5.0) / np.sqrt(half - 6.0) * (GAMMA * _SHARE * turn)
    return turned
