"""The heating at places and instants that have names, in every flow state: for tables and pictures."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from optitip.arrays import FloatArray
from optitip.evaluate.building import Tip, build_tip
from optitip.evaluate.conditions import Conditions, conditions_of
from optitip.evaluate.heatings import expected_name
from optitip.flight.trajectory import Flight
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.heating.table import Heating
from optitip.inputs.study import Study

_JUST_BEFORE = 0.01  # [s]: what the tip does after an apogee or a landing is another course
_NEAR = 1e-3  # of a bracket's width: no difference to a person
_TOGETHER = 0.01  # of the time to the apogee: instants closer than this share a row


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Exposed:
    """A study's heatings with the names of what is shown of them."""

    heatings: Mapping[str, Heating]
    expected: str
    flight: Flight | None
    wall: float
    """[K] the films are shown at: the tip's at the start"""
    places: Mapping[str, float]
    """[m] of arc length"""
    instants: Mapping[str, float]
    """[s]"""
    pocket: tuple[float, float]
    """[m] of arc length"""
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Spread:
    """A quantity in the expected flow state and its bracket, (n_t, n_s), and the states of its sides."""

    low: FloatArray
    expected: FloatArray
    high: FloatArray
    low_states: tuple[str, ...]
    high_states: tuple[str, ...]


def exposed(study: Study) -> Exposed:
    """Return what the study's own tip is exposed to.

    Raises UserMistakes and DesignFailure for what is wrong with the study, OutOfRange where the physics ends.
    """
    tip = build_tip(study.tables, folder=study.folder, resolution=DEFAULT_RESOLUTION)
    conditions = conditions_of(study, tip)
    return exposed_in(tip, conditions)


def exposed_in(tip: Tip, conditions: Conditions) -> Exposed:
    """Return the same of a tip that is built and its conditions."""
    expected = expected_name(tip.tables.flow)
    return Exposed(
        heatings=conditions.heatings,
        expected=expected,
        flight=conditions.flight,
        wall=conditions.start,
        places=_places(tip),
        instants=_instants(conditions.flight, conditions.heatings[expected], middle=sum(_pocket(tip)) / 2.0),
        pocket=_pocket(tip),
        warnings=conditions.warnings,
    )


def film_spread(shown: Exposed, *, time: FloatArray, arc_length: FloatArray) -> Spread:
    """Return the film coefficients (n_t, n_s) [W/(m2 K)] at instants and places, the wall as at the start."""
    at = {"time": time, "arc_length": arc_length}
    return _spread(
        {
            name: values_at(_film(heating, shown.wall), heating=heating, **at)
            for name, heating in shown.heatings.items()
        },
        expected=shown.expected,
    )


def recovery_spread(shown: Exposed, *, time: FloatArray, arc_length: FloatArray) -> Spread:
    """Return the recovery temperatures (n_t, n_s) [K] at instants and places."""
    at = {"time": time, "arc_length": arc_length}
    return _spread(
        {
            name: values_at(heating.recovery, heating=heating, **at)
            for name, heating in shown.heatings.items()
        },
        expected=shown.expected,
    )


def values_at(
    values: FloatArray, *, heating: Heating, time: FloatArray, arc_length: FloatArray
) -> FloatArray:
    """Return values (n_t, n_s) that stand on the heating's own times and stations at others."""
    along = np.array([np.interp(arc_length, heating.arc_length, row) for row in values])
    return np.array([np.interp(time, heating.time, column) for column in along.T]).T


def _film(heating: Heating, wall: float) -> FloatArray:
    """Return the film at one wall temperature, on the heating's own times and stations."""
    right = min(max(int(np.searchsorted(heating.wall, wall)), 1), heating.wall.size - 1)
    left = max(right - 1, 0)
    share = np.interp(wall, heating.wall[[left, right]], [0.0, 1.0]) if right > left else 0.0
    return np.asarray((1.0 - share) * heating.film[..., left] + share * heating.film[..., right])


def _spread(values: Mapping[str, FloatArray], *, expected: str) -> Spread:
    stack = np.array(list(values.values()))
    low, high = stack.min(axis=0), stack.max(axis=0)
    names, apart = list(values), high - low > _NEAR * np.abs(high)
    # of states that read the same the first is named
    lowest, highest = (np.abs(stack - side) <= _NEAR * (high - low) for side in (low, high))
    return Spread(
        low=low,
        expected=values[expected],
        high=high,
        low_states=tuple(names[k] for k in np.unique(lowest.argmax(axis=0)[apart])),
        high_states=tuple(names[k] for k in np.unique(highest.argmax(axis=0)[apart])),
    )


def _pocket(tip: Tip) -> tuple[float, float]:
    fore, aft = tip.cavity.pocket_arc
    return fore, aft


def _places(tip: Tip) -> dict[str, float]:
    fore, aft = _pocket(tip)
    return {
        "stagnation point": 0.0,
        "plug": 0.5 * tip.cavity.plug_arc,
        "pocket's fore end": fore,
        "middle of the pocket": 0.5 * (fore + aft),
        "pocket's aft end": aft,
        "base": 0.5 * (tip.cavity.base_arc + tip.outline.total_arc),
    }


def _instants(flight: Flight | None, heating: Heating, *, middle: float) -> dict[str, float]:
    """Return the instants that have a name, in order; those close to each other share one."""
    if flight is None:
        return _instants_of_a_table(heating, middle=middle)
    apogee = flight.events["apogee"]
    rising = (flight.mach[:-1] < 1.0) & (flight.mach[1:] >= 1.0) & (flight.time[1:] <= apogee)
    climb = flight.time <= apogee
    named = {
        "just after lift-off": 1.0,
        "Mach 1": _sonic(flight, int(np.argmax(rising))) if rising.any() else -1.0,
        "highest dynamic pressure": float(
            flight.time[np.argmax(np.where(climb, flight.dynamic_pressure, 0))]
        ),
        "burnout": flight.events["burnout"],
        "apogee": apogee - _JUST_BEFORE,
        "landing": flight.events["landing"] - _JUST_BEFORE,
    }
    found: dict[str, float] = {}
    for word, time in sorted(named.items(), key=lambda pair: pair[1]):
        last = next(reversed(found), "")
        if found and time - found[last] < _TOGETHER * apogee:
            found[f"{last}, {word}"] = found.pop(last)
        elif time >= 0.0:
            found[word] = time
    return found


def _sonic(flight: Flight, row: int) -> float:
    """Return the time [s] at which the flight passes Mach 1, straight between a row and the next."""
    return float(np.interp(1.0, flight.mach[row : row + 2], flight.time[row : row + 2]))


def _instants_of_a_table(heating: Heating, *, middle: float) -> dict[str, float]:
    """Return start, end and the instant at which the middle of the pocket is heated hardest."""

    def at_middle(values: FloatArray) -> FloatArray:
        place = np.array([middle])
        return values_at(values, heating=heating, time=heating.time, arc_length=place)[:, 0]

    recovery = at_middle(heating.recovery)
    flux = at_middle(_film(heating, float(recovery[0]))) * (recovery - recovery[0])
    hardest = float(heating.time[int(np.argmax(flux + at_middle(heating.absorbed)))])
    return {"start": float(heating.time[0]), "hardest heated": hardest, "end": float(heating.time[-1])}
