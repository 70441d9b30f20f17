"""The film inside an open base."""

import numpy as np
import pytest

from optitip.heating.descent import SHELTERED_FILM
from optitip.heating.hollow import hollow_film
from optitip.inputs.study_tables import Attitude

TIMES = np.array([-5.0, 2.0, 29.9, 30.0, 60.0, 130.0])


@pytest.mark.parametrize("attitude", Attitude)
def test_the_airframe_closes_the_hollow_until_the_apogee(make_flight, attitude):
    film = hollow_film(make_flight(attitude=attitude), time=TIMES, diameter=0.05)
    assert (film[:3] == 0.0).all()
    assert (film[3:] > 0.5).all()


def test_inside_a_shell_it_is_the_shells_own_film(make_flight):
    film = hollow_film(make_flight(attitude=Attitude.INSIDE), time=TIMES, diameter=0.05)
    assert (film[3:5] == SHELTERED_FILM).all()
    assert film[5] < SHELTERED_FILM


def test_it_grows_with_the_rate_of_descent_and_with_the_wind_on_the_ground(make_flight):
    slow, fast = (
        hollow_film(make_flight(), time=np.array([time]), diameter=0.05)[0] for time in (119.0, 60.0)
    )
    assert fast > 1.3 * slow
    still, windy = (
        hollow_film(make_flight(), time=np.array([200.0]), diameter=0.05, wind=wind)[0] for wind in (0.0, 8.0)
    )
    assert windy > 3.0 * still
