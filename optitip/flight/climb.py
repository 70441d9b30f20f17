"""From ignition to the apogee: the equation of motion with thrust, falling mass and drag."""

import math
from bisect import bisect_right
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from optitip.errors import UserMistakes
from optitip.flight.atmosphere import Atmosphere, gravity
from optitip.flight.motion import Acceleration, AirColumn, State, advance, air_column, step_onto
from optitip.flight.timeline import Path
from optitip.flight.vehicle import Vehicle

LONGEST_STEP = 0.02  # [s]
_COARSE_STEP = 0.05  # [s] where a peak alone is wanted: it moves by less than 1e-6
_Row: TypeAlias = tuple[float, float, float, float, float]  # time and state
_Felt: TypeAlias = Callable[[float, float, float], float]  # (time, altitude, speed) -> felt [m/s2]
_LONGEST_COAST = 600.0  # [s]: past any apogee below 80 km


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Climb:
    """The way up, its times from lift-off."""

    path: Path
    burnout: float
    """[s]"""
    state: State
    """at the apogee"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Forces:
    """Thrust, mass and drag as plain numbers: numpy is slow at one value a time."""

    time: list[float]
    thrust: list[float]
    impulse: list[float]
    start_mass: float
    mass_per_impulse: float
    drag_mach: list[float]
    drag_area: list[float]
    """[m2] half the drag coefficient times the reference area"""
    column: AirColumn

    def burn(self, time: float) -> tuple[float, float]:
        """Return thrust [N] and mass [kg] at a time of the thrust curve, its end included."""
        i = min(max(bisect_right(self.time, time) - 1, 0), len(self.time) - 2)
        since = time - self.time[i]
        rise = (self.thrust[i + 1] - self.thrust[i]) / (self.time[i + 1] - self.time[i])
        delivered = self.impulse[i] + since * (self.thrust[i] + 0.5 * rise * since)
        return self.thrust[i] + rise * since, self.start_mass - self.mass_per_impulse * delivered

    def drag(self, altitude: float, speed: float) -> float:
        """Return the drag [N]."""
        density, sound_speed = self.column.at(altitude)
        mach, table = speed / sound_speed, self.drag_mach
        i = min(max(bisect_right(table, mach) - 1, 0), len(table) - 2)
        share = min(max((mach - table[i]) / (table[i + 1] - table[i]), 0.0), 1.0)
        area = self.drag_area[i] + share * (self.drag_area[i + 1] - self.drag_area[i])
        return area * density * speed * speed


def climb(
    vehicle: Vehicle, *, atmosphere: Atmosphere, rail_angle: float, rail_length: float, place: str
) -> Climb:
    """Return the way of ``vehicle`` up to its apogee, in steps of at most 0.02 s.

    The steps land on each time of the thrust curve, on leaving the rail, on burnout and on the apogee.
    ``rail_angle`` [rad], ``rail_length`` [m]; equation and limits as in ``from_ascent``. A vehicle that
    doesn't lift off, leave the rail or burn out before its apogee is a mistake under ``place``.
    """
    forces = _forces(vehicle, atmosphere)
    rail = _Rail(angle=rail_angle, length=rail_length, ground=atmosphere.site_altitude)
    rows = _burnt_out(forces, rail, place)
    lift_off, burnout_row = rows[0][0], len(rows) - 1
    burning, burnt = _burning(forces), _coasting(forces)
    burnout = rows[-1][0]
    rows += _march(rows[-1], burnt, stop=burnout + _LONGEST_COAST, rail=rail)
    if rail.left(_state(rows[-1])) > 0.0:
        raise UserMistakes.one(
            place,
            "the vehicle comes to rest on its rail",
            "Check the thrust, the masses and the rail's length",
        )
    felt = [
        (burning if i <= burnout_row else burnt)(t, z, math.hypot(u, w))
        for i, (t, _, z, u, w) in enumerate(rows)
    ]
    return Climb(path=_path(rows, felt, lift_off), burnout=burnout - lift_off, state=_state(rows[-1]))


def peak_mach_of(
    vehicle: Vehicle, *, atmosphere: Atmosphere, rail_angle: float, rail_length: float, place: str
) -> float:
    """Return the greatest Mach number of ``vehicle`` while it burns: on its coast up it only slows.

    Arguments and limits as in ``climb``, at a fraction of its time.
    """
    forces = _forces(vehicle, atmosphere)
    rail = _Rail(angle=rail_angle, length=rail_length, ground=atmosphere.site_altitude)
    rows = _burnt_out(forces, rail, place, longest=_COARSE_STEP)
    return max(math.hypot(u, w) / forces.column.at(z)[1] for _, _, z, u, w in rows)


def burning_time(vehicle: Vehicle, *, atmosphere: Atmosphere, rail_angle: float, place: str) -> float:
    """Return how long [s] ``vehicle`` burns from its lift-off off a rail at ``rail_angle`` [rad]."""
    forces = _forces(vehicle, atmosphere)
    return forces.time[-1] - _lift_off(forces, math.sin(rail_angle), place)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Rail:
    """The rail: its angle [rad] above the horizon, its length [m], the altitude [m] it stands at."""

    angle: float
    length: float
    ground: float

    @property
    def along(self) -> tuple[float, float]:
        return math.cos(self.angle), math.sin(self.angle)

    def left(self, state: State) -> float:
        """Return how much of the rail [m] is still ahead."""
        cosine, sine = self.along
        return self.length - state[0] * cosine - (state[1] - self.ground) * sine


def _burnt_out(forces: _Forces, rail: _Rail, place: str, *, longest: float | None = None) -> list[_Row]:
    """Return the rows from lift-off to the end of the thrust."""
    lift_off = _lift_off(forces, rail.along[1], place)
    rows: list[_Row] = [(lift_off, 0.0, rail.ground, 0.0, 0.0)]
    burning = _burning(forces)
    for stop in (t for t in forces.time if t > lift_off):
        rows += _march(rows[-1], burning, stop=stop, rail=rail, longest=longest)
        if rows[-1][0] < stop:
            raise UserMistakes.one(
                place,
                f"the vehicle turns over {rows[-1][0] - lift_off:.1f} s after lift-off, still burning",
                "Raise the rail or the thrust, or lower the mass",
            )
    return rows


def _march(row: _Row, felt: _Felt, *, stop: float, rail: _Rail, longest: float | None = None) -> list[_Row]:
    """Return the rows after ``row`` up to ``stop`` [s], or to the apogee if that comes first."""
    rows: list[_Row] = []
    left, along = rail.left, rail.along
    time, state = row[0], _state(row)
    on_rail = left(state) > 0.0
    acceleration = _guided(felt, along) if on_rail else _free(felt)
    while time < stop:
        step = min(longest or LONGEST_STEP, stop - time)
        reached = advance(acceleration, time=time, state=state, step=step)
        if on_rail and left(reached) <= 0.0:
            step, reached = step_onto(acceleration, time=time, state=state, step=step, gauge=left)
            on_rail, acceleration = False, _free(felt)
        elif on_rail and reached[3] < 0.0:
            reached = (state[0], state[1], 0.0, 0.0)
        elif not on_rail and reached[3] <= 0.0:
            step, reached = step_onto(acceleration, time=time, state=state, step=step, gauge=_rate_of_climb)
            return [*rows, (time + step, *reached)]
        time = time + step if stop - time - step > 1e-9 else stop
        state = reached
        rows.append((time, *state))
    return rows


def _forces(vehicle: Vehicle, atmosphere: Atmosphere) -> _Forces:
    end = min(int(np.flatnonzero(vehicle.thrust)[-1]) + 2, vehicle.thrust.size)  # trailing zeros are no burn
    impulse = vehicle.impulse[:end]
    half_area = 0.5 * math.pi * (0.5 * vehicle.diameter) ** 2
    return _Forces(
        time=vehicle.thrust_time[:end].tolist(),
        thrust=vehicle.thrust[:end].tolist(),
        impulse=impulse.tolist(),
        start_mass=vehicle.start_mass,
        mass_per_impulse=vehicle.propellant_mass / float(impulse[-1]),
        drag_mach=vehicle.drag_mach.tolist(),
        drag_area=(half_area * vehicle.drag_coefficient).tolist(),
        column=air_column(atmosphere),
    )


def _lift_off(forces: _Forces, sine: float, place: str) -> float:
    """Return the time of the thrust curve at which the thrust first exceeds the weight along the rail."""

    def excess(time: float) -> float:
        thrust, mass = forces.burn(time)
        return thrust - mass * gravity(0.0) * sine

    above = next((i for i, time in enumerate(forces.time) if excess(time) > 0.0), None)
    if above is None:
        raise UserMistakes.one(
            f"{place}.thrust",
            f"at most {max(forces.thrust):.0f} N doesn't lift {forces.start_mass:.2f} kg",
            "Check the units of thrust and mass",
        )
    if above == 0:
        return forces.time[0]
    low, high = forces.time[above - 1], forces.time[above]
    for _ in range(50):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if excess(middle) > 0.0 else (middle, high)
    return high


def _burning(forces: _Forces) -> _Felt:
    def felt(time: float, altitude: float, speed: float) -> float:
        thrust, mass = forces.burn(time)
        return (thrust - forces.drag(altitude, speed)) / mass

    return felt


def _coasting(forces: _Forces) -> _Felt:
    mass = forces.start_mass - forces.mass_per_impulse * forces.impulse[-1]

    def felt(_: float, altitude: float, speed: float) -> float:
        return -forces.drag(altitude, speed) / mass

    return felt


def _free(felt: _Felt) -> Acceleration:
    def acceleration(time: float, state: State) -> tuple[float, float]:
        _, z, u, w = state
        speed = math.sqrt(u * u + w * w)
        push = felt(time, z, speed) / speed
        return push * u, push * w - gravity(z)

    return acceleration


def _guided(felt: _Felt, along: tuple[float, float]) -> Acceleration:
    """Return the acceleration on the rail, which carries the weight across it and stops a fall back."""

    def acceleration(time: float, state: State) -> tuple[float, float]:
        _, z, u, w = state
        speed = math.sqrt(u * u + w * w)
        a = felt(time, z, speed) - gravity(z) * along[1]
        if a < 0.0 and speed == 0.0:
            return 0.0, 0.0
        return a * along[0], a * along[1]

    return acceleration


def _rate_of_climb(state: State) -> float:
    return state[3]


def _state(row: _Row) -> State:
    return row[1], row[2], row[3], row[4]


def _path(rows: list[_Row], felt: list[float], lift_off: float) -> Path:
    table = np.array(rows)
    return Path(
        time=table[:, 0] - lift_off,
        altitude=table[:, 2],
        speed=np.hypot(table[:, 3], table[:, 4]),
        axial_acceleration=np.array(felt),
    )
