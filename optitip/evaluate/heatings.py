"""The heating of a study in each flow state, reckoned once for all designs with its flight and outline."""

from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import numpy as np

from optitip.arrays import FloatArray
from optitip.evaluate.given_heating import given_heating, table_rows
from optitip.flight.trajectory import Flight
from optitip.geometry.outline import Outline
from optitip.heating.chain import heat_states
from optitip.heating.table import Heating, covering
from optitip.heating.transition import FlowState, bracket, onset_state
from optitip.inputs.study_tables import Flow, TurbulentLaw

KEPT = 32
SIDE_STATIONS = 40
SPHERE_STATIONS = 12
TABLE_STATE = "heating table"
LOW_TABLE_STATE = "low heating table"
HIGH_TABLE_STATE = "high heating table"


def stations_along(outline: Outline, *, finer: int = 1) -> FloatArray:
    """Return the arc lengths [m] the heating is reckoned at: even on the sphere, then growing aft.

    finer: how many there are for one of the usual row.
    """
    end = max(outline.sphere_arc, 0.02 * outline.total_arc)
    on_side, on_sphere = (finer * (count - 1) + 1 for count in (SIDE_STATIONS, SPHERE_STATIONS))
    side = end + (outline.total_arc - end) * np.linspace(0.0, 1.0, on_side) ** 1.7
    return np.concatenate([np.linspace(0.0, end, on_sphere)[:-1], side])


def states_of(flow: Flow) -> tuple[FlowState, ...]:
    """Return the study's bracket of flow states; none with heating tables, which are states of their own."""
    if flow.heating_table is not None:
        return ()
    return bracket(
        low_onset=flow.low_onset,
        expected_onset=flow.expected_onset,
        high_onset=flow.high_onset,
        trip=flow.trip,
    )


def expected_name(flow: Flow) -> str:
    """Return the name of the expected flow state."""
    return TABLE_STATE if flow.heating_table is not None else onset_state(flow.expected_onset).name


def searching_names(flow: Flow) -> tuple[str, ...]:
    """Return the few flow states a search runs: the expected one and the one that is hottest of all."""
    if flow.heating_table is not None:
        return (TABLE_STATE,) if flow.heating_high is None else (TABLE_STATE, HIGH_TABLE_STATE)
    return expected_name(flow), states_of(flow)[-1].name


def heatings_of(
    flow: Flow,
    *,
    folder: Path,
    outline: Outline,
    flight: Flight | None,
    wind: float,
    sun: float,
    warmest: float = 0.0,
    searching: bool = False,
    finer: int = 1,
) -> Mapping[str, Heating]:
    """Return the heating in each flow state, by its name: of the study's tables, or from its flight.

    wind: [m/s] and sun: [W/m2] on the ground, as ``heat_states`` takes them, ``warmest`` [K] too;
    tables are used as they are. searching: of a flight only the states a search runs. finer: stations for one
    of the usual row.
    """
    if flight is None or flow.heating_table is not None:
        return covered_heatings(flow, folder=folder, outline=outline, flight=flight, finer=finer)
    wanted = searching_names(flow)
    return flown_heatings(
        flight,
        outline=outline,
        states=tuple(state for state in states_of(flow) if not searching or state.name in wanted),
        surroundings=flow.surroundings,
        wind=wind,
        sun=sun,
        warmest=warmest,
        turbulent_law=flow.turbulent_law,
        roughness=flow.roughness,
        finer=finer,
    )


@lru_cache(maxsize=KEPT)
def flown_heatings(
    flight: Flight,
    *,
    outline: Outline,
    states: tuple[FlowState, ...],
    surroundings: float | None,
    wind: float,
    sun: float,
    warmest: float,
    turbulent_law: TurbulentLaw,
    roughness: float,
    finer: int = 1,
) -> Mapping[str, Heating]:
    """Return the heating in each flow state, by its name."""
    arc_length = stations_along(outline, finer=finer)
    _, radius, slope = outline.at(arc_length)
    return heat_states(
        flight,
        arc_length=arc_length,
        radius=radius,
        slope=slope,
        tip_radius=outline.tip_radius,
        states=states,
        surroundings=surroundings,
        wind=wind,
        sun=sun,
        warmest=warmest,
        turbulent_law=turbulent_law,
        roughness=roughness,
    )


def table_files(flow: Flow) -> dict[str, str]:
    """Return the study's heating tables by the name of their state, the expected one first."""
    files = {
        TABLE_STATE: flow.heating_table,
        LOW_TABLE_STATE: flow.heating_low,
        HIGH_TABLE_STATE: flow.heating_high,
    }
    return {name: file for name, file in files.items() if file is not None}


def heating_table(flow: Flow, *, folder: Path, name: str, outline: Outline, flight: Flight | None) -> Heating:
    """Return the heating of one of the study's tables as it was written."""
    path = folder / table_files(flow)[name]
    axial = "axial" in table_rows(path)
    return given_heating(
        path,
        outline=outline if axial else None,
        flight=flight,
        surroundings=flow.surroundings,
        name=name,
    )


@lru_cache(maxsize=KEPT)
def covered_heatings(
    flow: Flow, *, folder: Path, outline: Outline, flight: Flight | None, finer: int = 1
) -> Mapping[str, Heating]:
    """Return the heating of each of the study's tables at the stations of an outline, as long as the flight.

    How much of surface and flight a table covers stands first among its warnings.
    """
    files = table_files(flow)
    tables = {
        name: heating_table(flow, folder=folder, name=name, outline=outline, flight=flight) for name in files
    }
    spans = [one.time for one in tables.values()] if flight is None else [flight.time]
    start, end = min(float(one[0]) for one in spans), max(float(one[-1]) for one in spans)
    found = {}
    arc_length = stations_along(outline, finer=finer)
    for name, given in tables.items():
        heating = covering(given, arc_length=arc_length, start_time=start, end_time=end)
        said = coverage(given, outline=outline, flight=flight)
        found[name] = replace(heating, warnings=(f"{files[name]} has {said}", *heating.warnings))
    return found


def coverage(heating: Heating, *, outline: Outline, flight: Flight | None) -> str:
    """Return what a table has, in words: how many times and stations, from where to where, and the share."""
    time, s = heating.time, heating.arc_length
    fore, aft = (min(float(end), outline.total_arc) for end in (s[0], s[-1]))
    between = np.linspace(fore, aft, 200)
    whole = np.linspace(0.0, outline.total_arc, 400)
    covered, all_of_it = (np.trapezoid(outline.at(arc)[1], arc) for arc in (between, whole))
    walls = "" if heating.wall.size == 1 else f" and {heating.wall.size} wall temperatures"
    words = (
        f"{time.size} times from {time[0]:.4g} to {time[-1]:.4g} s, {s.size} stations from {1e3 * s[0]:.4g}"
        f" to {1e3 * s[-1]:.4g} mm of arc length{walls}: {covered / all_of_it:.0%} of the heated surface"
    )
    if flight is None:
        return words
    inside = np.clip(time[[0, -1]], flight.time[0], flight.time[-1])
    return f"{words}, {np.ptp(inside) / np.ptp(flight.time):.0%} of the flight's time"
