"""An assessment as files: JSON, fields for a viewer, and pictures."""

from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from optitip.evaluate.assessment import Assessment, StateResult
from optitip.evaluate.exposed import exposed
from optitip.evaluate.parts import SHELL_PARTS
from optitip.evaluate.record import NOT_ASKED, as_json
from optitip.evaluate.sources import flown
from optitip.export.files import write_text
from optitip.export.heated import picture_transition
from optitip.export.part_fields import PART_NUMBERS, section_of_state, write_part_fields
from optitip.export.pictures.limit_plots import picture_limits
from optitip.export.pictures.plots import plot_energy, plot_flight, plot_sample
from optitip.export.pictures.section_plots import Strip, plot_section
from optitip.export.pictures.traces import FlightTrace, SampleTrace
from optitip.export.stations import write_stations
from optitip.inputs.study import Study
from optitip.units import System

SHELL = [PART_NUMBERS[name] for name in SHELL_PARTS]


def write_assessment(
    assessment: Assessment,
    *,
    study: Study,
    folder: Path,
    system: System = System.METRIC,
    beside: Mapping[str, Any] = NOT_ASKED,
) -> list[str]:
    """Write the assessment into ``folder`` and return the names of the files people open.

    ``beside`` is what was asked for beside it, as ``as_json`` takes it.
    """
    expected = assessment.expected
    write_text(folder, "assessment.json", as_json(assessment, beside=beside))
    section = section_of_state(expected)
    indices = write_part_fields(assessment, folder=folder)
    stations = write_stations(assessment, folder=folder, system=system)
    flight = flown(study)
    events = {} if flight is None else {word: t for word, t in flight.events.items() if word != "end"}
    traces = [_trace(state) for state in assessment.states.values()]
    name = expected.name
    pictures = [
        plot_energy(
            traces, expected=name, events=events, folder=folder, title=assessment.title, system=system
        ),
        plot_sample(
            traces,
            expected=name,
            events=events,
            folder=folder,
            title=assessment.title,
            warm_above=study.tables.sample.warm_above,
            system=system,
        ),
        plot_section(
            section, _moments(assessment), folder=folder, title=_of_expected(assessment), system=system
        ),
    ]
    pictures += picture_limits(assessment, section=section, shell=SHELL, folder=folder, system=system)
    if flight is not None:
        course = FlightTrace(time=flight.time, altitude=flight.altitude, mach=flight.mach)
        pictures.append(
            plot_flight(course, events=events, folder=folder, title=assessment.title, system=system)
        )
    transition = picture_transition(exposed(study), study=study, folder=folder, system=system)
    pictures += [] if transition is None else [transition]
    tables = [path.name for path in (*indices, stations)]
    return ["assessment.json", *tables, *(picture.name for picture in pictures)]


def _of_expected(assessment: Assessment) -> str:
    """Return the title of what shows the expected flow state alone."""
    if len(assessment.states) == 1:
        return assessment.title
    return f"{assessment.title}; expected flow state, {assessment.expected_state}"


def _trace(state: StateResult) -> SampleTrace:
    sample = state.sample
    return SampleTrace(
        state=state.name,
        time=sample.time,
        coldest=sample.coldest,
        mean=sample.mean,
        hottest=sample.hottest,
        wall=state.band,
        energy=sample.energy,
        peak=state.metrics["sample.energy_peak"],
    )


def _moments(assessment: Assessment) -> list[Strip]:
    """Return the temperatures at the stations' instants and when the sample is fullest, as time goes."""
    state = assessment.expected
    times = {one.instant: one.time for one in state.stations}
    sample, row = state.sample, state.sample.lift_off
    times["sample fullest"] = float(sample.time[row + int(np.argmax(sample.energy[row:]))])
    result = []
    for word, time in sorted(times.items(), key=lambda pair: pair[1]):
        nearest = int(np.argmin(np.abs(state.fields.time - time)))
        title = f"{word}, {state.fields.time[nearest]:.1f} s"
        result.append(Strip(title=title, values=state.fields.temperature[nearest]))
    return result
