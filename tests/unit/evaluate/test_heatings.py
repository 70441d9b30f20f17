"""The states and stations a study's heating is reckoned for; how much a heating table covers, in words."""

from pathlib import Path

import numpy as np
import pytest

from optitip.evaluate import heatings
from optitip.evaluate.heatings import (
    coverage,
    expected_name,
    heatings_of,
    searching_names,
    states_of,
    stations_along,
)
from optitip.evaluate.sources import flown, turned_outline
from optitip.flight.trajectory import Attitude, Flight
from optitip.geometry.outline import family_outline
from optitip.heating.table import from_table
from optitip.inputs.study import read_study
from optitip.inputs.study_tables import Flow, OutlineFamily

CONE = family_outline(OutlineFamily.CONE, diameter=0.08, length=0.4, turned_length=0.2, tip_radius=1e-4)
EGG = read_study(Path(__file__).parents[3] / "studies" / "coastal-egg")


def table(*, aft, begin=0.0, end=5.0):
    time, arc_length = np.repeat([begin, end], 2), np.tile([0.0, aft], 2)
    return from_table(time=time, arc_length=arc_length, film=np.ones(4), recovery=np.full(4, 300.0))


def flight(end):
    return Flight(
        time=[-2.0, end],
        altitude=[0.0, 0.0],
        speed=[0.0, 0.0],
        temperature=[288.0] * 2,
        pressure=[1e5] * 2,
        density=[1.2] * 2,
        axial_acceleration=[0.0] * 2,
        phase=[1, 1],
        events={},
        kinks=(),
        attitude=Attitude.ACROSS,
        warnings=(),
    )


def test_half_the_length_of_a_cone_is_a_quarter_of_its_surface():
    said = coverage(table(aft=0.5 * CONE.total_arc), outline=CONE, flight=None)
    assert said.endswith(": 25% of the heated surface")
    assert said.startswith("2 times from 0 to 5 s, 2 stations from 0 to ")


def test_a_table_longer_than_tip_and_flight_covers_all_of_both_and_no_more():
    said = coverage(table(aft=9.0, begin=-5.0, end=50.0), outline=CONE, flight=flight(18.0))
    assert said.endswith("100% of the heated surface, 100% of the flight's time")


def test_the_share_of_the_flight_counts_from_its_first_time_to_its_last():
    said = coverage(table(aft=9.0), outline=CONE, flight=flight(18.0))
    assert said.endswith("25% of the flight's time")


def test_a_table_that_has_no_time_in_common_with_the_flight_covers_none_of_it():
    said = coverage(table(aft=9.0, begin=30.0, end=40.0), outline=CONE, flight=flight(18.0))
    assert said.endswith(" 0% of the flight's time")


def test_a_search_runs_the_expected_state_and_the_hottest_of_all():
    flow = Flow.model_validate({"expected_onset": "8e5"})
    assert expected_name(flow) == "onset at 8e5"
    assert searching_names(flow) == ("onset at 8e5", "turbulent while heating")
    assert {*searching_names(flow)} < {state.name for state in states_of(flow)}


def of(**more):
    return heatings_of(
        EGG.tables.flow,
        folder=EGG.folder,
        outline=turned_outline(EGG),
        flight=flown(EGG),
        wind=0.0,
        sun=0.0,
        **more,
    )


def test_a_search_has_its_two_states_as_they_are_among_six():
    few, all_six = of(searching=True), of()
    assert tuple(few) == searching_names(EGG.tables.flow)
    assert len(all_six) == 6
    for name, heating in few.items():
        for part in ("film", "recovery", "wall", "turbulent", "pressure"):
            assert np.array_equal(getattr(heating, part), getattr(all_six[name], part))


def test_four_times_as_many_stations_bring_the_same_heat(monkeypatch):
    outline = turned_outline(EGG)
    arc = np.linspace(0.0, outline.total_arc, 2001)
    ring = outline.at(arc)[1]

    def brought():
        found = {}
        for name, heating in of().items():
            flux = heating.film[..., 1] * (heating.recovery - heating.wall[1])
            around = np.trapezoid([np.interp(arc, heating.arc_length, row) * ring for row in flux], arc)
            found[name] = np.trapezoid(np.maximum(around, 0.0), heating.time)
        return found

    usual, count = brought(), stations_along(outline).size
    heatings.flown_heatings.cache_clear()
    monkeypatch.setattr(heatings, "SIDE_STATIONS", 160)
    monkeypatch.setattr(heatings, "SPHERE_STATIONS", 48)
    assert stations_along(outline).size > 3.9 * count
    fine = brought()
    heatings.flown_heatings.cache_clear()
    assert usual == pytest.approx(fine, rel=1e-3)
