"""One ascent through everything measured: least squares on the acceleration, integrated once and twice."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from optitip.arrays import FloatArray
from optitip.flight.atmosphere import STANDARD_GRAVITY
from optitip.flight.nodes import basis, between, place_of, summed
from optitip.inputs.recording import Quantity

RAIL_ANGLE = math.radians(86.0)  # that the path is taken to leave the pad at, where nothing is said
_STEEPEST = math.radians(89.4)  # nothing leaves straight up; there q would be without end
UPRIGHT = math.atanh(math.sin(RAIL_ANGLE))  # the same as q
_ROUNDS = 9
_TRUSTING_ROUNDS = 2  # before outliers lose much of their weight and clocks are moved
_SCANS = {2: (0.15, 4), 4: (0.06, 3), 6: (0.02, 3)}  # round: step [s], steps of a search for the burnout
_JERK, _JERK_ALONE = 100.0, 40.0  # [m/s2 per root second] that the acceleration wanders; by altitudes alone
_CALM = 0.3  # of it on the coast
_ADRIFT = 4.685  # robust standard deviations at which a sample has half its weight
_LEAST_SPREAD = 0.1  # of the usual one: no sensor is better
_SLOW = 20.0  # [m/s] at which a vehicle leaves its rail and begins to turn over
_LAST = 6.0  # [s] before the apogee in which the drag is nothing beside gravity
_FIXED, _ANY = 1e-9, 1e5
# standard deviations of the unknowns beside the acceleration
_START_ERROR = 4.0  # [m/s]: a lift-off seen a hundredth of a second late
_LEVEL_ERROR, _SCALE_ERROR = 0.3, 0.01  # [m/s2] and 1: of an accelerometer, after its rest
_HEIGHT_SCALE_ERROR = 0.01  # of an altitude: the air's temperature aloft
_TURN_ERROR = 0.7  # of q at the start: 82 to 88 deg
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
    lags: tuple[float, ...]
    """[s] by which each altitude whose clock is sure comes late"""

    @property
    def felt(self) -> FloatArray:
        """Return the acceleration felt along the axis (m,) [m/s2]."""
        return np.asarray(self.acceleration + STANDARD_GRAVITY * self.steepness, dtype=np.float64)

    def at(self, time: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return altitude, speed and the acceleration felt (n,) at ``time`` (n,)."""
        place = place_of(self.time, time)
        altitude, speed, felt = (between(x, place) for x in (self.altitude, self.speed, self.felt))
        return altitude, np.maximum(speed, 0.0), felt


def fuse(
    measured: Sequence[Measured],
    *,
    burnout: float,
    apogee: float,
    spacing: float,
    moving: bool = False,
    burnout_known: bool = False,
    saturated: bool = False,
    rail_angle: float = RAIL_ANGLE,
) -> Fused:
    """Return the ascent from lift-off at 0 to ``apogee`` [s] that lies closest to all that was measured.

    The acceleration A along the path is straight between nodes ``spacing`` [s] apart (coarser after the
    burnout, where it may jump); V = int A dt, z = z0 + int V sin(g) dt, felt = A + g0 sin(g). Each altitude,
    speed and felt acceleration is one row over its own spread, which the residuals tell; A wanders by
    100 m/s2 in a second about the accelerometer's curve (40 by altitudes alone; a third of it on the
    coast). An accelerometer may be off by a level of 0.3 m/s2 and 1 %, the heights by 1 % (not where the
    accelerometer was ``saturated``) and 0.2 s late: so it leads in the boost and through Mach 1, and the
    barometer holds its slow drift. Rows far off lose their weight (Cauchy's). ``burnout`` [s] is moved to
    where the least sum of squares is left unless it is known, clocks that aren't sure by what the rows ask.
    ``moving``: the record begins at speed.

    The path leaves the pad at ``rail_angle`` [rad] above the horizon and turns over by gravity alone
    (``steepness``); beside a speed or an acceleration the altitude tells the angle.
    Source: linear least squares with a random-walk prior, as in any textbook of estimation; the spreads are
    common practice, no source.
    """
    heights_alone = all(one.quantity is Quantity.ALTITUDE for one in measured)
    state = _State(
        measured=tuple(measured),
        apogee=apogee,
        spacing=spacing,
        moving=moving,
        heights_alone=heights_alone,
        heights_rule=saturated or heights_alone,
        burnout=burnout,
        shifts={one.clock: 0.0 for one in measured if one.clock is not None},
        turn=math.atanh(math.sin(min(rail_angle, _STEEPEST))),
    )
    for turn in range(_ROUNDS):
        rows = _Rows(state)
        solution, _ = rows.solve()
        fused = rows.fused(solution)
        weights = rows.weights(solution, reach=3.0 if turn < _TRUSTING_ROUNDS else 1.0)
        state = replace(state, last=fused, weights=weights)
        if turn == _ROUNDS - 1:
            break
        if turn >= _TRUSTING_ROUNDS:
            state = _moved(state, rows, solution)
        if turn in _SCANS and not burnout_known:
            state = _likeliest_burnout(state, *_SCANS[turn])
    return fused


def steepness(time: FloatArray, *, speed: FloatArray, apogee: float, turn: float = UPRIGHT) -> FloatArray:
    """Return the sine of the path's angle (m,) of a vehicle that leaves its rail at 86 deg and turns over.

    tan(g) = sinh(q), q = ``turn`` - int g0/V dt, while thrust and drag act along the path; in the last six
    seconds before the ``apogee`` [s] the speed across is constant and the rate of climb g0 (t_a - t).
    ``speed`` (m,) [m/s]. Source: Newton's second law across the path, integrated.

    >>> t = np.linspace(0.0, 40.0, 401)
    >>> straight = steepness(t, speed=np.full(401, 1e9), apogee=40.0)
    >>> round(float(np.degrees(np.arcsin(straight[100]))), 3)
    86.0
    """
    turning = np.where(speed > _SLOW, STANDARD_GRAVITY / np.maximum(speed, _SLOW), 0.0)
    sine = np.tanh(np.maximum(turn - summed(time, turning), 0.05))
    first = min(int(np.searchsorted(time, apogee - _LAST)), time.size - 1)
    across = max(float(speed[first]) * math.sqrt(1.0 - float(sine[first]) ** 2), 1.0)
    climb = STANDARD_GRAVITY * np.maximum(apogee - time[first:], 0.0)
    sine[first:] = climb / np.sqrt(climb**2 + across**2)
    return np.asarray(np.maximum(sine, 0.02), dtype=np.float64)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _State:
    """What is given, and what changes from round to round."""

    measured: tuple[Measured, ...]
    apogee: float
    spacing: float
    moving: bool
    heights_alone: bool
    heights_rule: bool
    """the altitudes alone tell the boost, so that their scale is taken as true"""
    burnout: float
    shifts: dict[str, float]
    turn: float = UPRIGHT
    last: Fused | None = None
    weights: list[FloatArray] = field(default_factory=list)


class _Rows:
    """All rows of the least squares: (n, size) a sensor, the nodes first, then the other unknowns."""

    def __init__(self, state: _State) -> None:
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
        found = {
            "start": _ANY if state.moving else _START_ERROR if pushed else _FIXED,
            "height scale": _FIXED if state.heights_rule else _HEIGHT_SCALE_ERROR,
            "turn": _FIXED if state.heights_alone else _TURN_ERROR,
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
            spread = np.ones(time.size)
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
        rate = self._rate(one.quantity, time)
        if one.clock is not None:
            beside[one.clock] = rate
        elif f"lag {i}" in self.column:
            beside[f"lag {i}"] = -rate
        for name, column in beside.items():
            rows[:, self.column[name]] = column
        known = (time <= self.basis.time[-1]) & ((time > 0.0) | (one.quantity is Quantity.ALTITUDE))
        return rows * known[:, None], values * known, spread

    def _risen(self, time: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return the height above the pad and its change with the turn (n,), as the round before had them."""
        last = self.state.last
        if last is None:
            return np.zeros(time.size), np.zeros(time.size)
        turning = summed(last.time, last.speed * (1.0 - last.steepness**2))
        place = place_of(last.time, time)
        return between(last.altitude - last.altitude[0], place), between(turning, place)

    def _rate(self, quantity: Quantity, time: FloatArray) -> FloatArray:
        """Return how fast a quantity changes in time (n,), as the round before had it."""
        last = self.state.last
        if last is None:
            return np.zeros(time.size)
        if quantity is Quantity.ALTITUDE:
            rate = last.speed * last.steepness
        elif quantity is Quantity.SPEED:
            rate = last.acceleration
        else:
            rate = np.gradient(last.felt, last.time + 1e-9 * np.arange(last.time.size))
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
        every = np.arange(self.size)
        normal[every, every] += np.concatenate([np.full(self.nodes, 1e-8), self.spread**-2.0])
        return normal, right, float(right @ usual)

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
        for rows, values, spread in self.parts:
            off = np.abs(values - rows @ solution) / spread
            flown = (rows[:, : self.nodes] != 0.0).any(axis=1)
            scale = max(float(np.median(off[flown])) / 0.6745 if flown.any() else 1.0, _LEAST_SPREAD)
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
            lags=tuple(value for name, value in other.items() if name.startswith("lag")),
        )


def _moved(state: _State, rows: _Rows, solution: FloatArray) -> _State:
    """Return the state with clocks and turn moved by what the solution asks, within bounds a round."""
    turn = state.turn + float(np.clip(solution[rows.column["turn"]], -0.5, 0.5))
    shifts = {
        clock: shift + float(np.clip(solution[rows.column[clock]], -0.4, 0.4))
        for clock, shift in state.shifts.items()
    }
    return replace(state, turn=float(np.clip(turn, 1.7, 5.0)), shifts=shifts)


def _likeliest_burnout(state: _State, step: float, count: int) -> _State:
    """Return the state with the burnout, of those ``count`` steps either side, that fits best."""
    candidates = state.burnout + step * np.arange(-count, count + 1)
    candidates = candidates[(candidates > 0.2) & (candidates < state.apogee - 1.0)]
    tried = [replace(state, burnout=one) for one in candidates.tolist()]
    return min(tried, key=lambda one: _Rows(one).solve()[1], default=state)
