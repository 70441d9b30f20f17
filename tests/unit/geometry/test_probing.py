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
    # a back that narrows aft: from its fore end the way has to pass its aft end
    way = path([[0.02, 0.0], [0.012, 0.01]], [[0.02, 0.02], [0.02, 0.05]], 1e-6)
    assert (way.axial, way.tilt) == pytest.approx((0.01, 0.0))
    # its aft end is too near to the bore to lean that far; from the fore end the back itself is in the way
    alone = path([[0.02, 0.0], [0.016, 0.0199]], [[0.01, 0.02], [0.01, 0.04]], 1e-6)
    assert alone.axial == 0.0
    assert math.tan(alone.tilt) == pytest.approx(0.5, rel=1e-3)
    assert path([[0.02, 0.0], [0.006, 0.01]], [[0.01, 0.02], [0.01, 0.04]], 1e-6).axial == 0.01
