"""One design on one flight, in every flow state of the bracket: where the rooms meet."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TypeVar

from optitip.errors import DesignFailure, Outcome, OutOfRange, UserMistakes
from optitip.evaluate.assessment import Assessment, LimitResult, StateResult, bracketed
from optitip.evaluate.building import Tip, build_tip
from optitip.evaluate.conditions import Conditions, conditions_of
from optitip.evaluate.depths import depth_warnings
from optitip.evaluate.heatings import expected_name, searching_names
from optitip.evaluate.notes import plasticity_notes, range_notes, skin_notes
from optitip.evaluate.outside import Outside, outside_of
from optitip.evaluate.parts import PART_NAMES
from optitip.evaluate.shell import shell_of
from optitip.evaluate.sought import check_sources, limits_of, targets_of
from optitip.evaluate.state import flown_states
from optitip.evaluate.turnable import turnable
from optitip.evaluate.unjudged import uncovered, unjudged
from optitip.evaluate.warming import heat_case
from optitip.evaluate.weights import weights_of
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.geometry.topology import Resolution
from optitip.inputs.study import Study, read_study
from optitip.metrics.registry import UNITS
from optitip.metrics.values import Bracketed, Design
from optitip.solvers.assembly import HeatModel
from optitip.solvers.batch import march_batch
from optitip.solvers.case import HeatCase
from optitip.solvers.history import History
from optitip.solvers.march import march_together

_T = TypeVar("_T")

NOT_MEASURED = "the numerical error of this run was not measured: check --refine does"
CONDENSING = ", vapour condensing"
"""ends the name of the hottest flow state where what boils away condenses on the slab's back"""


def check(study: str | Path | Study) -> Assessment:
    """Return what the study's own design does on its flight, in all flow states of the bracket.

    Raises UserMistakes for what is wrong with the study, DesignFailure where its design can't be built and
    OutOfRange where the physics ends: somebody who asks for one design wants to know.
    """
    read = study if isinstance(study, Study) else read_study(study)
    check_sources(read)
    return _answer(_prepared(read, design={}, searching=False, resolution=DEFAULT_RESOLUTION))


def check_refined(study: Study, *, grid: int = 1, tighter: float = 1.0, heating: int = 1) -> Assessment:
    """Return what ``check`` does on a finer grid, with tighter steps or under a finer heating.

    grid: cells for one of the usual, both ways. tighter: what the tolerance on a step is divided by.
    heating: stations for one of the usual row. Raises as ``check`` does.
    """
    ready = _prepared(
        study, design={}, searching=False, resolution=DEFAULT_RESOLUTION.refined(grid), heating=heating
    )
    case = replace(ready.case, tolerance=ready.case.tolerance / tighter)
    return _answer(replace(ready, case=case))


def assess(
    study: Study, *, design: Design, searching: bool, resolution: Resolution = DEFAULT_RESOLUTION
) -> Assessment:
    """Return what a design does on the flight; one without an answer is an outcome, never an exception.

    design: dotted study keys with the text to set. searching: only the few states of a search are run, and
    what a search doesn't read, stations and fingerprint, stays empty.
    """
    return assess_many(study, designs=(design,), searching=searching, resolution=resolution)[0]


def assess_many(
    study: Study,
    *,
    designs: Sequence[Design],
    searching: bool,
    resolution: Resolution = DEFAULT_RESOLUTION,
    expected_alone: bool = False,
) -> list[Assessment]:
    """Return what each of many designs does, as ``assess`` does; their marches run in one batch.

    expected_alone: of a search's flow states only the expected one is run, and no metric has a bracket.
    """
    prepare = partial(_prepared_design, study, searching=searching, resolution=resolution)

    def tried(make: Callable[[], _T], design: Design) -> _T | Assessment:
        try:
            return make()
        except (DesignFailure, OutOfRange, UserMistakes) as failure:
            return _failed(study, design, failure=failure, searching=searching)

    prepared = [tried(partial(prepare, design=one, expected_alone=expected_alone), one) for one in designs]
    ready = [one for one in prepared if isinstance(one, _Prepared)]
    marched = iter(march_batch([one.case for one in ready]))
    return [
        one
        if isinstance(one, Assessment)
        else tried(partial(_finished, one, marched=next(marched)), one.design)
        for one in prepared
    ]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Prepared:
    """A design built and ready to march: the same for one alone and for one of a batch."""

    study: Study
    design: Design
    searching: bool
    tip: Tip
    conditions: Conditions
    outside: Outside
    names: tuple[str, ...]
    models: dict[float, HeatModel]
    case: HeatCase


def _prepared_design(
    study: Study, *, design: Design, searching: bool, resolution: Resolution, expected_alone: bool
) -> _Prepared:
    given = study.with_design(design)
    return _prepared(
        given, design=design, searching=searching, resolution=resolution, expected_alone=expected_alone
    )


def _prepared(
    study: Study,
    *,
    design: Design,
    searching: bool,
    resolution: Resolution,
    heating: int = 1,
    expected_alone: bool = False,
) -> _Prepared:
    tip = build_tip(study.tables, folder=study.folder, resolution=resolution)
    conditions = conditions_of(study, tip, searching=searching, finer=heating)
    names = searching_names(study.tables.flow) if searching else tuple(conditions.heatings)
    names = (expected_name(study.tables.flow),) if expected_alone else names
    models: dict[float, HeatModel] = {}
    return _Prepared(
        study=study,
        design=design,
        searching=searching,
        tip=tip,
        conditions=conditions,
        outside=outside_of(study.tables, folder=study.folder, tip=tip, flight=conditions.flight),
        names=names,
        models=models,
        case=heat_case(
            tip,
            conditions=conditions,
            heatings=[conditions.heatings[name] for name in names],
            models=models,
        ),
    )


def _finished(ready: _Prepared, *, marched: tuple[History, ...] | DesignFailure) -> Assessment:
    if isinstance(marched, DesignFailure):
        raise marched
    return _answer(ready, histories=marched)


def _answer(ready: _Prepared, *, histories: tuple[History, ...] | None = None) -> Assessment:
    """Return the assessment of a design, in all flow states or in those of a search."""
    study, tip, conditions, outside = ready.study, ready.tip, ready.conditions, ready.outside
    limits, targets = limits_of(study), targets_of(study)
    marched = march_together(ready.case) if histories is None else histories
    lathe = turnable(tip)
    as_built = {**outside.metrics, **lathe.metrics}
    states = _states(ready, histories=marched, as_built=as_built, compiled=histories is not None)
    expected = expected_name(study.tables.flow)
    metrics = bracketed(states, expected=expected, units=UNITS)
    return Assessment(
        title=study.title,
        fingerprint="" if ready.searching else study.fingerprint(),
        design=ready.design,
        outcome=Outcome.ANSWERED,
        expected_state=expected,
        metrics=metrics,
        missing=_missing(tip, metrics, {**outside.missing, **lathe.missing}),
        limits=tuple(LimitResult(limit=one, value=metrics.get(one.metric)) for one in limits),
        targets=tuple(LimitResult(limit=one, value=metrics.get(one.metric)) for one in targets),
        states=states,
        outside=outside,
        assembly=tip.assembly,
        turnable=lathe,
        uncovered=uncovered(tip),
        warnings=(
            *conditions.warnings,
            *outside.warnings,
            *plasticity_notes(tip, states),
            *range_notes(tip, states),
            *skin_notes(tip, states[expected], lift_off=conditions.lift_off),
            *depth_warnings(tip, metrics, limited=study.tables.limits),
        ),
    )


def _states(
    ready: _Prepared,
    *,
    histories: tuple[History, ...],
    as_built: Mapping[str, float],
    compiled: bool,
) -> dict[str, StateResult]:
    """Return the flow states by name; the hottest once more with vapour condensing, where any boils away."""
    tip, conditions = ready.tip, ready.conditions
    result = partial(
        flown_states,
        tip,
        shell_of(tip, compiled=compiled),
        conditions=conditions,
        weights=weights_of(tip),
        as_built=as_built,
        folder=ready.study.folder,
        searching=ready.searching,
    )
    states = result(names=ready.names, histories=histories)
    hottest, last = ready.names[-1], histories[-1]
    slab = last.regions == PART_NAMES.index("slab")
    boiled = tip.sample.boiling is not None and last.latent[-1, slab].any()
    if not ready.searching and boiled and ready.case.models[-1].cold_side.nodes.size:
        case = heat_case(
            tip,
            conditions=conditions,
            heatings=[conditions.heatings[hottest]],
            models=ready.models,
            condensed=1.0,
        )
        states |= result(names=(hottest,), histories=march_together(case), ending=CONDENSING)
    return states


def _failed(
    study: Study,
    design: Design,
    *,
    failure: DesignFailure | OutOfRange | UserMistakes,
    searching: bool,
) -> Assessment:
    """Return the assessment of a design without an answer."""
    if isinstance(failure, DesignFailure):
        outcome, detail, place = failure.outcome, failure.detail, failure.place
    elif isinstance(failure, OutOfRange):
        outcome, detail, place = Outcome.OUT_OF_RANGE, failure.mistake.problem, failure.mistake.place
    else:
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


def _missing(tip: Tip, metrics: Mapping[str, Bracketed], known: Mapping[str, str]) -> dict[str, str]:
    reason = f"the sample ({tip.sample.name}) is no food"
    lacking = {**dict.fromkeys(UNITS.keys() - metrics.keys(), reason), **known, **unjudged(tip)}
    return lacking | dict.fromkeys(("error.energy", "error.temperature"), NOT_MEASURED)
