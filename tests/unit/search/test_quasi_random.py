import numpy as np
import pytest

from optitip.search.quasi_random import drawn
from optitip.search.space import Space


@pytest.fixture
def space():
    return Space(
        {"tip.band.thickness": ("0.6 mm", "2.5 mm"), "tip.band.length": ("4 cm", "120 mm")},
        {"tip.material": ("304", "6061-T6", "C110"), "sample.captive": (True, False)},
    )


def test_draws_of_one_seed_are_the_same_and_of_another_differ(space):
    assert drawn(space, 50, seed=3) == drawn(space, 50, seed=3)
    assert drawn(space, 50, seed=3) != drawn(space, 50, seed=4)


def test_skipping_draws_goes_on_with_the_same_sequence(space):
    assert drawn(space, 40, seed=3)[16:] == drawn(space, 24, seed=3, skip=16)


def test_draws_fill_each_range_evenly(space):
    shares = space.points_of(drawn(space, 256, seed=1))[:, :2]
    counts = np.histogram(shares[:, 0], bins=8, range=(0, 1))[0]
    assert counts.min() >= 31  # a plain random draw would leave some at 20
    assert counts.max() <= 33
