"""The shell of a built tip ready for stress, with what its loads need: the same for all flow states."""

from dataclasses import dataclass

import numpy as np

from optitip.arrays import FloatArray, read_only
from optitip.evaluate.building import Tip
from optitip.metrics.bending import Sections, sections_of
from optitip.metrics.buckling import BandShape
from optitip.properties.materials import Elastic
from optitip.solvers.elastic import StressBody, stress_body
from optitip.solvers.elastic_joints import JointFit, Spigot


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shell:
    """The shell ready for stress.

    elastic: tables, as the body numbers its materials. mass_ahead: [kg] of what the band's aft end pushes.
    sections: those of the tip as a beam, at the outline's points, with all that rides ahead of each. outline
    ``(n_p, 2)`` [m]: r and z of these points. band_ends: stations of the band's ends (2,) [m]. joints: names
    of those across the shell, fore to aft.
    """

    body: StressBody
    elastic: tuple[Elastic, ...]
    band: BandShape
    band_ends: FloatArray
    mass_ahead: float
    sections: Sections
    outline: FloatArray
    joints: tuple[str, ...]


def shell_of(tip: Tip, *, compiled: bool = False) -> Shell:
    """Return the shell of a tip, its stiffness laid out once for all instants and flow states.

    compiled: by the compiled kernels where numba is installed, for designs by the batch.
    """
    parts = tip.parts
    named = sorted(set(parts.nine_node_material.tolist()))
    joints = tuple(pairs.name for pairs in tip.mesh.joints if pairs.name in ("plug", "base"))
    elastic = tuple(one for index in named if (one := tip.materials[index].elastic) is not None)
    body = stress_body(
        tip.mesh.points,
        cells=parts.nine_node,
        materials=elastic,
        cell_material=np.searchsorted(named, parts.nine_node_material),
        density=np.array([tip.materials[index].density for index in named]),
        fits=_fits(tip, joints),
        compiled=compiled,
    )
    outer = tip.mesh.points[tip.mesh.outer]
    outline = outer[np.append(True, np.diff(outer[:, 1]) > 0.0)]
    band, ends = _band_shape(tip)
    return Shell(
        body=body,
        elastic=elastic,
        band=band,
        band_ends=ends,
        mass_ahead=_mass_ahead(tip),
        sections=_sections(tip, outline),
        outline=outline,
        joints=joints,
    )


def _fits(tip: Tip, joints: tuple[str, ...]) -> dict[int, JointFit]:
    """Return how the parts fit: the base's spigot goes fore into the band, that of the insert aft."""
    tables = tip.tables.tip
    known = {
        "plug": JointFit(offset=tables.plug.fit, spigot=Spigot.FORE),
        "base": JointFit(offset=tables.base.fit, spigot=Spigot.AFT),
    }
    return {number: known[name] for number, name in enumerate(joints)}


def _band_shape(tip: Tip) -> tuple[BandShape, FloatArray]:
    """Return the band's shape and the stations of its ends (2,) [m]."""
    fore, aft = tip.cavity.band_arc
    axial, radius, _ = tip.outline.at(np.array([fore, aft]))
    wall = tip.cavity.wall_thickness(np.array([fore, aft]))
    shape = BandShape(
        fore_radius=float(radius[0] - 0.5 * wall[0]),
        aft_radius=float(radius[1] - 0.5 * wall[1]),
        axial_length=float(axial[1] - axial[0]),
        thickness=float(wall.min()),
        axial=float(0.5 * (axial[0] + axial[1])),
    )
    return shape, read_only(axial)


def _mass_ahead(tip: Tip) -> float:
    """Return the mass [kg] of plug, band and what lines it: all that the band's aft end has to push."""
    ahead = np.concatenate([tip.cells_of(part) for part in ("plug", "band", "slab", "backing")])
    share = np.where(tip.parts.lined[ahead], tip.share, 1.0)
    return float((share * _density(tip)[ahead]) @ tip.cell_volume[ahead])


def _density(tip: Tip) -> FloatArray:
    return np.array([one.density for one in tip.materials])[tip.cell_material]


def _sections(tip: Tip, outline: FloatArray) -> Sections:
    """Return the sections at the outline's points; ahead of each rides the real slab and backing too."""
    share = np.where(tip.parts.lined, tip.share, 1.0)
    mass = share * _density(tip) * tip.cell_volume
    centre = (tip.mesh.points[tip.mesh.cells.T, 1] * tip.corner_volume).sum(axis=0) / tip.cell_volume
    order = np.argsort(centre, kind="stable")
    ahead = np.searchsorted(centre[order], outline[:, 1], side="right")
    weight = np.append(0.0, np.cumsum(mass[order]))[ahead]
    first = np.append(0.0, np.cumsum((mass * centre)[order]))[ahead]
    return sections_of(
        outline[:, 1],
        outline_axial=outline[:, 1],
        outline_radius=outline[:, 0],
        mass=weight,
        centre=np.divide(first, weight, out=np.zeros_like(first), where=weight > 0.0),
    )
