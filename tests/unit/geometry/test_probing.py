import math

import numpy as np
import pytest

from optitip.geometry.probing import straight_path

BORE = np.array([[0.01, 0.02], [0.01, 0.04]])


def path(back, walls, diameter):
    return straight_path(np.array(back), walls=np.array(walls), diameter=diameter)


def test_a_probe_behind_a_wide_opening_runs_along_the_axis():
    way = path([[0.008, 0.0]], [[0.02, 0.01], [0.02, 0.05]], 0.002)
    assert (way.tilt, way.length) == pytest.approx((0.0, 0.05))


def test_a_thin_probe_leans_as_the_line_past_the_bores_fore_edge():
    way = path([[0.02, 0.0]], BORE, 1e-6)
    assert math.tan(way.tilt) == pytest.approx(0.5, rel=1e-3)
    assert way.length == pytest.approx(0.04 * math.hypot(1.0, 0.5), rel=1e-3)


@pytest.mark.parametrize("diameter", [0.001, 0.004, 0.005])
def test_a_thick_probe_keeps_its_radius_from_the_edge(diameter):
    way = path([[0.02, 0.0]], BORE, diameter)
    line = np.array([math.sin(way.tilt), math.cos(way.tilt)])  # r against z, turned
    edge = np.array([0.01, 0.02]) - np.array([0.02, 0.0])
    distance = edge[0] * line[1] + edge[1] * line[0]
    assert distance == pytest.approx(0.5 * diameter, rel=1e-5)


def test_a_long_narrow_bore_stops_it():
    # the line past the fore edge meets the far side of the bore 80 mm on: -0.02 < -0.01
    assert path([[0.02, 0.0]], [[0.01, 0.02], [0.01, 0.061]], 1e-6) is None
    assert path([[0.02, 0.0]], [[0.01, 0.02], [0.01, 0.059]], 1e-6) is not None


def test_a_closed_base_stops_it():
    assert path([[0.02, 0.0]], [[0.018, 0.02], [0.0, 0.02], [0.0, 0.04]], 1e-6) is None


def test_a_probe_thicker_than_the_bore_is_stopped():
    assert path([[0.005, 0.0]], BORE, 0.0201) is None
    assert path([[0.005, 0.0]], BORE, 0.0099) is not None


def test_the_point_that_leans_least_is_taken():
    near, far = [0.02, 0.01], [0.02, 0.0]
    assert path([far, near], BORE, 1e-3).axial == 0.0


def test_it_does_not_run_into_the_slab_again():
    """Random backs before random bores: the way that is taken clears all of the back aft of its end."""
    draw = np.random.default_rng(4)
    leaning = 0
    for _ in range(400):
        back = np.stack([draw.uniform(0.004, 0.02, 6), np.linspace(0.0, 0.02, 6)], axis=1)
        walls = draw.uniform(0.002, 0.02) * np.ones((2, 2))
        walls[:, 1] = 0.02 + np.cumsum(draw.uniform(0.001, 0.02, 2))
        way = path(back, walls, 1e-9)
        if way is None:
            continue
        aft = back[back[:, 1] > way.axial]
        line = way.radius - math.tan(way.tilt) * (aft[:, 1] - way.axial)
        assert np.all(line <= aft[:, 0] + 1e-9)
        leaning += way.tilt > 0.0
    assert leaning > 40


def test_of_ways_along_the_axis_the_innermost_is_taken():
    assert path([[0.009, 0.0], [0.007, 0.01], [0.008, 0.015]], BORE, 1e-4).radius == pytest.approx(0.007)


def test_a_wall_fore_of_where_it_ends_is_not_in_its_way():
    assert path([[0.009, 0.01]], [[0.03, 0.0], *BORE.tolist()], 1e-4).tilt == 0.0
