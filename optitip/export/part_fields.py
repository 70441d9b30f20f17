"""The fields of an assessment on the part's mesh: temperature in time, stress at the instants judged."""

from pathlib import Path

import numpy as np

from optitip.evaluate.assessment import Assessment, StateResult
from optitip.evaluate.parts import PARTS
from optitip.export.fields import Instant, write_fields
from optitip.export.pictures.traces import Section

PART_NUMBERS = {name: number for number, name in enumerate(("plug", "band", "base", "slab", "backing"))}
TEMPERATURE = "temperature [K]"
LOADS = "von Mises stress of the loads [Pa]"
WHOLE = "von Mises stress, heat included [Pa]"


def write_part_fields(assessment: Assessment, *, folder: Path) -> list[Path]:
    """Write the expected flow state's fields as VTU series and return the paths of their indices.

    ``fields.pvd`` is the temperature at each of the march's instants; ``stress.pvd``, where stress was kept,
    the stress at those at which the tip is judged, with the temperature beside it.
    """
    state = assessment.expected
    section = section_of_state(state)
    series = {"fields": _temperatures(state), "stress": _stresses(state)}
    return [
        write_fields(
            section.points,
            cells=section.cells,
            parts=section.parts,
            part_names=section.part_names,
            instants=instants,
            folder=folder,
            name=name,
        )
        for name, instants in series.items()
        if instants
    ]


def section_of_state(state: StateResult) -> Section:
    """Return the mesh of a flow state, its cells numbered by the parts they belong to."""
    number_of_zone = {int(zone): PART_NUMBERS[name] for zone, name in PARTS.items()}
    return Section(
        points=state.fields.points,
        cells=state.fields.cells,
        parts=np.array([number_of_zone[int(zone)] for zone in state.fields.zone]),
        part_names={number: name for name, number in PART_NUMBERS.items()},
    )


def _temperatures(state: StateResult) -> list[Instant]:
    fields = state.fields
    return [
        Instant(time=float(time), points={TEMPERATURE: row})
        for time, row in zip(fields.time, fields.temperature, strict=True)
    ]


def _stresses(state: StateResult) -> list[Instant]:
    """Return the instants judged as time goes; each is one of the march's own, so the temperature is its."""
    fields, stress = state.fields, state.fields.stress
    if stress is None:
        return []
    times, first = np.unique(stress.time, return_index=True)
    return [
        Instant(
            time=float(time),
            points={
                TEMPERATURE: fields.temperature[int(np.argmin(np.abs(fields.time - time)))],
                LOADS: stress.loads[place],
                WHOLE: stress.whole[place],
            },
        )
        for time, place in zip(times, first, strict=True)
    ]
