"""Heating tables in all the forms a flow solver or a rig may give: the same heating in each."""

import numpy as np
import pytest

from optitip.errors import UserMistakes
from optitip.evaluate.given_heating import given_heating
from optitip.flight.trajectory import Attitude, Flight
from optitip.geometry.outline import family_outline
from optitip.inputs.study_tables import OutlineFamily

TIME, ARC = np.repeat([0.0, 5.0, 9.0], 4), np.tile([0.0, 0.02, 0.05, 0.11], 3)
FILM, RECOVERY = 40.0 + 30.0 * TIME + 500.0 * ARC, 290.0 + 40.0 * TIME + 100.0 * ARC
OUTLINE = family_outline(
    OutlineFamily.VON_KARMAN, diameter=0.08, length=0.4, turned_length=0.1, tip_radius=0.004
)


def write(folder, header, *columns, name="rig.csv"):
    path = folder / name
    rows = zip(*(np.asarray(column).tolist() for column in columns), strict=True)
    path.write_text("\n".join([header, *(",".join(map(repr, row)) for row in rows)]), encoding="utf-8")
    return path


def read(path, **settings):
    given = {"outline": None, "flight": None, "surroundings": None, "name": "heating table", **settings}
    return given_heating(path, **given)


def plain(folder):
    header = "time [s],arc length [m],film coefficient [W/(m2 K)],recovery temperature [K]"
    return read(write(folder, header, TIME, ARC, FILM, RECOVERY, name="plain.csv"))


def test_a_flux_at_a_wall_with_its_recovery_is_the_film_it_stands_for(tmp_path):
    wall = 300.0 + 1000.0 * ARC
    path = write(
        tmp_path,
        "time [s],arc length [m],wall temperature [K],recovery temperature [K],heat flux [kW/m2]",
        *(TIME, ARC, wall, RECOVERY, 1e-3 * FILM * (RECOVERY - wall)),
    )
    assert np.allclose(read(path).film, plain(tmp_path).film)
    assert read(path).film.shape == (3, 4, 1)


def test_fluxes_at_two_walls_are_the_film_and_recovery_they_stand_for(tmp_path):
    walls = np.concatenate([np.full(12, 300.0), np.full(12, 450.0)])
    path = write(
        tmp_path,
        "time [s],arc length [m],wall temperature [K],heat flux [W/m2],pressure [Pa]",
        *(np.tile(TIME, 2), np.tile(ARC, 2), walls),
        np.tile(FILM, 2) * (np.tile(RECOVERY, 2) - walls),
        np.tile(9e4 + TIME, 2),
    )
    two = read(path)
    assert np.allclose(two.film, plain(tmp_path).film)
    assert np.allclose(two.recovery, plain(tmp_path).recovery)
    assert np.allclose(two.pressure, (9e4 + TIME).reshape(3, 4))


def test_a_poor_straight_line_through_the_fluxes_is_told(tmp_path):
    header = "time [s],arc length [m],wall temperature [K],heat flux [W/m2],pressure [Pa]"
    time, wall = np.repeat([0.0, 1.0], 3), np.tile([300.0, 400.0, 500.0], 2)
    path = write(tmp_path, header, time, 0.0 * time, wall, np.tile([3e4, 2.5e4, 1e4], 2), 1e5 + time)
    assert "leave up to 3.33e+03 W/m2" in read(path).warnings[-1]


def test_a_flux_alone_is_held_whatever_the_wall_does_and_it_is_said(tmp_path):
    path = write(tmp_path, "time [s],arc length [m],heat flux [kW/m2]", TIME, ARC, 3.0 + TIME)
    lamp = read(path, surroundings=300.0)
    assert np.allclose(lamp.absorbed, (3e3 + 1e3 * TIME).reshape(3, 4))
    assert not lamp.film.any()
    assert (lamp.recovery == 300.0).all()
    assert "held whatever the wall does" in lamp.warnings[-1]


def test_an_absorbed_flux_stands_beside_a_film(tmp_path):
    header = (
        "time [s],arc length [m],film coefficient [W/(m2 K)],recovery temperature [K],absorbed flux [W/m2]"
    )
    path = write(tmp_path, header, TIME, ARC, FILM, RECOVERY, 700.0 + TIME)
    assert np.allclose(read(path).absorbed, (700.0 + TIME).reshape(3, 4))
    assert np.array_equal(read(path).film, plain(tmp_path).film)


def test_axial_stations_are_put_on_the_outline_and_those_aft_of_the_tip_go_on(tmp_path):
    axial = np.tile([0.0, 0.02, 0.1, 0.3], 3)
    header = "time [s],z [m],film coefficient [W/(m2 K)],recovery temperature [K]"
    path = write(tmp_path, header, TIME, axial, FILM, RECOVERY)
    arc = read(path, outline=OUTLINE).arc_length
    assert OUTLINE.at(arc[:3])[0] == pytest.approx([0.0, 0.02, 0.1])
    assert arc[3] - arc[2] == pytest.approx(0.2 / np.cos(OUTLINE.slope[-1]))
    assert np.array_equal(read(path, outline=OUTLINE).film, plain(tmp_path).film)


FLIGHT = Flight(
    time=[0.0, 10.0],
    altitude=[0.0, 1000.0],
    speed=[0.0, 300.0],
    temperature=[288.0, 281.0],
    pressure=[1e5, 9e4],
    density=[1.2, 1.1],
    axial_acceleration=[0.0, 0.0],
    phase=[1, 1],
    events={},
    kinks=(),
    attitude=Attitude.ACROSS,
    warnings=(),
)


def test_pressure_and_surroundings_that_a_table_lacks_are_those_of_the_flight(tmp_path):
    plain(tmp_path)
    beside = read(tmp_path / "plain.csv", flight=FLIGHT)
    assert beside.pressure[:, 0] == pytest.approx([1e5, 9.5e4, 9.1e4])
    assert beside.surroundings == pytest.approx([288.0, 284.5, 281.7])
    assert "that of the air along the flight" in beside.warnings[-1]


def test_the_tables_own_surroundings_give_way_to_the_studys(tmp_path):
    header = (
        "time [s],arc length [m],film coefficient [W/(m2 K)],recovery temperature [K],surroundings [degC]"
    )
    path = write(tmp_path, header, TIME, ARC, FILM, RECOVERY, 20.0 + TIME)
    assert read(path, flight=FLIGHT).surroundings == pytest.approx([293.15, 298.15, 302.15])
    assert read(path, surroundings=250.0).surroundings.tolist() == [250.0] * 3


def test_all_that_is_wrong_with_the_columns_is_told_at_once(tmp_path):
    path = write(tmp_path, "time [s],film coefficient [W/(m2 K)]", TIME, FILM)
    with pytest.raises(UserMistakes) as caught:
        read(path)
    assert len(caught.value.mistakes) == 2
