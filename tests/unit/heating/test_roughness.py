"""A rough surface: what trips, what is told, and that a smooth one changes nothing."""

import numpy as np

from optitip.heating.chain import heat_states
from optitip.heating.roughness import TRIPS_FROM, roughness_warnings, tripped_at
from optitip.heating.transition import FlowKind, bracket


def test_the_layer_trips_at_the_first_station_whose_height_is_over_the_limit():
    just, below = TRIPS_FROM, TRIPS_FROM - 0.1
    found = tripped_at([[below, just, just], [below] * 3], arc_length=[0.0, 0.1, 0.2])
    assert found.tolist() == [0.1, np.inf]


def test_a_polished_surface_warns_of_nothing_and_a_rough_one_of_both():
    smooth, rough = np.full((2, 3), 1.0), np.full((2, 3), 700.0)
    assert roughness_warnings(smooth, smooth, height=1e-6, time=np.array([0.0, 1.0])) == ()
    both = roughness_warnings(rough, rough, height=1e-4, time=np.array([0.0, 1.0]))
    assert [("trips" in one, "isn't smooth" in one) for one in both] == [(True, False), (False, True)]


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
