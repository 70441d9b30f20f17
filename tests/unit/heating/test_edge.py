"""The edge of the boundary layer along the surface."""

import numpy as np
import pytest

from optitip.errors import OutOfRange
from optitip.geometry.outline import family_outline
from optitip.heating.compressible import log_total_pressure, pitot_pressure_ratio
from optitip.heating.cone_flow import cone_table
from optitip.heating.edge import edge_state, edge_states
from optitip.heating.pressure import gradient_factor, pressure_and_loss, pressure_coefficient, side_flow
from optitip.heating.stream import stations_of, stream_of
from optitip.heating.swallowing import Layer
from optitip.inputs.study_tables import OutlineFamily
from optitip.properties.air import AIR, CALORIC_AIR

SPEEDS = np.array([0.05, 0.5, 0.9, 1.1, 1.5, 2.0, 3.0, 4.0, 5.0])


@pytest.fixture
def edge(sphere_cone):
    """Return stream, stations and edge of a 10 degree sphere-cone at all speeds."""
    stations = stations_of(**sphere_cone(count=200))
    a = CALORIC_AIR.sound_speed(250.0)
    stream = stream_of(
        speed=SPEEDS * a * (1 - 1e-12),
        temperature=np.full(9, 250.0),
        pressure=np.full(9, 5e4),
        gas=CALORIC_AIR,
    )
    return stream, stations, edge_state(stream, stations=stations, gas=CALORIC_AIR)


def test_the_stagnation_point_has_the_pitot_pressure_and_no_speed(edge):
    stream, _, state = edge
    assert np.allclose(state.pressure[:, 0], stream.pressure * pitot_pressure_ratio(stream.mach), rtol=1e-9)
    assert np.allclose(state.speed[:, 0], 0.0, atol=1e-3)
    assert np.allclose(CALORIC_AIR.enthalpy(state.temperature[:, 0]), stream.total_enthalpy, rtol=1e-6)


def test_the_speed_near_the_stagnation_point_grows_by_its_gradient(edge):
    _, stations, state = edge
    near = 4
    expected = state.velocity_gradient * stations.arc_length[near]
    assert np.allclose(state.speed[:, near], expected, rtol=1e-2)


def test_past_a_tip_of_a_micrometre_the_edge_is_the_cone_of_taylor_and_maccoll(edge, sphere_cone):
    stream, _, _ = edge
    fast = stream.mach > 1.4
    pressure, cone_mach = cone_table().surface(stream.mach[fast], np.radians(10.0))
    stations = stations_of(**sphere_cone(tip_radius=1e-6))
    for state in edge_states(stream, stations=stations, gas=CALORIC_AIR).values():
        assert np.allclose(state.pressure[fast, -1] / stream.pressure[fast], pressure, rtol=1e-6)
        assert np.allclose(state.mach[fast, -1], cone_mach, rtol=2e-4)


def test_the_air_at_an_ogives_edge_crossed_the_shock_of_the_steep_surface_far_ahead():
    # the start's shock takes off 10.3 %, the base's own slope's nothing; here 8.7 % laminar, 5.2 % turbulent
    ogive = family_outline(OutlineFamily.TANGENT_OGIVE, diameter=0.1, length=0.25, tip_radius=1e-4)
    side = ogive.sphere_arc + (ogive.total_arc - ogive.sphere_arc) * np.linspace(0.0, 1.0, 80)
    s = np.append(np.linspace(0.0, ogive.sphere_arc, 16)[:-1], side)
    _, radius, slope = ogive.at(s)
    stations = stations_of(arc_length=s, radius=radius, slope=slope, tip_radius=1e-4)
    speed = 3.0 * CALORIC_AIR.sound_speed([223.0]) * (1.0 - 1e-12)
    stream = stream_of(speed=speed, temperature=[223.0], pressure=[3e4], gas=CALORIC_AIR)
    start, own = pressure_and_loss([3.0], stations=stations)[1][0, [0, -1]]
    states = edge_states(stream, stations=stations, gas=CALORIC_AIR)
    laminar, turbulent = (
        log_total_pressure(state.mach[0, -1]) + np.log(state.pressure[0, -1] / 3e4) - log_total_pressure(3.0)
        for state in (states[layer] for layer in Layer)
    )
    assert start < laminar < turbulent < 0.45 * start
    assert own > 0.01 * start


def test_energy_is_conserved_along_the_edge(sphere_cone):
    stations = stations_of(**sphere_cone())
    stream = stream_of(speed=[1200.0], temperature=[230.0], pressure=[3e4], gas=AIR)
    state = edge_state(stream, stations=stations, gas=AIR)
    total = AIR.enthalpy(state.temperature) + 0.5 * state.speed**2
    assert np.allclose(total, stream.total_enthalpy[:, None], rtol=1e-5)


def test_pressure_never_rises_aft_on_a_convex_tip(edge):
    _, _, state = edge
    assert (np.diff(state.pressure, axis=1) < 1e-6).all()


def test_the_side_knows_nothing_of_the_tip_radius(sphere_cone):
    cps = [
        pressure_coefficient([0.6, 1.02, 2.0], stations=stations_of(**sphere_cone(tip_radius=radius)))[:, -1]
        for radius in (0.001, 0.006)
    ]
    assert np.allclose(*cps, rtol=1e-9)


def test_a_steep_surface_follows_newton():
    pressure = side_flow(np.array([[2.0]]), np.radians([60.0])).pressure
    assert pressure[0, 0] == pytest.approx(1.6573 * 0.75, rel=1e-4)


def test_no_total_pressure_is_gained_and_none_is_lost_below_mach_1(sphere_cone):
    stations = stations_of(**sphere_cone())
    _, loss = pressure_and_loss(np.linspace(0.0, 5.0, 101), stations=stations)
    assert (loss <= 0.0).all()
    assert (loss[:21] == 0.0).all()


def test_the_gradient_never_falls_below_newtons():
    mach = np.linspace(0.01, 5.0, 500)
    newton = np.sqrt(
        (pitot_pressure_ratio(mach) - 1.0)
        / (0.7 * mach**2)
        * (1 + 0.2 * mach**2)
        / pitot_pressure_ratio(mach)
    )
    assert (gradient_factor(mach) >= newton * (1.0 - 1e-6)).all()


def test_above_mach_5_the_edge_refuses():
    with pytest.raises(OutOfRange, match=r"flight\.speed"):
        stream_of(speed=[1700.0], temperature=[250.0], pressure=[5e4], gas=CALORIC_AIR)
