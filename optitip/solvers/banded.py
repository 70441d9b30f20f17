"""The one typed door to LAPACK and BLAS for symmetric banded matrices.

Upper storage: entry (i, j), i <= j, of the matrix stands at ``[width + i - j, j]`` of a Fortran-ordered
array of shape ``(width + 1, n)``, so each column of the matrix is contiguous.
"""

from typing import NamedTuple

import numpy as np
from scipy.linalg import blas, lapack

from optitip.arrays import FloatArray, IntArray


class NotPositiveDefinite(ArithmeticError):
    """The matrix handed to the factorisation has no Cholesky factor."""


class Factor(NamedTuple):
    """The Cholesky factor of a symmetric positive definite banded matrix."""

    upper: FloatArray

    def solve(self, right: FloatArray) -> FloatArray:
        """Return x of A x = right, as a new array."""
        solution: FloatArray
        solution, info = lapack.dpbtrs(self.upper, right, lower=0)
        if info != 0:
            raise ValueError(f"dpbtrs refused argument {-info}")
        return solution


def zeros(width: int, size: int) -> FloatArray:
    """Return an empty band of half-bandwidth ``width`` for ``size`` unknowns."""
    return np.zeros((width + 1, size), order="F")


def positions(row: IntArray, column: IntArray, *, width: int) -> IntArray:
    """Return where the entries (row, column), row <= column, stand in the flat band.

    >>> positions(np.array([0, 1]), np.array([1, 1]), width=2).tolist()
    [4, 5]
    """
    return column * (width + 1) + (width + row - column)


def flat(band: FloatArray) -> FloatArray:
    """Return the band as one axis, sharing its memory."""
    return band.reshape(-1, order="F")


def factorise(band: FloatArray) -> Factor:
    """Return the Cholesky factor, written over ``band``.

    >>> band = zeros(1, 2)
    >>> band[:] = [[0.0, 1.0], [2.0, 2.0]]  # the matrix [[2, 1], [1, 2]]
    >>> factorise(band).solve(np.array([3.0, 3.0])).round(12).tolist()
    [1.0, 1.0]
    """
    upper, info = lapack.dpbtrf(band, lower=0, overwrite_ab=1)
    if info < 0:
        raise ValueError(f"dpbtrf refused argument {-info}")
    if info > 0:
        raise NotPositiveDefinite(f"the leading block of order {info} is not positive definite")
    return Factor(upper)


def multiply(band: FloatArray, vector: FloatArray, *, scale: float = 1.0) -> FloatArray:
    """Return scale A x, as a new array.

    >>> band = zeros(1, 2)
    >>> band[:] = [[0.0, 1.0], [2.0, 2.0]]
    >>> multiply(band, np.array([1.0, 0.0])).tolist()
    [2.0, 1.0]
    """
    product: FloatArray = blas.dsbmv(band.shape[0] - 1, scale, band, vector, lower=0)
    return product
