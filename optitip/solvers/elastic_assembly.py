"""Axisymmetric stiffness and loads on nine-node cells, and where each entry stands in the banded matrix."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from optitip.arrays import FloatArray, IntArray, frozen, frozen_index, read_only
from optitip.solvers.banded import positions
from optitip.solvers.elastic_cells import NineNodeCells
from optitip.solvers.elastic_shape import (
    FULL,
    FULL_WEIGHT,
    LINE_EDGE,
    LINE_EDGE_WEIGHT,
    POINTS,
    POINTS_SLOPE,
    line_shape,
    strain_table,
    unit_stiffness,
)

_LOWER = np.tril_indices(18)
_IN_SQUARE = 18 * _LOWER[0] + _LOWER[1]
_GAUSS = len(FULL)
# cells whose strain tables are made at once: memory that the system hands out anew costs more than the sums
_AT_ONCE = 30


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BandPlan:
    """Where each entry of a cell's stiffness stands in the banded matrix, for one topology.

    Args:
        number: of u_r and u_z of each moving node among the free movements (moving_count, 2); ``free_count``
            = held.
        freedom: number of each movement of a cell's nodes among the free ones (m, 18); ``free_count`` = held.
        place: place of each entry of a cell's lower triangle in the flat band (m * 171,).
        twice: weight of those entries (m, 171): 2 where both movements of an off-diagonal entry are one.
        merged: cells that have such entries.
        free_count: free movements.
        width: half-bandwidth.
    """

    number: IntArray
    freedom: IntArray
    place: IntArray
    twice: FloatArray
    merged: IntArray
    free_count: int
    width: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CellTables:
    """What the geometry alone gives: one design's tables, used again at each instant.

    Args:
        stiffness: lower triangle of a cell's stiffness per E at each Gauss point (m, 9, 171); entries that
            are to count twice are doubled.
        spread: force per E and thermal strain at each Gauss point (m, 9, 18).
        mass: volume belonging to each node of a cell (m, 9) [m3].
        stress: stress per E and movement at the four reduced points (m, 4 * 4, 18).
        bulk: 1/(1 - 2 nu) of each cell (m,).
        outline: force (n_block_rows, 3, 2, 3) [m2] on an edge's nodes per pressure at its three nodes.
        inner: the same on the inner edges.
    """

    stiffness: FloatArray
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
    return _cached_plan(cells, held=held.tobytes())


@lru_cache(maxsize=16)
def _cached_plan(cells: NineNodeCells, *, held: bytes) -> BandPlan:
    nodes, shared = cells.moving, cells.axial_of
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
    merged = kept & (row == column) & (_LOWER[0] != _LOWER[1])
    return BandPlan(
        number=frozen_index(number),
        freedom=frozen_index(freedom),
        place=frozen_index(place.ravel()),
        twice=frozen(1.0 + merged),
        merged=frozen_index(np.flatnonzero(merged.any(axis=1))),
        free_count=free_count,
        width=width,
    )


def cell_tables(
    points: FloatArray, *, cells: NineNodeCells, poisson: FloatArray, plan: BandPlan
) -> CellTables:
    """Return the tables of a design's cells; every volume and edge carries 2 pi r.

    Args:
        points: r and z of the thermal nodes (n_nodes, 2) [m].
        cells: the nine-node cells.
        poisson: Poisson's ratio of each cell (m,).
        plan: says which entries of a cell's stiffness count twice.
    """
    corners, unit = np.asarray(points)[cells.nodes], unit_stiffness(poisson)[:, None]
    bulk = 1.0 / (1.0 - 2.0 * poisson)
    count = len(corners)
    stiffness, spread = np.empty((count, _GAUSS, len(_IN_SQUARE))), np.empty((count, _GAUSS, 18))
    mass, stress = np.empty((count, 9)), np.empty((count, 4, 4, 18))
    for start in range(0, count, _AT_ONCE):
        some = slice(start, start + _AT_ONCE)
        table = strain_table(corners[some], value=POINTS, slope=POINTS_SLOPE)
        full, reduced = table.strain[:, :_GAUSS], table.strain[:, _GAUSS:]
        volume = 2.0 * np.pi * (table.radius * table.area)[:, :_GAUSS] * FULL_WEIGHT
        square = full.transpose(0, 1, 3, 2) @ ((volume[..., None, None] * unit[some]) @ full)
        np.take(square.reshape(-1, _GAUSS, 324), _IN_SQUARE, axis=2, out=stiffness[some], mode="clip")
        trace = full[:, :, 0] + full[:, :, 1] + full[:, :, 2]
        np.multiply((volume * bulk[some, None])[..., None], trace, out=spread[some])
        np.matmul(volume, FULL, out=mass[some])
        np.matmul(unit[some], reduced, out=stress[some])
    stiffness[plan.merged] *= plan.twice[plan.merged, None]
    edges = np.asarray(points)[cells.rows[cells.face_rows()][..., [0, -1]]]
    outline, inner = _edge_force(edges.transpose(2, 0, 1, 3))
    return CellTables(
        stiffness=read_only(stiffness),
        spread=read_only(spread),
        mass=read_only(mass),
        stress=read_only(stress.reshape(-1, 16, 18)),
        bulk=read_only(bulk),
        outline=read_only(outline),
        inner=read_only(-inner),
    )


_EDGE_VALUE, _EDGE_SLOPE = line_shape(LINE_EDGE)
_EDGE_PAIRS = (_EDGE_VALUE[:, :, None] * _EDGE_VALUE[:, None, :]).reshape(-1, 9)


def _edge_force(edge: FloatArray) -> FloatArray:
    """Return force (..., 3, 2, 3) on an edge's nodes (..., 3, 2) per nodal pressure, solid on the axis' side.

    Pressure pushes along -n = (-dz, dr) on an edge run fore to aft.
    """
    tangent = _EDGE_SLOPE @ edge
    push = tangent[..., ::-1] * [-1.0, 1.0]
    push *= (2.0 * np.pi * (edge[..., 0] @ _EDGE_VALUE.T) * LINE_EDGE_WEIGHT)[..., None]
    pairs = _EDGE_PAIRS.T @ push
    force: FloatArray = np.swapaxes(pairs.reshape(*edge.shape[:-2], 3, 3, 2), -1, -2)
    return np.ascontiguousarray(force)


def cell_stiffness(tables: CellTables, *, modulus: FloatArray) -> FloatArray:
    """Return the lower triangles (n_i, m, 171) of the cells' stiffness [N/m].

    Args:
        tables: the design's tables.
        modulus: Young's modulus at the nine Gauss points of each cell (n_i, m, 9) [Pa].
    """
    by_cell = np.ascontiguousarray(modulus.transpose(1, 0, 2)) @ tables.stiffness
    return np.ascontiguousarray(by_cell.transpose(1, 0, 2))


def banded_stiffness(plan: BandPlan, *, lower: FloatArray) -> FloatArray:
    """Return the stiffness of the free movements in the banded form of ``solvers.banded``.

    Args:
        plan: where the entries go.
        lower: the cells' lower triangles (m, 171) [N/m].
    """
    size = plan.free_count * (plan.width + 1)
    band = np.bincount(plan.place, weights=lower.ravel(), minlength=size + 1).astype(np.float64, copy=False)
    return band[:size].reshape(plan.free_count, plan.width + 1).T


def gathered(plan: BandPlan, *, forces: FloatArray) -> FloatArray:
    """Return the forces on the free movements (n, free_count) from those on each cell (n, m, 18)."""
    count, size = forces.shape[0], plan.free_count + 1
    place = plan.freedom.ravel() + size * np.arange(count)[:, None]
    found = np.bincount(place.ravel(), weights=forces.ravel(), minlength=count * size)
    return np.asarray(found.reshape(count, size)[:, :-1], dtype=np.float64)


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
    for column, place, table, pressure in ((0, 0, tables.outline, outline), (-1, 2, tables.inner, inner)):
        pushed = pressure[:, rows].transpose(1, 0, 2) @ table.reshape(-1, 6, 3).transpose(0, 2, 1)
        force[:, :, column, :, place] += pushed.reshape(*pushed.shape[:2], 3, 2).transpose(1, 0, 2, 3)
    return force.reshape(outline.shape[0], -1, 18)
