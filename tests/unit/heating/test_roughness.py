"""A rough surface: what trips, what is told, and that a smooth one changes nothing."""

import numpy as np
import pytest

from optitip.heating.chain import heat_states
from optitip.heating.edge import edge_state
from optitip.heating.roughness import TRIPS_FROM, height_reynolds, roughness_warnings, tripped_at, wall_units
from optitip.heating.stream import stations_of, stream_of
from optitip.heating.transition import FlowKind, bracket
from optitip.properties.air import CALORIC_AIR as GAS


def test_the_layer_trips_at_the_first_station_whose_height_is_over_the_limit():
    just, below = TRIPS_FROM, TRIPS_FROM - 0.1
    found = tripped_at([[below, just, just], [below] * 3], arc_length=[0.0, 0.1, 0.2])
    assert found.tolist() == [0.1, np.inf]


def test_a_polished_surface_warns_of_nothing_and_a_rough_one_of_both():
    smooth, rough = np.full((2, 3), 1.0), np.full((2, 3), 700.0)
    assert roughness_warnings(smooth, smooth, height=1e-6, time=np.array([0.0, 1.0])) == ()
    both = roughness_warnings(rough, rough, height=1e-4, time=np.array([0.0, 1.0]))
    assert [("trips" in one, "isn't smooth" in one) for one in both] == [(True, False), (False, True)]


def test_a_height_that_reaches_out_of_the_layer_sees_the_edges_speed_at_most(sphere_cone):
    air = stream_of(speed=[800.0], temperature=[250.0], pressure=[5e4], gas=GAS)
    edge = edge_state(air, stations=stations_of(**sphere_cone()), gas=GAS)
    film = np.full(edge.speed.shape, 1000.0)
    small, large = (
        height_reynolds(film, edge=edge, height=height, wall=300.0, gas=GAS)[0, 40] for height in (1e-6, 1e-2)
    )
    plus = wall_units(film, edge=edge, height=1e-6, wall=300.0, gas=GAS)[0, 40]
    assert small == pytest.approx(plus**2, rel=1e-12)
    density = edge.pressure[0, 40] / (GAS.gas_constant * 300.0)
    assert large == pytest.approx(density * edge.speed[0, 40] * 1e-2 / GAS.viscosity(300.0), rel=1e-12)
    assert large < 0.01 * (1e4 * plus) ** 2


def test_roughness_moves_the_onsets_forward_and_nothing_else(make_flight, sphere_cone):
    smooth, fine, rough = (
        heat_states(make_flight(), **sphere_cone(), roughness=height) for height in (0.0, 1e-6, 2e-4)
    )
    for state in bracket():
        assert np.array_equal(fine[state.name].film, smooth[state.name].film)
        more = rough[state.name].turbulent - smooth[state.name].turbulent
        assert (more >= 0.0).all()
        assert (more.max() > 0.5) == (state.kind is FlowKind.ONSET)
    assert any("trips" in one for one in rough["laminar"].warnings)
    assert not any("rough" in one for one in smooth["laminar"].warnings)


def test_only_where_a_layer_may_be_turbulent_a_roughness_is_told_as_not_smooth(make_flight, sphere_cone):
    # at 5.4 um k+ is 5.4 on the tip, where no layer is turbulent yet, and 4.6 at most aft of it; at 7 um 6.0
    flight, body = make_flight(top_speed=200.0), sphere_cone()
    told = [
        any(
            "isn't smooth" in one for one in heat_states(flight, **body, roughness=height)["laminar"].warnings
        )
        for height in (5.4e-6, 7e-6)
    ]
    assert told == [False, True]
