import numpy as np
import pytest

from optitip.search.response import OPTION_SPACING, Kernel, Surface, features, tamed


def test_a_surface_goes_through_the_values_it_was_laid_through():
    random = np.random.default_rng(0)
    points, values = random.random((80, 4)), random.random((80, 2))
    assert np.abs(Surface(points, values).at(points) - values).max() < 1e-3


def test_a_plane_is_met_everywhere_also_outside_the_points():
    points = np.random.default_rng(0).random((30, 3))
    plane = lambda at: (1.0 + at @ np.array([2.0, -1.0, 0.5]))[:, None]  # noqa: E731
    far = np.array([[2.0, -1.0, 3.0]])
    assert Surface(points, plane(points)).at(far) == pytest.approx(plane(far), abs=1e-4)


def test_more_points_bring_the_surface_closer_to_a_smooth_function():
    def wave(at):
        return np.sin(3.0 * at[:, :1]) * np.cos(2.0 * at[:, 1:])

    fresh = np.random.default_rng(9).random((500, 2))
    errors = []
    for count in (50, 200, 800):
        points = np.random.default_rng(1).random((count, 2))
        errors.append(np.sqrt(np.mean((Surface(points, wave(points)).at(fresh) - wave(fresh)) ** 2)))
    assert errors[0] > 3.0 * errors[1] > 9.0 * errors[2]


def test_points_on_a_line_and_points_met_twice_still_give_a_surface():
    points = np.repeat(np.linspace(0.0, 1.0, 6)[:, None] * [1.0, 1.0], 2, axis=0)
    surface = Surface(points, points[:, :1])
    assert surface.at(np.array([[0.5, 0.5]]))[0, 0] == pytest.approx(0.5, abs=1e-3)


def test_the_linear_kernel_does_not_overshoot_between_yes_and_no():
    points = np.linspace(0.0, 1.0, 11)[:, None]
    said = np.where(points < 0.5, -1.0, 1.0)
    between = Surface(points, said, kernel=Kernel.LINEAR).at(np.linspace(0.0, 1.0, 200)[:, None])
    assert np.abs(between).max() < 1.05


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
