"""The flight as the heating sees it: what comes head on, what hangs sheltered, and when that changes."""

from dataclasses import dataclass

import numpy as np

from optitip.arrays import BoolArray, FloatArray
from optitip.flight.trajectory import Flight, Phase
from optitip.heating.pressure import flat_face_gradient_factor, gradient_factor
from optitip.heating.stream import Stations
from optitip.inputs.study_tables import Attitude
from optitip.properties.air import Gas

_BOTH_SIDES = 1e-3  # s between the two sides of a change of attitude
_SLIP = 0.01  # Knudsen number from which the air isn't a continuum
_STEEPEST_RIM = float(np.radians(45.0))  # a steeper end of the stations is no rim
_CROSS_MACH = 0.8  # of the descent across the stream: its law is incompressible


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Course:
    """The flight on the heating's own times: each change of attitude has a time on either side."""

    time: FloatArray
    """(n_t,) [s]"""
    speed: FloatArray
    """(n_t,) [m/s] of the air past the tip"""
    temperature: FloatArray
    """(n_t,) [K]"""
    pressure: FloatArray
    """(n_t,) [Pa]"""
    ahead: BoolArray
    """(n_t,) the stream comes head on"""
    sheltered: BoolArray
    """(n_t,) the tip hangs inside a shell"""
    grounded: BoolArray
    """(n_t,) the tip is on the pad or has landed"""


def course_of(flight: Flight, *, wind: float, lit: bool) -> Course:
    """Return the flight with a time on either side, 1 ms apart, of each change of attitude or of light.

    ``wind`` [m/s] blows across the tip where the stream doesn't come head on and is slower; the tip
    is ``lit`` on the ground alone.
    """
    phase = flight.phase
    ahead = (phase == Phase.BOOST) | (phase == Phase.COAST)
    ahead |= (phase == Phase.DESCENT) & (flight.attitude is Attitude.FORWARD)
    sheltered = (phase == Phase.DESCENT) & (flight.attitude is Attitude.INSIDE)
    grounded = (phase == Phase.PAD) | (phase == Phase.SOAK)
    changes = np.flatnonzero(np.diff(ahead) | np.diff(sheltered) | (np.diff(grounded) & lit))
    changes = changes[np.diff(flight.time)[changes] > 2.0 * _BOTH_SIDES]
    before = flight.time[changes + 1] - _BOTH_SIDES
    time = np.insert(flight.time, changes + 1, before)

    def at(values: FloatArray) -> FloatArray:
        return np.interp(time, flight.time, values)

    ahead, sheltered, grounded = (
        np.insert(flags, changes + 1, flags[changes]) for flags in (ahead, sheltered, grounded)
    )
    speed = at(flight.speed)
    return Course(
        time=time,
        speed=np.where(ahead, speed, np.maximum(speed, wind)),
        temperature=at(flight.temperature),
        pressure=at(flight.pressure),
        ahead=ahead,
        sheltered=sheltered,
        grounded=grounded,
    )


def warnings_of(course: Course, *, stations: Stations, gas: Gas) -> tuple[str, ...]:
    """Return what a person should know of where the course leaves the laws used."""
    T, p = course.temperature, course.pressure
    mach = course.speed / gas.sound_speed(T)
    free_path = gas.viscosity(T) / p * np.sqrt(0.5 * np.pi * gas.gas_constant * T)
    found = []
    thin = course.ahead & (mach > 1.0) & (free_path > _SLIP * float(stations.radius.max(initial=1e-3)))
    if thin.any():
        found.append(
            f"from {course.time[thin][0]:.1f} s the air is too thin for a continuum: the films read high"
        )
    across = ~course.ahead & ~course.sheltered & (mach > _CROSS_MACH)
    if across.any():
        found.append(
            f"the descent across the stream reaches Mach {mach[across].max():.1f}, where the law for a"
            " cylinder across an incompressible stream is a guess"
        )
    if course.ahead.any():
        found += _flat(stations, mach=float(mach[course.ahead].max()))
    return tuple(found)


def _flat(stations: Stations, *, mach: float) -> list[str]:
    """Return a line if the tip is so flat a cap that its rim, not its radius, sets the flow at its middle."""
    rim = float(np.interp(stations.joint_arc, stations.arc_length, stations.radius))
    if stations.joint_slope > _STEEPEST_RIM or rim == 0.0:
        return []
    gain = flat_face_gradient_factor(mach) / rim * stations.tip_radius / gradient_factor(mach)
    if gain <= 1.0:
        return []
    return [
        f"the tip is all but flat, a radius of {1e3 * stations.tip_radius:.3g} mm in a rim of"
        f" {1e3 * rim:.3g} mm: the film at its middle reads {1.0 - gain**-0.5:.0%} low"
    ]
