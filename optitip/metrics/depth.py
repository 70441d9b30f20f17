"""How deep below the outline a part became too hot or decomposed: what an insulator is judged by."""

import numpy as np

from optitip.arrays import FloatArray


def arc_along(points: FloatArray) -> FloatArray:
    """Return how far each node of each row is from the row's first node [m].

    points: (n_rows, n, 2) [m]. Returns (n_rows, n).

    >>> arc_along(np.array([[[0.0, 0.0], [3e-3, 4e-3], [3e-3, 6e-3]]])).tolist()
    [[0.0, 0.005, 0.007]]
    """
    steps = np.linalg.norm(np.diff(points, axis=1), axis=2)
    return np.concatenate([np.zeros((len(points), 1)), np.cumsum(steps, axis=1)], axis=1)


def depth_over(arc: FloatArray, values: FloatArray, *, limit: float) -> FloatArray:
    """Return the depth of the deepest place in each row that is over the limit [m], 0 where none is.

    Values are straight between the nodes; a row that is over to its last node is over along all of it.

    arc: (n_rows, n) [m] from the outline inward; values: (n_rows, n), as the limit. Returns (n_rows,).

    >>> arc = np.array([[0.0, 1e-3, 2e-3]])
    >>> depth_over(arc, np.array([[700.0, 600.0, 400.0]]), limit=500.0).tolist()
    [0.0015]
    """
    over = values > limit
    last = values.shape[1] - 1 - np.argmax(over[:, ::-1], axis=1)
    row, after = np.arange(len(values)), np.minimum(last + 1, values.shape[1] - 1)
    here, beyond = values[row, last], values[row, after]
    fall = here - beyond
    share = np.where(fall > 0.0, (here - limit) / np.where(fall > 0.0, fall, 1.0), 0.0)
    deep = arc[row, last] + share * (arc[row, after] - arc[row, last])
    return np.where(over.any(axis=1), deep, 0.0)


def depth_of_share(arc: FloatArray, share: FloatArray) -> FloatArray:
    """Return how much of each row has changed [m], a node's share counted over half of what lies around it.

    arc: (n_rows, n) [m]; share: (n_rows, n) from 0 to 1. Returns (n_rows,).

    >>> depth_of_share(np.array([[0.0, 1e-3, 2e-3]]), np.array([[1.0, 0.5, 0.0]])).tolist()
    [0.001]
    """
    depth: FloatArray = (0.5 * np.diff(arc, axis=1) * (share[:, 1:] + share[:, :-1])).sum(axis=1)
    return depth
