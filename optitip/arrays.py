"""The array types that cross module borders, and how arrays are frozen there."""

from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray: TypeAlias = NDArray[np.float64]
IntArray: TypeAlias = NDArray[np.int64]
BoolArray: TypeAlias = NDArray[np.bool_]


def frozen(values: ArrayLike) -> FloatArray:
    """Return a read-only, contiguous copy of ``values`` as floats.

    >>> frozen([1, 2]).flags.writeable
    False
    """
    array = np.array(values, dtype=np.float64, order="C")
    array.flags.writeable = False
    return array


def frozen_index(values: ArrayLike) -> IntArray:
    """Return a read-only, contiguous copy of ``values`` as integers.

    >>> frozen_index([3, 4]).dtype.name
    'int64'
    """
    array = np.array(values, dtype=np.int64, order="C")
    array.flags.writeable = False
    return array
