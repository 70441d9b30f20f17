"""Nine-node quadrilaterals laid over the thermal nodes of the shell, and the numbering of what moves."""

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from optitip.arrays import FloatArray, IntArray, frozen_index
from optitip.solvers.elastic_shape import LINE_CARRY

JOINED = -1


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NineNodeCells:
    """The shell in nine-node cells: 2 × 2 thermal cells each, block row after block row, outline first.

    A cell's nodes stand in lattice order: number 3 i + j for place i along the rows (fore to aft) and j
    across (outline to inner).

    Args:
        nodes: thermal node of each place (m, 9).
        moving: moving node of each place (m, 9); the two sides of a joint share theirs unless they were set
            apart, and so does the apex.
        zone: zone of each cell (m,).
        rows: the shell rows themselves (n_rows, n_across + 1), outline to inner.
        fore_row: the row each block row starts from (n_block_rows,); it ends two rows aft of it.
        joints: row of the fore and of the aft side of each joint (n_joints, 2), fore to aft.
        moving_of: moving node of each thermal node (n_nodes,), -1 off the shell.
        axial_of: the moving node whose u_z each moving node shares (moving_count,): itself, but for the aft
            side of a joint set apart.
        columns: cells across the wall.
        moving_count: how many moving nodes there are.
    """

    nodes: IntArray
    moving: IntArray
    zone: IntArray
    rows: IntArray
    fore_row: IntArray
    joints: IntArray
    moving_of: IntArray
    axial_of: IntArray
    columns: int
    moving_count: int

    def face_rows(self) -> IntArray:
        """Return the three rows (n_block_rows, 3) that make each block row."""
        return self.fore_row[:, None] + np.arange(3)


def nine_node_cells(rows: IntArray, *, strip_zone: IntArray, node_count: int | None = None) -> NineNodeCells:
    """Return the nine-node cells over shell rows.

    Two strips and two cells across make one nine-node cell. A strip of zone -1 is the gap of a joint
    between parts: it makes no cell, and the nodes on its two sides move as one (the parts are bonded).

    Args:
        rows: thermal nodes of each row, outline to inner (n_rows, n_across + 1); a row of one repeated node
            is the apex.
        strip_zone: zone of the strip between a row and the next (n_rows - 1,), -1 across a joint.
        node_count: nodes of the whole mesh; without it, one more than the largest in ``rows``.

    Raises ValueError where strips between two joints, or cells across, are odd in number: a mesh made by
    the geometry room never has them so.

    >>> cells = nine_node_cells(np.arange(15).reshape(5, 3), strip_zone=np.array([1, 1, 2, 2]))
    >>> cells.nodes[1].tolist(), cells.zone.tolist(), cells.moving_count
    ([6, 7, 8, 9, 10, 11, 12, 13, 14], [1, 2], 15)
    """
    rows, strip_zone = np.asarray(rows), np.asarray(strip_zone)
    across = rows.shape[1] - 1
    if across % 2 or strip_zone.shape != (rows.shape[0] - 1,):
        raise ValueError(f"{across} cells across and {strip_zone.size} strips make no nine-node cells")
    count = int(rows.max()) + 1 if node_count is None else node_count
    cuts = np.flatnonzero(strip_zone == JOINED)
    joints = np.stack((cuts, cuts + 1), axis=-1)
    moving_of, moving_count = _moving_nodes(rows, joints, count)
    fore = _fore_rows(strip_zone)
    i, j = np.meshgrid(np.arange(3), np.arange(3), indexing="ij")
    start = 2 * np.arange(across // 2)
    row = fore[:, None, None, None] + i
    column = start[None, :, None, None] + j
    nodes = rows[row, column].reshape(-1, 9)
    return NineNodeCells(
        nodes=frozen_index(nodes),
        moving=frozen_index(moving_of[nodes]),
        zone=frozen_index(np.repeat(strip_zone[fore], across // 2)),
        rows=frozen_index(rows),
        fore_row=frozen_index(fore),
        joints=frozen_index(joints),
        moving_of=frozen_index(moving_of),
        axial_of=frozen_index(np.arange(moving_count)),
        columns=across // 2,
        moving_count=moving_count,
    )


def _fore_rows(strip_zone: IntArray) -> IntArray:
    """Return the first row of each pair of strips, section by section between joints."""
    cuts = np.flatnonzero(strip_zone == JOINED)
    starts = np.concatenate(([0], cuts + 1))
    stops = np.concatenate((cuts, [strip_zone.size]))
    if np.any((stops - starts) % 2):
        raise ValueError(f"strips between joints are odd in number: {(stops - starts).tolist()}")
    return np.concatenate([np.arange(start, stop, 2) for start, stop in zip(starts, stops, strict=True)])


def _moving_nodes(rows: IntArray, tied: IntArray, count: int) -> tuple[IntArray, int]:
    """Return the moving node of each thermal node, numbered across the wall first, and their number.

    tied: pairs of rows (n, 2) that move as one, fore to aft.
    """
    tie = np.arange(count)
    for fore, aft in tied:
        tie[rows[aft]] = tie[rows[fore]]
    return _numbered(rows, tie)


def _numbered(met: IntArray, tie: IntArray) -> tuple[IntArray, int]:
    """Return the number of each node by the order in which its tie is met first, and how many there are."""
    held, first = np.unique(tie[met.ravel()], return_index=True)
    number = np.full(tie.size, -1)
    number[held[np.argsort(first)]] = np.arange(held.size)
    moving_of = np.full(tie.size, -1)
    moving_of[met.ravel()] = number[tie[met.ravel()]]
    return moving_of, held.size


@lru_cache(maxsize=16)
def set_apart(cells: NineNodeCells, *, joints: tuple[int, ...]) -> NineNodeCells:
    """Return the cells with the two sides of some joints free to move apart along r; u_z stays shared.

    The two sides' nodes are numbered in turn, so that the stiffness' band widens by one row's u_r alone.

    Args:
        cells: from ``nine_node_cells``.
        joints: numbers of the joints in ``cells.joints``.

    >>> cells = nine_node_cells(np.arange(18).reshape(6, 3), strip_zone=np.array([1, 1, -1, 2, 2]))
    >>> split = set_apart(cells, joints=(0,))
    >>> split.moving_count, split.moving_of[6:12].tolist(), split.axial_of[6:12].tolist()
    (18, [6, 8, 10, 7, 9, 11], [6, 6, 8, 8, 10, 10])
    """
    rows = np.asarray(cells.rows)
    tie = np.arange(cells.moving_of.size)
    for number, (fore, aft) in enumerate(cells.joints):
        if number not in joints:
            tie[rows[aft]] = tie[rows[fore]]
    met = list(rows)
    for fore, aft in cells.joints[list(joints)]:
        met[fore] = np.stack((rows[fore], rows[aft]), axis=-1).ravel()
    moving_of, count = _numbered(np.concatenate(met), tie)
    axial_of = np.arange(count)
    for fore, aft in cells.joints[list(joints)]:
        axial_of[moving_of[rows[aft]]] = moving_of[rows[fore]]
    return replace(
        cells,
        moving=frozen_index(moving_of[cells.nodes]),
        moving_of=frozen_index(moving_of),
        axial_of=frozen_index(axial_of),
        moving_count=count,
    )


def nodal_average(cells: NineNodeCells, *, at_reduced_points: FloatArray) -> FloatArray:
    """Return values (n_i, n_nodes, k) at the thermal nodes from the four reduced points of each cell.

    Each cell's bilinear field through its reduced points (where stress is one order better than elsewhere)
    is carried to its nine nodes, and nodes take the mean of their cells; the two sides of a joint keep
    their own. Nodes off the shell hold zero.

    Args:
        cells: the nine-node cells.
        at_reduced_points: values (n_i, m, 4, k), points in the order of ``elastic_shape.REDUCED``.
    """
    instants, _, _, kinds = at_reduced_points.shape
    values = np.einsum("ap,impk->maik", np.kron(LINE_CARRY, LINE_CARRY), at_reduced_points)
    total = np.zeros((cells.moving_of.size, instants, kinds))
    np.add.at(total, cells.nodes.ravel(), values.reshape(-1, instants, kinds))
    share = np.bincount(cells.nodes.ravel(), minlength=cells.moving_of.size)
    return total.transpose(1, 0, 2) / np.maximum(share, 1)[None, :, None]
