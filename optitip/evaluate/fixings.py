"""What holds the base and the plug's insert on, threads, screws or a tie rod, against what pulls at them."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from optitip.arrays import FloatArray, IntArray
from optitip.errors import Mistake, UserMistakes
from optitip.evaluate.bent import Bent
from optitip.evaluate.building import Tip
from optitip.evaluate.laps import fixing_of, lap_at
from optitip.evaluate.moments import Moments
from optitip.evaluate.shell import Shell
from optitip.evaluate.sources import material_of, thread_at
from optitip.inputs.strength_tables import Fixing
from optitip.inputs.study import Study
from optitip.metrics.fixing import (
    Fails,
    TieRod,
    clamp_force,
    equivalent_force,
    joint_margin,
    opening_radius,
    rod_margins,
    screws_strength,
    stiffness,
    thread_strength,
)
from optitip.metrics.margins import Margin
from optitip.properties.materials import Elastic
from optitip.properties.threads import Thread
from optitip.solvers.elastic import StressFields


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Joint:
    """One joint across the shell at the instants judged: its rows, what pulls at it, its metals' yield."""

    name: str
    axial: float
    inner: float
    outer: float
    wall: float
    force: FloatArray
    moment: FloatArray
    fore_yield: FloatArray
    aft_yield: FloatArray


def fixing_margins(
    tip: Tip,
    shell: Shell,
    *,
    when: Moments,
    bending: Bent,
    stress: StressFields,
    start: float,
    folder: Path,
) -> Iterator[Margin]:
    """Yield the margins of what holds the parts of their own on; none for a part whose fixing isn't given.

    start: [K] of the shell before the flight.
    """
    for number, name in enumerate(shell.joints):
        fixing = fixing_of(tip.tables, name)
        if fixing is None:
            continue
        force = stress.joint_force[:, number]
        if name == "base":
            force = force + _pull_of_lining(tip, when)
        joint = _joint(tip, name, force=force, bending=bending, when=when)
        if fixing.rod is not None:
            yield from _rod(tip, shell, fixing, joint, when=when, stress=stress, start=start, folder=folder)
        else:
            yield _held(tip, fixing, joint, when=when, folder=folder)


def _pull_of_lining(tip: Tip, when: Moments) -> FloatArray:
    """Return how slab and backing pull the parts ahead off the base as it is held back (n_i,) [N].

    Pushed fore they stand on what is behind them, the base perhaps: that relieves no joint.
    """
    lined = tip.parts.lined
    density = np.array([one.density for one in tip.materials])[tip.cell_material[lined]]
    mass = tip.share * float(density @ tip.cell_volume[lined])
    return np.asarray(mass * np.maximum(-when.acceleration, 0.0))


def _joint(tip: Tip, name: str, *, force: FloatArray, bending: Bent, when: Moments) -> _Joint:
    pairs = next(one for one in tip.mesh.joints if one.name == name)
    (inner, axial), (outer, _) = tip.mesh.points[pairs.first[-1]], tip.mesh.points[pairs.first[0]]
    wall = float(np.hypot(*(tip.mesh.points[pairs.first[0]] - tip.mesh.points[pairs.first[-1]])))
    return _Joint(
        name=name,
        axial=float(axial),
        inner=float(inner),
        outer=float(outer),
        wall=wall,
        force=force,
        moment=bending.at(np.array([axial]))[:, 0],
        fore_yield=_yield(tip, pairs.first, when),
        aft_yield=_yield(tip, pairs.second, when),
    )


def _yield(tip: Tip, nodes: IntArray, when: Moments) -> FloatArray:
    """Return the yield strength of a side of a joint at its mean temperature (n_i,) [Pa]."""
    elastic = tip.materials[int(tip.parts.node_material[nodes[0]])].elastic
    assert elastic is not None  # a shell without strength isn't built
    return elastic.yield_at(when.temperature[:, nodes].mean(axis=1))


def _held(tip: Tip, fixing: Fixing, joint: _Joint, *, when: Moments, folder: Path) -> Margin:
    """Return the margin of a thread or of screws that hold a part on; the fore part has the spigot."""
    lap = lap_at(tip, joint.name)
    assert lap is not None  # a joint with a fixing has one
    if fixing.thread is not None:
        thread = thread_at(fixing.thread, place=f"tip.{joint.name}.fixing.thread")
        strength = thread_strength(
            thread,
            length=fixing.engagement,
            external_yield=joint.fore_yield,
            internal_yield=joint.aft_yield,
            bore=0.0 if lap.inner is None else 2.0 * lap.inner,
            outside=2.0 * (lap.radius + lap.skirt_wall),
        )
        # a stud in the middle has the whole radius of its shoulder as its lever, a ring half of its own
        about, radius = Fails.THREAD, 2.0 * joint.outer if lap.inner is None else 0.5 * thread.major
    else:
        screw = thread_at(fixing.screw or "", place=f"tip.{joint.name}.fixing.screw")
        metal = elastic_of(fixing, name=joint.name, folder=folder)
        strength = screws_strength(
            screw,
            count=fixing.screws,
            screw_yield=metal.yield_at(_mean(tip, joint, when)),
            wall_yield=np.minimum(joint.fore_yield, joint.aft_yield),
            wall_thickness=max(min(lap.spigot_wall, lap.skirt_wall), 0.0),
            edge=fixing.engagement,
        )
        about, radius = Fails.RETENTION, joint.outer
    return joint_margin(
        strength,
        about=about,
        load=equivalent_force(joint.force, moment=joint.moment, radius=radius),
        part=f"joint of the {joint.name}",
        axial=joint.axial,
        instants=when.instants,
        factor=tip.tables.strength.factor("fixing"),
    )


def _mean(tip: Tip, joint: _Joint, when: Moments) -> FloatArray:
    pairs = next(one for one in tip.mesh.joints if one.name == joint.name)
    return np.asarray(when.temperature[:, pairs.first].mean(axis=1))


def _rod(
    tip: Tip,
    shell: Shell,
    fixing: Fixing,
    joint: _Joint,
    *,
    when: Moments,
    stress: StressFields,
    start: float,
    folder: Path,
) -> Iterator[Margin]:
    """Yield the margins of a tie rod from the plug's face to the aft end.

    Its pull is highest while the rod is still as cold as at the start, and it slackens most with the rod as
    warm as the shell at its hottest part: each margin has the worse of both.
    """
    thread = thread_at(fixing.rod or "", place="tip.base.fixing.rod")
    metal = elastic_of(fixing, name="base", folder=folder)
    rod, length = tie_rod(tip, shell, fixing, thread=thread, metal=metal)
    grown = shell_growth(tip, stress)
    warmest = when.temperature[:, np.concatenate([tip.nodes_of("band"), tip.nodes_of("base")])].max(axis=1)
    ring = opening_radius(joint.inner, outer=joint.outer)
    separating = equivalent_force(joint.force, moment=joint.moment, radius=ring)
    found = [
        rod_margins(
            rod,
            thread=thread,
            engaged=fixing.engagement,
            growth=grown - length * _expanded(metal, temperature, start),
            separating=separating,
            rod_yield=metal.yield_at(temperature),
            nut_yield=_nut_yield(tip, joint, when),
            axial=joint.axial,
            instants=when.instants,
            factor=tip.tables.strength.factor("fixing"),
        )
        for temperature in (np.full_like(warmest, start), warmest)
    ]
    for cold, warm in zip(*found, strict=True):
        yield min(cold, warm, key=lambda one: one.value)


def _nut_yield(tip: Tip, joint: _Joint, when: Moments) -> FloatArray:
    """Return the lower yield strength of what the rod is screwed into, plug or base (n_i,) [Pa]."""
    [face, *_] = np.flatnonzero(tip.mesh.rows[:, -1] == tip.mesh.inner_edges[0, 0])
    return np.minimum(_yield(tip, tip.mesh.rows[face], when), joint.aft_yield)


def _expanded(metal: Elastic, temperature: FloatArray, start: float) -> FloatArray:
    """Return the free strain from the start [1]."""
    T = np.append(temperature, start)
    strain = metal.expansion_at(T) * (T - metal.reference_temperature)
    return np.asarray(strain[:-1] - strain[-1])


def shell_growth(tip: Tip, stress: StressFields) -> FloatArray:
    """Return how much farther the plug's face is from the aft end, by heat alone (n_i,) [m].

    A preload is set on the shell put together: what a fit has moved is taken off.
    """
    face = int(tip.mesh.inner_edges[0, 0])
    by_heat = stress.total_movement[:, face, 1] - stress.primary_movement[:, face, 1]
    by_heat = by_heat - stress.assembled_movement[face, 1]
    return np.asarray(-by_heat)


def tie_rod(
    tip: Tip, shell: Shell, fixing: Fixing, *, thread: Thread, metal: Elastic
) -> tuple[TieRod, float]:
    """Return the rod with its stiffness and that of the shell it clamps, cold, and its length [m]."""
    length = tip.outline.turned_length - tip.cavity.design.plug_length
    start = metal.reference_temperature
    rows = tip.mesh.rows[tip.mesh.rows[:, 0] != tip.mesh.rows[:, -1]]
    outer, inner = tip.mesh.points[rows[:, 0]], tip.mesh.points[rows[:, -1]]
    behind = outer[:, 1] >= tip.cavity.design.plug_length
    area = np.pi * (outer[:, 0] ** 2 - inner[:, 0] ** 2)[behind]
    modulus = np.array([float(one.modulus_at(start)) for one in shell.elastic]).min()
    soft = np.trapezoid(1.0 / (modulus * area), outer[behind, 1])
    rod = TieRod(
        preload=fixing.preload,
        rod_stiffness=float(stiffness(metal.modulus_at(start), area=thread.tensile_area, length=length)),
        shell_stiffness=float(1.0 / soft),
    )
    return rod, length


def clamped(tip: Tip, shell: Shell, *, stress: StressFields, folder: Path) -> FloatArray:
    """Return the force with which a tie rod as cold as at the start clamps the shell (n_i,) [N]; else 0."""
    fixing = tip.tables.tip.base.fixing
    if fixing is None or fixing.rod is None:
        return np.zeros(len(stress.aft_force))
    thread = thread_at(fixing.rod, place="tip.base.fixing.rod")
    rod, _ = tie_rod(tip, shell, fixing, thread=thread, metal=elastic_of(fixing, name="base", folder=folder))
    return clamp_force(rod, growth=shell_growth(tip, stress))


def elastic_of(fixing: Fixing, *, name: str, folder: Path) -> Elastic:
    """Return the elastic table of what screws or rod are made of, or raise the user's mistake."""
    place = f"tip.{name}.fixing.material"
    try:
        material = material_of(fixing.material, folder=folder)
    except UserMistakes as error:
        raise UserMistakes(Mistake(place, one.problem, one.remedy) for one in error.mistakes) from None
    if material.elastic is None:
        problem = f"'{material.name}' has no strength figures"
        raise UserMistakes.one(place, problem, "Choose one with an elastic table")
    return material.elastic


def fixing_mistakes(study: Study) -> Iterator[Mistake]:
    """Yield what is wrong with the threads and materials of a study's fixings."""
    for name in ("plug", "base"):
        fixing = fixing_of(study.tables, name)
        if fixing is None:
            continue
        try:
            elastic_of(fixing, name=name, folder=study.folder)
            for key in ("thread", "screw", "rod"):
                written = getattr(fixing, key)
                if written is not None:
                    thread_at(written, place=f"tip.{name}.fixing.{key}")
        except UserMistakes as error:
            yield from error.mistakes
