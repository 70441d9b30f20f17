"""What is shown of a heating: named instants and places, and which flow states give the bracket."""

from pathlib import Path

import numpy as np
import pytest

from optitip.evaluate.exposed import Exposed, exposed, film_spread, recovery_spread, values_at
from optitip.heating.table import Heating
from optitip.inputs.study import read_study

STUDIES = Path(__file__).parents[3] / "studies"


def heating(name, film, recovery):
    shape = (2, 2)
    return Heating(
        time=[0.0, 10.0],
        arc_length=[0.0, 0.1],
        wall=[300.0, 500.0],
        film=np.broadcast_to(np.asarray(film, dtype=float), (*shape, 2)),
        recovery=np.full(shape, recovery),
        pressure=np.full(shape, 1e5),
        reynolds=np.zeros(shape),
        turbulent=np.zeros(shape),
        surroundings=[290.0, 290.0],
        name=name,
        warnings=(),
    )


def shown(*heatings, wall):
    return Exposed(
        heatings={one.name: one for one in heatings},
        expected="middle",
        flight=None,
        wall=wall,
        places={"nose": 0.0},
        instants={"start": 0.0},
        pocket=(0.02, 0.06),
        warnings=(),
    )


AT = {"time": np.array([5.0]), "arc_length": np.array([0.03])}


@pytest.mark.parametrize(("wall", "film"), [(300.0, 10.0), (350.0, 12.5), (500.0, 20.0), (700.0, 20.0)])
def test_films_are_shown_at_one_wall_temperature_straight_between_columns_and_held_outside(wall, film):
    assert film_spread(shown(heating("middle", [10.0, 20.0], 400.0), wall=wall), **AT).expected == film


def test_each_quantity_has_its_own_bracket_and_names_the_states_of_its_sides():
    all_of_them = shown(
        heating("low", 5.0, 420.0), heating("middle", 8.0, 400.0), heating("high", 9.0, 410.0), wall=300.0
    )
    film, recovery = film_spread(all_of_them, **AT), recovery_spread(all_of_them, **AT)
    assert (film.low, film.expected, film.high) == (5.0, 8.0, 9.0)
    assert (film.low_states, film.high_states) == (("low",), ("high",))
    assert (recovery.low, recovery.expected, recovery.high) == (400.0, 400.0, 420.0)
    assert (recovery.low_states, recovery.high_states) == (("middle",), ("low",))


def test_states_that_agree_give_no_side():
    same = shown(heating("middle", 8.0, 400.0), heating("other", 8.0, 400.0), wall=300.0)
    assert film_spread(same, **AT).low_states == ()


def test_values_stand_straight_between_times_and_stations():
    one = heating("middle", 1.0, 400.0)
    values = np.array([[0.0, 10.0], [20.0, 50.0]])
    at = {"time": np.array([0.0, 5.0]), "arc_length": np.array([0.05, 0.2])}
    assert values_at(values, heating=one, **at).tolist() == [[5.0, 10.0], [20.0, 30.0]]


def test_the_instants_of_a_flight_are_named_in_order_and_close_ones_share_a_name():
    found = exposed(read_study(STUDIES / "coastal-egg"))
    events = found.flight.events
    assert list(found.instants.values()) == sorted(found.instants.values())
    assert found.instants["highest dynamic pressure, burnout"] == pytest.approx(events["burnout"], abs=0.3)
    assert found.instants["apogee"] == pytest.approx(events["apogee"], abs=0.02)
    mach = np.interp(found.instants["Mach 1"], found.flight.time, found.flight.mach)
    assert mach == pytest.approx(1.0, abs=0.1)


def test_the_places_lie_from_fore_to_aft_with_the_pocket_among_them():
    found = exposed(read_study(STUDIES / "coastal-egg"))
    assert list(found.places.values()) == sorted(found.places.values())
    assert (found.places["pocket's fore end"], found.places["pocket's aft end"]) == found.pocket


def test_under_a_table_the_hardest_heated_instant_is_among_the_instants():
    assert exposed(read_study(STUDIES / "heated-rig")).instants == {
        "start": 0.0,
        "hardest heated": 1.0,
        "end": 600.0,
    }
