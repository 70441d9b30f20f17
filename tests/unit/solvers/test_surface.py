from dataclasses import replace

import numpy as np
import pytest

from optitip.solvers.body import Surface
from optitip.solvers.surface import STEFAN_BOLTZMANN, SurfaceFlux, heat_over_time

WALL = np.array([420.0, 560.0])


@pytest.fixture
def heated():
    film = np.array([[[10.0, 20.0, 15.0], [5.0, 6.0, 9.0]], [[30.0, 10.0, 5.0], [7.0, 8.0, 3.0]]])
    return Surface(
        nodes=[4, 2],
        area=[2.0, 3.0],
        time=[1.0, 3.0],
        wall=[300.0, 500.0, 600.0],
        film=film,
        recovery=[[700.0, 600.0], [900.0, 500.0]],
        emissivity=[0.5, 0.9],
        surroundings=[250.0, 270.0],
        absorbed=[[100.0, 40.0], [300.0, 0.0]],
    )


def test_the_heat_is_linear_in_time_and_in_the_walls_temperature(heated):
    heat = SurfaceFlux((heated,)).heat(1.5, wall=np.array([400.0, 550.0]))
    # a quarter of the way in time; halfway in the first and in the second interval of the wall
    film = np.array([0.75 * 15.0 + 0.25 * 20.0, 0.75 * 7.5 + 0.25 * 5.5])
    assert heat.convected[0] == pytest.approx(film * [2.0, 3.0] * (np.array([750.0, 575.0]) - [400.0, 550.0]))
    around = 255.0**4 - np.array([400.0, 550.0]) ** 4
    sun = np.array([2.0 * 150.0, 3.0 * 30.0])
    assert heat.radiated[0] == pytest.approx(STEFAN_BOLTZMANN * np.array([1.0, 2.7]) * around + sun)


def test_outside_the_table_its_nearest_entry_holds(heated):
    flux = SurfaceFlux((heated,))
    early, first = (flux.heat(time, wall=WALL) for time in (-5.0, 1.0))
    late, last = (flux.heat(time, wall=WALL) for time in (50.0, 3.0))
    assert np.array_equal(early, first)
    assert np.array_equal(late, last)
    hot = flux.heat(1.0, wall=np.array([1000.0, 1000.0])).convected[0]
    assert hot == pytest.approx([2.0 * 15.0 * -300.0, 3.0 * 9.0 * -400.0])


def test_the_slope_in_the_wall_is_the_heats_own(heated):
    flux, step = SurfaceFlux((heated,)), 1e-4
    slope = flux.slopes(1.5, wall=WALL).in_wall
    for name in ("convected", "radiated"):
        fall = getattr(flux.heat(1.5, wall=WALL), name) - getattr(flux.heat(1.5, wall=WALL + step), name)
        assert getattr(slope, name) == pytest.approx(fall / step, rel=1e-5)


def test_the_slope_in_the_wall_is_never_below_zero(heated):
    # the first film grows fast with the wall far below recovery: its own slope would be negative
    slope = SurfaceFlux((heated,)).slopes(1.0, wall=np.array([310.0, 560.0])).in_wall
    assert slope.convected[0, 0] == 0.0


def test_the_slope_in_time_is_the_heats_own_and_ends_with_the_table(heated):
    flux, step = SurfaceFlux((heated,)), 1e-6
    slope = flux.slopes(1.5, wall=WALL).in_time
    for name in ("convected", "radiated"):
        rise = getattr(flux.heat(1.5 + step, wall=WALL), name) - getattr(flux.heat(1.5, wall=WALL), name)
        assert getattr(slope, name) == pytest.approx(rise / step, rel=1e-4)
    assert not flux.slopes(3.0, wall=WALL).in_time.convected.any()
    assert not flux.slopes(0.5, wall=WALL).in_time.radiated.any()


def test_the_second_opinion_agrees_with_the_first(heated):
    time = np.array([0.0, 1.0, 1.7, 2.9, 3.0, 8.0])
    wall = np.array(
        [[250.0, 300.0], [300.0, 499.0], [500.0, 555.0], [600.0, 700.0], [420.0, 310.0], [333.0, 444.0]]
    )
    afresh = heat_over_time(heated, time=time, wall=wall)
    flux = SurfaceFlux((heated,))
    for row in range(time.size):
        heat = flux.heat(time[row], wall=wall[row])
        assert afresh.convected[row] == pytest.approx(heat.convected[0], rel=1e-12)
        assert afresh.radiated[row] == pytest.approx(heat.radiated[0], rel=1e-12)


def test_a_surface_that_neither_films_nor_radiates_still_absorbs(surface):
    bare = replace(surface([1, 2], area=[2.0, 5.0]), absorbed=[30.0])
    heat = SurfaceFlux((bare,)).heat(7.0, wall=np.array([350.0, 900.0]))
    assert heat.convected.tolist() == [[0.0, 0.0]]
    assert heat.radiated.tolist() == [[60.0, 150.0]]


def test_one_instant_and_one_wall_temperature_make_a_table(surface):
    steady = surface([1], area=[2.0], film=40.0, recovery=500.0)
    assert SurfaceFlux((steady,)).heat(7.0, wall=np.array([350.0])).convected[0] == pytest.approx([12000.0])
    afresh = heat_over_time(steady, time=np.array([7.0]), wall=np.array([[350.0]]))
    assert afresh.convected == pytest.approx(np.array([[12000.0]]))
