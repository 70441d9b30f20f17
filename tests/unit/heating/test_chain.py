"""The heating of a whole flight."""

import time

import numpy as np
import pytest

from optitip.errors import OutOfRange
from optitip.heating.chain import WALL, heat, heat_states
from optitip.heating.descent import SHELTERED_FILM, cross_flow_film
from optitip.heating.edge import edge_states
from optitip.heating.stream import stations_of, stream_of
from optitip.heating.swallowing import Layer
from optitip.heating.transition import BRACKET, EXPECTED, FlowKind
from optitip.inputs.study_tables import Attitude, TurbulentLaw
from optitip.properties.air import AIR


@pytest.fixture
def states(make_flight, sphere_cone):
    """Return the flight and its heating in every state."""
    flight = make_flight()
    return flight, heat_states(flight, **sphere_cone())


def test_every_state_is_finite_and_its_film_never_zero(states):
    _, found = states
    assert list(found) == [state.name for state in BRACKET]
    for heating in found.values():
        assert np.isfinite(heating.film).all()
        assert (heating.film > 0.0).all()
        assert (heating.recovery > 150.0).all()
        assert (heating.pressure > 0.0).all()
        assert ((heating.turbulent >= 0.0) & (heating.turbulent <= 1.0)).all()


def test_one_state_alone_is_the_same_as_among_the_others(states, sphere_cone):
    flight, found = states
    alone = heat(flight, **sphere_cone(), state=EXPECTED)
    assert np.array_equal(alone.film, found[EXPECTED.name].film)
    assert np.array_equal(alone.recovery, found[EXPECTED.name].recovery)


def test_before_its_onset_the_expected_state_is_exactly_laminar(states):
    _, found = states
    expected, laminar = found[EXPECTED.name], found["laminar"]
    early = expected.reynolds <= 1e6
    assert early.any()
    assert not early.all()
    assert np.array_equal(expected.film[early], laminar.film[early])
    assert np.array_equal(expected.recovery[early], laminar.recovery[early])
    assert (expected.film[expected.reynolds > 1.2e6] > laminar.film[expected.reynolds > 1.2e6]).all()


def test_the_turbulent_film_is_never_under_the_laminar(states):
    _, found = states
    assert (found["turbulent"].film >= found["laminar"].film).all()
    assert (found["turbulent"].recovery >= found["laminar"].recovery - 1e-9).all()


@pytest.mark.parametrize("wall", [240.0, 330.0, 480.0, 640.0, 900.0])
def test_turbulent_while_heating_brings_the_most_heat_at_any_wall_temperature(states, wall):
    _, found = states

    def flux(heating):
        film = np.apply_along_axis(lambda row: np.interp(wall, heating.wall, row), 2, heating.film)
        return film * (heating.recovery - wall)

    highest = flux(found["turbulent while heating"])
    # where air and wall are within the columns' 20 K of each other the two films are mixed
    apart = np.abs(found["turbulent"].recovery - wall) > 20.0
    for state in BRACKET[:-1]:
        # the two wall axes follow the film's curve within half a per cent
        slack = 6e-3 * np.abs(highest) + 1e-6
        assert (highest + slack >= flux(found[state.name]))[apart].all(), state.name


def test_the_switch_follows_the_turbulent_recovery_temperature(states):
    _, found = states
    heating, laminar, turbulent = found["turbulent while heating"], found["laminar"], found["turbulent"]
    half_step = 0.5 * (heating.wall[1] - heating.wall[0])
    columns = np.array([np.interp(heating.wall, turbulent.wall, one) for one in np.eye(turbulent.wall.size)])
    flown = turbulent.turbulent[:, -1] > 0.0
    recovery = turbulent.recovery[flown, -1, None]
    hotter, colder = heating.wall < recovery - half_step, heating.wall > recovery + half_step
    film = heating.film[flown, -1]
    assert np.allclose(film[hotter], (turbulent.film[flown, -1] @ columns)[hotter], rtol=1e-9)
    assert np.allclose(film[colder], (laminar.film[flown, -1] @ columns)[colder], rtol=1e-9)


def test_no_layer_is_called_turbulent_where_no_stream_comes_head_on(states):
    flight, found = states
    heating = found["turbulent"]
    ahead = (heating.time >= 0.0) & (heating.time < flight.events["apogee"])
    assert (heating.turbulent[ahead] == 1.0).all()
    assert (heating.turbulent[~ahead] == 0.0).all()


def test_the_air_that_is_colder_than_the_wall_cools_it(states):
    flight, found = states
    heating = found[EXPECTED.name]
    coasting = (heating.time > 10.0) & (heating.time < 29.0)
    assert (heating.recovery[coasting] < 500.0).all()
    assert (heating.recovery[heating.time > 60.0] < 300.0).all()
    assert flight.speed.max() > 800.0
    assert heating.recovery.max() > 600.0


def test_a_change_of_attitude_has_a_time_on_either_side(states):
    flight, found = states
    time_ = found["laminar"].time
    assert (np.diff(time_) > 0.0).all()
    for change in (0.0, 30.0):
        assert change in time_
        assert np.isclose(time_, change - 1e-3).any()
    assert time_.size == flight.time.size + 2
    at = int(np.searchsorted(time_, 30.0))
    # the stream still comes head on 1 ms before apogee, and no longer at it
    assert found["laminar"].reynolds[at - 1, -1] > 0.0
    assert found["laminar"].reynolds[at, -1] == 0.0


def test_inside_a_shell_the_film_is_the_sheltered_one(make_flight, sphere_cone):
    heating = heat(make_flight(attitude=Attitude.INSIDE), **sphere_cone(), state=EXPECTED)
    down = (heating.time > 30.0) & (heating.time < 119.0)
    assert (heating.film[down] == SHELTERED_FILM).all()


def test_across_the_stream_the_film_is_that_of_a_cylinder_of_the_local_diameter(make_flight, sphere_cone):
    flight, body = make_flight(attitude=Attitude.ACROSS), sphere_cone()
    heating = heat(flight, **body, state=EXPECTED)
    row = int(np.searchsorted(heating.time, 60.0))
    air = {
        "temperature": flight.temperature[flight.time == 60.0],
        "pressure": flight.pressure[flight.time == 60.0],
    }
    speed, radius = flight.speed[flight.time == 60.0], body["radius"][[30, -1]]
    film = cross_flow_film(speed, **air, diameter=2.0 * radius, wall=heating.wall, gas=AIR)[0]
    # natural convection on top of it
    assert (heating.film[row, [30, -1]] > film).all()
    assert heating.film[row, [30, -1]] == pytest.approx(film, rel=5e-3)


def test_tip_forward_the_descent_has_the_films_of_the_ascent(make_flight, sphere_cone):
    forward = heat(make_flight(attitude=Attitude.FORWARD), **sphere_cone(), state=EXPECTED)
    across = heat(make_flight(attitude=Attitude.ACROSS), **sphere_cone(), state=EXPECTED)
    at = np.searchsorted(forward.time, 60.0), np.searchsorted(across.time, 60.0)
    assert forward.reynolds[at[0], -1] > 0.0
    assert across.reynolds[at[1], -1] == 0.0
    assert forward.film[at[0], 0, 0] != pytest.approx(across.film[at[1], 0, 0], rel=0.01)


def test_wind_cools_on_the_ground_and_changes_nothing_in_flight(make_flight, sphere_cone):
    still, windy = (heat(make_flight(), **sphere_cone(), state=EXPECTED, wind=speed) for speed in (0.0, 6.0))
    on_ground = still.time > 121.5
    assert (windy.film[on_ground] > 2.0 * still.film[on_ground]).all()
    flying = (still.time >= 0.0) & (still.time < 29.0)
    assert np.array_equal(windy.film[flying], still.film[flying])


def test_the_surroundings_are_the_air_unless_given(make_flight, sphere_cone):
    heating = heat(make_flight(), **sphere_cone(), state=EXPECTED)
    assert heating.surroundings[0] == pytest.approx(288.15)
    given = heat(make_flight(), **sphere_cone(), state=EXPECTED, surroundings=260.0)
    assert (given.surroundings == 260.0).all()


def test_above_mach_5_the_heating_refuses(make_flight, sphere_cone):
    with pytest.raises(OutOfRange, match="Mach"):
        heat(make_flight(top_speed=1900.0), **sphere_cone(), state=EXPECTED)


def test_a_fast_descent_across_the_stream_is_warned_of(make_flight, sphere_cone):
    flight = make_flight()
    fast = {name: getattr(flight, name) for name in flight.__slots__}
    fast["speed"] = np.where(flight.time == 30.5, 400.0, flight.speed)
    warnings = heat(type(flight)(**fast), **sphere_cone(), state=EXPECTED).warnings
    assert any("across the stream" in warning for warning in warnings)
    assert heat(flight, **sphere_cone(), state=EXPECTED).warnings == ()


def flat_cap(radius, *, rim=0.03):
    """Return a cap of a large radius that turns within 2 mm to a side of 5 degrees."""
    s = np.concatenate([np.linspace(0.0, rim, 20), rim + np.array([0.001, 0.002, 0.02, 0.06])])
    slope = np.concatenate([np.pi / 2 - s[:20] / radius, np.radians([45.0, 5.0, 5.0, 5.0])])
    steps = np.cos(np.pi / 2 - 0.5 * (slope[1:] + slope[:-1])) * np.diff(s)
    return {"arc_length": s, "radius": np.append(0.0, np.cumsum(steps)), "slope": slope, "tip_radius": radius}


def test_a_tip_that_is_all_but_flat_is_warned_of_with_what_its_film_reads_low(make_flight):
    # 0.3 of a sphere's gradient on the rim's 31.1 mm: 1 - sqrt(31.1/(0.3 x 300)) = 41 %
    (warning,) = heat(make_flight(), **flat_cap(0.3), state=EXPECTED).warnings
    assert "all but flat" in warning
    assert "reads 41% low" in warning
    assert heat(make_flight(), **flat_cap(0.09), state=EXPECTED).warnings == ()


def test_six_states_of_a_flight_take_a_small_part_of_a_second(make_flight, sphere_cone):
    flight, body = make_flight(), sphere_cone()
    heat_states(flight, **body)
    start = time.process_time()
    heat_states(flight, **body)
    assert time.process_time() - start < 0.15


def test_a_trip_turns_the_onset_states_turbulent_behind_it(make_flight, sphere_cone):
    state = type(EXPECTED)(name="tripped", kind=FlowKind.ONSET, onset=1e9, trip=0.02)
    heating = heat(make_flight(), **sphere_cone(), state=state, gas=AIR)
    assert (heating.turbulent[:, heating.arc_length < 0.02] == 0.0).all()
    assert heating.turbulent[:, -1].max() > 0.99


def test_the_onset_counts_on_the_edge_of_the_laminar_layer(make_flight, sphere_cone):
    flight, body = make_flight(), sphere_cone()
    heating = heat(flight, **body, state=EXPECTED)
    top = int(np.argmax(flight.speed))
    row = int(np.searchsorted(heating.time, flight.time[top]))
    stream = stream_of(
        speed=flight.speed[top], temperature=flight.temperature[top], pressure=flight.pressure[top], gas=AIR
    )
    edges = edge_states(stream, stations=stations_of(**body), gas=AIR)
    assert np.allclose(heating.reynolds[row], edges[Layer.LAMINAR].reynolds[0], rtol=1e-6)
    assert heating.reynolds[row, -1] < 0.9 * edges[Layer.TURBULENT].reynolds[0, -1]


def test_another_turbulent_law_changes_the_turbulent_films_alone(make_flight, sphere_cone):
    usual, other = (
        heat_states(make_flight(), **sphere_cone(), turbulent_law=law)
        for law in (TurbulentLaw.REFERENCE_ENTHALPY, TurbulentLaw.VAN_DRIEST)
    )
    assert np.array_equal(other["laminar"].film, usual["laminar"].film)
    assert np.array_equal(other["turbulent"].recovery, usual["turbulent"].recovery)
    ratio = other["turbulent"].film / usual["turbulent"].film
    assert 1e-3 < np.abs(ratio - 1.0).max() < 0.3


def test_the_laminar_state_alone_is_the_one_among_six(make_flight, sphere_cone, states):
    _, found = states
    alone = heat(make_flight(), **sphere_cone(), state=BRACKET[0])
    for name in ("film", "recovery", "pressure", "reynolds", "turbulent"):
        assert np.array_equal(getattr(alone, name), getattr(found["laminar"], name))


@pytest.mark.parametrize(("top_speed", "count"), [(200.0, 5), (900.0, 7), (1500.0, 10)])
def test_the_columns_end_with_the_first_above_what_the_air_can_heat_a_wall_to(
    make_flight, sphere_cone, top_speed, count
):
    flight = make_flight(top_speed=top_speed)
    usual, whole = (heat(flight, **sphere_cone(), state=EXPECTED, wall=wall) for wall in (None, WALL))
    assert usual.wall.tolist() == WALL[:count].tolist()
    assert usual.wall[-1] > usual.recovery.max()
    assert np.array_equal(usual.film, whole.film[..., :count])
