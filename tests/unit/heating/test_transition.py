"""Flow states and the intermittency between laminar and turbulent."""

import numpy as np
import pytest

from optitip.heating.transition import BRACKET, EXPECTED, FlowKind, bracket, intermittency, onset_state

S = np.linspace(0.0, 0.3, 301)
REYNOLDS = (S * 2e7)[None, :]


def test_before_the_onset_the_layer_is_exactly_laminar():
    weight = intermittency(REYNOLDS, state=EXPECTED, arc_length=S)
    assert (weight[REYNOLDS <= 1e6] == 0.0).all()
    assert weight[0, -1] > 0.99


def test_a_quarter_and_three_quarters_lie_one_length_apart():
    reynolds = np.linspace(1e6, 3e6, 200_001)[None, :]
    weight = intermittency(reynolds, state=EXPECTED, arc_length=reynolds[0])
    quarter, rest = np.interp([0.25, 0.75], weight[0], reynolds[0])
    assert rest - quarter == pytest.approx(5.0 * 1e6**0.8, rel=2e-3)


def test_a_later_onset_is_never_more_turbulent():
    weights = [intermittency(REYNOLDS, state=onset_state(re), arc_length=S) for re in (5e5, 1e6, 2e6)]
    assert (weights[0] >= weights[1]).all()
    assert (weights[1] >= weights[2]).all()


def test_a_trip_makes_the_flow_turbulent_behind_it_only():
    state = onset_state(2e6, trip=0.03)  # Re 6e5 there
    weight = intermittency(REYNOLDS, state=state, arc_length=S)
    assert (weight[0, S < 0.03] == 0.0).all()
    assert weight[0, np.searchsorted(S, 0.08)] > 0.99
    assert np.abs(np.diff(weight[0])).max() < 0.15


def test_a_trip_in_slow_air_waits_for_a_reynolds_number_of_1e5():
    state = onset_state(2e6, trip=0.03)
    weight = intermittency(REYNOLDS * 0.05, state=state, arc_length=S)  # Re 3e4 at the trip, 3e5 aft
    assert (weight[REYNOLDS * 0.05 <= 1e5] == 0.0).all()
    assert weight[0, -1] > 0.9


def test_the_bracket_holds_the_expected_state_and_the_highest():
    assert EXPECTED in BRACKET
    assert [state.kind for state in BRACKET].count(FlowKind.ONSET) == 3
    assert BRACKET[-1].kind is FlowKind.TURBULENT_WHILE_HEATING


def test_equal_onsets_are_run_once():
    states = bracket(low_onset=1e6, expected_onset=1e6, high_onset=3e6)
    assert [state.onset for state in states if state.kind is FlowKind.ONSET] == [1e6, 3e6]


def test_behind_a_trip_the_onset_is_the_reynolds_number_at_the_trip():
    s = np.linspace(0.0, 0.4, 41)
    reynolds = 5e6 * s[None, :]
    tripped = intermittency(reynolds, state=onset_state(1e7, trip=0.1), arc_length=s)
    natural = intermittency(reynolds, state=onset_state(5e5), arc_length=s)
    assert (tripped[0, s < 0.0999] == 0.0).all()
    assert np.allclose(tripped[0, s >= 0.1], natural[0, s >= 0.1])
