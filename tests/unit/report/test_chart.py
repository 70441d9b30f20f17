import numpy as np
import pytest

from optitip.report import chart


@pytest.mark.parametrize(
    ("low", "high", "marks"),
    [
        (0.0, 1.0, [0.0, 0.2, 0.4, 0.6, 0.8, 1.0]),
        (93.0, 361.0, [100.0, 150.0, 200.0, 250.0, 300.0, 350.0]),
        (-0.031, 0.012, [-0.03, -0.02, -0.01, 0.0, 0.01]),
        (1210.0, 1211.0, [1210.0, 1210.2, 1210.4, 1210.6, 1210.8, 1211.0]),
    ],
)
def test_marks_are_round_and_inside_and_few(low, high, marks):
    found = chart.round_values(low, high, most=6)
    assert found == pytest.approx(marks)
    assert all(low <= one <= high for one in found)


def test_an_axis_puts_its_values_between_its_ends_and_marks_where_they_lie():
    axis = chart.across("mass [g]", np.array([100.0, 300.0]))
    assert chart.LEFT < axis.at(100.0) < axis.at(300.0) < chart.WIDTH - chart.RIGHT
    for place, words in axis.marks():
        assert place == axis.at(float(words))


def test_up_is_more():
    axis = chart.upward("energy [J]", np.array([1.0, 2.0]))
    assert axis.at(2.0) < axis.at(1.0)


@pytest.mark.parametrize("values", [[], [np.nan], [3.0], [0.0, 0.0]])
def test_an_axis_of_one_value_or_none_still_has_a_length(values):
    axis = chart.across("x", np.array(values))
    assert axis.high > axis.low
    assert axis.marks()


def test_marks_tell_values_apart_and_big_ones_are_parted_by_commas():
    assert [words for _, words in chart.across("n", np.array([0.0, 1e5]), from_nought=True).marks()][
        1
    ] == "50,000"
    assert [words for _, words in chart.across("n", np.array([0.1, 0.13])).marks()] == [
        "0.10",
        "0.11",
        "0.12",
        "0.13",
    ]
