"""Films where no stream comes head on."""

import numpy as np

from optitip.heating.descent import cross_flow_film, cross_flow_recovery, still_air_film, together
from optitip.properties.air import AIR

AIR_AT_REST = {"temperature": [280.0], "pressure": [9e4], "wall": [300.0, 600.0], "gas": AIR}


def test_the_film_across_the_stream_grows_with_speed_and_falls_with_diameter():
    film = np.concatenate(
        [cross_flow_film([v], diameter=[0.02, 0.05], **AIR_AT_REST) for v in (0.0, 5.0, 20.0, 80.0)]
    )
    assert (np.diff(film, axis=0) > 0.0).all()
    assert (film[:, 0] > film[:, 1]).all()
    assert np.isfinite(film).all()


def test_still_air_takes_something_even_without_a_difference_of_temperature():
    film = still_air_film([300.0], pressure=[1e5], diameter=0.05, wall=[300.0], gas=AIR)
    assert 0.05 < film[0, 0] < 1.0


def test_still_air_takes_more_from_a_hotter_wall():
    film = still_air_film([300.0], pressure=[1e5], diameter=0.05, wall=[310.0, 400.0, 600.0], gas=AIR)
    assert (np.diff(film[0]) > 0.0).all()


def test_recovery_across_the_stream_lies_between_static_and_total():
    recovery = cross_flow_recovery([200.0], temperature=[280.0], gas=AIR)
    assert 280.0 < recovery[0] < AIR.temperature(AIR.enthalpy(280.0) + 200.0**2 / 2.0)


def test_the_larger_of_two_films_rules():
    film = together(np.array([0.0, 1000.0]), np.array([6.0, 6.0]))
    assert np.allclose(film, [6.0, 1000.0], rtol=1e-6)
