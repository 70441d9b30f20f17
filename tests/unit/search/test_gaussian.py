import numpy as np
import pytest
from scipy.optimize import approx_fprime

from optitip.search.gaussian import Process, Shape, _unlikeliness, fitted

sklearn = pytest.importorskip("sklearn.gaussian_process")
kernels = pytest.importorskip("sklearn.gaussian_process.kernels")


def _drawn(count, *, seed=0):
    points = np.random.default_rng(seed).random((count, 3))
    return points, np.sin(4.0 * points[:, 0]) + points[:, 1] ** 2 + 5.0


def _theirs(shape, *, scale=1.0):
    matern = kernels.Matern(length_scale=shape.lengths, nu=2.5)
    return kernels.ConstantKernel(scale) * (matern + kernels.WhiteKernel(shape.noise))


SHAPE = Shape(lengths=np.array([0.5, 1.5, 20.0]), noise=1e-4)


def test_the_mean_is_that_of_scikit_learn():
    (points, values), (fresh, _) = _drawn(40), _drawn(25, seed=1)
    other = sklearn.GaussianProcessRegressor(_theirs(SHAPE), optimizer=None, alpha=0.0)
    other.fit(points, values - values.mean())
    expected = other.predict(fresh) + values.mean()
    assert Process(points, values, shape=SHAPE).at(fresh) == pytest.approx(expected, abs=1e-9)


def test_so_many_deviations_beyond_are_those_of_scikit_learn_at_the_best_scale():
    (points, values), (fresh, _) = _drawn(40), _drawn(25, seed=1)
    process = Process(points, values, shape=SHAPE)
    correlation = _theirs(SHAPE)(points)
    less = values - values.mean()
    scale = less @ np.linalg.solve(correlation, less) / len(values)
    matern = kernels.Matern(length_scale=SHAPE.lengths, nu=2.5)
    other = sklearn.GaussianProcessRegressor(
        kernels.ConstantKernel(scale) * matern, optimizer=None, alpha=scale * SHAPE.noise
    ).fit(points, less)
    deviation = other.predict(fresh, return_std=True)[1]
    beyond = process.at(fresh, deviations=-2.0) - process.at(fresh)
    assert beyond == pytest.approx(-2.0 * deviation, rel=1e-4)
    assert (beyond < 0.0).all()


def test_likelihoods_differ_as_those_of_scikit_learn_at_the_best_scale():
    points, values = _drawn(40)
    values = values - values.mean()
    found, expected = [], []
    for shape in (SHAPE, Shape(lengths=np.array([2.0, 0.3, 1.0]), noise=1e-3)):
        other = sklearn.GaussianProcessRegressor(_theirs(shape), optimizer=None, alpha=0.0).fit(
            points, values
        )
        correlation = other.kernel_(points)
        scale = values @ np.linalg.solve(correlation, values) / len(values)
        best = sklearn.GaussianProcessRegressor(_theirs(shape, scale=scale), optimizer=None, alpha=0.0)
        expected.append(-best.fit(points, values).log_marginal_likelihood_value_)
        found.append(_unlikeliness(np.log([*shape.lengths, shape.noise]), points, values)[0])
    assert found[1] - found[0] == pytest.approx(expected[1] - expected[0], rel=1e-9)


def test_the_slope_of_the_likelihood_is_that_of_differences():
    points, values = _drawn(40)
    values = values - values.mean()
    at = np.log([0.7, 1.1, 5.0, 1e-3])
    differences = approx_fprime(at, lambda x: _unlikeliness(x, points, values)[0], 1e-6)
    assert _unlikeliness(at, points, values)[1] == pytest.approx(differences, rel=1e-4, abs=1e-4)


def test_a_feature_that_says_nothing_gets_a_long_length_and_the_figure_is_learnt_from_few():
    points, values = _drawn(60)
    shape = fitted(points, values)
    assert shape.lengths[2] > 10.0 * shape.lengths[0]
    fresh, expected = _drawn(500, seed=1)
    error = Process(points, values, shape=shape).at(fresh) - expected
    assert np.abs(error).max() < 0.02 * np.ptp(expected)


def test_values_that_are_all_alike_are_told_as_they_are():
    points, _ = _drawn(20)
    values = np.full(20, 7.0)
    assert Process(points, values, shape=fitted(points, values)).at(points) == pytest.approx(values)


def test_points_met_twice_leave_it_solvable():
    points, values = _drawn(30)
    both, twice = np.vstack([points, points]), np.concatenate([values, values])
    shape = fitted(both, twice)
    assert Process(both, twice, shape=shape).at(points) == pytest.approx(values, abs=1e-3)
