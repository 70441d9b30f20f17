"""The air ahead of the body in time, and the stations along it where the heating is wanted."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from optitip.arrays import FloatArray, frozen
from optitip.errors import OutOfRange, UserMistakes
from optitip.heating.cone_flow import HIGHEST_MACH
from optitip.heating.integrals import weighted_integral
from optitip.properties.air import Gas

_ON_SPHERE = 0.02  # rad: how far a station's slope may lie from the sphere's and still be on it
_STEEPEST_SIDE = float(np.radians(40.0))  # steeper surfaces belong to the tip, where Newton's law holds


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stream:
    """The undisturbed air, a row a time; every array is (n_t,)."""

    speed: FloatArray
    """[m/s]"""
    temperature: FloatArray
    """[K]"""
    pressure: FloatArray
    """[Pa]"""
    mach: FloatArray
    """by the gas's own speed of sound"""
    total_enthalpy: FloatArray
    """[J/kg] h0 = h(T) + V^2/2"""


def stream_of(*, speed: ArrayLike, temperature: ArrayLike, pressure: ArrayLike, gas: Gas) -> Stream:
    """Return the stream of ``speed`` [m/s] through air of ``temperature`` [K] and ``pressure`` [Pa].

    h0 = h(T) + V^2/2, M = V/a(T). All arguments are (n_t,) or floats.

    Valid from Mach 0 to 5; above raises OutOfRange.

    Source: the energy equation.

    >>> from optitip.properties.air import CALORIC_AIR
    >>> stream = stream_of(speed=[600.0], temperature=[250.0], pressure=[5e4], gas=CALORIC_AIR)
    >>> stream.mach.round(3), stream.total_enthalpy.round()  # 600/316.97; 251171 + 180000
    (array([1.893]), array([431171.]))
    """
    V, T, p = (np.atleast_1d(np.asarray(v, dtype=np.float64)) for v in (speed, temperature, pressure))
    mach = V / gas.sound_speed(T)
    if mach.size and mach.max() > HIGHEST_MACH:
        raise OutOfRange(
            "flight.speed",
            f"Mach {mach.max():.2f} lies above Mach {HIGHEST_MACH:g}, where the model of the air ends",
            "Fly slower, or give a heating table from a flow solver",
        )
    return Stream(
        speed=frozen(V),
        temperature=frozen(T),
        pressure=frozen(p),
        mach=frozen(mach),
        total_enthalpy=frozen(gas.enthalpy(T) + 0.5 * V * V),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stations:
    """Points along the outline from the stagnation point aft, where the heating is wanted."""

    arc_length: FloatArray
    """(n_s,) [m] from the stagnation point, strictly increasing"""
    radius: FloatArray
    """(n_s,) [m] from the axis"""
    slope: FloatArray
    """(n_s,) [rad] of the tangent against the axis: pi/2 at the stagnation point, negative on a boat tail"""
    tip_radius: float
    """[m] of the sphere at the tip"""
    joint_arc: float
    """[m] arc length at which the tip ends and the side begins"""
    joint_slope: float
    """[rad] slope there"""
    laminar_growth: FloatArray
    """(n_s, n_s) turns f(s) into the integral of f r^2 ds from the tip on, by which a laminar layer grows"""
    turbulent_growth: FloatArray
    """(n_s, n_s) the same of f r^(5/4) ds, by which a turbulent one does"""


def stations_of(*, arc_length: ArrayLike, radius: ArrayLike, slope: ArrayLike, tip_radius: float) -> Stations:
    """Return the stations, with the end of the tip found from the slopes.

    On the sphere slope = pi/2 - s/Rn; it ends where the slopes behind, drawn on straight, meet that line.
    Where the surface is still steeper than 40 degrees there, the tip ends where it falls to that.

    ``arc_length`` (n_s,) [m], ``radius`` (n_s,) [m], ``slope`` (n_s,) [rad], ``tip_radius`` [m] above zero.

    Valid for a round tip; a tip radius of zero raises UserMistakes.

    Source: geometry.

    >>> import math
    >>> s = [0.0, 0.004, 0.008, 0.05, 0.1]  # a sphere of 10 mm that ends at 30 degrees
    >>> cone = [max(math.pi / 6, math.pi / 2 - x / 0.01) for x in s]
    >>> f"{stations_of(arc_length=s, radius=s, slope=cone, tip_radius=0.01).joint_arc:.5f}"  # 0.01 pi/3
    '0.01047'
    """
    if not tip_radius > 0.0:
        raise UserMistakes.one(
            "outline.tip_radius",
            f"a tip radius of {tip_radius:g} m heats without limit at its point",
            "Give the radius the tip is turned to, like '1 mm'",
        )
    s, theta = frozen(arc_length), frozen(slope)
    arc, joint_slope = _joint(s, theta, tip_radius)
    return Stations(
        arc_length=s,
        radius=frozen(radius),
        slope=theta,
        tip_radius=float(tip_radius),
        joint_arc=arc,
        joint_slope=joint_slope,
        laminar_growth=frozen(weighted_integral(s, radius, exponent=2.0)),
        turbulent_growth=frozen(weighted_integral(s, radius, exponent=1.25)),
    )


def _joint(s: FloatArray, slope: FloatArray, tip_radius: float) -> tuple[float, float]:
    off = np.abs(slope - (0.5 * np.pi - s / tip_radius)) > _ON_SPHERE
    first = int(np.argmax(off)) if off.any() else s.size
    if first == s.size:
        return float(s[-1]), float(slope[-1])
    last = min(first + 1, s.size - 1)
    run = s[last] - s[first]
    turn = (slope[last] - slope[first]) / run if run > 0.0 else 0.0
    # slope[first] + turn (x - s[first]) = pi/2 - x/Rn
    arc = (0.5 * np.pi - slope[first] + turn * s[first]) / (turn + 1.0 / tip_radius)
    arc = float(np.clip(arc, 0.0, s[first]))
    joint_slope = float(0.5 * np.pi - arc / tip_radius)
    return (arc, joint_slope) if joint_slope <= _STEEPEST_SIDE else _slender_from(s, slope)


def _slender_from(s: FloatArray, slope: FloatArray) -> tuple[float, float]:
    slender = slope <= _STEEPEST_SIDE
    first = int(np.argmax(slender))
    if not slender.any() or first == 0:
        return float(s[0 if slender.any() else -1]), float(slope[0 if slender.any() else -1])
    share = (slope[first - 1] - _STEEPEST_SIDE) / (slope[first - 1] - slope[first])
    return float(s[first - 1] + share * (s[first] - s[first - 1])), _STEEPEST_SIDE
