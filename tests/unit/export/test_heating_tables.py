"""A heating as CSV: what is read back is what was written."""

import numpy as np
import pytest

from optitip.evaluate.given_heating import HEATING_COLUMNS, given_heating
from optitip.export.heating_tables import HEADER, heating_csv, table_name, write_heating
from optitip.heating.table import Heating
from optitip.units import split_header

RNG = np.random.default_rng(11)


def heating(wall, film):
    shape = film.shape[:2]
    return Heating(
        time=np.sort(RNG.uniform(-5.0, 600.0, shape[0])),
        arc_length=np.sort(RNG.uniform(0.0, 0.3, shape[1])),
        wall=wall,
        film=film,
        recovery=RNG.uniform(220.0, 900.0, shape),
        pressure=RNG.uniform(1e3, 2e5, shape),
        reynolds=RNG.uniform(0.0, 1e7, shape),
        turbulent=RNG.uniform(0.0, 1.0, shape),
        surroundings=RNG.uniform(200.0, 300.0, shape[0]),
        absorbed=RNG.uniform(0.0, 900.0, shape),
        name="onset at 1e6",
        warnings=(),
    )


def back(one, folder):
    path = write_heating(one, title="A title", folder=folder)
    return given_heating(path, outline=None, flight=None, surroundings=None, name=one.name)


def test_every_number_comes_back(tmp_path):
    one = heating([250.0, 400.0, 800.0], RNG.uniform(1.0, 3000.0, (7, 5, 3)))
    other = back(one, tmp_path)
    assert np.array_equal(one.time, other.time)
    assert other.arc_length == pytest.approx(one.arc_length, rel=1e-15)
    assert np.array_equal(one.wall, other.wall)
    for name in ("film", "recovery", "pressure", "reynolds", "turbulent", "surroundings", "absorbed"):
        assert np.allclose(getattr(one, name), getattr(other, name), rtol=1e-9, atol=0.0), name
    assert other.warnings == ()


def test_walls_on_a_straight_line_are_left_out_and_nothing_is_lost(tmp_path):
    wall = np.linspace(220.0, 1500.0, 65)
    bends = RNG.uniform(1.0, 900.0, (4, 6, 5))
    film = np.apply_along_axis(lambda values: np.interp(wall, wall[::16], values), 2, bends)
    one = heating(wall, film)
    assert len(heating_csv(one, title="").splitlines()) == 2 + 4 * 6 * 5
    assert np.array_equal(back(one, tmp_path).wall, wall[::16])
    assert np.allclose(back(one, tmp_path).film, bends, rtol=1e-9)


def test_a_film_that_bends_anywhere_keeps_its_wall_there():
    wall = np.array([300.0, 400.0, 500.0])
    straight = np.array([10.0, 11.0, 12.0])
    assert len(heating_csv(heating(wall, straight[None, None]), title="").splitlines()) == 4
    assert (
        len(heating_csv(heating(wall, straight[None, None] + [0.0, 1e-6, 0.0]), title="").splitlines()) == 5
    )


def test_every_column_written_is_one_that_is_read_and_has_its_unit():
    names = [split_header(label)[0] for label in HEADER]
    assert set(names) < set(HEATING_COLUMNS)
    for label in HEADER:
        assert "[" in label or HEATING_COLUMNS[split_header(label)[0]].unit == "1"


def test_a_title_can_not_break_the_comment_it_stands_in():
    one = heating([300.0], np.ones((2, 2, 1)))
    lines = heating_csv(one, title="two\nlines").splitlines()
    assert lines[0] == "# two lines; onset at 1e6"
    assert lines[1].startswith("time [s],")
    assert table_name("../x y") == "heating-..-x-y.csv"
