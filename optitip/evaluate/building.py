"""From a study's tables to the tip that is marched: design, mesh, materials of its parts."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from optitip.arrays import FloatArray, IntArray
from optitip.evaluate.sources import material_of, outline_of, outline_size
from optitip.geometry.chain import build_cavity
from optitip.geometry.mesh import TipMesh, build_mesh
from optitip.geometry.outline import Outline
from optitip.geometry.sides import cell_volumes
from optitip.geometry.tip import Cavity, TipDesign
from optitip.geometry.topology import Resolution, Zone
from optitip.inputs.defaults import Lengths, completed_lengths
from optitip.inputs.study_tables import StudyTables
from optitip.properties.materials import Family, Material
from optitip.solvers.assembly import integrate

PARTS = {
    Zone.NOSE: "plug",
    Zone.PLUG: "plug",
    Zone.FACE: "plug",
    Zone.FILLET: "plug",
    Zone.FORE_TAPER: "band",
    Zone.FORE: "band",
    Zone.POCKET: "band",
    Zone.AFT: "band",
    Zone.AFT_TAPER: "band",
    Zone.BASE_FACE: "base",
    Zone.BASE: "base",
    Zone.SLAB: "slab",
    Zone.BACKING: "backing",
}
SHELL_PARTS = ("plug", "band", "base")
PART_NAMES = (*SHELL_PARTS, "slab", "backing")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tip:
    """One design, built: what heat, strength and metrics need of it.

    cell_volume ``(m,)`` [m3] of the full circle; corner_volume ``(4, m)`` the same shared to the corners.
    """

    tables: StudyTables
    lengths: Lengths
    outline: Outline
    cavity: Cavity
    mesh: TipMesh
    materials: tuple[Material, ...]
    cell_material: IntArray
    cell_volume: FloatArray
    corner_volume: FloatArray
    sample: Material
    part_cells: Mapping[str, IntArray]
    part_nodes: Mapping[str, IntArray]

    def cells_of(self, part: str) -> IntArray:
        """Return the cells of a part."""
        return self.part_cells[part]

    def nodes_of(self, part: str) -> IntArray:
        """Return the nodes of a part."""
        return self.part_nodes[part]

    @property
    def share(self) -> float:
        """Return the share of the circumference the slab covers."""
        return self.tables.sample.slab.share


def tip_design(tables: StudyTables, *, lengths: Lengths, soft: bool) -> TipDesign:
    """Return the free numbers of the tip as geometry takes them."""
    tip, sample = tables.tip, tables.sample
    return TipDesign(
        plug_length=lengths.plug_length,
        plug_wall=lengths.plug_wall,
        plug_fillet=lengths.fillet,
        plug_insert=tip.plug.insert,
        fore_taper=lengths.fore_taper,
        band_length=lengths.band_length,
        thickness_fore=lengths.band_thickness,
        thickness_aft=lengths.band_thickness_aft,
        aft_taper=lengths.aft_taper,
        base_thickness=lengths.base_thickness,
        base_bore=None if tip.base.bore is None else 0.5 * tip.base.bore,
        base_separate=tip.base.separate,
        pocket_offset=lengths.pocket_offset,
        pocket_length=lengths.pocket_length,
        slab_thickness=sample.slab.thickness,
        slab_soft=soft,
        slab_share=sample.slab.share,
        backing_thickness=sample.backing.thickness if sample.backing else None,
    )


def build_tip(tables: StudyTables, *, folder: Path, resolution: Resolution) -> Tip:
    """Return the tip of a study; DesignFailure if it can't be built, UserMistakes for the outline's own."""
    diameter, length = outline_size(tables.outline, folder=folder)
    lengths = completed_lengths(tables, diameter=diameter, length=length)
    outline = outline_of(
        tables.outline, folder=folder, turned_length=lengths.turned_length, tip_radius=lengths.tip_radius
    )
    sample = material_of(tables.sample.material, folder=folder)
    design = tip_design(tables, lengths=lengths, soft=sample.family is Family.FOOD)
    cavity = build_cavity(design, outline=outline)
    mesh = build_mesh(cavity, resolution=resolution)
    materials, cell_material = _materials(tables, mesh=mesh, folder=folder)
    part_of_zone = np.array([PART_NAMES.index(PARTS[zone]) for zone in Zone])
    part_of_cell = part_of_zone[mesh.cell_zone]
    cells = {name: np.flatnonzero(part_of_cell == number) for number, name in enumerate(PART_NAMES)}
    return Tip(
        tables=tables,
        lengths=lengths,
        outline=outline,
        cavity=cavity,
        mesh=mesh,
        materials=materials,
        cell_material=cell_material,
        cell_volume=cell_volumes(mesh.points, mesh.cells),
        corner_volume=integrate(mesh.points, cells=mesh.cells).volume,
        sample=sample,
        part_cells=cells,
        part_nodes={name: np.unique(mesh.cells[one]) for name, one in cells.items()},
    )


def _materials(tables: StudyTables, *, mesh: TipMesh, folder: Path) -> tuple[tuple[Material, ...], IntArray]:
    """Return the materials, each once, and the index of each cell's own."""
    tip, sample = tables.tip, tables.sample
    names = dict.fromkeys(Zone, tip.material)
    if tip.plug.material is not None:
        names[Zone.NOSE] = tip.plug.material
    if tip.base.material is not None:
        names[Zone.BASE] = names[Zone.BASE_FACE] = tip.base.material
    names[Zone.SLAB] = sample.material
    names[Zone.BACKING] = sample.backing.material if sample.backing else sample.material
    distinct = list(dict.fromkeys(names.values()))
    index_of_zone = np.array([distinct.index(names[zone]) for zone in Zone])
    return tuple(material_of(name, folder=folder) for name in distinct), index_of_zone[mesh.cell_zone]
