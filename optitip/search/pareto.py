"""Dominance and hypervolume, with types: the one door to moocore. Less is better."""

import moocore
import numpy as np

from optitip.arrays import FloatArray, IntArray


def non_dominated(cost: FloatArray) -> IntArray:
    """Return the rows of ``cost`` (n, m) that no other row dominates, in order; of equal rows all.

    Source: Kung, Luccio & Preparata 1975 (from memory), as built in moocore.

    >>> non_dominated(np.array([[1.0, 2.0], [2.0, 1.0], [2.0, 2.0]])).tolist()
    [0, 1]
    """
    if len(cost) == 0:
        return np.zeros(0, dtype=np.int64)
    return np.flatnonzero(moocore.is_nondominated(cost, keep_weakly=True)).astype(np.int64)


def hypervolume(cost: FloatArray, *, reference: FloatArray) -> float:
    """Return the volume between the rows of ``cost`` (n, m) and ``reference`` (m,), a point worse than them.

    Source: Fonseca, Paquete & Lopez-Ibanez 2006 (from memory), as built in moocore.

    >>> hypervolume(np.array([[0.0, 0.5], [0.5, 0.0]]), reference=np.array([1.0, 1.0]))
    0.75
    """
    if len(cost) == 0:
        return 0.0
    return float(moocore.hypervolume(np.minimum(cost, reference), ref=reference))
