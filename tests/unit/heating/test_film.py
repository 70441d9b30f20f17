"""Films along the side and the integrals they grow by."""

import numpy as np
import pytest

from optitip.heating.chain import WALL as WALL_COLUMNS
from optitip.heating.edge import edge_state
from optitip.heating.film import (
    laminar_plate_film,
    mean_specific_heat,
    turbulent_plate_film,
)
from optitip.heating.integrals import weighted_integral
from optitip.heating.stagnation import laminar_film, round_the_tip, stagnation_film
from optitip.heating.stream import stations_of, stream_of
from optitip.properties.air import AIR

WALL = np.array([250.0, 400.0, 700.0, 1200.0])


@pytest.fixture
def layer(sphere_cone):
    """Return what the films are reckoned from, as keywords, at four speeds; the stream comes first."""
    stations = stations_of(**sphere_cone())
    stream = stream_of(
        speed=[20.0, 250.0, 600.0, 1200.0], temperature=[250.0] * 4, pressure=[5e4] * 4, gas=AIR
    )
    edge = edge_state(stream, stations=stations, gas=AIR)
    return stream, {"edge": edge, "stations": stations, "wall": WALL, "gas": AIR}


@pytest.mark.parametrize("exponent", [0.0, 1.0, 1.25, 2.0])
def test_the_integral_of_a_line_on_a_cone_is_exact(exponent):
    s = np.linspace(0.0, 2.0, 9) ** 1.5
    found = weighted_integral(s, 0.3 * s, exponent=exponent) @ (1.0 + 2.0 * s)
    power = exponent + 1.0
    exact = 0.3**exponent * (s**power / power + 2.0 * s ** (power + 1.0) / (power + 1.0))
    assert np.allclose(found, exact, rtol=2e-4)


def test_ahead_of_a_first_station_the_flow_is_that_of_a_stagnation_point():
    s = np.array([0.1, 0.2])
    found = weighted_integral(s, s, exponent=2.0) @ s
    assert np.allclose(found, s**4 / 4.0, rtol=1e-12)


def test_the_films_are_finite_and_positive_everywhere_but_at_rest(layer):
    stream, shared = layer
    laminar = laminar_film(stream, **shared)
    turbulent = turbulent_plate_film(stream, **shared)
    assert np.isfinite(laminar).all()
    assert np.isfinite(turbulent).all()
    assert (laminar > 0.0).all()
    assert (turbulent[:, 1:] > 0.0).all()


def test_at_rest_the_forced_films_are_zero_and_finite(sphere_cone):
    stations = stations_of(**sphere_cone())
    stream = stream_of(speed=[0.0], temperature=[288.0], pressure=[1e5], gas=AIR)
    shared = {"edge": edge_state(stream, stations=stations, gas=AIR), "wall": WALL, "gas": AIR}
    assert (laminar_film(stream, stations=stations, **shared) == 0.0).all()
    assert (turbulent_plate_film(stream, stations=stations, **shared) == 0.0).all()


def test_the_stagnation_film_is_where_the_laminar_film_starts(layer):
    stream, shared = layer
    at_point = stagnation_film(stream, edge=shared["edge"], wall=WALL, gas=AIR)
    assert np.allclose(laminar_film(stream, **shared)[:, 0], at_point, rtol=1e-12)


def test_the_plate_at_a_stagnation_point_is_the_limit_of_its_neighbours(layer):
    stream, shared = layer
    film = laminar_plate_film(stream, **shared)
    assert np.allclose(film[:, 0], film[:, 1], rtol=1e-3)


def test_the_nose_film_has_given_way_to_the_plate_three_radii_aft_of_the_tip(layer):
    stream, shared = layer
    stations = shared["stations"]
    aft = stations.arc_length > stations.joint_arc + 3.0 * stations.tip_radius
    laminar, plate = laminar_film(stream, **shared), laminar_plate_film(stream, **shared)
    assert np.array_equal(laminar[:, aft], plate[:, aft])
    assert (laminar[:, 1] > 1.05 * plate[:, 1]).all()
    halfway = np.argmin(np.abs(stations.arc_length - stations.joint_arc - 1.5 * stations.tip_radius))
    assert (laminar[:, halfway] > 1.01 * plate[:, halfway]).all()


def test_lees_distribution_starts_at_one_and_falls(layer):
    _, shared = layer
    shape = round_the_tip(shared["edge"], stations=shared["stations"])
    on_tip = shared["stations"].arc_length < shared["stations"].joint_arc
    assert np.allclose(shape[:, 0], 1.0)
    assert np.allclose(shape[:, 1], 1.0, rtol=1e-3)
    assert (np.diff(shape[2:, on_tip], axis=1) < 0.0).all()


def test_the_turbulent_film_falls_with_the_wall_temperature(layer):
    stream, shared = layer
    assert (np.diff(turbulent_plate_film(stream, **shared)[:, 1:], axis=2) < 0.0).all()


def test_the_mean_specific_heat_has_no_jump_where_wall_and_air_meet():
    wall = np.linspace(498.0, 502.0, 4001)
    air = np.array(500.0)
    mean = mean_specific_heat(air, AIR.enthalpy(air), wall, AIR.enthalpy(wall), gas=AIR)
    assert np.abs(np.diff(mean)).max() < 0.2
    assert mean[2000] == pytest.approx(float(AIR.specific_heat(500.0)), rel=1e-6)


def test_the_default_columns_follow_the_wall_within_half_a_per_cent(layer):
    stream, shared = layer
    fine = np.linspace(220.0, 900.0, 60)
    for film in (laminar_film, turbulent_plate_film):
        exact = film(stream, **{**shared, "wall": fine})[:, 1:]
        table = film(stream, **{**shared, "wall": WALL_COLUMNS})[:, 1:]
        line = np.apply_along_axis(lambda row: np.interp(fine, WALL_COLUMNS, row), 2, table)
        assert np.abs(line / exact - 1.0).max() < 4e-3
