"""The margins of one built tip from one march: what each mode of failure has left."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

import numpy as np

from optitip.arrays import FloatArray
from optitip.evaluate.bent import Bent, beam_stress, bent
from optitip.evaluate.breathing import ambient_pressure, pocket_pressure
from optitip.evaluate.building import Tip
from optitip.evaluate.fixings import clamped, fixing_margins
from optitip.evaluate.held import needed_force, sample_margins
from optitip.evaluate.moments import Moments, moments_of
from optitip.evaluate.parts import PARTS
from optitip.evaluate.service import service_margins
from optitip.evaluate.shell import Shell
from optitip.evaluate.weights import Weights
from optitip.flight.trajectory import Flight
from optitip.heating.table import Heating
from optitip.metrics.buckling import force_ahead
from optitip.metrics.margins import Margin, buckling_margin, smallest_margin
from optitip.metrics.wall_margins import (
    Judging,
    Standing,
    shakedown_margin,
    standing,
    strain_margin,
    stress_ranges,
    yield_margin,
)
from optitip.solvers.elastic import StressFields, StressLoads, solve_stress
from optitip.solvers.elastic_lines import WallStress, wall_stress
from optitip.solvers.history import History

_PART_OF = {int(zone): name for zone, name in PARTS.items()}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Judged:
    """What one flow state left of each margin, the smallest last, and the figures found on the way.

    clamp: of a tie rod (n_i,) [N].
    """

    margins: tuple[Margin, ...]
    metrics: Mapping[str, float]
    moments: Moments
    stress: StressFields
    bending: Bent
    clamp: FloatArray


def judged(
    tip: Tip,
    shell: Shell,
    *,
    histories: Sequence[History],
    heatings: Sequence[Heating],
    flight: Flight | None,
    start: float,
    weights: Weights,
    folder: Path,
) -> tuple[Judged, ...]:
    """Return all margins of each flow state; the stress of all of them is solved in one go.

    start: [K] at which the shell is free of stress. folder: the study's.
    """
    acting = [
        _acting(tip, history=history, heating=heating, flight=flight, weights=weights)
        for history, heating in zip(histories, heatings, strict=True)
    ]
    every = _stressed(tip, shell, Moments.of_all([one.when for one in acting]), start=start, folder=folder)
    found, first = [], 0
    for history, one in zip(histories, acting, strict=True):
        own = every.during(slice(first, first + len(one.when.instants)))
        first += len(one.when.instants)
        found.append(
            _judged(tip, shell, one, own, history=history, start=start, weights=weights, folder=folder)
        )
    return tuple(found)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Acting:
    """What acts on the tip in one flow state; overpressure: the pocket's highest [Pa]."""

    when: Moments
    overpressure: float


def _acting(
    tip: Tip, *, history: History, heating: Heating, flight: Flight | None, weights: Weights
) -> _Acting:
    ambient = ambient_pressure(history.time, heating=heating, flight=flight)
    pocket = pocket_pressure(
        tip, history=history, ambient=ambient, flight=flight, slab_volume=weights.slab_volume
    )
    when = moments_of(tip, history=history, heating=heating, flight=flight, ambient=ambient, pocket=pocket)
    return _Acting(when=when, overpressure=float((pocket - ambient).max()))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Stressed:
    """What the shell bears at its instants.

    clamp: of a tie rod (n_i,) [N]. along: bending at the walls' faces, as ``bent_wall`` has it.
    """

    stress: StressFields
    wall: WallStress
    stands: Standing
    clamp: FloatArray
    bending: Bent
    along: FloatArray

    def during(self, some: slice) -> "_Stressed":
        """Return what it bears at some of the instants."""
        return _Stressed(
            stress=self.stress.at(some),
            wall=self.wall.at(some),
            stands=self.stands.at(some),
            clamp=self.clamp[some],
            bending=self.bending.during(some),
            along=self.along[some],
        )


def _stressed(tip: Tip, shell: Shell, when: Moments, *, start: float, folder: Path) -> _Stressed:
    loads = stress_loads(tip, when, start=start)
    stress = solve_stress(shell.body, loads=loads)
    wall = wall_stress(shell.body, loads=loads, fields=stress)
    clamp, bending = clamped(tip, shell, stress=stress, folder=folder), bent(shell, when)
    return _Stressed(
        stress=stress,
        wall=wall,
        stands=standing(wall, materials=shell.elastic),
        clamp=clamp,
        bending=bending,
        along=bent_wall(bending, wall, clamp),
    )


def _judged(
    tip: Tip,
    shell: Shell,
    acting: _Acting,
    own: _Stressed,
    *,
    history: History,
    start: float,
    weights: Weights,
    folder: Path,
) -> Judged:
    """Return the margins of one flow state."""
    when, stress, bending = acting.when, own.stress, own.bending
    found = [
        *_wall_margins(tip, own, when=when),
        _buckling(tip, shell, when=when, bending=bending, clamp=own.clamp),
        *fixing_margins(tip, shell, when=when, bending=bending, stress=stress, start=start, folder=folder),
        *service_margins(tip, history=history, start=start),
        *sample_margins(tip, when=when, history=history, weights=weights),
    ]
    margins = _one_of_each(found)
    counted = [one for one in margins if one.name not in _uncounted(tip)]
    return Judged(
        margins=(*margins, smallest_margin(counted)),
        metrics={
            "pocket.overpressure_peak": acting.overpressure,
            "sample.pressing_force": needed_force(tip, weights),
        },
        moments=when,
        stress=stress,
        bending=bending,
        clamp=own.clamp,
    )


def _one_of_each(margins: Iterable[Margin]) -> tuple[Margin, ...]:
    """Return the smallest margin of each name: two parts may be threaded on."""
    least: dict[str, Margin] = {}
    for one in margins:
        if one.name not in least or one.value < least[one.name].value:
            least[one.name] = one
    return tuple(least.values())


def _uncounted(tip: Tip) -> tuple[str, ...]:
    """Return the margins that are told and don't count: of a tip that flies once, yielding to and fro."""
    return ("margin.shakedown",) if tip.tables.strength.flights == 1 else ()


def stress_loads(tip: Tip, when: Moments, *, start: float) -> StressLoads:
    """Return what acts on the shell, its pressures over that of the air at rest outside.

    The airframe behind the tip breathes: at the aft face the pressure is that of the air outside.
    """
    rows = len(tip.mesh.outer)
    return StressLoads(
        temperature=when.temperature,
        start_temperature=start,
        acceleration=when.acceleration,
        outline_pressure=when.outside - when.ambient[:, None],
        inner_pressure=np.broadcast_to((when.pocket - when.ambient)[:, None], (len(when.instants), rows)),
    )


def _wall_margins(tip: Tip, own: _Stressed, *, when: Moments) -> list[Margin]:
    strength, wall, stands = tip.tables.strength, own.wall, own.stands
    about = partial(Judging, parts=_PART_OF, instants=when.instants)
    ranges, allowed = stress_ranges(wall, stands), strength.strain_range
    return [
        yield_margin(wall, stands, about=about(factor=strength.factor("loads")), bending=own.along),
        strain_margin(wall, ranges, about=about(factor=strength.factor("strain")), allowed=allowed),
        shakedown_margin(wall, ranges, about=about(factor=strength.factor("shakedown"))),
    ]


def bent_wall(bending: Bent, wall: WallStress, clamp: FloatArray) -> FloatArray:
    """Return the stress along the axis of the tip bent as a beam at the faces of its lines (n_i, n_l, 2).

    A tie rod's clamp is added as if it had the side where bending adds to it.
    """
    outer, inner = wall.place[:, :, 0].T
    fibre, pressed = beam_stress(bending, clamp, axial=wall.axial, outer=outer, inner=inner)
    return np.stack([fibre + pressed, fibre * (inner / outer) + pressed], axis=-1)


def _buckling(tip: Tip, shell: Shell, *, when: Moments, bending: Bent, clamp: FloatArray) -> Margin:
    mesh, band = tip.mesh, tip.nodes_of("band")
    ahead = mesh.outer_arc <= tip.cavity.band_arc[1] + 1e-9
    middle = int(np.argmin(np.abs(mesh.outer_arc - 0.5 * sum(tip.cavity.band_arc))))
    index = tip.parts.materials_of["band"][0]
    elastic = tip.materials[index].elastic
    assert elastic is not None
    return buckling_margin(
        shell.band,
        material=elastic,
        temperature=when.temperature[:, band].max(axis=1),
        pressure=when.outside[:, middle] - when.pocket,
        axial_force=force_ahead(
            when.outside[:, ahead] - when.pocket[:, None],
            radius=mesh.points[mesh.outer[ahead], 0],
            mass=shell.mass_ahead,
            acceleration=when.acceleration,
        )
        + clamp,
        moment=bending.at(shell.band_ends),
        instants=when.instants,
        factor=tip.tables.strength.factor("buckling"),
    )
