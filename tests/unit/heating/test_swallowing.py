"""The entropy layer of a blunt tip, and how much of it the boundary layer has swallowed."""

import numpy as np
import pytest

from optitip.heating.compressible import log_shock_loss
from optitip.heating.edge import edge_states
from optitip.heating.stream import stations_of, stream_of
from optitip.heating.swallowing import Layer, bow_shock_loss, swallowed_height
from optitip.properties.air import CALORIC_AIR as GAS

MACH = np.array([[1.2], [2.0], [3.5], [5.0]])


def test_on_the_axis_the_shock_is_normal_and_far_out_it_is_the_cones():
    cone = 0.1 * log_shock_loss(MACH)
    assert bow_shock_loss(MACH, height=0.0, far_loss=cone) == pytest.approx(log_shock_loss(MACH), rel=1e-6)
    assert bow_shock_loss(MACH, height=1e7, far_loss=cone) == pytest.approx(cone, rel=1e-3)


def test_the_loss_falls_all_the_way_out():
    height = np.linspace(0.0, 20.0, 401)
    loss = bow_shock_loss(MACH, height=height, far_loss=0.05 * log_shock_loss(MACH))
    assert (np.diff(loss, axis=1) > 0.0).all()


def test_the_loss_vanishes_smoothly_at_mach_one():
    mach = np.linspace(0.9, 1.3, 4001)
    loss = bow_shock_loss(mach, height=1.0, far_loss=0.0)
    assert (loss[mach <= 1.0] == 0.0).all()
    assert np.abs(np.diff(loss)).max() < 1e-4
    assert loss[-1] < 0.0


def test_a_shock_without_asymptote_leaves_no_loss_far_out():
    assert bow_shock_loss(3.0, height=1e9, far_loss=0.0) == pytest.approx(0.0, abs=1e-9)


def heights(sphere_cone, layer, *, pressure=5e4, speed=900.0):
    """Return the swallowed height (n_s,) [m] from an edge at the stream's own state."""
    stations = stations_of(**sphere_cone())
    stream = stream_of(speed=[speed], temperature=[250.0], pressure=[pressure], gas=GAS)
    edge = edge_states(stream, stations=stations, gas=GAS)[layer]
    found = swallowed_height(
        edge.pressure,
        speed=edge.speed,
        enthalpy=edge.enthalpy,
        stream=stream,
        stations=stations,
        gas=GAS,
        layer=layer,
    )
    return found[0]


def test_the_layer_takes_in_more_and_more_and_a_turbulent_one_the_most(sphere_cone):
    laminar, turbulent = (heights(sphere_cone, layer) for layer in Layer)
    assert (np.diff(laminar) > 0.0).all()
    assert (np.diff(turbulent) > 0.0).all()
    assert laminar[0] == 0.0
    assert (turbulent >= laminar * (1.0 - 1e-6)).all()
    assert turbulent[-1] > 1.5 * laminar[-1]


def test_a_laminar_layers_tube_goes_with_the_fourth_root_of_the_airs_density(sphere_cone):
    # mass ~ sqrt(rho mu u), so y^2 ~ rho^-1/2; the edge itself changes a little with what is swallowed
    thin, dense = (heights(sphere_cone, Layer.LAMINAR, pressure=p)[-1] for p in (2e4, 3.2e5))
    assert thin / dense == pytest.approx(2.0, rel=0.05)


def test_at_rest_nothing_is_undefined(sphere_cone):
    assert np.isfinite(heights(sphere_cone, Layer.TURBULENT, speed=0.0)).all()
