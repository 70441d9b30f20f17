from itertools import pairwise

import numpy as np
import pytest

from optitip.search.pareto import breed, hypervolume, non_dominated, ranked


def _by_hand(cost):
    beaten = [any((other <= row).all() and (other < row).any() for other in cost) for row in cost]
    return np.flatnonzero(~np.array(beaten))


@pytest.mark.parametrize("objectives", [1, 2, 3, 4])
def test_the_front_is_what_comparing_every_pair_gives(objectives):
    cost = np.random.default_rng(objectives).integers(0, 6, (200, objectives)).astype(float)
    assert non_dominated(cost).tolist() == _by_hand(cost).tolist()


def test_fronts_hold_every_row_once_and_each_row_is_beaten_by_one_of_the_front_before():
    cost = np.random.default_rng(1).random((100, 3))
    fronts = ranked(cost)
    assert sorted(np.concatenate(fronts)) == list(range(100))
    for better, worse in pairwise(fronts):
        for row in worse:
            assert ((cost[better] <= cost[row]).all(axis=1)).any()


def test_nothing_has_no_front_and_no_volume():
    assert non_dominated(np.zeros((0, 3))).tolist() == []
    assert ranked(np.zeros((0, 3))) == []
    assert hypervolume(np.zeros((0, 3)), reference=np.ones(3)) == 0.0


def test_a_point_beyond_the_reference_adds_no_volume():
    inside = np.array([[0.5, 0.5]])
    both = np.array([[0.5, 0.5], [0.2, 3.0]])
    assert hypervolume(both, reference=np.ones(2)) == hypervolume(inside, reference=np.ones(2)) == 0.25


def _judge(points):
    cost = np.stack([points[:, 0] ** 2, (points[:, 0] - 1.0) ** 2 + points[:, 1]], axis=1)
    return cost, (0.3 - points[:, :1])


def test_the_genetic_search_finds_the_curve_of_best_points_and_keeps_the_limit():
    start = np.random.default_rng(0).random((40, 2))
    bred = breed(start, judge=_judge, generations=40, population=40, seed=3)
    assert bred.violation.max() == 0.0
    assert bred.points[:, 0].min() >= 0.3
    assert bred.points[:, 1].max() < 0.02  # best points have a second coordinate of zero


def test_the_genetic_search_gives_the_same_points_for_the_same_seed():
    start = np.random.default_rng(0).random((40, 2))
    twice = [breed(start, judge=_judge, generations=5, population=40, seed=3).points for _ in range(2)]
    other = breed(start, judge=_judge, generations=5, population=40, seed=4).points
    assert np.array_equal(*twice)
    assert not np.array_equal(twice[0], other)
