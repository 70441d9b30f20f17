"""Areas, volumes and the quality of cells, all as bodies of revolution."""

import numpy as np

from optitip.arrays import FloatArray, IntArray


def edge_areas(points: FloatArray, edges: IntArray, *, share: FloatArray | float = 1.0) -> FloatArray:
    """Return each node's share (n_nodes,) [m2] of the surface that ``edges`` sweep about the axis.

    Row sum of the edge's integral of 2 pi r N_a ds = pi L (2 r_a + r_b)/3; the shares add up to the frusta.
    ``points`` (n_nodes, 2) [m] columns r, z; ``edges`` (n, 2); ``share`` (n,) of the circumference there is.
    Source: plain integration of linear shape functions.

    >>> ring = np.array([[1.0, 0.0], [1.0, 3.0]])
    >>> [round(float(a) / np.pi, 12) for a in edge_areas(ring, np.array([[0, 1]]))]
    [3.0, 3.0]
    """
    first, second = edges[:, 0], edges[:, 1]
    a, b = points[first], points[second]
    third = share * (np.pi / 3 * np.hypot(b[:, 0] - a[:, 0], b[:, 1] - a[:, 1]))
    nodes = np.concatenate([first, second])
    parts = np.concatenate([third * (2 * a[:, 0] + b[:, 0]), third * (a[:, 0] + 2 * b[:, 0])])
    return np.asarray(np.bincount(nodes, weights=parts, minlength=len(points)), dtype=np.float64)


def row_areas(row: FloatArray) -> FloatArray:
    """Return each point's share (n,) [m2] of what a row of points (n, 2) [m] sweeps about the axis.

    As ``edge_areas``, along one line of points that follow one another.

    >>> (row_areas(np.array([[1.0, 0.0], [1.0, 3.0]])) / np.pi).round(12).tolist()
    [3.0, 3.0]
    """
    step, radius = row[1:] - row[:-1], row[:, 0]
    third = np.pi / 3 * np.hypot(step[:, 0], step[:, 1])
    area = np.zeros(len(row))
    area[:-1] = third * (2 * radius[:-1] + radius[1:])
    area[1:] += third * (radius[:-1] + 2 * radius[1:])
    return area


def row_edges(nodes: IntArray) -> IntArray:
    """Return the edges (n - 1, 2) that join a row of nodes.

    >>> row_edges(np.array([4, 7, 9])).tolist()
    [[4, 7], [7, 9]]
    """
    return np.stack([nodes[:-1], nodes[1:]], axis=1)


def nearest_edge(places: FloatArray, *, points: FloatArray, edges: IntArray) -> FloatArray:
    """Return how far places (n, 2) [m] are from the nearest of ``edges`` (m, 2) between ``points`` [m].

    The foot of the perpendicular, or the end that is nearer where that falls outside the edge.
    Source: plain geometry.

    >>> wall = np.array([[1.0, 0.0], [1.0, 3.0]])
    >>> nearest_edge(np.array([[3.0, 1.0], [4.0, 7.0]]), points=wall, edges=np.array([[0, 1]])).tolist()
    [2.0, 5.0]
    """
    first, second = points[edges[:, 0]], points[edges[:, 1]]
    along = second - first
    to = places[:, None, :] - first
    share = np.clip((to * along).sum(axis=-1) / np.maximum((along**2).sum(axis=-1), 1e-300), 0.0, 1.0)
    gap = to - share[..., None] * along
    return np.asarray(np.hypot(gap[..., 0], gap[..., 1]).min(axis=1))


def cell_volumes(points: FloatArray, cells: IntArray) -> FloatArray:
    """Return the volumes (n_cells,) [m3] the straight-sided cells sweep about the axis, full circle.

    V = (pi/3) sum (r_i + r_{i+1}) (r_i z_{i+1} - r_{i+1} z_i), exact, collapsed corners too.
    Source: theorems of Pappus and Green.

    >>> square = np.array([[1.0, 0.0], [2.0, 0.0], [2.0, 1.0], [1.0, 1.0]])
    >>> round(float(cell_volumes(square, np.array([[0, 1, 2, 3]]))[0]) / np.pi, 12)
    3.0
    """
    corners = points[cells]
    r, z = corners[..., 0], corners[..., 1]
    after = np.roll(r, -1, axis=1)
    return np.asarray(np.pi / 3 * np.sum((r + after) * (r * np.roll(z, -1, axis=1) - after * z), axis=1))


def smallest_jacobians(points: FloatArray, cells: IntArray) -> FloatArray:
    """Return each cell's smallest scaled Jacobian (n_cells,) [-]: the sine of its worst corner.

    1 for a rectangle, 0 for a corner gone flat, below 0 for one turned inside out; a repeated node is
    passed over.

    >>> square = np.array([[1.0, 0.0], [2.0, 0.0], [2.0, 1.0], [1.0, 1.0]])
    >>> smallest_jacobians(square, np.array([[0, 1, 2, 3]])).tolist()
    [1.0]
    """
    corner = (points[:, 0] + 1j * points[:, 1]).take(cells.T)
    edge = corner[[1, 2, 3, 0]] - corner
    folded = np.flatnonzero(cells[:, 0] == cells[:, 3])
    # a collapsed cell's last edge is none: its first corner lies between the third edge and the first
    edge[3, folded] = edge[2, folded]
    turn = (edge[[3, 0, 1, 2]].conj() * edge).imag
    square = edge.real**2 + edge.imag**2
    sine = turn / np.sqrt(np.maximum(square * square[[3, 0, 1, 2]], 1e-60))
    sine[3, folded] = 1.0
    return np.asarray(sine.min(axis=0))
