"""Axisymmetric stiffness and loads on nine-node cells, and where each entry stands in the banded matrix."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from optitip.arrays import FloatArray, IntArray, frozen, frozen_index, read_only
from optitip.solvers.banded import positions
from optitip.solvers.elastic_cells import NineNodeCells
from optitip.solvers.elastic_shape import (
    FULL,
    FULL_SLOPE,
    FULL_WEIGHT,
    LINE_EDGE,
    LINE_EDGE_WEIGHT,
    REDUCED,
    REDUCED_SLOPE,
    line_shape,
    strain_table,
    unit_stiffness,
)

_LOWER = np.tril_indices(18)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BandPlan:
    """Where each entry of a cell's stiffness stands in the banded matrix, for one topology.

    Args:
        number: of u_r and u_z of each moving node among the free movements (moving_count, 2); ``free_count``
            = held.
        freedom: number of each movement of a cell's nodes among the free ones (m, 18); ``free_count`` = held.
        place: place of each entry of a cell's lower triangle in the flat band (m * 171,).
        twice: weight of those entries (m, 171): 2 where both movements of an off-diagonal entry are one.
        free_count: free movements.
        width: half-bandwidth.
    """

    number: IntArray
    freedom: IntArray
    place: IntArray
    twice: FloatArray
    free_count: int
    width: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CellTables:
    """What the geometry alone gives: one design's tables, used again at each instant.

    Args:
        root: (m, 9 * 4, 18), so that a cell's stiffness is root^T E root, E at the nine Gauss points.
        spread: force per E and thermal strain at each Gauss point (m, 9, 18).
        mass: volume belonging to each node of a cell (m, 9) [m3].
        stress: stress per E and movement at the four reduced points (m, 4 * 4, 18).
        bulk: 1/(1 - 2 nu) of each cell (m,).
        outline: force (n_block_rows, 3, 2, 3) [m2] on an edge's nodes per pressure at its three nodes.
        inner: the same on the inner edges.
    """

    root: FloatArray
    spread: FloatArray
    mass: FloatArray
    stress: FloatArray
    bulk: FloatArray
    outline: FloatArray
    inner: FloatArray


def band_plan(cells: NineNodeCells, *, held: IntArray) -> BandPlan:
    """Return where a cell's stiffness goes, built once for each topology and set of held movements.

    Args:
        cells: the nine-node cells.
        held: movements kept at zero, 2 * moving node + (0 for u_r, 1 for u_z).
    """
    return _cached_plan(cells.moving.tobytes(), cells.axial_of.tobytes(), np.unique(held).tobytes())


@lru_cache(maxsize=16)
def _cached_plan(moving: bytes, axial_of: bytes, held: bytes) -> BandPlan:
    nodes = np.frombuffer(moving, dtype=np.int64).reshape(-1, 9)
    shared = np.frombuffer(axial_of, dtype=np.int64)
    own = np.stack((2 * np.arange(shared.size), 2 * shared + 1), axis=-1)
    is_free = np.zeros(2 * shared.size, dtype=bool)
    is_free[own] = True
    is_free[np.frombuffer(held, dtype=np.int64)] = False
    free_count = int(is_free.sum())
    number = np.where(is_free, np.cumsum(is_free) - 1, free_count)[own]
    freedom = number[nodes].reshape(-1, 18)
    row, column = freedom[:, _LOWER[0]], freedom[:, _LOWER[1]]
    low, high = np.minimum(row, column), np.maximum(row, column)
    kept = high < free_count
    width = int((high - low)[kept].max())
    place = np.where(kept, positions(low, high, width=width), free_count * (width + 1))
    merged = (row == column) & (_LOWER[0] != _LOWER[1])
    return BandPlan(
        number=frozen_index(number),
        freedom=frozen_index(freedom),
        place=frozen_index(place.ravel()),
        twice=frozen(1.0 + merged),
        free_count=free_count,
        width=width,
    )


def cell_tables(points: FloatArray, *, cells: NineNodeCells, poisson: FloatArray) -> CellTables:
    """Return the tables of a design's cells; every volume and edge carries 2 pi r.

    Args:
        points: r and z of the thermal nodes (n_nodes, 2) [m].
        cells: the nine-node cells.
        poisson: Poisson's ratio of each cell (m,).
    """
    corners = np.asarray(points)[cells.nodes]
    unit = unit_stiffness(poisson)
    bulk = 1.0 / (1.0 - 2.0 * poisson)
    full = strain_table(corners, value=FULL, slope=FULL_SLOPE)
    volume = 2.0 * np.pi * full.radius * full.area * FULL_WEIGHT
    half = np.linalg.cholesky(unit).transpose(0, 2, 1)[:, None]
    root = np.sqrt(volume)[..., None, None] * (half @ full.strain)
    trace = full.strain[:, :, :3].sum(axis=2)
    reduced = strain_table(corners, value=REDUCED, slope=REDUCED_SLOPE)
    edges = cells.rows[cells.face_rows()]
    return CellTables(
        root=read_only(root.reshape(-1, 36, 18)),
        spread=read_only((volume * bulk[:, None])[..., None] * trace),
        mass=read_only(volume @ FULL),
        stress=read_only((unit[:, None] @ reduced.strain).reshape(-1, 16, 18)),
        bulk=read_only(bulk),
        outline=read_only(_edge_force(np.asarray(points)[edges[..., 0]])),
        inner=read_only(-_edge_force(np.asarray(points)[edges[..., -1]])),
    )


def _edge_force(edge: FloatArray) -> FloatArray:
    """Return force (n, 3, 2, 3) on an edge's nodes per nodal pressure, the solid on the axis' side of it.

    Pressure pushes along -n = (-dz, dr) on an edge run fore to aft.
    """
    value, slope = line_shape(LINE_EDGE)
    tangent = slope @ edge
    push = np.stack((-tangent[..., 1], tangent[..., 0]), axis=-1)
    weight = 2.0 * np.pi * (edge[..., 0] @ value.T) * LINE_EDGE_WEIGHT
    shared = weight[..., None, None] * (value[:, :, None] * value[:, None, :])
    force: FloatArray = np.einsum("ngab,ngi->naib", shared, push)
    return force


def banded_stiffness(plan: BandPlan, *, tables: CellTables, modulus: FloatArray) -> FloatArray:
    """Return the stiffness of the free movements in the banded form of ``solvers.banded``.

    Args:
        plan: where the entries go.
        tables: the design's tables.
        modulus: Young's modulus at the nine Gauss points of each cell (m, 9) [Pa].
    """
    scaled = np.repeat(np.sqrt(modulus), 4, axis=1)[..., None] * tables.root
    stiffness = np.ascontiguousarray(scaled.transpose(0, 2, 1)) @ scaled
    lower = stiffness[:, _LOWER[0], _LOWER[1]] * plan.twice
    size = plan.free_count * (plan.width + 1)
    band = np.bincount(plan.place, weights=lower.ravel(), minlength=size + 1).astype(np.float64, copy=False)
    return band[:size].reshape(plan.free_count, plan.width + 1).T


def gathered(plan: BandPlan, *, forces: FloatArray) -> FloatArray:
    """Return the forces on the free movements (n_i, free_count) from those on each cell (n_i, m, 18)."""
    return np.stack(
        [
            np.bincount(plan.freedom.ravel(), weights=one.ravel(), minlength=plan.free_count + 1)[:-1]
            for one in forces
        ]
    )


def cell_forces_of_pressure(
    tables: CellTables, *, cells: NineNodeCells, outline: FloatArray, inner: FloatArray
) -> FloatArray:
    """Return the forces of face pressures on each cell (n_i, m, 18) [N].

    Args:
        tables: the design's tables.
        cells: the nine-node cells.
        outline: pressure on the outline at the row ends (n_i, n_rows) [Pa], pushing inward.
        inner: pressure on the inner side at the row ends (n_i, n_rows) [Pa], pushing outward.
    """
    rows = cells.face_rows()
    force = np.zeros((outline.shape[0], rows.shape[0], cells.columns, 3, 3, 2))
    force[:, :, 0, :, 0] += np.einsum("naib,tnb->tnai", tables.outline, outline[:, rows])
    force[:, :, -1, :, 2] += np.einsum("naib,tnb->tnai", tables.inner, inner[:, rows])
    return force.reshape(outline.shape[0], -1, 18)
