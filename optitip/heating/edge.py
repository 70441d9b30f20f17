"""The state of the air at the edge of the boundary layer, along the surface and in time.

Pressure: on the spherical tip modified Newtonian theory under a normal shock's stagnation pressure; along the
side the cone of the local slope (Taylor-Maccoll). The tip's pressure falls aft until it meets that of the
cone tangent at the sphere's end, which holds from there on.
Entropy: behind a normal shock on the tip, behind the local cone's own shock along the side, passing from one
to the other over three tip radii aft of the sphere. (A blunt tip's entropy layer reaches further in truth.)
Temperature: from the total enthalpy, with the gas's own cp(T).

No law covers the range between subsonic flow and an attached shock. There the cone's excess over Newton is
taken at the Mach number where the shock is safely attached, and fades to nothing at Mach 0.7.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from optitip.arrays import FloatArray
from optitip.heating.compressible import (
    GAMMA,
    log_shock_loss,
    log_total_pressure,
    mach_from_log_total_pressure,
    pitot_pressure_ratio,
    stagnation_pressure_coefficient,
    temperature_ratio,
)
from optitip.heating.cone_flow import HIGHEST_MACH, cone_table
from optitip.heating.stream import Stations, Stream
from optitip.properties.air import Gas

SLOWEST_MACH = 0.01
"""Below, the pattern of the flow no longer depends on the Mach number, and is taken at this one."""

_FADE_MACH = 0.7  # where the excess of the tangent cone over Newton has faded away
_SAFELY_ATTACHED = 1.1  # times (attachment Mach number - 1)
_BLUNT_FROM, _BLUNT_TO = np.radians(40.0), np.radians(50.0)  # steeper surfaces follow Newton alone
_MATCH_WIDTH = 0.1  # of Cp,max: rounding of the corner where Newton meets the cone
_SWALLOWING = 3.0  # tip radii over which the side's entropy replaces the tip's


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Edge:
    """The air at the edge of the boundary layer; every array is (n_t, n_s) but where it says so."""

    pressure: FloatArray
    """[Pa]"""
    temperature: FloatArray
    """[K]"""
    enthalpy: FloatArray
    """[J/kg]"""
    speed: FloatArray
    """[m/s]"""
    mach: FloatArray
    """by the gas's own speed of sound"""
    reynolds: FloatArray
    """rho u s/mu with the arc length from the stagnation point"""
    stagnation_pressure: FloatArray
    """(n_t,) [Pa] at the stagnation point"""
    velocity_gradient: FloatArray
    """(n_t,) [1/s] du/ds at the stagnation point"""


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


def side_flow(mach: ArrayLike, slope: ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Return (Cp, ln of the total pressure's loss), dimensionless, on a surface of ``slope`` [rad].

    Tangent cone and its bridge to slower flow.

    Attached (Mach number at least 1 + 1.1 (Ma - 1), Ma the smallest with an attached shock): Taylor-Maccoll.
    Slower: Cp = Cp,max sin^2(slope) + S E, where E is the cone's excess over Newton at that Mach number and S
    falls smoothly to 0 at Mach 0.7; the loss keeps its share of the normal shock's. Slopes from 40 to 50
    degrees pass over to Newton alone; a negative slope counts as zero (no expansion on a boat tail).

    ``mach`` (n_t, 1) and ``slope`` (n_s,) [rad] broadcast to (n_t, n_s).

    Valid to Mach 5; above raises OutOfRange. Below attachment it is an engineering choice, not a law.

    Source: Taylor & Maccoll 1933, Proc. R. Soc. A 139, 278; the bridge: no source.

    >>> pressure, _ = side_flow(3.0, np.radians(10.0))
    >>> float(pressure.round(4))  # (1.55113 - 1)/(0.7 x 9)
    0.0875
    """
    M = np.asarray(mach, dtype=np.float64)
    theta = np.clip(np.asarray(slope, dtype=np.float64), 0.0, None)
    slender = np.minimum(theta, _BLUNT_TO)
    table = cone_table()
    attached = np.minimum(1.0 + _SAFELY_ATTACHED * (table.attachment_mach(slender) - 1.0), HIGHEST_MACH)
    fast = np.maximum(M, attached)
    ratio, cone_mach = table.surface(fast, slender)
    sine = np.sin(slender)
    excess = (ratio - 1.0) / (0.5 * GAMMA * fast * fast) - stagnation_pressure_coefficient(fast) * sine * sine
    fade = smooth_step((M - _FADE_MACH) / (attached - _FADE_MACH))
    fade = fade * smooth_step((_BLUNT_TO - theta) / (_BLUNT_TO - _BLUNT_FROM))
    pressure = stagnation_pressure_coefficient(M) * np.sin(theta) ** 2 + fade * excess
    cone_loss = np.log(ratio) + log_total_pressure(cone_mach) - log_total_pressure(fast)
    normal, normal_fast = log_shock_loss(M), log_shock_loss(fast)
    share = np.clip(cone_loss / np.minimum(normal_fast, -1e-9), 0.0, 1.0)
    return pressure, share * normal


def pressure_and_loss(mach: ArrayLike, *, stations: Stations) -> tuple[FloatArray, FloatArray]:
    """Return (Cp, ln of the total pressure's loss) (n_t, n_s), dimensionless, along the surface.

    Tip: Cp = Cp,max (1 - A cos^2 slope), A = (gradient factor/Newton's)^2, 1 from Mach 1.2 and 2.25 at
    rest, so that the gradient at the stagnation point is ``gradient_factor``'s; side: ``side_flow``. On the
    sphere the larger of the tip's and of the cone tangent at its end holds, with the corner rounded off.

    ``mach`` (n_t,); ``stations`` has n_s points with their arc length [m] and slope [rad].

    Valid to Mach 5; above raises OutOfRange.

    Source: modified Newtonian theory as in Crawford & McCauley 1957, NACA Report 1323; Taylor & Maccoll 1933.

    >>> from optitip.heating.stream import stations_of
    >>> sphere = stations_of(arc_length=[0.0, 0.005], radius=[0.0, 0.00479], slope=[1.5708, 1.0708],
    ...     tip_radius=0.01)
    >>> pressure_and_loss([2.0], stations=sphere)[0].round(3)  # 1.6573, and cos^2(0.5 rad) of it
    array([[1.657, 1.276]])
    """
    M = np.maximum(np.asarray(mach, dtype=np.float64), SLOWEST_MACH)[:, None]
    s, slope = stations.arc_length, stations.slope
    on_tip = s < stations.joint_arc
    # on the sphere the side's pressure is that of the cone tangent at its end
    side, side_loss = side_flow(
        M, np.append(np.where(on_tip, stations.joint_slope, slope), stations.joint_slope)
    )
    at_joint = side[:, -1:]
    side, side_loss = side[:, :-1], side_loss[:, :-1]
    largest = stagnation_pressure_coefficient(M)
    newton = largest / temperature_ratio(M) / pitot_pressure_ratio(M)
    steepness = gradient_factor(M) ** 2 / newton
    tip = largest * (1.0 - steepness * np.cos(slope) ** 2)
    tip_at_joint = largest * (1.0 - steepness * np.cos(stations.joint_slope) ** 2)
    width = np.clip(at_joint - tip_at_joint, 1e-9, _MATCH_WIDTH * largest)
    overlap = np.maximum(width - np.abs(tip - side), 0.0)
    blended = np.maximum(tip, side) + overlap * overlap / (4.0 * width)
    pressure = np.where(on_tip, np.minimum(blended, largest), side)
    swallowed = smooth_step((s - stations.joint_arc) / (_SWALLOWING * stations.tip_radius))
    loss = log_shock_loss(M) + swallowed * (side_loss - log_shock_loss(M))
    return pressure, loss


def edge_state(stream: Stream, *, stations: Stations, gas: Gas) -> Edge:
    """Return the boundary layer's edge at each time and station: pressure [Pa], speed [m/s] and the rest.

    pe = p (1 + 0.7 M^2 Cp); u/V from the isentropic expansion of the edge's total pressure to pe at gamma
    1.4; he = h0 - u^2/2 and Te = T(he) with the gas's cp(T); Re = rho u s/mu.

    ``stream`` has n_t times, with speed [m/s], temperature [K] and pressure [Pa]; ``stations`` n_s points,
    with arc length [m] and slope [rad].

    Valid from Mach 0 to 5; above raises OutOfRange. Continuum flow: at 30 km and 0.1 m Kn is 4e-5. The
    boundary layer's own thickness and the angle of attack are left out.

    Source: modified Newtonian theory (Crawford & McCauley 1957, NACA Report 1323); Taylor & Maccoll 1933,
    Proc. R. Soc. A 139, 278; the bridge between them: no source.

    >>> from optitip.heating.stream import stations_of, stream_of
    >>> from optitip.properties.air import CALORIC_AIR
    >>> air = stream_of(speed=[898.6], temperature=[223.252], pressure=[26499.9], gas=CALORIC_AIR)
    >>> cone = stations_of(arc_length=[0.1, 0.3], radius=[0.0174, 0.0521], slope=[0.174533] * 2,
    ...     tip_radius=1e-3)
    >>> edge_state(air, stations=cone, gas=CALORIC_AIR).temperature.round(1)  # 1.13408 x 223.252
    array([[253.2, 253.2]])
    """
    M = np.maximum(stream.mach, SLOWEST_MACH)
    cp, loss = pressure_and_loss(stream.mach, stations=stations)
    ahead = log_total_pressure(M)[:, None]
    expansion = ahead + loss - np.log1p(0.5 * GAMMA * (M * M)[:, None] * cp)
    local = mach_from_log_total_pressure(expansion)
    # u^2 over the greatest speed squared is 1 - T/T0 on either side
    share = (1.0 - temperature_ratio(local)) / (1.0 - temperature_ratio(M))[:, None]
    u = stream.speed[:, None] * np.sqrt(share)
    he = stream.total_enthalpy[:, None] - 0.5 * u * u
    Te = gas.temperature(he)
    pe = stream.pressure[:, None] * (1.0 + 0.5 * GAMMA * (stream.mach**2)[:, None] * cp)
    rho = pe / (gas.gas_constant * Te)
    return Edge(
        pressure=pe,
        temperature=Te,
        enthalpy=he,
        speed=u,
        mach=u / gas.sound_speed(Te),
        reynolds=rho * u * stations.arc_length / gas.viscosity(Te),
        stagnation_pressure=stream.pressure * pitot_pressure_ratio(stream.mach),
        velocity_gradient=gradient_factor(stream.mach) * stream.speed / stations.tip_radius,
    )
