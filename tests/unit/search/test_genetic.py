import numpy as np
import pytest
from pymoo.operators.survival.rank_and_crowding.metrics import calc_crowding_distance

from optitip.search.genetic import breed, children, crowding, ranked

LAYERS = np.array([[3.0, 3.0], [1.0, 2.0], [2.0, 1.0], [2.0, 2.0], [3.0, 3.5]])


def test_the_best_come_front_by_front_and_then_by_how_little_they_break_limits():
    best = ranked(LAYERS, violation=np.array([0.0, 0.0, 3.0, 0.0, 1.0]), count=9)
    assert best.rows.tolist() == [1, 3, 0, 4, 2]
    assert best.rank.tolist() == [0, 1, 2, 3, 4]


def test_the_best_of_nothing_are_none():
    assert len(ranked(LAYERS, violation=np.zeros(5), count=0).rows) == 0
    assert len(ranked(LAYERS[:0], violation=np.zeros(0), count=3).rows) == 0


def test_of_the_last_front_that_fits_the_crowded_ones_are_left_out():
    cost = np.array([[0.0, 1.0], [0.1, 0.9], [0.15, 0.85], [0.6, 0.4], [1.0, 0.0]])
    assert ranked(cost, violation=np.zeros(5), count=4).rows.tolist() == [0, 2, 3, 4]


def test_crowding_is_that_of_another_library():
    random = np.random.default_rng(2)
    around = np.abs(random.standard_normal((60, 3)))
    cost = 1.0 - around / np.linalg.norm(around, axis=1)[:, None]
    theirs = calc_crowding_distance(cost)
    inside = np.isfinite(theirs)
    assert np.isfinite(crowding(cost)).tolist() == inside.tolist()
    assert crowding(cost)[inside] / 3.0 == pytest.approx(theirs[inside])


def _parents(points):
    return ranked(np.zeros((len(points), 1)), violation=np.zeros(len(points)), count=len(points))


def test_options_are_categories_a_child_has_those_of_a_parent_or_any_alike():
    # parents know the first and last of nine options: breeding numbers would fall between them
    points = np.column_stack([np.linspace(0.0, 1.0, 40), np.tile([0.05, 0.95], 20)])
    random = np.random.default_rng(1)
    born = children(points, _parents(points), options=[9], count=4000, random=random)
    option = (born[:, 1] * 9).astype(int)
    shares = np.bincount(option, minlength=9) / len(born)
    assert shares[[0, 8]].min() > 0.25
    assert shares[1:8] == pytest.approx(0.5 / 9, abs=0.015)  # half of all mutate, to each of nine alike


def test_children_mix_the_choices_of_their_parents():
    points = np.tile([[0.25, 0.25], [0.75, 0.75]], (20, 1))
    born = children(points, _parents(points), options=[2, 2], count=4000, random=np.random.default_rng(1))
    mixed = (born[:, 0] < 0.5) != (born[:, 1] < 0.5)
    # half the pairs differ, 0.9 mate and half of these swap one: 0.225, with half of each changed at random
    assert mixed.mean() == pytest.approx(0.225 + 0.75 * (0.5 - 0.225), abs=0.03)


def test_numbers_of_children_lie_about_their_parents_and_inside_the_cube():
    points = np.column_stack([np.tile([0.0, 1.0], 20), np.full(40, 0.5)])
    born = children(points, _parents(points), options=[], count=400, random=np.random.default_rng(1))
    assert born.min() >= 0.0
    assert born.max() <= 1.0
    assert np.median(np.abs(born[:, 1] - 0.5)) < 0.05
    assert np.mean(np.minimum(born[:, 0], 1.0 - born[:, 0]) < 0.1) > 0.5


def test_a_better_parent_has_more_children():
    points = np.linspace(0.0, 1.0, 20)[:, None]
    best = ranked(np.arange(20.0)[:, None], violation=np.zeros(20), count=20)
    born = children(points, best, options=[], count=2000, random=np.random.default_rng(1))
    assert np.mean(born < 0.5) > 0.65  # three of four tournaments of two end in the better half


def test_spaces_of_choices_alone_have_children_too():
    points = np.random.default_rng(0).random((10, 3))
    born = children(points, _parents(points), options=[2, 3, 4], count=7, random=np.random.default_rng(1))
    assert born.shape == (7, 3)


def _judge(points):
    cost = np.stack([points[:, 0] ** 2, (points[:, 0] - 1.0) ** 2 + points[:, 1]], axis=1)
    return cost, (0.3 - points[:, :1])


def _bred(*, generations, seed):
    start = np.random.default_rng(0).random((40, 2))
    random = np.random.default_rng(seed)
    return breed(start, judge=_judge, options=[], generations=generations, population=40, random=random)


def test_the_genetic_search_finds_the_curve_of_best_points_and_keeps_the_limit():
    bred = _bred(generations=40, seed=3)
    assert bred.violation.max() == 0.0
    assert bred.points[:, 0].min() >= 0.3
    assert bred.points[:, 1].max() < 0.02  # best points have a second coordinate of zero
    assert np.ptp(bred.points[:, 0]) > 0.65  # from the limit to one


def test_the_genetic_search_gives_the_same_points_for_the_same_seed():
    twice = [_bred(generations=5, seed=3).points for _ in range(2)]
    assert np.array_equal(*twice)
    assert not np.array_equal(twice[0], _bred(generations=5, seed=4).points)
