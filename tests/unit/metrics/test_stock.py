"""The bar that a part comes from, against what a person finds on the shelf."""

import pytest

from optitip.inputs.turning_tables import StockSeries
from optitip.metrics.stock import EIGHTHS, METRIC, bar_over, stock_of

INCH = 0.0254


@pytest.mark.parametrize(
    ("diameter", "series", "name", "size"),
    [
        (0.0780, StockSeries.METRIC, "80 mm bar", 0.080),  # 78 and 2 are just 80
        (0.0781, StockSeries.METRIC, "85 mm bar", 0.085),
        (0.0480, StockSeries.METRIC, "50 mm bar", 0.050),
        (0.0480, StockSeries.INCH, "2 in bar", 2.0 * INCH),
        (0.0580, StockSeries.INCH, "2 1/2 in bar", 2.5 * INCH),  # past 2 1/4 by quarters: 60 of 63.5 mm
        (0.0120, StockSeries.INCH, "5/8 in bar", 0.625 * INCH),  # 14 of 15.9 mm; 1/2 has 12.7
        (0.1010, StockSeries.INCH, "4 1/2 in bar", 4.5 * INCH),
    ],
)
def test_the_next_bar_that_leaves_two_millimetres_to_turn_off(diameter, series, name, size):
    bar = bar_over(diameter, series=series)
    assert (bar.name, bar.diameter) == (name, pytest.approx(size))


@pytest.mark.parametrize("series", StockSeries)
def test_a_bar_is_never_thinner_than_the_part_and_grows_with_it(series):
    found = [bar_over(1e-3 * tenths / 10.0, series=series).diameter for tenths in range(10, 5000, 7)]
    needed = [1e-3 * tenths / 10.0 + 2e-3 for tenths in range(10, 5000, 7)]
    assert all(bar >= one - 1e-9 for bar, one in zip(found, needed, strict=True))
    assert found == sorted(found)


def test_past_the_last_size_there_is_no_bar_but_a_figure():
    huge = bar_over(0.6, series=StockSeries.METRIC)
    assert huge.diameter == pytest.approx(0.602)
    assert "602 mm" in huge.name
    assert sorted(METRIC) == list(METRIC)
    assert sorted(EIGHTHS) == list(EIGHTHS)


def test_the_length_to_saw_off_holds_part_faces_parting_and_grip():
    """150 mm of nose from a bar of 85: 150 + 2 + 4 + 42.5, up to whole millimetres."""
    one = stock_of("shell", material="304", diameter=0.082, length=0.150, series=StockSeries.METRIC)
    assert one.bar.diameter == pytest.approx(0.085)
    assert one.grip == pytest.approx(0.0425)
    assert one.length == pytest.approx(0.199)
