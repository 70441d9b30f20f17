"""Which cells and nodes make which part of a tip: the same for all designs of one topology and materials."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from optitip.arrays import BoolArray, IntArray, frozen_index, read_only
from optitip.geometry.sides import row_edges
from optitip.geometry.topology import Topology, Zone
from optitip.solvers.elastic_cells import NineNodeCells, nine_node_cells

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
KEPT = 64


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Piece:
    """What of a part is of one material, as a number in the tip's list of materials.

    rows: ``(n, n_across + 1)`` those of the mesh's rows, outline to inner curve, that are all of it.
    """

    part: str
    material: int
    nodes: IntArray
    rows: IntArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PocketFaces:
    """The sides that look into the pocket, as edges ``(n, 2)``: bare wall, the lining's back, covered wall.

    sizes: how many edges each of them has. open_nodes: those of the first two; nodes: of all.
    """

    edges: IntArray
    sizes: tuple[int, int, int]
    open_nodes: IntArray
    nodes: IntArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Parts:
    """The parts by cell and node, and the materials they are of, as numbers in the tip's list of materials.

    cell_part, cell_material ``(m,)``: numbers in ``PART_NAMES`` and of the material; lined ``(m,)``: slab and
    backing, which fill a share of the circumference. shell: all cells of turned metal. pieces: fore to aft,
    then inward. materials_of: the materials of each part. outer_material ``(n_rows,)``: of each outer node,
    node_material ``(n_nodes,)``: of each. pocket: the sides that look into it.
    nine_node: the shell's cells for the stress, nine_node_material ``(n_nine,)``.
    """

    cell_part: IntArray
    cell_material: IntArray
    lined: BoolArray
    cells: Mapping[str, IntArray]
    nodes: Mapping[str, IntArray]
    shell: IntArray
    pieces: tuple[Piece, ...]
    materials_of: Mapping[str, tuple[int, ...]]
    outer_material: IntArray
    node_material: IntArray
    pocket: PocketFaces
    nine_node: NineNodeCells
    nine_node_material: IntArray


@lru_cache(maxsize=KEPT)
def parts_of(plan: Topology, *, zone_material: tuple[int, ...]) -> Parts:
    """Return the parts of a topology whose zones, in the order of ``Zone``, are of these materials."""
    material = np.array(zone_material, dtype=np.int64)
    cell_part = np.array([PART_NAMES.index(PARTS[zone]) for zone in Zone])[plan.cell_zone]
    cell_material = material[plan.cell_zone]
    cells = {name: np.flatnonzero(cell_part == number) for number, name in enumerate(PART_NAMES)}
    node_material = np.zeros(plan.node_count, dtype=np.int64)
    node_material[plan.cells] = cell_material[:, None]
    nine_node = nine_node_cells(plan.rows, strip_zone=plan.strip_zone, node_count=plan.node_count)
    return Parts(
        cell_part=frozen_index(cell_part),
        cell_material=frozen_index(cell_material),
        lined=read_only(np.isin(plan.cell_zone, (Zone.SLAB, Zone.BACKING))),
        cells={name: frozen_index(own) for name, own in cells.items()},
        nodes={name: _nodes(plan, own) for name, own in cells.items()},
        shell=frozen_index(np.concatenate([cells[part] for part in SHELL_PARTS])),
        pieces=_pieces(plan, cell_part, cell_material),
        materials_of={name: tuple(np.unique(cell_material[own]).tolist()) for name, own in cells.items()},
        outer_material=frozen_index(node_material[plan.rows[:, 0]]),
        node_material=frozen_index(node_material),
        pocket=_pocket_faces(plan),
        nine_node=nine_node,
        nine_node_material=frozen_index(material[nine_node.zone]),
    )


def _pocket_faces(plan: Topology) -> PocketFaces:
    contact = next(joint.first for joint in plan.joints if joint.name == "sample")
    covered = np.isin(plan.inner_edges, contact).all(axis=1)
    lining = plan.backing_rows if plan.backing_rows.size else plan.slab_rows
    bare, back = plan.inner_edges[~covered], row_edges(lining[:, -1])
    open_edges = np.concatenate([bare, back])
    return PocketFaces(
        edges=frozen_index(np.concatenate([open_edges, plan.inner_edges[covered]])),
        sizes=(len(bare), len(back), int(covered.sum())),
        open_nodes=frozen_index(np.unique(open_edges)),
        nodes=frozen_index(np.unique([*open_edges.ravel(), *plan.inner_edges[covered].ravel()])),
    )


def _pieces(plan: Topology, cell_part: IntArray, cell_material: IntArray) -> tuple[Piece, ...]:
    met = dict.fromkeys(zip(cell_part.tolist(), cell_material.tolist(), strict=True))
    pieces = []
    for part, material in met:
        nodes = _nodes(plan, np.flatnonzero((cell_part == part) & (cell_material == material)))
        rows = plan.rows[np.isin(plan.rows, nodes).all(axis=1)]
        piece = Piece(part=PART_NAMES[part], material=material, nodes=nodes, rows=frozen_index(rows))
        pieces.append(piece)
    return tuple(pieces)


def _nodes(plan: Topology, cells: IntArray) -> IntArray:
    return frozen_index(np.unique(plan.cells[cells]))
