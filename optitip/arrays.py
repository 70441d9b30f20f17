"""The array types that cross module borders, and how arrays are frozen there."""

from typing import TypeAlias, TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray: TypeAlias = NDArray[np.float64]
ComplexArray: TypeAlias = NDArray[np.complex128]
IntArray: TypeAlias = NDArray[np.int64]
BoolArray: TypeAlias = NDArray[np.bool_]
Kind = TypeVar("Kind", bound=np.generic)


def frozen(values: ArrayLike) -> FloatArray:
    """Return ``values`` as read-only, contiguous floats: a copy, unless they are that already for everybody.

    >>> once = frozen([1, 2])
    >>> once.flags.writeable, frozen(once) is once, frozen(np.ones(2)).flags.writeable
    (False, True, False)
    """
    if isinstance(values, np.ndarray) and values.dtype == np.float64 and _settled(values):
        return values
    return read_only(np.array(values, dtype=np.float64, order="C"))


def frozen_index(values: ArrayLike) -> IntArray:
    """Return ``values`` as read-only, contiguous integers: a copy, unless they are that already.

    >>> frozen_index([3, 4]).dtype.name
    'int64'
    """
    if isinstance(values, np.ndarray) and values.dtype == np.int64 and _settled(values):
        return values
    return read_only(np.array(values, dtype=np.int64, order="C"))


def read_only(array: NDArray[Kind]) -> NDArray[Kind]:
    """Return the array itself, made read-only: for one just made, that nobody else holds.

    >>> read_only(np.ones(2)).flags.writeable
    False
    """
    array.flags.writeable = False
    return array


def _settled(array: NDArray[Kind]) -> bool:
    """Return whether an array is contiguous and nobody can write to it, nor to what it is a view of."""
    if not array.flags.c_contiguous:
        return False
    here: object = array
    while isinstance(here, np.ndarray):
        if here.flags.writeable:
            return False
        here = here.base
    return here is None
