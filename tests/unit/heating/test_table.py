"""A heating table used as it is."""

import numpy as np
import pytest

from optitip.errors import UserMistakes
from optitip.heating.table import covering, from_table

GRID = {
    "time": np.repeat([0.0, 1.0, 2.0], 2),
    "arc_length": np.tile([0.01, 0.05], 3),
    "film": np.array([0.0, 0.0, 300.0, 200.0, 90.0, 80.0]),
    "recovery": np.array([288.0, 288.0, 600.0, 580.0, 400.0, 390.0]),
}


def test_a_grid_in_any_order_gives_the_same_heating():
    shuffled = np.random.default_rng(3).permutation(6)
    one, other = from_table(**GRID), from_table(**{key: v[shuffled] for key, v in GRID.items()})
    assert np.array_equal(one.film, other.film)
    assert np.array_equal(one.recovery, other.recovery)
    assert one.film.shape == (3, 2, 1)
    assert one.film[1, 1, 0] == 200.0


def test_a_table_without_pressure_is_warned_of():
    assert "pressure" in from_table(**GRID).warnings[0]
    with_pressure = from_table(**GRID, pressure=np.full(6, 9e4))
    assert with_pressure.warnings == ()
    assert (with_pressure.pressure == 9e4).all()


def test_a_missing_row_is_named():
    rows = {key: values[:-1] for key, values in GRID.items()}
    with pytest.raises(UserMistakes, match=r"no row at 2 s and 50 mm"):
        from_table(**rows)


def test_a_row_given_twice_is_named():
    rows = {key: np.append(values, values[0]) for key, values in GRID.items()}
    with pytest.raises(UserMistakes, match=r"2 rows at 0 s and 10 mm"):
        from_table(**rows)


def test_all_bad_values_are_reported_together():
    film = np.array([0.0, -1.0, 300.0, 200.0, 90.0, 80.0])
    recovery = np.array([288.0, 288.0, np.nan, 580.0, 400.0, 390.0])
    with pytest.raises(UserMistakes) as caught:
        from_table(**{**GRID, "film": film, "recovery": recovery})
    text = str(caught.value)
    assert "negative film coefficient in row 2" in text
    assert "recovery is not a number in row 3" in text
    assert all(mistake.place == "flow.heating_table" for mistake in caught.value.mistakes)


def test_unequal_columns_and_a_single_time_are_mistakes():
    with pytest.raises(UserMistakes, match="unequal length"):
        from_table(**{**GRID, "film": [1.0]})
    with pytest.raises(UserMistakes, match="single time"):
        from_table(**{key: values[:2] for key, values in GRID.items()})


def test_stations_between_are_linear_and_those_outside_take_the_nearest():
    heating = covering(from_table(**GRID), arc_length=[0.0, 0.03, 0.09], end_time=2.0)
    assert heating.film[1, :, 0].tolist() == pytest.approx([300.0, 250.0, 200.0])
    assert heating.recovery[1].tolist() == pytest.approx([600.0, 590.0, 580.0])
    assert any("nearest station" in warning for warning in heating.warnings)


def test_a_table_that_ends_early_is_held_with_a_warning():
    heating = covering(from_table(**GRID), arc_length=[0.01, 0.05], end_time=700.0)
    assert heating.time[-1] == 700.0
    assert np.array_equal(heating.film[-1], heating.film[-2])
    assert any("held to 700 s" in warning for warning in heating.warnings)


def test_a_table_that_covers_all_is_left_as_it_is():
    given = from_table(**GRID, pressure=np.full(6, 1e5))
    same = covering(given, arc_length=[0.01, 0.05], end_time=2.0)
    assert np.allclose(same.film, given.film)
    assert same.warnings == ()
