"""The way down under drogue and main, from the apogee or from where a record ends."""

import math
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from optitip.arrays import FloatArray
from optitip.errors import Mistake
from optitip.flight.atmosphere import STANDARD_GRAVITY, Atmosphere
from optitip.flight.motion import Acceleration, AirColumn, State, advance, air_column, step_onto
from optitip.flight.timeline import Path
from optitip.inputs.study_tables import Attitude

_Row: TypeAlias = tuple[float, float, float, float, float]  # time and state
_SEA_LEVEL_DENSITY = 1.225  # [kg/m3] at which the rates are given
_LONGEST_STEP = 0.5  # [s]: a fall from great height crosses the air's scale height in some 10 s
_STEP_SHARE = 0.25  # of the time v_t^2/(g v) in which the drag changes the speed; RK4 is stable to 1.4


@dataclass(frozen=True, slots=True, kw_only=True)
class DescentPlan:
    """How the vehicle comes down; the defaults are usual for a club flight, no source."""

    attitude: Attitude = Attitude.ACROSS
    """of the tip in the stream"""
    drogue_rate: float = 25.0
    """[m/s] under drogue in air of 1.225 kg/m3; aloft it grows as rho^-1/2"""
    main_height: float = 200.0
    """[m] above the ground at which the main opens"""
    main_rate: float = 6.0
    """[m/s] under the main in air of 1.225 kg/m3"""

    def mistakes(self, place: str = "flight.descent") -> list[Mistake]:
        """Return what can't be in this plan, each under its key below ``place``."""
        found = []
        if not 1.0 <= self.main_rate <= self.drogue_rate:
            problem = f"{self.main_rate:g} m/s under the main, {self.drogue_rate:g} m/s under drogue"
            found.append(Mistake(f"{place}.main_rate", problem, "Give 1 m/s or more, the main the slower"))
        if not self.drogue_rate <= 200.0:
            problem = f"{self.drogue_rate:g} m/s is no descent under drogue"
            found.append(Mistake(f"{place}.drogue_rate", problem, "Give 200 m/s or less"))
        if not self.main_height >= 0.0:
            problem = f"a main that opens {self.main_height:g} m above the ground"
            found.append(Mistake(f"{place}.main_height", problem, "Give zero or more"))
        return found


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fall:
    """The way down and its events."""

    path: Path
    main: float
    """[s] when the main opens"""
    landing: float
    """[s]"""


def fall(
    plan: DescentPlan, *, atmosphere: Atmosphere, time: float, altitude: float, velocity: tuple[float, float]
) -> Fall:
    """Return the fall from ``altitude`` [m above sea level] at ``time`` [s] to the site's altitude.

    The drag is the one that holds the plan's rate: dV/dt = -g (|V|/v_t^2) V - g e_z with
    v_t = rate (1.225/rho)^1/2, so that a speed left at the apogee dies away as it would.
    ``velocity`` [m/s] downrange and up at the start. The axial acceleration felt is minus the drag per
    mass for a tip that points forward, and zero for one across or inside.

    Valid where drogue and main open at once; the snatch of opening is no part of it.
    Source: the equation of fall with quadratic drag; the form of the rates is common practice.
    """
    column = air_column(atmosphere)
    ground = atmosphere.site_altitude
    main_altitude = ground + plan.main_height
    start: State = (0.0, max(altitude, ground + 0.01), *velocity)
    rows: list[_Row] = [(time, *start)]
    if start[1] > main_altitude:
        rows = _fall_to(rows, rate=plan.drogue_rate, floor=main_altitude, column=column)
    main, main_row = rows[-1][0], len(rows) - 1
    if rows[-1][2] > ground:
        rows = _fall_to(rows, rate=plan.main_rate, floor=ground, column=column)
    return Fall(path=_path(rows, main_row, plan, column), main=main, landing=rows[-1][0])


def _fall_to(rows: list[_Row], *, rate: float, floor: float, column: AirColumn) -> list[_Row]:
    """Return the rows (time, *state) carried on until the altitude is ``floor``."""
    rows = list(rows)
    time, *rest = rows[-1]
    state: State = (rest[0], rest[1], rest[2], rest[3])
    acceleration = _chute(rate, column)
    while state[1] > floor:
        step = min(_LONGEST_STEP, _STEP_SHARE * _slowing_time(state, rate, column))
        reached = advance(acceleration, time=time, state=state, step=step)
        if reached[1] <= floor:
            step, reached = step_onto(
                acceleration, time=time, state=state, step=step, gauge=lambda s: s[1] - floor
            )
            reached = (reached[0], floor, reached[2], reached[3])
        time, state = time + step, reached
        rows.append((time, *state))
    return rows


def _chute(rate: float, column: AirColumn) -> Acceleration:
    pull = STANDARD_GRAVITY / (rate * rate * _SEA_LEVEL_DENSITY)

    def acceleration(_: float, state: State) -> tuple[float, float]:
        _x, z, u, w = state
        drag = pull * column.at(z)[0] * math.sqrt(u * u + w * w)
        return -drag * u, -drag * w - STANDARD_GRAVITY

    return acceleration


def _slowing_time(state: State, rate: float, column: AirColumn) -> float:
    """Return v_t^2/(g v) [s], v no less than the terminal speed v_t."""
    terminal = rate * math.sqrt(_SEA_LEVEL_DENSITY / column.at(state[1])[0])
    speed = max(math.hypot(state[2], state[3]), terminal)
    return terminal * terminal / (STANDARD_GRAVITY * speed)


def _path(rows: list[_Row], main_row: int, plan: DescentPlan, column: AirColumn) -> Path:
    table = np.array(rows)
    speed = np.hypot(table[:, 3], table[:, 4])
    return Path(
        time=table[:, 0],
        altitude=table[:, 2],
        speed=speed,
        axial_acceleration=_felt(table[:, 2], speed, main_row, plan, column),
    )


def _felt(
    altitude: FloatArray, speed: FloatArray, main_row: int, plan: DescentPlan, column: AirColumn
) -> FloatArray:
    if plan.attitude is not Attitude.FORWARD:
        return np.zeros_like(speed)
    rate = np.where(np.arange(speed.size) <= main_row, plan.drogue_rate, plan.main_rate)
    density = np.array([column.at(z)[0] for z in altitude.tolist()])
    return np.asarray(-STANDARD_GRAVITY * density / _SEA_LEVEL_DENSITY * (speed / rate) ** 2)
