"""When the tip is judged, and what acts on it then: temperature, pressures, accelerations, forces by hand."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from optitip.arrays import FloatArray
from optitip.evaluate.building import Tip
from optitip.evaluate.parts import SHELL_PARTS
from optitip.evaluate.warming import along
from optitip.flight.trajectory import Flight
from optitip.heating.table import Heating
from optitip.inputs.strength_tables import Strength
from optitip.metrics.bending import gust_incidence
from optitip.metrics.instants import TOGETHER, Instant, pick_instants
from optitip.solvers.history import History

IN_THE_HAND = "in the hand"
HARDEST_PUSH = "highest acceleration"
HARDEST_BRAKING = "hardest braking"
EJECTION = "ejection"
LANDING = "landing"
PICKED_UP = "end of soak"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Moments:
    """The instants of a march that are judged, and the state of the tip at each.

    temperature ``(n_i, n_nodes)`` [K]. outside ``(n_i, n_rows)``, ambient and pocket ``(n_i,)`` [Pa].
    acceleration ``(n_i,)`` [m/s2] along the axis, positive pushing fore; lateral ``(n_i,)`` [m/s2] across it.
    dynamic_pressure ``(n_i,)`` [Pa]; incidence ``(n_i,)`` [rad]; nose_force ``(n_i,)`` [N] across the axis at
    the nose point.
    """

    instants: tuple[Instant, ...]
    temperature: FloatArray
    outside: FloatArray
    ambient: FloatArray
    pocket: FloatArray
    acceleration: FloatArray
    lateral: FloatArray
    dynamic_pressure: FloatArray
    incidence: FloatArray
    nose_force: FloatArray

    @property
    def names(self) -> tuple[str, ...]:
        """Return what each instant is."""
        return tuple(one.name for one in self.instants)

    @property
    def time(self) -> FloatArray:
        """Return the instants (n_i,) [s]."""
        return np.array([one.time for one in self.instants])

    @classmethod
    def of_all(cls, states: Sequence["Moments"]) -> "Moments":
        """Return the instants of several flow states one behind the other."""
        arrays = [one.name for one in fields(cls) if one.name != "instants"]
        joined = {name: np.concatenate([getattr(one, name) for one in states]) for name in arrays}
        return cls(instants=tuple(one for state in states for one in state.instants), **joined)

    def places(self, name: str) -> list[int]:
        """Return the numbers of the instants that are what ``name`` says: one or none."""
        return [number for number, one in enumerate(self.instants) if name in one.names]


def moments_of(
    tip: Tip,
    *,
    history: History,
    heating: Heating,
    flight: Flight | None,
    ambient: FloatArray,
    pocket: FloatArray,
) -> Moments:
    """Return the instants of one march that matter to the walls, and what acts on the tip at each.

    ambient, pocket: (n_t,) [Pa] of the air outside and in the pocket, at the march's own times.
    """
    instants = pick_instants(
        history.time,
        moments=_named(tip.tables.strength, history=history, flight=flight),
        peaks=_peaks(tip, history, overpressure=pocket - ambient),
    )
    time = np.array([one.time for one in instants])
    pressure = along(time, heating.time, heating.pressure[None])[0]
    return Moments(
        instants=instants,
        temperature=history.temperature_at(time),
        outside=along(tip.mesh.outer_arc, heating.arc_length, pressure[..., None])[..., 0],
        ambient=np.interp(time, history.time, ambient),
        pocket=np.interp(time, history.time, pocket),
        nose_force=_nose_forces(tip.tables.strength, instants),
        **_flown_loads(tip.tables.strength, instants, flight=flight),
    )


def _named(strength: Strength, *, history: History, flight: Flight | None) -> Mapping[str, float]:
    """Return the moments that the flight or the study names [s]."""
    ends = {IN_THE_HAND: float(history.time[0]), PICKED_UP: float(history.time[-1])}
    if flight is None:
        return ends
    climb = _climb(flight)
    named = {
        **ends,
        "burnout": flight.events["burnout"],
        "highest dynamic pressure": climb.pressing,
        HARDEST_PUSH: climb.pushing,
        HARDEST_BRAKING: climb.braking,
        EJECTION: flight.events["apogee"],
    }
    return named if strength.landing_load is None else {**named, LANDING: flight.events["landing"]}


class _Climb(NamedTuple):
    """When a climb's dynamic pressure, push and braking are highest [s], and that push and braking [m/s2].

    Motors that stop at once go from one to the other in no time: the braking stands apart all the same.
    """

    pressing: float
    pushing: float
    push: float
    braking: float
    brake: float


@lru_cache(maxsize=8)  # a study has one flight, or a few to choose from
def _climb(flight: Flight) -> _Climb:
    aloft = (flight.time > 0.0) & (flight.time <= flight.events["apogee"])
    felt, time = flight.axial_acceleration[aloft], flight.time[aloft]
    pushing, braking = float(time[int(np.argmax(felt))]), float(time[int(np.argmin(felt))])
    return _Climb(
        pressing=float(time[int(np.argmax(flight.dynamic_pressure[aloft]))]),
        pushing=pushing,
        push=float(felt.max()),
        braking=braking if abs(braking - pushing) > TOGETHER else pushing + 2.0 * TOGETHER,
        brake=float(felt.min()),
    )


def _peaks(tip: Tip, history: History, *, overpressure: FloatArray) -> Mapping[str, FloatArray]:
    """Return what has its own hottest, steepest or fullest instant (n_t,)."""
    metal = np.concatenate([tip.nodes_of(part) for part in SHELL_PARTS])
    rows, walls = tip.mesh.rows, _walls(tip)
    outer, inner = (history.temperature.take(rows[:, end], axis=1) for end in (0, -1))
    arc, middle = tip.mesh.outer_arc[walls], 0.5 * (outer[:, walls] + inner[:, walls])
    step, rise = arc[1:] - arc[:-1], middle[:, 1:] - middle[:, :-1]
    slope = np.divide(rise, step, out=np.zeros_like(rise), where=step > 0.0)
    return {
        "hottest metal": history.temperature.take(metal, axis=1).max(axis=1),
        "steepest through the wall": np.abs(outer - inner).max(axis=1),
        "steepest along the wall": np.abs(slope).max(axis=1),
        "highest pocket pressure": overpressure,
    }


def _walls(tip: Tip) -> slice:
    """Return the rows that end in the band, its tapers among them, or begin the base."""
    fore, aft = tip.cavity.band_arc[0] - tip.cavity.design.fore_taper, tip.cavity.base_arc
    slack, arc = 1e-6, tip.mesh.outer_arc
    return slice(int(arc.searchsorted(fore - slack)), int(arc.searchsorted(aft + slack, side="right")))


def _nose_forces(strength: Strength, instants: tuple[Instant, ...]) -> FloatArray:
    forces = {IN_THE_HAND: strength.hand_load, PICKED_UP: strength.hand_load}
    forces[LANDING] = strength.landing_load or 0.0
    return np.array([max(forces.get(name, 0.0) for name in one.names) for one in instants])


def _flown_loads(
    strength: Strength, instants: tuple[Instant, ...], *, flight: Flight | None
) -> Mapping[str, FloatArray]:
    """Return accelerations, dynamic pressure and incidence (n_i,): none without a flight.

    At the ejection the lines snatch: they pull the base aft, away from what is ahead of it.
    """
    none = np.zeros(len(instants))
    if flight is None:
        return dict.fromkeys(("acceleration", "lateral", "dynamic_pressure", "incidence"), none)
    time = np.array([one.time for one in instants])
    names = (HARDEST_PUSH, HARDEST_BRAKING, EJECTION)
    is_at = {name: np.array([name in one.names for one in instants]) for name in names}
    flying = (time > 0.0) & (time <= flight.events["apogee"])
    felt = np.interp(time, flight.time, flight.axial_acceleration) * (time > 0.0)
    felt = np.where(is_at[HARDEST_BRAKING], _climb(flight).brake, felt)
    felt = np.where(is_at[HARDEST_PUSH], _climb(flight).push, felt)
    speed = np.interp(time, flight.time, flight.speed)
    return {
        "acceleration": np.where(is_at[EJECTION], -strength.snatch, felt),
        "lateral": strength.lateral_acceleration * flying,
        "dynamic_pressure": np.interp(time, flight.time, flight.dynamic_pressure) * flying,
        "incidence": gust_incidence(speed, gust=strength.gust) * flying,
    }
