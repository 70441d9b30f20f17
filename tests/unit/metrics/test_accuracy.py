import pytest

from optitip.metrics.accuracy import settled


@pytest.mark.parametrize("order", [1.0, 2.0, 3.5])
def test_a_row_of_one_power_gives_its_order_and_the_first_ones_error(order):
    values = [5.0 - 0.3 * (0.5**order) ** cut for cut in range(3)]
    assert settled(values) == (pytest.approx(0.3), pytest.approx(order), True)


def test_a_row_that_turns_has_its_largest_difference_as_error_and_is_said_not_to_settle():
    assert settled([1.0, 1.2, 1.1]) == (pytest.approx(0.2), None, False)


def test_a_row_that_goes_on_as_it_began_does_not_settle():
    assert settled([133.0, 170.0, 215.0]) == (pytest.approx(82.0), None, False)


def test_a_row_that_moves_by_next_to_nothing_settles_whatever_its_shape():
    assert settled([300.0, 300.01, 300.005]) == (pytest.approx(0.01), None, True)
    assert settled([10.0, 10.0, 10.0]) == (0.0, None, True)
