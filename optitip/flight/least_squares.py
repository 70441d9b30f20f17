"""The least squares of one ascent: a row for each sample of each sensor, and what is known beforehand."""

from dataclasses import dataclass, field

import numpy as np

from optitip.arrays import FloatArray
from optitip.flight.atmosphere import STANDARD_GRAVITY
from optitip.flight.nodes import basis, between, lagged, place_of, summed
from optitip.flight.turning import CLOSED, steepness
from optitip.inputs.recording import Quantity

_JERK, _JERK_ALONE = 100.0, 40.0  # [m/s2 per root second] that the acceleration wanders; by altitudes alone
_CALM = 0.3  # of it on the coast
_ADRIFT = 4.685  # robust standard deviations at which a sample has half its weight
# of the usual spread: no sensor is better; altitudes and pushes without noise would trust the path too much
_LEAST_SPREAD = {Quantity.ALTITUDE: 0.5, Quantity.SPEED: 0.1, Quantity.ACCELERATION: 0.5}
_SMALL = 1e-3  # of q: the step of its derivative
_CLOSED_SPREAD = 5.0  # [m] of an altitude where the path is closed: or its many samples would bend the rest
_FIXED, _ANY = 1e-9, 1e5
# standard deviations of the unknowns beside the acceleration
_START_ERROR = 4.0  # [m/s]: a lift-off seen a hundredth of a second late
_LEVEL_ERROR, _SCALE_ERROR = 0.3, 0.01  # [m/s2] and 1: of an accelerometer, after its rest
_HEIGHT_SCALE_ERROR = 0.01  # of an altitude: the air's temperature aloft
_TURN_ERROR = 0.35  # of q at the start: 84 to 87 deg about 86
_LAG_ERROR = 0.2  # [s] of a barometer, beyond what was declared
_CLOCK_ERROR = 0.5  # [s] of a clock set by a lift-off


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Measured:
    """What one sensor says of the ascent, thinned."""

    quantity: Quantity
    """altitude, speed or acceleration"""
    time: FloatArray
    """(n,) [s] from lift-off"""
    values: FloatArray
    """(n,) [m above sea level], [m/s] or [m/s2] felt"""
    clock: str | None = None
    """the name of a clock that may be some tenths of a second off; None: it is sure"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fused:
    """The ascent found, on a fine grid in which the burnout stands twice."""

    time: FloatArray
    """(m,) [s]"""
    altitude: FloatArray
    """(m,) [m above sea level]"""
    speed: FloatArray
    """(m,) [m/s] along the path"""
    acceleration: FloatArray
    """(m,) [m/s2] of the speed"""
    steepness: FloatArray
    """(m,) sine of the path's angle above the horizon"""
    burnout: float
    """[s]"""
    clocks: dict[str, float]
    """[s] to add to the times of each clock"""
    lags: dict[int, float]
    """[s] by which an altitude whose clock is sure comes late, by its place among what was measured"""

    @property
    def felt(self) -> FloatArray:
        """Return the acceleration felt along the axis (m,) [m/s2]."""
        return np.asarray(self.acceleration + STANDARD_GRAVITY * self.steepness, dtype=np.float64)

    def at(self, time: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return altitude, speed and the acceleration felt (n,) at ``time`` (n,)."""
        place = place_of(self.time, time)
        altitude, speed, felt = (between(x, place) for x in (self.altitude, self.speed, self.felt))
        return altitude, np.maximum(speed, 0.0), felt


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class State:
    """What is given, and what changes from round to round."""

    measured: tuple[Measured, ...]
    seen_apogee: float
    """[s] as the altitudes have it, late by their lag"""
    apogee: float
    spacing: float
    moving: bool
    heights_alone: bool
    heights_rule: bool
    """the altitudes alone tell the boost, so that their scale is taken as true"""
    burnout: float
    shifts: dict[str, float]
    usual_turn: float
    turn: float
    lags: dict[int, float] = field(default_factory=dict)
    last: Fused | None = None
    weights: list[FloatArray] = field(default_factory=list)


class Rows:
    """All rows of the least squares: (n, size) a sensor, the nodes first, then the other unknowns."""

    def __init__(self, state: State) -> None:
        self.state = state
        self.basis = basis(burnout=state.burnout, apogee=state.apogee, spacing=state.spacing)
        self.steepness = self._steepness()
        self.heights = self.basis.heights(self.steepness)
        self.run = summed(self.basis.time, self.steepness)
        self.nodes = self.basis.nodes.size
        spreads = self._spreads()
        self.column = {name: self.nodes + i for i, name in enumerate(spreads)}
        self.spread = np.array(list(spreads.values()))
        self.size = self.nodes + self.spread.size
        self.parts = [self._part(i, one) for i, one in enumerate(state.measured)]

    def _steepness(self) -> FloatArray:
        state, time = self.state, self.basis.time
        if state.last is None:
            return np.full(time.size, 0.99)
        speed = np.interp(time, state.last.time, state.last.speed)
        return steepness(time, speed=speed, apogee=state.apogee, turn=state.turn)

    def _spreads(self) -> dict[str, float]:
        """Return the unknowns beside the nodes and their standard deviations; small in the first round."""
        state = self.state
        pushed = any(one.quantity is Quantity.ACCELERATION for one in state.measured)
        swift = any(one.quantity is Quantity.SPEED for one in state.measured)
        found = {
            "start": _ANY if state.moving else _START_ERROR if pushed else _FIXED,
            "height scale": _FIXED if state.heights_rule else _HEIGHT_SCALE_ERROR,
            "turn": _TURN_ERROR if swift else _FIXED,
        }
        found |= dict.fromkeys(state.shifts, _CLOCK_ERROR)
        for i, one in enumerate(state.measured):
            if one.quantity is Quantity.ACCELERATION:
                found |= {f"level {i}": _LEVEL_ERROR, f"scale {i}": _SCALE_ERROR}
            if one.quantity is Quantity.ALTITUDE and one.clock is None:
                found[f"lag {i}"] = _FIXED if state.heights_alone else _LAG_ERROR
        if state.last is None:
            found |= {name: _FIXED for name in found if name.split()[0] not in {"start", "level"}}
        heights = [i for i, one in enumerate(state.measured) if one.quantity is Quantity.ALTITUDE]
        return found | {f"datum {i}": _ANY for i in heights}

    def _part(self, i: int, one: Measured) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return the rows (n, size), what they should give (n,) and the usual spread (n,) of one sensor."""
        time = one.time + self.state.shifts.get(one.clock or "", 0.0)
        place = place_of(self.basis.time, time)
        rows, values = np.zeros((time.size, self.size)), np.array(one.values)
        beside: dict[str, FloatArray | float]
        if one.quantity is Quantity.ALTITUDE:
            rows[:, : self.nodes] = between(self.heights, place)
            height, turned = self._risen(time)
            beside = {
                "start": between(self.run, place),
                f"datum {i}": 1.0,
                "height scale": height,
                "turn": turned,
            }
            spread = np.where(time > self.state.apogee - CLOSED, _CLOSED_SPREAD, 1.0)
        elif one.quantity is Quantity.SPEED:
            rows[:, : self.nodes] = between(self.basis.speed, place)
            beside = {"start": 1.0}
            spread = np.sqrt(0.5**2 + (0.01 * values) ** 2)
        else:
            rows[:, : self.nodes] = between(self.basis.acceleration, place)
            last = self.state.last
            beside = {f"level {i}": 1.0, f"scale {i}": 0.0 if last is None else last.at(time)[2]}
            spread = np.sqrt(1.0 + (0.01 * values) ** 2)
            values -= STANDARD_GRAVITY * between(self.steepness, place)
        if one.clock is not None:
            beside[one.clock] = self._rate(one.quantity, time)
        elif f"lag {i}" in self.column:
            beside[f"lag {i}"] = -self._rate(one.quantity, time, lag=self.state.lags.get(i, 0.0))
        for name, column in beside.items():
            rows[:, self.column[name]] = column
        known = (time <= self.basis.time[-1]) & ((time > 0.0) | (one.quantity is Quantity.ALTITUDE))
        return rows * known[:, None], values * known, spread

    def _risen(self, time: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the height above the pad and its change with the turn (n,), as the round before had them."""
        last = self.state.last
        if last is None:
            return np.zeros(time.size), np.zeros(time.size)
        more, less = (
            steepness(last.time, speed=last.speed, apogee=last.time[-1], turn=self.state.turn + step)
            for step in (_SMALL, -_SMALL)
        )
        turning = summed(last.time, last.speed * (more - less) / (2.0 * _SMALL))
        place = place_of(last.time, time)
        return between(last.altitude - last.altitude[0], place), between(turning, place)

    def _rate(self, quantity: Quantity, time: FloatArray, *, lag: float = 0.0) -> FloatArray:
        """Return how fast a quantity changes in time (n,), as the round before had it.

        What a sensor with a first-order ``lag`` [s] reads is too little by the lag times its own rate of
        change, which is late as well: in a boost the two rates differ by the lag times the acceleration.
        """
        last = self.state.last
        if last is None:
            return np.zeros(time.size)
        if quantity is Quantity.ALTITUDE:
            rate = last.speed * last.steepness
        elif quantity is Quantity.SPEED:
            rate = last.acceleration
        else:
            rate = np.gradient(last.felt, last.time + 1e-9 * np.arange(last.time.size))
        rate = lagged(last.time, rate, lag=lag)
        return np.where(time > 0.0, between(rate, place_of(last.time, time)), 0.0)

    def solve(self) -> tuple[FloatArray, float]:
        """Return the unknowns (size,), by the normal equations, and the sum of squares left."""
        normal, right, total = self._prior()
        for i, (rows, values, spread) in enumerate(self.parts):
            weight = self.state.weights[i] if self.state.weights else spread**-2.0
            weighted = rows * weight[:, None]
            normal += weighted.T @ rows
            right += weighted.T @ values
            total += float(weight @ values**2)
        scale = 1.0 / np.sqrt(np.diag(normal))
        scaled = normal * scale[:, None] * scale
        solution = np.asarray(scale * np.linalg.solve(scaled, scale * right), dtype=np.float64)
        return solution, total - float(right @ solution)

    def _prior(self) -> tuple[FloatArray, FloatArray, float]:
        """Return normal matrix, right side and square of the prior: A wanders about the accelerometer's."""
        normal = np.zeros((self.size, self.size))
        left = np.arange(self.nodes - 1)
        jerk = _JERK_ALONE if self.state.heights_alone else _JERK
        coasting = self.basis.nodes[:-1] >= self.state.burnout
        stiff = (np.where(coasting, _CALM * jerk, jerk) ** 2 * self.basis.steps) ** -1.0
        normal[left, left] += stiff
        normal[left + 1, left + 1] += stiff
        normal[left, left + 1] -= stiff
        normal[left + 1, left] -= stiff
        usual = np.zeros(self.size)
        usual[: self.nodes] = self._usual()
        right = normal @ usual
        total = float(right @ usual)
        every = np.arange(self.size)
        normal[every, every] += np.concatenate([np.full(self.nodes, 1e-8), self.spread**-2.0])
        # turn and clocks are steps from where the rounds before have come to
        back = {"turn": self.state.usual_turn - self.state.turn}
        back |= {clock: -shift for clock, shift in self.state.shifts.items()}
        for name, step in back.items():
            pull = step / self.spread[self.column[name] - self.nodes] ** 2
            right[self.column[name]] += pull
            total += step * pull
        return normal, right, total

    def _usual(self) -> FloatArray:
        """Return the acceleration at the nodes (k,) as the first accelerometer has it, zero without one."""
        for one in self.state.measured:
            if one.quantity is Quantity.ACCELERATION and one.time.size:
                time = one.time + self.state.shifts.get(one.clock or "", 0.0)
                steep = np.interp(self.basis.nodes, self.basis.time, self.steepness)
                felt = np.interp(self.basis.nodes, time, one.values)
                return np.asarray(felt - STANDARD_GRAVITY * steep, dtype=np.float64)
        return np.zeros(self.nodes)

    def weights(self, solution: FloatArray, *, reach: float) -> list[FloatArray]:
        """Return the weights (n,) of each sensor's rows: one over the variance, times Cauchy's share."""
        found = []
        for one, (rows, values, spread) in zip(self.state.measured, self.parts, strict=True):
            least = _LEAST_SPREAD[one.quantity]
            off = np.abs(values - rows @ solution) / spread
            flown = (rows[:, : self.nodes] != 0.0).any(axis=1)
            scale = max(float(np.median(off[flown])) / 0.6745 if flown.any() else 1.0, least)
            kept = 1.0 / (1.0 + (off / (scale * reach * _ADRIFT)) ** 2)
            found.append(rows.any(axis=1) * kept / (scale * spread) ** 2)
        return found

    def fused(self, solution: FloatArray) -> Fused:
        """Return the ascent of a solution."""
        nodes = solution[: self.nodes]
        other = {name: float(solution[at]) for name, at in self.column.items()}
        height = self.heights @ nodes + other["start"] * self.run
        datum = next((value for name, value in other.items() if name.startswith("datum")), 0.0)
        return Fused(
            time=self.basis.time,
            altitude=datum + (1.0 + other["height scale"]) * height,
            speed=self.basis.speed @ nodes + other["start"],
            acceleration=self.basis.acceleration @ nodes,
            steepness=self.steepness,
            burnout=self.state.burnout,
            clocks=dict(self.state.shifts),
            lags=self.lags(solution),
        )

    def lags(self, solution: FloatArray) -> dict[int, float]:
        """Return the lags [s] of a solution, by the place of their sensor."""
        places = range(len(self.state.measured))
        columns = {i: self.column[f"lag {i}"] for i in places if f"lag {i}" in self.column}
        return {i: float(solution[at]) for i, at in columns.items()}
