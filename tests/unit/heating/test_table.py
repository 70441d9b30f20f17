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


def test_a_time_left_with_one_station_is_named():
    rows = {key: values[:-1] for key, values in GRID.items()}
    with pytest.raises(UserMistakes, match=r"a single station at 2 s .* where others have more"):
        from_table(**rows)


def test_a_row_given_twice_is_named():
    rows = {key: np.append(values, values[0]) for key, values in GRID.items()}
    with pytest.raises(UserMistakes, match=r"more than one row at 0 s and 10 mm \(1 rows too many\)"):
        from_table(**rows)


def test_times_with_stations_of_their_own_are_put_on_all_of_them_and_it_is_said():
    heating = from_table(
        time=[0, 0, 1, 1, 1],
        arc_length=[0.0, 0.1, 0.0, 0.05, 0.1],
        film=[10, 20, 30, 90, 50],
        recovery=[300, 320, 400, 500, 410],
        pressure=[1e5] * 5,
    )
    assert heating.film[0, :, 0].tolist() == pytest.approx([10.0, 15.0, 20.0])
    assert heating.recovery[0].tolist() == pytest.approx([300.0, 310.0, 320.0])
    assert heating.film[1, :, 0].tolist() == [30.0, 90.0, 50.0]
    [warning] = heating.warnings
    assert "its times have 2 to 3 stations of their own; straight lines bring all to the same 3" in warning


def test_a_time_whose_stations_end_short_holds_its_nearest_and_it_is_said():
    heating = from_table(
        time=[0, 0, 1, 1],
        arc_length=[0.0, 0.05, 0.0, 0.1],
        film=[10, 20, 30, 50],
        recovery=[300] * 4,
        pressure=[1e5] * 4,
    )
    assert heating.film[0, :, 0].tolist() == pytest.approx([10.0, 20.0, 20.0])
    assert "at 1 of 2 times they end short" in heating.warnings[-1]


def test_stations_that_have_times_of_their_own_are_refused():
    with pytest.raises(UserMistakes, match="a single station, and not the same one"):
        from_table(time=[0, 1, 2], arc_length=[0.0, 0.1, 0.0], film=[1] * 3, recovery=[300] * 3)


def test_a_film_at_several_walls_follows_the_wall():
    heating = from_table(
        time=[0, 0, 0, 0, 1, 1, 1, 1],
        arc_length=[0.0, 0.0, 0.1, 0.1] * 2,
        wall=[300, 500] * 4,
        film=[10, 11, 20, 21, 30, 31, 40, 41],
        recovery=[400, 400, 390, 390] * 2,
        pressure=[1e5] * 8,
    )
    assert heating.wall.tolist() == [300.0, 500.0]
    assert heating.film[1].tolist() == [[30.0, 31.0], [40.0, 41.0]]
    assert heating.recovery[0].tolist() == [400.0, 390.0]
    assert heating.warnings == ()


def test_places_with_walls_of_their_own_are_put_on_all_walls():
    heating = from_table(
        time=[0, 0, 0, 1, 1],
        arc_length=[0.0] * 5,
        wall=[300, 400, 500, 300, 500],
        film=[10, 30, 20, 40, 60],
        recovery=[400] * 5,
        pressure=[1e5] * 5,
    )
    assert heating.film[:, 0].tolist() == [[10.0, 30.0, 20.0], [40.0, 50.0, 60.0]]
    assert "straight lines bring all to the same 3" in heating.warnings[0]


def test_one_wall_temperature_a_place_leaves_the_film_free_of_the_wall():
    heating = from_table(**GRID, wall=np.linspace(300.0, 400.0, 6))
    assert heating.film.shape == (3, 2, 1)


def test_a_recovery_temperature_that_follows_the_wall_is_refused():
    with pytest.raises(UserMistakes, match="differs by 20 K between the walls"):
        from_table(
            time=[0, 0, 1, 1],
            arc_length=[0.0] * 4,
            wall=[300, 500] * 2,
            film=[1] * 4,
            recovery=[400, 420] * 2,
        )


def test_unlike_surroundings_and_a_share_above_one_are_refused():
    with pytest.raises(UserMistakes) as caught:
        from_table(**GRID, surroundings=[290, 295, 290, 290, 290, 290], turbulent=[0, 0, 0, 0, 0, 3])
    assert "unlike surroundings at 0 s" in str(caught.value)
    assert "a turbulent share outside 0 to 1" in str(caught.value)


def test_what_a_table_carries_beside_the_film_stays_with_its_places():
    shuffled = np.array([5, 0, 3, 1, 4, 2])
    columns = {"pressure": np.arange(6) + 9e4, "reynolds": np.arange(6) * 1e5, "absorbed": np.arange(6) * 1e3}
    heating = from_table(**{key: values[shuffled] for key, values in {**GRID, **columns}.items()})
    assert heating.pressure.ravel().tolist() == columns["pressure"].tolist()
    assert heating.reynolds.ravel().tolist() == columns["reynolds"].tolist()
    assert heating.absorbed.ravel().tolist() == columns["absorbed"].tolist()


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


def test_a_table_that_begins_late_is_held_from_the_start_with_a_warning():
    heating = covering(from_table(**GRID), arc_length=[0.01, 0.05], start_time=-5.0, end_time=2.0)
    assert heating.time.tolist() == [-5.0, 0.0, 1.0, 2.0]
    assert np.array_equal(heating.recovery[0], heating.recovery[1])
    assert any("its first row is held from -5 s" in warning for warning in heating.warnings)


def test_a_table_that_covers_all_is_left_as_it_is():
    given = from_table(**GRID, pressure=np.full(6, 1e5))
    same = covering(given, arc_length=[0.01, 0.05], end_time=2.0)
    assert np.allclose(same.film, given.film)
    assert same.warnings == ()
