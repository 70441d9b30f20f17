"""The pressure along the surface, and what a surface of each slope takes off the total pressure.

On the spherical tip modified Newtonian theory under a normal shock's stagnation pressure; along the side
the cone of the local slope (Taylor-Maccoll), and on a curved side second-order shock expansion from the
tip's end. The tip's pressure falls aft until it meets that of the cone tangent at the sphere's end; from
there on the side's holds.

No law covers the range between subsonic flow and an attached shock. There the cone's excess over Newton is
taken at the Mach number where the shock is safely attached, and fades to nothing at Mach 0.7.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from optitip.arrays import FloatArray
from optitip.heating.compressible import (
    GAMMA,
    log_shock_loss,
    log_total_pressure,
    pitot_pressure_ratio,
    stagnation_pressure_coefficient,
    temperature_ratio,
)
from optitip.heating.cone_flow import HIGHEST_MACH, cone_table
from optitip.heating.shock_expansion import expanded_pressure
from optitip.heating.stream import Stations

SLOWEST_MACH = 0.01
"""Below, the pattern of the flow no longer depends on the Mach number, and is taken at this one."""

_FADE_MACH = 0.7  # where the excess of the tangent cone over Newton has faded away
_SAFELY_ATTACHED = 1.1  # times (attachment Mach number - 1)
_BLUNT_FROM, _BLUNT_TO = np.radians(40.0), np.radians(50.0)  # steeper surfaces follow Newton alone
_MATCH_WIDTH = 0.1  # of Cp,max: rounding of the corner where Newton meets the cone
_MANY = 40  # stations along a side, of which every second one is enough for its expansion
_EXPANDS_FROM, _EXPANDS_TO = 1.1, 1.4  # Mach number on the cone: from tangent cone to shock expansion


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SideFlow:
    """The flow on the cone of each slope; every array is (n_t, n_s)."""

    pressure: FloatArray
    """pressure coefficient"""
    loss: FloatArray
    """ln of the total pressure's loss across the cone's shock, zero or negative"""
    mach: FloatArray
    """on the cone; from the slowest at which the shock is safely attached on it falls as the stream's"""


def gradient_factor(mach: ArrayLike) -> FloatArray:
    """Return K Rn/V, the dimensionless velocity gradient at a sphere's stagnation point.

    Mach 1.2 and above: K = (1/Rn) sqrt(2 (pt2 - p)/rho0). Mach 0.8 and below:
    K = 1.5 (V/Rn) (1 - 0.252 M^2 - 0.0175 M^4). Between them a smooth blend of the two.

    ``mach`` is of any shape and at least 0.

    Valid to Mach 6.8 (measured pressures agree from 1.2); no limit is enforced here.

    Source: Crawford & McCauley 1957, NACA Report 1323; subsonic form of Hantzsche & Wendt, from memory.

    >>> gradient_factor([0.0, 2.0]).round(4)  # 1.5; sqrt(1.6573 x 1.8/5.6404)
    array([1.5   , 0.7272])
    """
    M = np.asarray(mach, dtype=np.float64)
    newton = np.sqrt(stagnation_pressure_coefficient(M) / temperature_ratio(M) / pitot_pressure_ratio(M))
    slow = np.minimum(M, 1.2) ** 2
    subsonic = 1.5 * (1.0 - 0.252 * slow - 0.0175 * slow * slow)
    factor: FloatArray = subsonic + smooth_step((M - 0.8) / 0.4) * (newton - subsonic)
    return factor


def flat_face_gradient_factor(mach: ArrayLike) -> FloatArray:
    """Return K R/V, the dimensionless velocity gradient at the middle of a flat face of radius R.

    Mach 1.2 and above: K = 0.3 of a sphere's of that radius. Mach 0.8 and below: K R/V = 2/pi of potential
    flow at rest, falling with the sphere's. Between them a smooth blend. The film goes with its root: about
    half.

    ``mach`` is of any shape and at least 0.

    Valid for a sharp-edged face square to the stream. Tips are reckoned as spheres; a cap so flat that this
    gradient is above its own sphere's is warned of, with what its film reads low.

    Source: Boison & Curtiss 1959 (0.3, from memory); Lamb, Hydrodynamics (the disc, from memory); measured by
    Stoney 1958, NACA RM L58E05a, as about half the hemisphere's heating.

    >>> flat_face_gradient_factor([0.0, 2.0]).round(4)  # 2/pi; 0.3 x 0.7272
    array([0.6366, 0.2182])
    """
    M = np.asarray(mach, dtype=np.float64)
    slow, fast = 2.0 / np.pi / 1.5, 0.3
    ratio = slow + smooth_step((M - 0.8) / 0.4) * (fast - slow)
    return ratio * gradient_factor(M)


def smooth_step(share: ArrayLike) -> FloatArray:
    """Return 0 below 0, 1 above 1 and 3x^2 - 2x^3 between.

    ``share`` is of any shape and dimensionless. Valid for any number.

    Source: common practice, no source.

    >>> smooth_step([-1.0, 0.5, 2.0])
    array([0. , 0.5, 1. ])
    """
    x = np.clip(np.asarray(share, dtype=np.float64), 0.0, 1.0)
    step: FloatArray = x * x * (3.0 - 2.0 * x)
    return step


def side_flow(mach: ArrayLike, slope: ArrayLike) -> SideFlow:
    """Return the flow on the cone of each ``slope`` [rad], all of it dimensionless.

    Tangent cone and its bridge to slower flow.

    Attached (Mach number at least 1 + 1.1 (Ma - 1), Ma the smallest with an attached shock): Taylor-Maccoll.
    Slower: Cp = Cp,max sin^2(slope) + S E, where E is the cone's excess over Newton at that Mach number and S
    falls smoothly to 0 at Mach 0.7; the loss keeps its share of the normal shock's. Slopes from 40 to 50
    degrees pass over to Newton alone; a negative slope counts as zero (no expansion on a boat tail).

    ``mach`` (n_t, 1) and ``slope`` (n_s,) [rad] broadcast to (n_t, n_s).

    Valid to Mach 5; above raises OutOfRange. Below attachment it is an engineering choice, not a law.

    Source: Taylor & Maccoll 1933, Proc. R. Soc. A 139, 278; the bridge: no source.

    >>> float(side_flow(3.0, np.radians(10.0)).pressure.round(4))  # (1.55113 - 1)/(0.7 x 9)
    0.0875
    """
    M = np.asarray(mach, dtype=np.float64)
    theta = np.maximum(np.asarray(slope, dtype=np.float64), 0.0)
    slender = np.minimum(theta, _BLUNT_TO)
    cone = cone_table()
    attached = np.minimum(1.0 + _SAFELY_ATTACHED * (cone.attachment_mach(slender) - 1.0), HIGHEST_MACH)
    # a slower stream has the excess of the Mach number of its slope, which is one to all of them
    slower, own = attached > M, _Cone.at(M, slender)
    held = _Cone.at(attached, slender)
    excess, share, cone_mach = (
        np.where(slower, one, other)
        for one, other in (
            (held.excess, own.excess),
            (held.share, own.share),
            (held.mach - attached + M, own.mach),
        )
    )
    fade = smooth_step((M - _FADE_MACH) / (attached - _FADE_MACH))
    fade *= smooth_step((_BLUNT_TO - theta) / (_BLUNT_TO - _BLUNT_FROM))
    pressure = stagnation_pressure_coefficient(M) * np.sin(theta) ** 2 + fade * excess
    return SideFlow(pressure=pressure, loss=share * log_shock_loss(M), mach=cone_mach)


class _Cone(NamedTuple):
    """Attached flow on cones: its pressure's excess over Newton, its share of a normal shock's loss, Mach."""

    excess: FloatArray
    share: FloatArray
    mach: FloatArray

    @classmethod
    def at(cls, mach: FloatArray, slope: FloatArray) -> "_Cone":
        """Return the flow at Mach numbers and slopes [rad] of shapes that broadcast."""
        ratio, cone_mach = cone_table().surface(mach, slope)
        newton = stagnation_pressure_coefficient(mach) * np.sin(slope) ** 2
        loss = np.log(ratio) + log_total_pressure(cone_mach) - log_total_pressure(mach)
        return cls(
            excess=(ratio - 1.0) / (0.5 * GAMMA * mach * mach) - newton,
            share=np.clip(loss / np.minimum(log_shock_loss(mach), -1e-9), 0.0, 1.0),
            mach=cone_mach,
        )


def pressure_coefficient(mach: ArrayLike, *, stations: Stations) -> FloatArray:
    """Return Cp = (p - p1)/(0.7 p1 M^2), (n_t, n_s), dimensionless, along the surface.

    Tip: Cp = Cp,max (1 - A cos^2 slope), A = (gradient factor/Newton's)^2, 1 from Mach 1.2 and 2.25 at
    rest, so that the gradient at the stagnation point is ``gradient_factor``'s; side: ``side_flow`` and, on a
    curved one, ``expanded_pressure``. On the sphere the larger of the tip's and of the cone tangent at its
    end holds, with the corner rounded off.

    ``mach`` (n_t,); ``stations`` has n_s points with their arc length [m] and slope [rad].

    Valid to Mach 5; above raises OutOfRange. On sharp tangent ogives within 1 % of p from Mach 1.5 to 3.

    Source: modified Newtonian theory as in Crawford & McCauley 1957, NACA Report 1323; Taylor & Maccoll 1933;
    Syvertson & Dennis 1957, NACA Report 1328.

    >>> from optitip.heating.stream import stations_of
    >>> sphere = stations_of(arc_length=[0.0, 0.005], radius=[0.0, 0.00479], slope=[1.5708, 1.0708],
    ...     tip_radius=0.01)
    >>> pressure_coefficient([2.0], stations=sphere).round(3)  # 1.6573, and cos^2(0.5 rad) of it
    array([[1.657, 1.276]])
    """
    return pressure_and_loss(mach, stations=stations)[0]


def pressure_and_loss(mach: ArrayLike, *, stations: Stations) -> tuple[FloatArray, FloatArray]:
    """Return ``pressure_coefficient`` and the ln of the total pressure's loss across the shock of each slope.

    The loss (n_t, n_s), zero or negative, is ``side_flow``'s; on the tip that of the cone tangent at its end:
    what a body without a blunt tip would lose. Both are dimensionless: p = p1 (1 + 0.7 M^2 Cp).

    ``mach`` (n_t,); ``stations`` has n_s points with their arc length [m] and slope [rad].

    Valid to Mach 5; above raises OutOfRange.

    Source: as ``pressure_coefficient``.

    >>> from optitip.heating.stream import stations_of
    >>> cone = stations_of(arc_length=[0.1, 0.3], radius=[0.0174, 0.0521], slope=[0.174533] * 2,
    ...     tip_radius=1e-3)
    >>> np.exp(pressure_and_loss([3.0], stations=cone)[1]).round(4)  # 3 sin 21.7147 deg = 1.11
    array([[0.9986, 0.9986]])
    """
    M = np.maximum(np.asarray(mach, dtype=np.float64), SLOWEST_MACH)[:, None]
    tip = int(np.searchsorted(stations.arc_length, stations.joint_arc))
    # on the sphere the side's pressure is that of the cone tangent at its end, which comes first
    side = side_flow(M, np.append(stations.joint_slope, stations.slope[tip:]))
    start = side.pressure[:, :1]
    largest = stagnation_pressure_coefficient(M)
    newton = largest / temperature_ratio(M) / pitot_pressure_ratio(M)
    steepness = gradient_factor(M) ** 2 / newton
    round_it = largest * (1.0 - steepness * np.cos(stations.slope[:tip]) ** 2)
    at_joint = largest * (1.0 - steepness * np.cos(stations.joint_slope) ** 2)
    width = np.clip(start - at_joint, 1e-9, _MATCH_WIDTH * largest)
    overlap = np.maximum(width - np.abs(round_it - start), 0.0)
    blended = np.maximum(round_it, start) + overlap * overlap / (4.0 * width)
    aft = _expanded(M, stations=stations, tip=tip, side=side)
    loss = np.concatenate([np.repeat(side.loss[:, :1], tip, axis=1), side.loss[:, 1:]], axis=1)
    return np.concatenate([np.minimum(blended, largest), aft], axis=1), loss


def _expanded(mach: FloatArray, *, stations: Stations, tip: int, side: SideFlow) -> FloatArray:
    """Return Cp (n_t, n_s - tip) along the side by shock expansion, where the flow on it is fast enough."""
    pressure = side.pressure[:, 1:].copy()
    # a frustum ends on each station or each second one, on the last always
    ends = np.arange(stations.slope.size - 1, tip - 1, -1 if pressure.shape[1] < _MANY else -2)[::-1]
    columns = np.append(0, ends - tip + 1)
    share = smooth_step((side.mach[:, columns[1:]] - _EXPANDS_FROM) / (_EXPANDS_TO - _EXPANDS_FROM))
    fast = np.flatnonzero(share.any(axis=1))
    if fast.size == 0:
        return pressure
    s, dynamic = stations.arc_length, 0.5 * GAMMA * mach[fast] ** 2
    at = np.append(stations.joint_arc, s[ends])
    cone = 1.0 + dynamic * side.pressure[np.ix_(fast, columns)]
    ratio = expanded_pressure(
        cone,
        log_total=(log_total_pressure(mach[fast]) + side.loss[fast, :1])[:, 0],
        trusted=share[fast],
        arc_length=at,
        radius=np.append(np.interp(stations.joint_arc, s, stations.radius), stations.radius[ends]),
        slope=np.append(stations.joint_slope, stations.slope[ends]),
    )
    excess = np.zeros_like(cone)
    excess[:, 1:] = ratio - cone[:, 1:]
    pressure[fast] += excess @ _straight(at, wanted=s[tip:]) / dynamic
    return pressure


def _straight(have: FloatArray, *, wanted: FloatArray) -> FloatArray:
    """Return the matrix (n_have, n_wanted) of straight lines between places."""
    right = np.clip(np.searchsorted(have, wanted), 1, have.size - 1)
    width = have[right] - have[right - 1]
    share = np.divide(wanted - have[right - 1], width, out=np.ones_like(wanted), where=width > 0.0)
    matrix, own = np.zeros((have.size, wanted.size)), np.arange(wanted.size)
    matrix[right - 1, own] = 1.0 - share
    matrix[right, own] = share
    return matrix
