"""What is sought and what is wrong with a study beyond its schema: limits, targets, files, materials."""

from collections.abc import Iterator
from functools import lru_cache

from optitip.errors import Mistake, UserMistakes
from optitip.evaluate.fixings import fixing_mistakes
from optitip.evaluate.given import outside_mistakes
from optitip.evaluate.heatings import heating_table, table_files
from optitip.evaluate.sources import flown, material_mistakes, outline_size, turned_outline
from optitip.inputs.defaults import completed_lengths
from optitip.inputs.keys import FILE_KEYS
from optitip.inputs.schema import is_study_key
from optitip.inputs.study import Study
from optitip.inputs.swept import swept_options
from optitip.metrics.goals import Limit, parse_limit
from optitip.metrics.registry import UNITS
from optitip.units import text


def check_sources(study: Study) -> None:
    """Raise all that is wrong with the files and materials a study names: the second pass of mistakes."""
    mistakes = material_mistakes(study)
    for goals in (limits_of, targets_of):
        try:
            goals(study)
        except UserMistakes as error:
            mistakes += error.mistakes
    try:
        _exposed(study)
    except UserMistakes as error:
        mistakes += error.mistakes
    mistakes += _swept_mistakes(study)
    mistakes += outside_mistakes(study)
    mistakes += fixing_mistakes(study)
    if mistakes:
        raise UserMistakes(dict.fromkeys(mistakes))


def _exposed(study: Study) -> None:
    """Read the flight or the heating table, so that what is wrong with them comes with the rest."""
    tables, folder = study.tables, study.folder
    flight = flown(study)
    for name in table_files(tables.flow):
        heating_table(tables.flow, folder=folder, name=name, outline=turned_outline(study), flight=flight)
    if tables.flow.trip is None or flight is None:
        return
    diameter, length = outline_size(tables.outline, folder=folder)
    turned = completed_lengths(tables, diameter=diameter, length=length).turned_length
    if tables.flow.trip > turned:
        problem = f"the trip at {text(tables.flow.trip, 'm')} lies aft of the tip of {text(turned, 'm')}"
        raise UserMistakes.one("flow.trip", problem, "Drop it: it changes nothing there")


def _swept_mistakes(study: Study) -> Iterator[Mistake]:
    """Yield what is wrong with the flights, tables and outlines that the sweep chooses between."""
    for place, values in swept_options(study.raw):
        together = place.startswith("sweep.sets.")
        tables = {key.split(".")[0] for key in values if together or key in FILE_KEYS}
        if not tables & {"flight", "flow", "outline"}:
            continue
        try:
            own = study.with_design(values)
            _exposed(own)
            turned_outline(own)
        except UserMistakes as error:
            for one in error.mistakes:
                at = f"{place}, {one.place}" if is_study_key(one.place) else one.place
                yield Mistake(at, one.problem, one.remedy)


def limits_of(study: Study) -> tuple[Limit, ...]:
    """Return the study's limits, or raise all that is wrong with them."""
    return _parsed(tuple(study.tables.limits.items()), table="limits")


def targets_of(study: Study) -> tuple[Limit, ...]:
    """Return the study's targets; they are written and judged like limits."""
    return _parsed(tuple(study.tables.target.items()), table="target")


@lru_cache(maxsize=16)
def _parsed(texts: tuple[tuple[str, str], ...], *, table: str) -> tuple[Limit, ...]:
    mistakes: list[Mistake] = []
    limits = []
    for name, written in texts:
        try:
            limits.append(parse_limit(name, written, units=UNITS))
        except UserMistakes as error:
            mistakes += [Mistake(f"{table}.'{name}'", one.problem, one.remedy) for one in error.mistakes]
    if mistakes:
        raise UserMistakes(mistakes)
    return tuple(limits)
