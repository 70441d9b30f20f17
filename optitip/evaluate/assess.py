"""One design on one flight, in every flow state of the bracket: where the rooms meet."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from optitip.arrays import FloatArray, IntArray
from optitip.errors import DesignFailure, Mistake, Outcome, OutOfRange, UserMistakes
from optitip.evaluate.assessment import Assessment, Fields, LimitResult, StateResult, Stations, bracketed
from optitip.evaluate.building import PARTS, SHELL_PARTS, Tip, build_tip
from optitip.evaluate.heatings import (
    covered_heating,
    expected_name,
    flown_heatings,
    heating_table,
    searching_names,
    states_of,
)
from optitip.evaluate.sources import atmosphere_of, flight_of, material_mistakes, outline_size
from optitip.evaluate.strength import Shell, margins_of, shell_of
from optitip.evaluate.warming import along, warm
from optitip.flight.trajectory import Flight
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.geometry.topology import Resolution, Zone
from optitip.heating.table import Heating
from optitip.inputs.study import Study, read_study
from optitip.metrics.goals import Limit, parse_limit
from optitip.metrics.registry import UNITS
from optitip.metrics.sample import sample_metrics, set_fraction, trace_sample
from optitip.metrics.shell import mass_metrics, part_metrics
from optitip.metrics.values import Bracketed, Design
from optitip.solvers.assembly import HeatModel, integrate
from optitip.solvers.history import History

LOWEST_POCKET_PRESSURE = 700.0  # [Pa]: below, water has no liquid to boil


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Conditions:
    """What a design is exposed to: its flight (None under a heating table) and the heating of each state."""

    flight: Flight | None
    heatings: Mapping[str, Heating]
    start: float
    landing: float
    kinks: tuple[float, ...]
    pocket_pressure: float
    warnings: tuple[str, ...]


def check(study: str | Path | Study) -> Assessment:
    """Return what the study's own design does on its flight, in all flow states of the bracket.

    Raises UserMistakes for what is wrong with the study, DesignFailure where its design can't be built and
    OutOfRange where the physics ends: somebody who asks for one design wants to know.
    """
    read = study if isinstance(study, Study) else read_study(study)
    check_sources(read)
    return _answer(read, names=None, design={}, resolution=DEFAULT_RESOLUTION)


def check_sources(study: Study) -> None:
    """Raise all that is wrong with the files and materials a study names: the second pass of mistakes."""
    mistakes = material_mistakes(study.tables, folder=study.folder, file=study.path.name)
    for goals in (limits_of, targets_of):
        try:
            goals(study)
        except UserMistakes as error:
            mistakes += error.mistakes
    try:
        _exposed(study)
    except UserMistakes as error:
        mistakes += error.mistakes
    if mistakes:
        raise UserMistakes(mistakes)


def _exposed(study: Study) -> None:
    """Read the flight or the heating table, so that what is wrong with them comes with the rest."""
    tables, folder = study.tables, study.folder
    if tables.flight is None:
        heating_table(tables.flow, folder=folder)
        return
    diameter, _ = outline_size(tables.outline, folder=folder)
    flight_of(tables.flight, folder=folder, diameter=diameter)


def assess(
    study: Study, *, design: Design, searching: bool, resolution: Resolution = DEFAULT_RESOLUTION
) -> Assessment:
    """Return what a design does on the flight; one without an answer is an outcome, never an exception.

    design: dotted study keys with the text to set. searching: only the few states of a search are run.
    """
    try:
        given = study.with_design(design)
        names = searching_names(given.tables.flow) if searching else None
        return _answer(given, names=names, design=design, resolution=resolution)
    except DesignFailure as failure:
        outcome, detail, place = failure.outcome, failure.detail, failure.place
    except OutOfRange as failure:
        outcome, detail, place = Outcome.OUT_OF_RANGE, failure.mistake.problem, failure.mistake.place
    except UserMistakes as failure:
        first = failure.mistakes[0]
        outcome, detail, place = Outcome.NOT_A_STUDY, first.problem, first.place
    return Assessment(
        title=study.title,
        fingerprint=study.fingerprint(),
        design=design,
        outcome=outcome,
        detail=detail,
        place=place,
    )


def limits_of(study: Study) -> tuple[Limit, ...]:
    """Return the study's limits, or raise all that is wrong with them."""
    return _parsed(study.tables.limits)


def targets_of(study: Study) -> tuple[Limit, ...]:
    """Return the study's targets; they are written and judged like limits."""
    return _parsed(study.tables.target)


def _parsed(texts: Mapping[str, str]) -> tuple[Limit, ...]:
    mistakes: list[Mistake] = []
    limits = []
    for name, text in texts.items():
        try:
            limits.append(parse_limit(name, text, units=UNITS))
        except UserMistakes as error:
            mistakes += error.mistakes
    if mistakes:
        raise UserMistakes(mistakes)
    return tuple(limits)


def conditions_of(study: Study, tip: Tip) -> Conditions:
    """Return what the tip is exposed to."""
    tables, folder = study.tables, study.folder
    if tables.flight is None:
        heating = covered_heating(tables.flow, folder=folder, outline=tip.outline)
        start = float(heating.recovery[0, -1])
        _check_start(tip, start)
        return Conditions(
            flight=None,
            heatings={heating.name: heating},
            start=start,
            landing=float(heating.time[-1]),
            kinks=tuple(heating.time),
            pocket_pressure=float(heating.pressure.min()),
            warnings=heating.warnings,
        )
    diameter, _ = outline_size(tables.outline, folder=folder)
    flight = flight_of(tables.flight, folder=folder, diameter=diameter)
    given = tables.flight.start_temperature
    start = atmosphere_of(tables.flight).site_temperature if given is None else given
    _check_start(tip, start)
    heatings = flown_heatings(
        flight, outline=tip.outline, states=states_of(tables.flow), surroundings=tables.flow.surroundings
    )
    return Conditions(
        flight=flight,
        heatings=heatings,
        start=start,
        landing=flight.events["landing"],
        kinks=flight.kinks,
        pocket_pressure=_boiling_pressure(flight),
        warnings=tuple(dict.fromkeys([*flight.warnings, *next(iter(heatings.values())).warnings])),
    )


def _boiling_pressure(flight: Flight) -> float:
    """Return the pressure the sample boils under [Pa]: the mean from burnout to apogee, when it is hot."""
    times = np.linspace(flight.events["burnout"], flight.events["apogee"], 32)
    return max(float(np.interp(times, flight.time, flight.pressure).mean()), LOWEST_POCKET_PRESSURE)


def _check_start(tip: Tip, start: float) -> None:
    for material in tip.materials:
        if not material.in_valid_range(start):
            low, high = (value - 273.15 for value in material.valid)
            raise UserMistakes.one(
                "flight.start_temperature",
                f"{start - 273.15:.4g} degC is outside the table of {material.name}",
                f"Start between {low:.4g} and {high:.4g} degC, or choose another material",
            )


def _answer(
    study: Study, *, names: Sequence[str] | None, design: Design, resolution: Resolution
) -> Assessment:
    """Return the assessment of the study's own design in the named flow states (None: all)."""
    tip = build_tip(study.tables, folder=study.folder, resolution=resolution)
    limits, targets = limits_of(study), targets_of(study)
    conditions = conditions_of(study, tip)
    shell = shell_of(tip)
    models: dict[float, HeatModel] = {}
    states = {
        name: _state(tip, shell, conditions=conditions, heating=conditions.heatings[name], models=models)
        for name in (conditions.heatings if names is None else names)
    }
    expected = expected_name(study.tables.flow)
    metrics = bracketed(states, expected=expected, units=UNITS)
    return Assessment(
        title=study.title,
        fingerprint=study.fingerprint(),
        design=design,
        outcome=Outcome.ANSWERED,
        expected_state=expected,
        metrics=metrics,
        missing=_missing(tip, metrics),
        limits=tuple(LimitResult(limit=one, value=metrics.get(one.metric)) for one in limits),
        targets=tuple(LimitResult(limit=one, value=metrics.get(one.metric)) for one in targets),
        states=states,
        warnings=(*conditions.warnings, *_range_warnings(tip, states)),
    )


def _state(
    tip: Tip, shell: Shell, *, conditions: Conditions, heating: Heating, models: dict[float, HeatModel]
) -> StateResult:
    """Return one flow state of a built tip: march, stress, metrics."""
    history = warm(
        tip,
        models=models,
        heating=heating,
        pocket_pressure=conditions.pocket_pressure,
        start=conditions.start,
        kinks=conditions.kinks,
    )
    margins = margins_of(
        tip, shell, history=history, heating=heating, flight=conditions.flight, start=conditions.start
    )
    slab = tip.nodes_of("slab")
    volume = _slab_volume(tip, slab)
    trace = trace_sample(
        history.time,
        history.temperature[:, slab],
        volume=volume,
        material=tip.sample,
        evaporated=history.evaporated[:, slab],
    )
    contact = next(pairs for pairs in tip.mesh.joints if pairs.name == "sample")
    metrics = {
        **sample_metrics(
            trace,
            landing=conditions.landing,
            contact_area=tip.share * float(contact.area.sum()),
            mass=tip.sample.density * float(volume.sum()),
            warm_above=tip.tables.sample.warm_above,
            material=tip.sample,
            setting=set_fraction(history.temperature[:, slab], volume),
        ),
        **_shell_metrics(tip, history),
        **{margin.name: margin.value for margin in margins},
        "balance.residual": history.balance,
    }
    return StateResult(
        name=heating.name,
        metrics=metrics,
        sample=trace,
        band=history.temperature[:, tip.nodes_of("band")].max(axis=1),
        margins=margins,
        stations=_stations(tip, history=history, heating=heating, conditions=conditions),
        balance=history.balance,
        steps=history.steps,
        fields=Fields(
            points=tip.mesh.points,
            cells=tip.mesh.cells,
            zone=tip.mesh.cell_zone,
            time=history.time,
            temperature=history.temperature,
        ),
    )


def _slab_volume(tip: Tip, slab: IntArray) -> FloatArray:
    """Return the real slab's volume at each of its nodes [m3]: its share of the circumference."""
    cells = tip.mesh.cells[tip.cells_of("slab")]
    corners = integrate(tip.mesh.points, cells=cells).volume
    whole = np.bincount(cells.T.ravel(), weights=corners.ravel(), minlength=len(tip.mesh.points))
    return np.asarray(whole[slab] * tip.share)


def _shell_metrics(tip: Tip, history: History) -> dict[str, float]:
    cells = np.concatenate([tip.cells_of(part) for part in SHELL_PARTS])
    corners = integrate(tip.mesh.points, cells=tip.mesh.cells[cells]).volume
    volume = corners.sum(axis=0)
    axial = (corners * tip.mesh.points[tip.mesh.cells[cells], 1].T).sum(axis=0) / volume
    density = np.array([one.density for one in tip.materials])[tip.cell_material[cells]]
    peaks = {part: float(history.temperature_peak(nodes=tip.nodes_of(part)).max()) for part in SHELL_PARTS}
    return {**mass_metrics(density=density, volume=volume, axial=axial), **part_metrics(peaks)}


def _stations(
    tip: Tip, *, history: History, heating: Heating, conditions: Conditions
) -> tuple[Stations, ...]:
    """Return heating and wall along the outline at burnout and when the band is hottest."""
    band = history.temperature[:, tip.nodes_of("band")].max(axis=1)
    moments = {"band hottest": float(history.time[int(np.argmax(band))])}
    if conditions.flight is not None:
        moments = {"burnout": conditions.flight.events["burnout"], **moments}
    nodes, arc = tip.mesh.outer, tip.mesh.outer_arc
    result = []
    for name, time in moments.items():
        wall = history.temperature_at(np.array([time]), nodes=nodes)[0]
        row = min(int(np.searchsorted(heating.time, time)), len(heating.time) - 1)
        film = along(arc, heating.arc_length, heating.film[row][None])[0]
        recovery = along(arc, heating.arc_length, heating.recovery[row][None, :, None])[0, :, 0]
        result.append(
            Stations(
                instant=name,
                time=time,
                arc_length=arc,
                axial=tip.mesh.points[nodes, 1],
                film=np.array([np.interp(t, heating.wall, h) for t, h in zip(wall, film, strict=True)]),
                recovery=recovery,
                wall=wall,
            )
        )
    return tuple(result)


def _missing(tip: Tip, metrics: Mapping[str, Bracketed]) -> dict[str, str]:
    reason = f"the sample ({tip.sample.name}) is no food"
    return dict.fromkeys(UNITS.keys() - metrics.keys(), reason)


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
