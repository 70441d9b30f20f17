"""From a study's tables to the tip that is marched: design, mesh, materials of its parts."""

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from optitip.arrays import FloatArray, IntArray, read_only
from optitip.evaluate.parts import KEPT, Parts, parts_of
from optitip.evaluate.sources import material_of, outline_of, outline_size, thread_at
from optitip.geometry.assembly import Assembly, Fittings, Stuff, put_together
from optitip.geometry.chain import build_cavity
from optitip.geometry.lap import LapKind, Spigot
from optitip.geometry.mesh import TipMesh, build_mesh
from optitip.geometry.outline import Outline
from optitip.geometry.tip import Cavity, TipDesign
from optitip.geometry.topology import Resolution, Zone
from optitip.inputs.defaults import Lengths, completed_lengths
from optitip.inputs.strength_tables import Fixing
from optitip.inputs.study_tables import StudyTables
from optitip.properties.materials import Family, Material
from optitip.solvers.assembly import Elements, integrate

_STUFF = {
    Family.METAL: Stuff.RIGID,
    Family.POLYMER: Stuff.RIGID,
    Family.FOOD: Stuff.SOFT,
    Family.GAS: Stuff.AIR,
}
TAKEN_OUT = 373.15  # [K] a slab is hardly hotter when somebody takes it out
THREAD, ROD = "tip.base.fixing.thread", "tip.base.fixing.rod"
SWELLING = 0.01  # of what has no expansion in its file


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tip:
    """One design, built: what heat, strength and metrics need of it.

    elements: the integrals over the cells. cell_volume ``(m,)`` [m3] of the full circle.
    """

    tables: StudyTables
    lengths: Lengths
    outline: Outline
    cavity: Cavity
    assembly: Assembly
    mesh: TipMesh
    materials: tuple[Material, ...]
    parts: Parts
    elements: Elements
    cell_volume: FloatArray
    sample: Material

    @property
    def cell_material(self) -> IntArray:
        """Return the number of each cell's material."""
        return self.parts.cell_material

    @property
    def corner_volume(self) -> FloatArray:
        """Return the cells' volumes shared to their corners (4, m) [m3]."""
        return self.elements.volume

    def cells_of(self, part: str) -> IntArray:
        """Return the cells of a part."""
        return self.parts.cells[part]

    def nodes_of(self, part: str) -> IntArray:
        """Return the nodes of a part."""
        return self.parts.nodes[part]

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


def fittings_of(tables: StudyTables, *, sample: Material, backing: Material | None) -> Fittings:
    """Return what beside the cavity decides how the tip is put together."""
    fixing = tables.tip.base.fixing
    rod = None if fixing is None or fixing.rod is None else thread_at(fixing.rod, place=ROD)
    return Fittings(
        opens=tables.tip.opens,
        boring=tables.tip.boring,
        seat=tables.sample.seat,
        wires=tables.sample.wires,
        probe=tables.sample.probe,
        spigot=None if fixing is None else _spigot(fixing),
        rod=None if rod is None else rod.major,
        slab_growth=growth_of(sample),
        backing=Stuff.AIR if backing is None else _STUFF[backing.family],
        backing_growth=0.0 if backing is None else growth_of(backing),
    )


def _spigot(fixing: Fixing) -> Spigot:
    """Return what holds a base of its own as geometry takes it."""
    if fixing.thread is not None:
        thread = thread_at(fixing.thread, place=THREAD)
        return Spigot(kind=LapKind.THREAD, thread=thread, engagement=fixing.engagement)
    kind = LapKind.PLAIN if fixing.screw is None else LapKind.SCREWS
    return Spigot(kind=kind, thread=None, engagement=fixing.engagement)


@lru_cache(maxsize=KEPT)
def growth_of(material: Material) -> float:
    """Return by which share of its size a thing grows from room to where it is taken out hot.

    The secant expansion of its file times the rise to 100 degC, or to its service limit below that; 0 for
    food and gas, 1 % where the file tells no expansion. Rules of the house, no source.
    """
    if _STUFF[material.family] is not Stuff.RIGID:
        return 0.0
    if material.elastic is None:
        return SWELLING
    hot = min(TAKEN_OUT, material.service_limit or TAKEN_OUT)
    return float(material.elastic.expansion_at(hot)) * (hot - material.elastic.reference_temperature)


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
    backing = tables.sample.backing
    behind = None if backing is None else material_of(backing.material, folder=folder)
    assembly = put_together(cavity, fittings=fittings_of(tables, sample=sample, backing=behind))
    mesh = build_mesh(cavity, resolution=resolution)
    names, zone_material = _materials_named(
        tables.tip.material,
        insert=tables.tip.plug.material,
        base=tables.tip.base.material,
        sample=tables.sample.material,
        backing=None if backing is None else backing.material,
    )
    elements = integrate(mesh.points, cells=mesh.cells)
    return Tip(
        tables=tables,
        lengths=lengths,
        outline=outline,
        cavity=cavity,
        assembly=assembly,
        mesh=mesh,
        materials=tuple(material_of(name, folder=folder) for name in names),
        parts=parts_of(mesh.plan, zone_material=zone_material),
        elements=elements,
        cell_volume=read_only(elements.volume.sum(axis=0)),
        sample=sample,
    )


@lru_cache(maxsize=KEPT)
def _materials_named(
    shell: str, *, insert: str | None, base: str | None, sample: str, backing: str | None
) -> tuple[tuple[str, ...], tuple[int, ...]]:
    """Return the materials' names, each once, and the number of each zone's own."""
    names = dict.fromkeys(Zone, shell)
    names[Zone.NOSE] = insert or shell
    names[Zone.BASE] = names[Zone.BASE_FACE] = base or shell
    names[Zone.SLAB] = sample
    names[Zone.BACKING] = backing or sample
    distinct = list(dict.fromkeys(names.values()))
    return tuple(distinct), tuple(distinct.index(names[zone]) for zone in Zone)
