"""The heating of a study in each flow state, reckoned once for all designs with its flight and outline."""

from collections.abc import Mapping
from functools import lru_cache
from pathlib import Path

import numpy as np

from optitip.arrays import FloatArray
from optitip.evaluate.sources import HEATING_COLUMNS
from optitip.flight.trajectory import Flight
from optitip.geometry.outline import Outline
from optitip.heating.chain import heat_states
from optitip.heating.table import Heating, covering, from_table
from optitip.heating.transition import FlowState, bracket, onset_state
from optitip.inputs.study_tables import Flow
from optitip.inputs.tables import read_table

KEPT = 32
SIDE_STATIONS = 64
SPHERE_STATIONS = 16
TABLE_STATE = "heating table"
ROOM = 293.15


def stations_along(outline: Outline) -> FloatArray:
    """Return the arc lengths [m] the heating is reckoned at: even on the sphere, then growing aft."""
    end = max(outline.sphere_arc, 0.02 * outline.total_arc)
    side = end + (outline.total_arc - end) * np.linspace(0.0, 1.0, SIDE_STATIONS) ** 1.7
    return np.concatenate([np.linspace(0.0, end, SPHERE_STATIONS)[:-1], side])


def states_of(flow: Flow) -> tuple[FlowState, ...]:
    """Return the study's bracket of flow states; none with a heating table, which is one of its own."""
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
        return (TABLE_STATE,)
    return expected_name(flow), states_of(flow)[-1].name


@lru_cache(maxsize=KEPT)
def flown_heatings(
    flight: Flight, *, outline: Outline, states: tuple[FlowState, ...], surroundings: float | None
) -> Mapping[str, Heating]:
    """Return the heating in each flow state, by its name."""
    arc_length = stations_along(outline)
    _, radius, slope = outline.at(arc_length)
    return heat_states(
        flight,
        arc_length=arc_length,
        radius=radius,
        slope=slope,
        tip_radius=outline.tip_radius,
        states=states,
        surroundings=surroundings,
    )


@lru_cache(maxsize=KEPT)
def heating_table(flow: Flow, *, folder: Path) -> Heating:
    """Return the heating of the study's table as it was written."""
    rows = read_table(folder / str(flow.heating_table), columns=HEATING_COLUMNS)
    return from_table(
        time=rows["time"],
        arc_length=rows["arc length"],
        film=rows["film coefficient"],
        recovery=rows["recovery temperature"],
        surroundings=ROOM if flow.surroundings is None else flow.surroundings,
        name=TABLE_STATE,
        place=str(flow.heating_table),
    )


@lru_cache(maxsize=KEPT)
def covered_heating(flow: Flow, *, folder: Path, outline: Outline) -> Heating:
    """Return the heating of the study's table at the stations of an outline; used as it is."""
    heating = heating_table(flow, folder=folder)
    return covering(heating, arc_length=stations_along(outline), end_time=float(heating.time[-1]))
