"""The margins of one built tip from one march: stress at the instants that matter, parts at their hottest."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from optitip.arrays import FloatArray, IntArray
from optitip.evaluate.building import Tip
from optitip.evaluate.parts import PARTS, SHELL_PARTS
from optitip.evaluate.warming import along
from optitip.flight.trajectory import Flight
from optitip.heating.table import Heating
from optitip.inputs.tip_tables import PocketAir
from optitip.metrics.buckling import BandShape, force_ahead
from optitip.metrics.instants import Instant, pick_instants
from optitip.metrics.margins import (
    Margin,
    ServicePeak,
    buckling_margin,
    service_margin,
    shakedown_margin,
    smallest_margin,
    yield_margin,
)
from optitip.properties.joints import JOINT_RANGES
from optitip.properties.materials import Elastic
from optitip.properties.water import TRIPLE_POINT, vapour_pressure
from optitip.solvers.elastic import StressBody, StressLoads, solve_stress, stress_body
from optitip.solvers.elastic_lines import wall_stress
from optitip.solvers.history import History


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shell:
    """The shell ready for stress, with what its loads need; the same for all flow states."""

    body: StressBody
    elastic: tuple[Elastic, ...]
    band: BandShape
    mass_ahead: float


def shell_of(tip: Tip) -> Shell:
    """Return the shell of a tip, its stiffness laid out once for all instants and flow states."""
    parts = tip.parts
    named = sorted(set(parts.nine_node_material.tolist()))
    elastic = tuple(one for index in named if (one := tip.materials[index].elastic) is not None)
    body = stress_body(
        tip.mesh.points,
        cells=parts.nine_node,
        materials=elastic,
        cell_material=np.searchsorted(named, parts.nine_node_material),
        density=np.array([tip.materials[index].density for index in named]),
    )
    return Shell(body=body, elastic=elastic, band=_band_shape(tip), mass_ahead=_mass_ahead(tip))


def _band_shape(tip: Tip) -> BandShape:
    fore, aft = tip.cavity.band_arc
    axial, radius, _ = tip.outline.at(np.array([fore, aft]))
    wall = tip.cavity.wall_thickness(np.array([fore, aft]))
    return BandShape(
        fore_radius=float(radius[0] - 0.5 * wall[0]),
        aft_radius=float(radius[1] - 0.5 * wall[1]),
        axial_length=float(axial[1] - axial[0]),
        thickness=float(wall.min()),
        axial=float(0.5 * (axial[0] + axial[1])),
    )


def _mass_ahead(tip: Tip) -> float:
    """Return the mass [kg] of plug and band: what the band's aft end has to push."""
    ahead = np.concatenate([tip.cells_of("plug"), tip.cells_of("band")])
    density = np.array([one.density for one in tip.materials])[tip.cell_material]
    return float(density[ahead] @ tip.cell_volume[ahead])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Moment:
    """The instants of a march that are judged, with pressures at them."""

    instants: tuple[Instant, ...]
    temperature: FloatArray
    outside: FloatArray
    pocket: FloatArray
    acceleration: FloatArray


def moments(
    tip: Tip, *, history: History, heating: Heating, flight: Flight | None, sample_start: float
) -> Moment:
    """Return the state of the tip at burnout, hottest metal and highest dynamic pressure."""
    metal = np.concatenate([tip.nodes_of(part) for part in SHELL_PARTS])
    peaks = {"hottest metal": history.temperature[:, metal].max(axis=1)}
    if flight is None:
        instants = pick_instants(history.time, moments={}, peaks=peaks)
    else:
        pressing = float(flight.time[np.argmax(flight.dynamic_pressure)])
        named = {"burnout": flight.events["burnout"], "highest dynamic pressure": pressing}
        instants = pick_instants(history.time, moments=named, peaks=peaks)
    index = np.array([one.index for one in instants])
    time, temperature = history.time[index], history.temperature[index]
    at_instants = along(time, heating.time, heating.pressure[None])[0]
    outside = along(tip.mesh.outer_arc, heating.arc_length, at_instants[..., None])[..., 0]
    ambient = _ambient(time, heating=heating, flight=flight)
    felt = np.zeros(len(time)) if flight is None else np.interp(time, flight.time, flight.axial_acceleration)
    return Moment(
        instants=instants,
        temperature=temperature,
        outside=outside,
        pocket=_pocket_pressure(
            tip, temperature=temperature, ambient=ambient, start=sample_start, heating=heating
        ),
        acceleration=felt,
    )


def _ambient(time: FloatArray, *, heating: Heating, flight: Flight | None) -> FloatArray:
    if flight is None:
        return np.full(len(time), float(np.min(heating.pressure)))
    return np.asarray(np.interp(time, flight.time, flight.pressure))


def _pocket_pressure(
    tip: Tip, *, temperature: FloatArray, ambient: FloatArray, start: float, heating: Heating
) -> FloatArray:
    """Return the pocket's pressure at the instants (n_i,) [Pa].

    Vented: that of the air outside. Sealed: the air shut in at the start, p0 T/T0, and over a moist sample
    the vapour at its hottest face (an upper bound: the coldest wall holds the vapour lower; over ice that of
    the triple point).
    """
    if tip.tables.sample.pocket.air is not PocketAir.SEALED:
        return ambient
    slab = tip.nodes_of("slab")
    shut_in = float(heating.pressure[0].min()) * temperature[:, slab].mean(axis=1) / start
    if tip.sample.boiling is None:
        return np.asarray(shut_in)
    return np.asarray(shut_in + vapour_pressure(np.maximum(temperature[:, slab].max(axis=1), TRIPLE_POINT)))


def margins_of(
    tip: Tip,
    shell: Shell,
    *,
    history: History,
    heating: Heating,
    flight: Flight | None,
    start: float,
    sample_start: float,
) -> tuple[Margin, ...]:
    """Return all margins of one flow state, the smallest of them last.

    start: [K] at which the shell is free of stress; sample_start: [K] at which a sealed pocket was shut.
    """
    when = moments(tip, history=history, heating=heating, flight=flight, sample_start=sample_start)
    names = [one.name for one in when.instants]
    factor = tip.tables.strength.safety_factor
    rows = len(tip.mesh.outer)
    loads = StressLoads(
        temperature=when.temperature,
        start_temperature=start,
        acceleration=when.acceleration,
        outline_pressure=when.outside - when.pocket[:, None],
        inner_pressure=np.zeros((len(names), rows)),
    )
    wall = wall_stress(shell.body, loads=loads, fields=solve_stress(shell.body, loads=loads))
    parts: Mapping[int, str] = {int(zone): name for zone, name in PARTS.items()}
    found = [
        rule(wall, materials=shell.elastic, parts=parts, instants=names, factor=factor)
        for rule in (yield_margin, shakedown_margin)
    ]
    found.append(_buckling(tip, shell, when=when, names=names, factor=factor))
    found.append(service_margin("margin.temperature", peaks=_part_peaks(tip, history=history, start=start)))
    found.append(service_margin("margin.joint", peaks=_joint_peaks(tip, history=history, start=start)))
    return (*found, smallest_margin(found))


def _buckling(tip: Tip, shell: Shell, *, when: Moment, names: Sequence[str], factor: float) -> Margin:
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
        ),
        instants=names,
        factor=factor,
    )


def _part_peaks(tip: Tip, *, history: History, start: float) -> list[ServicePeak]:
    """Return the hottest each part with a service limit became, backing included, the sample not.

    An insulator in the shell is judged by depth instead: its surface passes its limit on every fast flight.
    """
    peaks = []
    for piece in tip.parts.pieces:
        material = tip.materials[piece.material]
        by_depth = material.judged_by_depth and piece.part in SHELL_PARTS
        if material.service_limit is None or piece.part == "slab" or by_depth:
            continue
        name = f"{piece.part} ({material.name})"
        limit = material.service_limit
        peaks.append(_peak(tip, piece.nodes, history=history, part=name, limit=limit, start=start))
    return peaks


def _joint_peaks(tip: Tip, *, history: History, start: float) -> list[ServicePeak]:
    """Return the hotter face of each joint with a limit: the study's, or the build's of the sample joint."""
    given = tip.tables.strength.joint_limit
    build = tip.tables.sample.joint.build
    limits: dict[str, float | None] = dict.fromkeys(("plug", "base", "sample"), given)
    if given is None and tip.tables.sample.joint.conductance is None:
        limits["sample"] = JOINT_RANGES[build].limit
    return [
        _peak(
            tip,
            np.concatenate([pairs.first, pairs.second]),
            history=history,
            part=f"joint of the {pairs.name}",
            limit=limit,
            start=start,
        )
        for pairs in tip.mesh.joints
        if (limit := limits.get(pairs.name)) is not None
    ]


def _peak(
    tip: Tip, nodes: IntArray, *, history: History, part: str, limit: float, start: float
) -> ServicePeak:
    values = history.highest[nodes]
    hottest = int(nodes[int(np.argmax(values))])
    when = float(history.time[int(np.argmax(history.temperature[:, hottest]))])
    return ServicePeak(
        part=part,
        limit=limit,
        start=start,
        peak=float(values.max()),
        axial=float(tip.mesh.points[hottest, 1]),
        time=f"{when:.1f} s",
    )
