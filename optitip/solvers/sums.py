"""Sums of values that share an index: how cells, joints and borders add up at the nodes."""

import numpy as np

from optitip.arrays import FloatArray, IntArray


def summed(values: FloatArray, *, index: IntArray, size: int) -> FloatArray:
    """Return the sum of the values that share an index.

    >>> summed(np.array([1.0, 2.0, 4.0]), index=np.array([0, 2, 2]), size=3).tolist()
    [1.0, 0.0, 6.0]
    """
    return np.bincount(index, values, minlength=size).astype(np.float64, copy=False)
