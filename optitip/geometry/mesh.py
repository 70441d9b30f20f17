"""The mesh of a design: quadrilaterals between the outline and the inner curve, and the lining behind."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from optitip.arrays import FloatArray, IntArray, frozen, read_only
from optitip.errors import DesignFailure, Outcome
from optitip.geometry.lines import place_lines
from optitip.geometry.sides import row_areas, smallest_jacobians
from optitip.geometry.tip import Cavity, offset_points
from optitip.geometry.topology import Resolution, Topology, Zone, choices_of, topology

DEFAULT_RESOLUTION = Resolution()
DENSER = 0.5
FLATTEST = 1e-3  # below this scaled Jacobian a cell counts as folded

_PLACES = {
    Zone.NOSE: "tip.plug.insert",
    Zone.PLUG: "tip.plug.length",
    Zone.FACE: "tip.plug.length",
    Zone.FILLET: "tip.plug.fillet",
    Zone.FORE_TAPER: "tip.fore_taper",
    Zone.FORE: "sample.pocket.offset",
    Zone.POCKET: "sample.pocket.length",
    Zone.AFT: "tip.band.length",
    Zone.AFT_TAPER: "tip.aft_taper",
    Zone.BASE_FACE: "tip.base.bore",
    Zone.BASE: "tip.base.thickness",
    Zone.SLAB: "sample.slab.thickness",
    Zone.BACKING: "sample.backing.thickness",
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class JointPairs:
    """The nodes that face each other across a joint; areas are the full circle's."""

    name: str  # "sample", "backing", "plug" or "base"
    first: IntArray  # (n,) nodes on the hot or fore side
    second: IntArray  # (n,)
    area: FloatArray  # (n,) [m2]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TipMesh:
    """Nodes, cells and named sides; nodes are numbered across the thickness first, row by row.

    A row runs from the outline to the inner curve; row 0 is the apex, one node repeated. A joint across the
    shell doubles its row. FACE to AFT_TAPER have the cavity inside, BASE_FACE and BASE belong to the base,
    NOSE is the insert where there is one.
    """

    plan: Topology
    points: FloatArray  # (n_nodes, 2) [m] columns r, z
    cells: IntArray  # (n_cells, 4) counter-clockwise in (r, z); first and last repeated at the apex
    cell_zone: IntArray  # (n_cells,)
    rows: IntArray  # (n_rows, n_across + 1)
    strip_zone: IntArray  # (n_rows - 1,), -1 between the two sides of a joint
    outer: IntArray  # (n_rows,) nodes
    outer_arc: FloatArray  # (n_rows,) [m]
    outer_edges: IntArray  # (n, 2)
    inner_edges: IntArray  # (n, 2) the cavity's wall, bore included, the axis not
    aft_edges: IntArray  # (n, 2) the end face that joins the airframe
    slab_rows: IntArray  # (n_p, n_slab + 1) contact face to back; (n_p, 0) without a slab
    backing_rows: IntArray  # (n_p, n_b + 1) or (n_p, 0)
    joints: tuple[JointPairs, ...]
    half_bandwidth: int
    smallest_jacobian: float  # scaled: the sine of the worst corner


def build_mesh(cavity: Cavity, *, resolution: Resolution = DEFAULT_RESOLUTION) -> TipMesh:
    """Return the mesh of a buildable design; DesignFailure where a cell folds."""
    plan = topology(choices_of(cavity), resolution=resolution)
    arcs, inner, inward = place_lines(cavity, plan)
    outer = offset_points(cavity.outline, arcs, thickness=0.0)
    outer[0] = 0.0
    points = np.empty((plan.node_count, 2))
    lines = outer[:, None] + _shares(plan)[..., None] * (inner - outer)[:, None]
    points[plan.rows] = lines[plan.line_of_row]
    if plan.slab_rows.size:
        _lay_lining(
            cavity,
            plan,
            points=points,
            wall=inner[plan.pocket_lines],
            inward=inward,
            resolution=resolution,
        )
    jacobians = smallest_jacobians(points, plan.cells)
    worst = int(jacobians.argmin())
    if not jacobians[worst] > FLATTEST:
        _fail(points, plan, worst=worst, jacobian=float(jacobians[worst]))
    return TipMesh(
        plan=plan,
        points=read_only(points),
        cells=plan.cells,
        cell_zone=plan.cell_zone,
        rows=plan.rows,
        strip_zone=plan.strip_zone,
        outer=plan.rows[:, 0],
        outer_arc=read_only(arcs[plan.line_of_row]),
        outer_edges=plan.outer_edges,
        inner_edges=plan.inner_edges,
        aft_edges=plan.aft_edges,
        slab_rows=plan.slab_rows,
        backing_rows=plan.backing_rows,
        joints=_joint_pairs(points, plan),
        half_bandwidth=plan.half_bandwidth,
        smallest_jacobian=float(jacobians[worst]),
    )


def _shares(plan: Topology) -> FloatArray:
    """Return the share of the way from outline to inner curve (n_lines, n_across + 1) of each node.

    Even in walls. In plug and nose cells grow inward, s - DENSER s (1 - s): heat comes from outside, and
    steel lets it little deeper than one of four even cells. The face's lines lead over from one to the other.
    """
    denser = np.zeros(plan.line_zone.size)
    for zone in (Zone.NOSE, Zone.PLUG):
        denser[plan.lines_of[zone]] = DENSER
    face = plan.lines_of[Zone.FACE]
    denser[face] = DENSER * (1.0 - plan.line_share[face])
    even = plan.across[:, 0]
    return np.asarray(even - denser[:, None] * (even * (1.0 - even)))


def _lay_lining(
    cavity: Cavity,
    plan: Topology,
    *,
    points: FloatArray,
    wall: FloatArray,
    inward: FloatArray,
    resolution: Resolution,
) -> None:
    """Place slab and backing along the inward normals of the band's wall."""
    slab = cavity.design.slab_thickness or 0.0
    depth = slab * graded_shares(resolution.slab, first=round(resolution.slab_first / slab, 12))
    points[plan.slab_rows] = wall[:, None] + depth[:, None] * inward[:, None]
    if cavity.design.backing_thickness is not None:
        depth = slab + cavity.design.backing_thickness * np.linspace(0, 1, plan.backing_rows.shape[1])
        points[plan.backing_rows] = wall[:, None] + depth[:, None] * inward[:, None]


@lru_cache(maxsize=256)
def graded_shares(cells: int, *, first: float) -> FloatArray:
    """Return the cell borders (cells + 1,) of 0..1 in geometric progression from a first cell of ``first``.

    (q^n - 1)/(q - 1) = 1/first; even where ``first`` is no finer than that.

    >>> [round(float(x), 6) for x in graded_shares(3, first=1 / 7)]
    [0.0, 0.142857, 0.428571, 1.0]
    """
    low, high = 1.0, 10.0
    if first * cells < 1:
        for _ in range(60):
            q = 0.5 * (low + high)
            low, high = (q, high) if first * (q**cells - 1) < q - 1 else (low, q)
    shares = np.cumsum(low ** np.arange(cells))
    return frozen(np.concatenate([np.zeros(1), shares / shares[-1]]))


def _joint_pairs(points: FloatArray, plan: Topology) -> tuple[JointPairs, ...]:
    return tuple(
        JointPairs(
            name=joint.name,
            first=joint.first,
            second=joint.second,
            area=read_only(row_areas(points[joint.first])),
        )
        for joint in plan.joints
    )


def _fail(points: FloatArray, plan: Topology, *, worst: int, jacobian: float) -> None:
    zone = Zone(int(plan.cell_zone[worst]))
    r, z = 1e3 * points[plan.cells[worst]].mean(axis=0)
    said = f"scaled Jacobian {jacobian:.3g} in the {zone.name.lower()} at r {r:.4g} mm, z {z:.4g} mm"
    raise DesignFailure(Outcome.MESH_FOLDED, place=_PLACES[zone], detail=said)
