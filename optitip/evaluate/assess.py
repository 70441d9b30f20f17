"""One design on one flight, in every flow state of the bracket: where the rooms meet."""

from collections.abc import Mapping
from pathlib import Path

import numpy as np

from optitip.errors import DesignFailure, Outcome, OutOfRange, UserMistakes
from optitip.evaluate.assessment import Assessment, LimitResult, StateResult, bracketed
from optitip.evaluate.building import Tip, build_tip
from optitip.evaluate.conditions import conditions_of
from optitip.evaluate.heatings import (
    expected_name,
    searching_names,
)
from optitip.evaluate.outside import Outside, outside_of
from optitip.evaluate.parts import PARTS
from optitip.evaluate.sought import check_sources, limits_of, targets_of
from optitip.evaluate.state import state_of
from optitip.evaluate.strength import shell_of
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.geometry.topology import Resolution, Zone
from optitip.inputs.study import Study, read_study
from optitip.metrics.registry import UNITS
from optitip.metrics.values import Bracketed, Design
from optitip.solvers.assembly import HeatModel


def check(study: str | Path | Study) -> Assessment:
    """Return what the study's own design does on its flight, in all flow states of the bracket.

    Raises UserMistakes for what is wrong with the study, DesignFailure where its design can't be built and
    OutOfRange where the physics ends: somebody who asks for one design wants to know.
    """
    read = study if isinstance(study, Study) else read_study(study)
    check_sources(read)
    return _answer(read, design={}, searching=False, resolution=DEFAULT_RESOLUTION)


def assess(
    study: Study, *, design: Design, searching: bool, resolution: Resolution = DEFAULT_RESOLUTION
) -> Assessment:
    """Return what a design does on the flight; one without an answer is an outcome, never an exception.

    design: dotted study keys with the text to set. searching: only the few states of a search are run, and
    what a search doesn't read, stations and fingerprint, stays empty.
    """
    try:
        given = study.with_design(design)
        return _answer(given, design=design, searching=searching, resolution=resolution)
    except DesignFailure as failure:
        outcome, detail, place = failure.outcome, failure.detail, failure.place
    except OutOfRange as failure:
        outcome, detail, place = Outcome.OUT_OF_RANGE, failure.mistake.problem, failure.mistake.place
    except UserMistakes as failure:
        first = failure.mistakes[0]
        outcome, detail, place = Outcome.NOT_A_STUDY, first.problem, first.place
    return Assessment(
        title=study.title,
        fingerprint="" if searching else study.fingerprint(),
        design=design,
        outcome=outcome,
        detail=detail,
        place=place,
    )


def _answer(study: Study, *, design: Design, searching: bool, resolution: Resolution) -> Assessment:
    """Return the assessment of the study's own design, in all flow states or in those of a search."""
    tip = build_tip(study.tables, folder=study.folder, resolution=resolution)
    limits, targets = limits_of(study), targets_of(study)
    conditions = conditions_of(study, tip)
    outside = outside_of(study.tables, folder=study.folder, tip=tip, flight=conditions.flight)
    shell = shell_of(tip)
    models: dict[float, HeatModel] = {}
    states = {
        name: state_of(
            tip,
            shell,
            conditions=conditions,
            heating=conditions.heatings[name],
            models=models,
            outside=outside.metrics,
            searching=searching,
        )
        for name in (searching_names(study.tables.flow) if searching else conditions.heatings)
    }
    expected = expected_name(study.tables.flow)
    metrics = bracketed(states, expected=expected, units=UNITS)
    return Assessment(
        title=study.title,
        fingerprint="" if searching else study.fingerprint(),
        design=design,
        outcome=Outcome.ANSWERED,
        expected_state=expected,
        metrics=metrics,
        missing=_missing(tip, metrics, outside),
        limits=tuple(LimitResult(limit=one, value=metrics.get(one.metric)) for one in limits),
        targets=tuple(LimitResult(limit=one, value=metrics.get(one.metric)) for one in targets),
        states=states,
        outside=outside,
        warnings=(*conditions.warnings, *outside.warnings, *_range_warnings(tip, states)),
    )


def _missing(tip: Tip, metrics: Mapping[str, Bracketed], outside: Outside) -> dict[str, str]:
    reason = f"the sample ({tip.sample.name}) is no food"
    return dict.fromkeys(UNITS.keys() - metrics.keys(), reason) | outside.missing


def _range_warnings(tip: Tip, states: Mapping[str, StateResult]) -> list[str]:
    """Return where a part became hotter or colder than the sources of its material cover."""
    found = []
    of_cell = tip.cell_material
    for index, material in enumerate(tip.materials):
        cells = np.flatnonzero(of_cell == index)
        if cells.size == 0:
            continue
        nodes = np.unique(tip.mesh.cells[cells])
        hottest = max(float(state.fields.temperature[:, nodes].max()) for state in states.values())
        if hottest > material.valid[1]:
            part = PARTS[Zone(int(tip.mesh.cell_zone[cells[0]]))]
            found.append(
                f"the {part} ({material.name}) reaches {hottest - 273.15:.0f} degC; its figures end at "
                f"{material.valid[1] - 273.15:.0f} degC and are held constant above"
            )
    return found
