"""One ascent through everything measured: least squares on the acceleration, integrated once and twice."""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from optitip.arrays import FloatArray
from optitip.flight.least_squares import Fused, Measured, Rows, State
from optitip.flight.turning import RAIL_ANGLE, turn_of
from optitip.inputs.recording import Quantity

_ROUNDS = 9
_TRUSTING_ROUNDS = 2  # before outliers lose much of their weight and clocks are moved
_SCANS = {2: (0.15, 4), 4: (0.06, 3), 6: (0.02, 3)}  # round: step [s], steps of a search for the burnout
_SHORTEST_COAST = 0.5  # [s]


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
    (``steepness``); beside a speed the altitude tells the angle better. (Beside an acceleration it would go
    against the accelerometer's scale.)
    Source: linear least squares with a random-walk prior, as in any textbook of estimation; the spreads are
    common practice, no source.
    """
    heights_alone = all(one.quantity is Quantity.ALTITUDE for one in measured)
    turn = turn_of(rail_angle)
    state = State(
        measured=tuple(measured),
        seen_apogee=apogee,
        apogee=apogee,
        spacing=spacing,
        moving=moving,
        heights_alone=heights_alone,
        heights_rule=saturated or heights_alone,
        burnout=burnout,
        shifts={one.clock: 0.0 for one in measured if one.clock is not None},
        usual_turn=turn,
        turn=turn,
    )
    for turn in range(_ROUNDS):
        rows = Rows(state)
        solution, _ = rows.solve()
        fused = rows.fused(solution)
        weights = rows.weights(solution, reach=3.0 if turn < _TRUSTING_ROUNDS else 1.0)
        state = replace(state, last=fused, weights=weights, lags=rows.lags(solution))
        if turn == _ROUNDS - 1:
            break
        if turn >= _TRUSTING_ROUNDS:
            state = _moved(state, rows, solution)
        if turn in _SCANS and not (burnout_known and turn < 3):
            state = _likeliest_burnout(state, *_SCANS[turn])
    return fused


def _moved(state: State, rows: Rows, solution: FloatArray) -> State:
    """Return the state with clocks and turn moved by what the solution asks, within bounds a round."""
    turn = state.turn + float(np.clip(solution[rows.column["turn"]], -0.5, 0.5))
    shifts = {
        clock: shift + float(np.clip(solution[rows.column[clock]], -0.4, 0.4))
        for clock, shift in state.shifts.items()
    }
    late = [*rows.lags(solution).values(), *(-shifts[one] for one in _clocks_of_heights(state))]
    apogee = state.seen_apogee - float(np.mean(late)) if late else state.apogee
    return replace(
        state,
        turn=float(np.clip(turn, 1.7, 5.0)),
        shifts=shifts,
        apogee=max(apogee, state.burnout + _SHORTEST_COAST),
    )


def _clocks_of_heights(state: State) -> list[str]:
    """Return the unsure clocks of the altitudes: they have seen the apogee."""
    found = [one.clock for one in state.measured if one.quantity is Quantity.ALTITUDE]
    return [clock for clock in found if clock is not None]


def _likeliest_burnout(state: State, step: float, count: int) -> State:
    """Return the state with the burnout, of those ``count`` steps either side, that fits best."""
    candidates = state.burnout + step * np.arange(-count, count + 1)
    candidates = candidates[(candidates > 0.2) & (candidates < state.apogee - 1.0)]
    tried = [replace(state, burnout=one) for one in candidates.tolist()]
    return min(tried, key=lambda one: Rows(one).solve()[1], default=state)
