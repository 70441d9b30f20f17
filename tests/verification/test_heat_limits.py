"""Cases a line of algebra answers: the thin wall's time constant, and the equilibrium of a radiating wall."""

import numpy as np
import pytest
from scipy.optimize import brentq

from optitip.solvers.march import march
from optitip.solvers.surface import STEFAN_BOLTZMANN


def test_a_thin_wall_warms_with_the_time_constant_of_its_heat_over_its_film(column, solid, surface):
    wall = column((np.linspace(0.0, 1e-3, 5), solid(167.0, heat_capacity=2700.0 * 896.0)))
    hot = surface(wall.near, area=wall.area, film=500.0, recovery=600.0)
    tau = 2700.0 * 896.0 * 1e-3 / 500.0
    assert tau == pytest.approx(4.84, abs=0.005)
    history = march(wall.model, surface=hot, start=300.0, end_time=3.0 * tau, kinks=[tau], tolerance=1e-3)
    mean = history.temperature @ wall.model.volume / wall.model.volume.sum()
    share = (600.0 - mean[np.searchsorted(history.time, [tau, 3.0 * tau])]) / 300.0
    # the wall's own resistance slows it by a third of its Biot number, 0.1 %
    assert share == pytest.approx(np.exp([-1.0, -3.0]), rel=4e-3)
    assert share == pytest.approx(np.exp(np.array([-1.0, -3.0]) / (1.0 + 0.003 / 3.0)), rel=2e-4)


def test_a_radiating_wall_settles_where_film_and_radiation_cancel(column, solid, surface):
    wall = column((np.linspace(0.0, 1e-3, 5), solid(20.0, heat_capacity=2e6)))
    hot = surface(wall.near, area=wall.area, film=30.0, recovery=900.0, emissivity=0.8, surroundings=250.0)
    history = march(wall.model, surface=hot, start=300.0, end_time=3000.0)

    def net(temperature):
        radiated = 0.8 * STEFAN_BOLTZMANN * (temperature**4 - 250.0**4)
        return 30.0 * (900.0 - temperature) - radiated

    assert history.temperature[-1] == pytest.approx(brentq(net, 300.0, 900.0), abs=0.01)


def test_a_body_at_the_temperature_of_all_around_it_stays_there(column, solid, surface):
    wall = column((np.linspace(0.0, 1e-3, 5), solid(20.0, heat_capacity=2e6)))
    still = surface(wall.near, area=wall.area, film=500.0, recovery=320.0, emissivity=0.8, surroundings=320.0)
    history = march(wall.model, surface=still, start=320.0, end_time=100.0)
    assert history.temperature == pytest.approx(320.0, abs=1e-9)
