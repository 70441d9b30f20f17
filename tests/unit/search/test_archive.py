import numpy as np

from optitip.search.archive import Archive


def _archive(cost, *, excess=None, answered=None):
    cost = np.array(cost, dtype=float)
    count = len(cost)
    return Archive(
        points=np.zeros((count, 1)),
        cost=cost,
        excess=np.full((count, 1), -1.0) if excess is None else np.array(excess, dtype=float)[:, None],
        components=np.zeros((count, 0)),
        answered=np.ones(count, dtype=bool) if answered is None else np.array(answered),
    )


LAYERS = [[3.0, 3.0], [1.0, 2.0], [2.0, 1.0], [2.0, 2.0], [3.0, 3.0]]


def test_the_front_is_of_designs_that_answered_and_keep_the_limits():
    assert _archive(LAYERS).front().tolist() == [1, 2]
    assert _archive(LAYERS, excess=[-1, 1, 0, -1, -1]).front().tolist() == [2]
    assert _archive(LAYERS, answered=[True, True, False, True, True]).front().tolist() == [1]


def test_the_best_are_whole_fronts_one_after_the_other_equal_ones_together():
    archive = _archive(LAYERS)
    assert [archive.best(count).tolist() for count in (1, 2, 3, 4)] == [
        [1, 2],
        [1, 2],
        [1, 2, 3],
        [1, 2, 3, 0, 4],
    ]


def test_those_that_break_limits_follow_by_how_much_and_those_without_an_answer_last():
    archive = _archive(LAYERS, excess=[3.0, -1.0, 2.0, 1.0, 0.0], answered=[True, True, True, True, False])
    assert archive.best(9).tolist() == [1, 3, 2, 0, 4]
    violation = archive.violation()
    assert violation[1] == 0.0
    assert violation[4] == violation[0] + 1.0


def test_without_a_single_answer_all_are_alike():
    archive = _archive(LAYERS, answered=[False] * 5)
    assert archive.violation().tolist() == [1.0] * 5
    assert archive.best(3).tolist() == [0, 1, 2]
