"""Supersonic flow past a cone: Taylor and Maccoll's equation integrated, and a table of it.

The integration runs from the shock to the cone with the velocity across the ray as its variable, so that it
ends exactly on the cone: v' = [v^2 u - a (2 u + v cot w)]/(a - v^2), u' = v, a = 0.2 (1 - u^2 - v^2), where
w is the ray's angle and u, v are the velocities along and across it over the greatest velocity.
"""

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike

from optitip.arrays import FloatArray, frozen
from optitip.errors import OutOfRange
from optitip.heating.compressible import (
    GAMMA,
    log_shock_loss,
    log_total_pressure,
    temperature_ratio,
)

HIGHEST_MACH = 5.0
"""The table's end: above, air's cp and the tip's own melting leave this model."""

_STEPS = 64  # of the Runge-Kutta march from the shock to the cone
_MACH_NODES = 52
_ANGLE_NODES = 52
_FINE_NODES = 10_001  # of the Mach numbers of attachment, read straight between them
_RAYS = 80  # shock angles integrated at each Mach number of the table


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ConeFlow:
    """The flow behind given conical shocks."""

    half_angle: FloatArray
    """[rad] of the cone that holds the shock"""
    pressure_ratio: FloatArray
    """pc/p1 on its surface"""
    mach: FloatArray
    """on its surface"""


def behind_shock(mach: ArrayLike, shock_angle: ArrayLike) -> ConeFlow:
    """Return the half angle [rad] of the cone that holds a conical shock, and the flow on its surface.

    v' = [v^2 u - a (2 u + v cot w)]/(a - v^2), u' = v, a = 0.2 (1 - u^2 - v^2), by the classic Runge-Kutta
    method in 64 steps; the shock's own jump before it, pc/p1 by the isentropic relation behind it.

    ``mach`` of the stream and ``shock_angle`` [rad] are of shapes that broadcast.

    Valid for shock angles above the Mach angle and below 90 degrees, gamma 1.4; outside them the answer
    means nothing. Cones under 2 degrees are ill-conditioned in the shock's angle.

    Source: Taylor & Maccoll 1933, Proc. R. Soc. A 139, 278; gamma 1.4 as in Sims 1964, NASA SP-3004.

    >>> flow = behind_shock(2.0, np.radians(31.2061))
    >>> print(np.degrees(flow.half_angle).round(3), flow.pressure_ratio.round(4), flow.mach.round(4))
    10.0 1.2925 1.834
    """
    M, beta = np.broadcast_arrays(
        np.asarray(mach, dtype=np.float64), np.asarray(shock_angle, dtype=np.float64)
    )
    normal = M * np.sin(beta)
    speed = np.sqrt(1.0 - temperature_ratio(M))
    u = speed * np.cos(beta)
    # across the shock the normal velocity falls as the density rises
    v0 = -speed * np.sin(beta) * (1.0 + 0.5 * (GAMMA - 1.0) * normal**2) / (0.5 * (GAMMA + 1.0) * normal**2)
    angle, along = _march_to_cone(beta, u, v0)
    cone_mach = along / np.sqrt(0.5 * (GAMMA - 1.0) * (1.0 - along**2))
    log_ratio = log_total_pressure(M) + log_shock_loss(normal) - log_total_pressure(cone_mach)
    return ConeFlow(half_angle=angle, pressure_ratio=np.exp(log_ratio), mach=cone_mach)


def _march_to_cone(beta: FloatArray, u: FloatArray, v0: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the ray's angle and the velocity along it where the velocity across it has fallen to zero."""
    state = np.stack([beta, u])
    scale = v0 / np.sin(beta)
    # v = scale sin(phase): in a uniform stream the phase is the ray's angle itself. Steps shrink toward the
    # cone, whose layer is as thin as its angle, and toward a weak shock, where a - v^2 nearly vanishes
    t = np.linspace(0.0, 1.0, _STEPS + 1)
    shares = (1.0 - t) ** 2 * (1.0 + 2.0 * t)
    for here, there in pairwise(shares):
        step, middle = beta * (there - here), beta * (0.5 * (here + there))
        k1 = _slope(state, scale, beta * here)
        k2 = _slope(state + 0.5 * step * k1, scale, middle)
        k3 = _slope(state + 0.5 * step * k2, scale, middle)
        k4 = _slope(state + step * k3, scale, beta * there)
        state = state + step / 6.0 * (k1 + 2.0 * (k2 + k3) + k4)
    return state[0], state[1]


def _slope(state: FloatArray, scale: FloatArray, phase: FloatArray) -> FloatArray:
    """Return d(angle, u)/d(phase) where v = scale sin(phase)."""
    angle, u = state
    v = scale * np.sin(phase)
    a = 0.5 * (GAMMA - 1.0) * (1.0 - u * u - v * v)
    turn = (a - v * v) / (v * v * u - a * (2.0 * u + v / np.tan(angle))) * scale * np.cos(phase)
    return np.stack([turn, v * turn])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ConeTable:
    """Surface pressure and Mach number of cones over (stream Mach number, half angle), gamma 1.4.

    Nodes are uniform in z = sqrt((M - 1)/(M_end - 1)) and in y = (2/pi) asin sqrt(angle/largest attached
    angle): in these the square root at the limit of attachment and the narrowing at Mach 1 are smooth.
    """

    largest_angle: FloatArray
    """(n_z,) [rad] largest half angle with an attached shock"""
    log_pressure: FloatArray
    """(n_z, n_y) ln(pc/p1)"""
    mach_defect: FloatArray
    """(n_z, n_y) 1 - Mc/M"""
    fine_angle: FloatArray
    """(n,) [rad] the largest half angle at many more Mach numbers, even in z too"""

    def largest_half_angle(self, mach: ArrayLike) -> FloatArray:
        """Return the largest half angle [rad] that keeps the shock attached, zero up to Mach 1.

        The cone's angle is a function of the shock's; where d(angle)/d(shock angle) = 0 it is largest.

        ``mach`` is of any shape and dimensionless. Valid to Mach 5, gamma 1.4; above raises OutOfRange.

        Source: Taylor & Maccoll 1933, Proc. R. Soc. A 139, 278.

        >>> round(float(np.degrees(cone_table().largest_half_angle(1.211))))  # attached from 1.211 at 20 deg
        20
        """
        z = _mach_coordinate(mach)
        rows, weights = _stencil(z, self.largest_angle.size)
        angle: FloatArray = np.sum(weights * self.largest_angle[rows], axis=0)
        return np.maximum(angle, 0.0)

    def attachment_mach(self, half_angle: ArrayLike) -> FloatArray:
        """Return the smallest Mach number with an attached shock; infinity if Mach 5 isn't enough.

        The dimensionless root M of ``largest_half_angle`` (M) = ``half_angle`` [rad], of any shape.

        Valid for gamma 1.4.

        Source: Taylor & Maccoll 1933, Proc. R. Soc. A 139, 278.

        >>> float(cone_table().attachment_mach(np.radians(30.0)).round(3))
        1.48
        """
        wanted = np.asarray(half_angle, dtype=np.float64)
        z = np.interp(wanted, self.fine_angle, np.linspace(0.0, 1.0, self.fine_angle.size), right=np.inf)
        return np.where(np.isfinite(z), _mach_of(z), np.inf)

    def surface(self, mach: ArrayLike, half_angle: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Return (pc/p1, cone Mach number), both dimensionless, on the surface of attached cones.

        ``mach`` and ``half_angle`` [rad] are of shapes that broadcast. An angle below zero counts as zero
        (pc = p1); one above the limit of attachment counts as that limit; Mach numbers below 1 as 1.

        Valid to Mach 5, gamma 1.4, within 1e-4 of direct integration; above raises OutOfRange.

        Source: Taylor & Maccoll 1933, Proc. R. Soc. A 139, 278; checked against Sims 1964, NASA SP-3004.

        >>> pressure, cone_mach = cone_table().surface(3.0, np.radians(10.0))
        >>> print(pressure.round(4), cone_mach.round(4))
        1.5511 2.7101
        """
        M, angle = np.asarray(mach, dtype=np.float64), np.asarray(half_angle, dtype=np.float64)
        rows, row_weights = _stencil(_mach_coordinate(M), self.largest_angle.size)
        largest = np.sum(row_weights * self.largest_angle[rows], axis=0)
        share = np.clip(angle / np.maximum(largest, 1e-9), 0.0, 1.0)
        columns, column_weights = _stencil(_angle_coordinate(share), _ANGLE_NODES)
        # both tables at each Mach number first: the angles are often many to one of them
        log_pressure, defect = (
            _read(np.einsum("i...,i...n->...n", row_weights, table[rows]), columns, column_weights)
            for table in (self.log_pressure, self.mach_defect)
        )
        pressure: FloatArray = np.exp(log_pressure)
        cone_mach: FloatArray = M * (1.0 - defect)
        return pressure, cone_mach


@lru_cache(maxsize=1)
def cone_table() -> ConeTable:
    """Return the table, built by direct integration at its first use (about 0.1 s) and kept.

    Its nodes hold ln(pc/p1) = 0 and 1 - Mc/M = 0 where there is no cone, else the answer of ``behind_shock``
    carried to even half angles [rad] by cubics; pressure ratios and Mach numbers are dimensionless.

    Valid from Mach 1 to 5, gamma 1.4, from no cone to the largest with an attached shock.

    Source: Taylor & Maccoll 1933, Proc. R. Soc. A 139, 278; gamma 1.4 as in Sims 1964, NASA SP-3004.

    >>> pressure, _ = cone_table().surface(2.0, np.radians(10.0))
    >>> float(pressure.round(4))  # the cone under a shock of 31.2061 degrees
    1.2925
    """
    z = np.linspace(0.0, 1.0, _MACH_NODES)
    mach = _mach_of(z[1:])[:, None]
    lowest = np.arcsin(1.0 / mach)
    detached = _detachment_angle(mach, lowest)
    # near the Mach angle the cone's angle grows as the fourth root of the shock's excess
    flow = behind_shock(mach, lowest + (detached - lowest) * np.linspace(0.0, 1.0, _RAYS + 1)[1:] ** 6)
    largest = flow.half_angle[:, -1:]
    y = _angle_coordinate(np.clip(flow.half_angle / largest, 0.0, 1.0))
    nodes = np.linspace(0.0, 1.0, _ANGLE_NODES)
    log_pressure = np.zeros((_MACH_NODES, _ANGLE_NODES))
    defect = np.zeros((_MACH_NODES, _ANGLE_NODES))
    for row in range(_MACH_NODES - 1):
        known = np.append(0.0, y[row])  # from the undisturbed stream (y = 0) to detachment (y = 1)
        log_pressure[row + 1] = _interpolated(nodes, known, np.append(0.0, np.log(flow.pressure_ratio[row])))
        defect[row + 1] = _interpolated(nodes, known, np.append(0.0, 1.0 - flow.mach[row] / mach[row]))
    ends = frozen(np.append(0.0, largest))
    rows, weights = _stencil(np.linspace(0.0, 1.0, _FINE_NODES), _MACH_NODES)
    return ConeTable(
        largest_angle=ends,
        log_pressure=frozen(log_pressure),
        mach_defect=frozen(defect),
        fine_angle=frozen(np.maximum.accumulate(np.sum(weights * ends[rows], axis=0))),
    )


def _detachment_angle(mach: FloatArray, lowest: FloatArray) -> FloatArray:
    """Return the shock angle (n, 1) at which the cone's half angle is largest."""
    room = 0.5 * np.pi - lowest
    low, high = lowest + 0.05 * room, lowest + 0.9 * room
    for _ in range(4):
        beta = low + (high - low) * np.linspace(0.0, 1.0, 13)
        best = np.argmax(behind_shock(mach, beta).half_angle, axis=1)[:, None]
        low = np.take_along_axis(beta, np.maximum(best - 1, 0), axis=1)
        high = np.take_along_axis(beta, np.minimum(best + 1, 12), axis=1)
    return 0.5 * (low + high)


def _mach_of(z: FloatArray) -> FloatArray:
    mach: FloatArray = 1.0 + (HIGHEST_MACH - 1.0) * z * z
    return mach


def _mach_coordinate(mach: ArrayLike) -> FloatArray:
    M = np.asarray(mach, dtype=np.float64)
    if M.size and M.max() > HIGHEST_MACH:
        raise OutOfRange(
            "flight.speed",
            f"Mach {M.max():.2f} lies above Mach {HIGHEST_MACH:g}, where the model of the air ends",
            "Fly slower, or give a heating table from a flow solver",
        )
    z: FloatArray = np.sqrt(np.maximum(M - 1.0, 0.0) / (HIGHEST_MACH - 1.0))
    return z


def _angle_coordinate(share: FloatArray) -> FloatArray:
    y: FloatArray = 2.0 / np.pi * np.arcsin(np.sqrt(share))
    return y


def _stencil(coordinate: FloatArray, count: int) -> tuple[np.ndarray, FloatArray]:
    """Return the four nodes round each coordinate in 0..1 and their cubic Lagrange weights, first axis 4."""
    x = np.asarray(coordinate * (count - 1))
    first = np.minimum(np.maximum(x.astype(np.int64) - 1, 0), count - 4)
    a = x - first
    b, c, d = a - 1.0, a - 2.0, a - 3.0
    fore, aft = a * b, c * d
    weights = np.empty((4, *x.shape))
    weights[0] = b * aft * (-1.0 / 6.0)
    weights[1] = a * aft * 0.5
    weights[2] = fore * d * -0.5
    weights[3] = fore * c * (1.0 / 6.0)
    return first + np.arange(4).reshape(4, *([1] * x.ndim)), weights


def _read(rows: FloatArray, columns: np.ndarray, weights: FloatArray) -> FloatArray:
    """Return values read across rows (..., n) at four columns each, by their weights."""
    first = np.arange(rows.size // _ANGLE_NODES).reshape(rows.shape[:-1]) * _ANGLE_NODES
    found: FloatArray = weights[0] * rows.take(first + columns[0])
    for column, weight in zip(columns[1:], weights[1:], strict=True):
        found += weight * rows.take(first + column)
    return found


def _interpolated(wanted: FloatArray, x: FloatArray, values: FloatArray) -> FloatArray:
    """Return ``values`` at ``wanted`` by the cubic through the four nearest of the uneven nodes ``x``."""
    first = np.clip(np.searchsorted(x, wanted) - 2, 0, x.size - 4)
    nodes = x[first + np.arange(4)[:, None]]
    total = np.zeros_like(wanted)
    for i in range(4):
        others = [j for j in range(4) if j != i]
        weight = np.prod([(wanted - nodes[j]) / (nodes[i] - nodes[j]) for j in others], axis=0)
        total += weight * values[first + i]
    return total
