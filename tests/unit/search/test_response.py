import numpy as np
import pytest
from scipy.linalg import helmert

from optitip.search.response import OPTION_SPACING, features, tamed


def test_all_options_of_a_choice_lie_equally_far_apart():
    points = np.array([[0.3, (index + 0.5) / 4] for index in range(4)])
    spread = features(points, options=[4])
    apart = [np.linalg.norm(spread[a] - spread[b]) for a in range(4) for b in range(a)]
    assert np.allclose(apart, OPTION_SPACING * np.sqrt(2.0))
    assert spread.shape == (4, 4)


def test_a_choice_of_one_option_takes_no_room():
    assert features(np.array([[0.3, 0.5]]), options=[1]).tolist() == [[0.3]]


def test_one_huge_value_is_pulled_in_and_the_others_stay():
    values = np.linspace(0.0, 1.0, 101)[:, None].copy()
    values[7] = 1e9
    pulled = tamed(values)
    assert pulled.max() < 2.0
    assert np.array_equal(np.delete(pulled, 7, 0), np.delete(values, 7, 0))


@pytest.mark.parametrize("count", [2, 3, 7])
def test_the_options_stand_at_the_corners_that_scipy_has(count):
    points = (np.arange(count)[:, None] + 0.5) / count
    assert np.array_equal(features(points, options=[count]), OPTION_SPACING * helmert(count).T)
