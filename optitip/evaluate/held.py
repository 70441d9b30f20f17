"""Whether the sample bears its own weight and stays on the wall: on its shoulder, pressed, cooked."""

from collections.abc import Iterator

import numpy as np

from optitip.arrays import FloatArray
from optitip.evaluate.building import Tip
from optitip.evaluate.moments import Moments
from optitip.evaluate.weights import Weights
from optitip.inputs.tip_tables import JointBuild, JointKind
from optitip.metrics.exposure import radial_growth
from optitip.metrics.margins import Margin
from optitip.metrics.slab import (
    bond_shear,
    contact_margin,
    lift_off_pressure,
    pressing_force,
    pressing_margin,
    shoulder_stress,
    shrink_gap,
    slab_margin,
    spin_pressure,
)
from optitip.properties.joints import JOINT_RANGES
from optitip.solvers.history import History


def sample_margins(tip: Tip, *, when: Moments, history: History, weights: Weights) -> Iterator[Margin]:
    """Yield the margins of the sample: strength where it is known, pressing and contact if it is pressed."""
    if strength_of(tip) is not None:
        yield _shoulder(tip, when=when, area=weights.contact_area)
    if not is_pressed(tip):
        return
    if tip.tables.sample.joint.force is not None:
        yield _pressing(tip, tip.tables.sample.joint.force, when=when, area=weights.contact_area)
    yield _contact(tip, history=history)


def needed_force(tip: Tip, weights: Weights) -> float:
    """Return the force all round [N] that presses the sample as its joint assumes; 0 if none does."""
    if not is_pressed(tip):
        return 0.0
    build = tip.tables.sample.joint.build
    return pressing_force(JOINT_RANGES[build].pressure, area=weights.contact_area)


def is_pressed(tip: Tip) -> bool:
    """Return whether something presses the sample on the wall: neither a ring of its own nor a bond."""
    joint = tip.tables.sample.joint
    return joint.kind is JointKind.PRESSED and joint.build is not JointBuild.EPOXY


def _is_bonded(tip: Tip) -> bool:
    joint = tip.tables.sample.joint
    return joint.kind is JointKind.BONDED or joint.build is JointBuild.EPOXY


def strength_of(tip: Tip) -> tuple[float, float] | None:
    """Return the low and the expected stress that crushes the sample [Pa], if study or material tell one."""
    given = tip.tables.sample.slab.strength
    if given is not None:
        return given, given
    known = tip.sample.strength
    return None if known is None else (known.low, known.expected)


def _shoulder(tip: Tip, *, when: Moments, area: float) -> Margin:
    """Return the margin of the slab under its own weight, on its end or on its bond, spun and pressed.

    A bond is loaded in shear, of which a soft solid stands half of what crushes it (Tresca): it counts twice.
    Spin lays the backing on it too.
    """
    (fore, aft), strength = _ends(tip), strength_of(tip)
    assert strength is not None
    density, thickness = tip.sample.density, tip.tables.sample.slab.thickness
    bonded, level = _is_bonded(tip), when.acceleration
    weight = (
        2.0 * bond_shear(density, acceleration=level, thickness=thickness)
        if bonded
        else shoulder_stress(density, acceleration=level, length=aft - fore)
    )
    spin = sum(
        spin_pressure(one, spin=tip.tables.strength.spin, radius=_radius(tip), thickness=thick)
        for one, thick in _layers(tip)
    )
    how = "its weight on its bond, twice the shear" if bonded else "its weight on its shoulder"
    stresses = {how: weight, "spin against the wall": np.full_like(weight, spin)}
    if is_pressed(tip):
        stresses["pressed on the wall"] = np.full_like(weight, _pressed(tip, area=area))
    return slab_margin(
        stresses,
        low=strength[0],
        expected=strength[1],
        axial=aft,
        instants=when.instants,
        factor=tip.tables.strength.factor("slab"),
    )


def _layers(tip: Tip) -> list[tuple[float, float]]:
    """Return density [kg/m3] and thickness [m] of slab and backing."""
    sample, backing = tip.tables.sample, tip.tables.sample.backing
    layers = [(tip.sample.density, sample.slab.thickness)]
    if backing is not None:
        [behind] = tip.parts.materials_of["backing"]
        layers.append((tip.materials[behind].density, backing.thickness))
    return layers


def _pressed(tip: Tip, *, area: float) -> float:
    """Return with what pressure [Pa] something presses the sample: a force given, or what its joint takes."""
    joint = tip.tables.sample.joint
    return JOINT_RANGES[joint.build].pressure if joint.force is None else joint.force / area


def _ends(tip: Tip) -> tuple[float, float]:
    """Return where the slab begins and ends along the axis [m], on the wall."""
    z = tip.mesh.points[tip.mesh.slab_rows[:, 0], 1]
    return float(z[0]), float(z[-1])


def _radius(tip: Tip) -> float:
    return float(tip.mesh.points[tip.mesh.slab_rows[:, 0], 0].mean())


def _pressing(tip: Tip, force: float, *, when: Moments, area: float) -> Margin:
    """Return the margin of a given force: it keeps the joint assumed, whatever acts across the axis."""
    sample = tip.tables.sample
    lifts = sum(
        lift_off_pressure(density, acceleration=when.lateral, thickness=thickness)
        for density, thickness in _layers(tip)
    )
    return pressing_margin(
        force,
        area=area,
        needed=np.asarray(JOINT_RANGES[sample.joint.build].pressure + lifts),
        axial=0.5 * sum(_ends(tip)),
        instants=when.instants,
        factor=tip.tables.strength.factor("slab"),
    )


def _contact(tip: Tip, *, history: History) -> Margin:
    """Return the margin of the pressing's travel: it follows as the wall grows and the slab shrinks.

    A ring draws its whole radius off the wall, a strip slides round and its thickness alone counts.
    """
    joint, slab = tip.tables.sample.joint, tip.nodes_of("slab")
    travel = JOINT_RANGES[joint.build].travel if joint.travel is None else joint.travel
    mean = history.temperature[:, slab].mean(axis=1)
    shrunk = np.zeros_like(mean)
    if tip.sample.shrinkage is not None:
        shrunk = tip.sample.shrinkage.strain_at(np.maximum.accumulate(mean))
    own = tip.tables.sample.slab
    size = _radius(tip) if own.share == 1.0 else own.thickness
    return contact_margin(
        shrink_gap(shrunk, size=size) + _wall_growth(tip, history),
        time=history.time,
        travel=travel,
        axial=0.5 * sum(_ends(tip)),
        factor=tip.tables.strength.factor("slab"),
    )


def _wall_growth(tip: Tip, history: History) -> FloatArray:
    """Return how much the wall beside the slab has grown in radius (n_t,) [m]."""
    elastic = tip.materials[tip.parts.materials_of["band"][0]].elastic
    assert elastic is not None
    wall = next(one.first for one in tip.mesh.joints if one.name == "sample")
    mean = history.temperature[:, wall].mean(axis=1)
    return np.asarray(radial_growth(elastic, radius=_radius(tip), temperature=mean, start=float(mean[0])))
