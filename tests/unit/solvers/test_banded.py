import numpy as np
import pytest

from optitip.solvers import banded


def _random_band(rng, *, size=30, width=4):
    full = np.tril(np.triu(rng.normal(size=(size, size)), -width), width)
    full = full + full.T + 4.0 * width * np.eye(size)
    band = banded.zeros(width, size)
    row, column = np.nonzero(np.triu(full))
    banded.flat(band)[banded.positions(row, column, width=width)] = full[row, column]
    return full, band


def test_the_product_is_the_full_matrixs():
    full, band = _random_band(np.random.default_rng(1))
    vector = np.linspace(-1.0, 2.0, 30)
    assert banded.multiply(band, vector, scale=-2.0) == pytest.approx(-2.0 * full @ vector, rel=1e-12)


def test_the_solution_solves_the_full_matrix():
    full, band = _random_band(np.random.default_rng(2))
    right = np.linspace(-1.0, 2.0, 30)
    assert banded.factorise(band).solve(right) == pytest.approx(np.linalg.solve(full, right), rel=1e-10)


def test_the_factor_is_written_over_the_band_so_that_no_step_allocates():
    _, band = _random_band(np.random.default_rng(3))
    assert np.shares_memory(banded.factorise(band).upper, band)


def test_a_matrix_that_is_not_positive_definite_is_refused():
    band = banded.zeros(1, 2)
    band[:] = [[0.0, 2.0], [1.0, 1.0]]
    with pytest.raises(banded.NotPositiveDefinite):
        banded.factorise(band)
