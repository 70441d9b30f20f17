"""What a study's sweep sets free: ranges, choices, and sets of keys that change together."""

import re
from collections.abc import Callable, Iterator, Mapping
from typing import Any

from pydantic import ValidationError

from optitip.errors import Mistake, UserMistakes
from optitip.inputs.keys import named_files, set_keys
from optitip.inputs.schema import mistakes_of
from optitip.inputs.study_tables import StudyTables, Sweep
from optitip.units import UnitError, scale, split_quantity

_FREE_TABLES = frozenset({"outline", "tip", "sample", "flight", "flow"})
_SET_NAME = re.compile(r"[\w -]+")
_TEMPERATURES = frozenset({"degC", "degF", "K", "kelvin", "°C", "°F", "C", "F", "degc", "degf"})


def free_range(low: str, high: str) -> tuple[float, float, str]:
    """Return the two bounds of a free number in the unit of the lower one, and that unit.

    >>> free_range("4 mm", "1 cm")
    (4.0, 10.0, 'mm')
    """
    bottom, unit = split_quantity(low)
    top, top_unit = split_quantity(high)
    if top_unit != unit:
        if unit in _TEMPERATURES or top_unit in _TEMPERATURES:
            raise UnitError("the two bounds carry different scales of temperature", "Write both in one unit")
        top *= scale(top_unit, unit)[1]
    if not bottom < top:
        raise UnitError(f"the range from '{low}' to '{high}' is empty", "Write the lower bound first")
    return bottom, top, unit


def expanded(raw: Mapping[str, Any], design: Mapping[str, object]) -> dict[str, object]:
    """Return the study keys that a design sets, the sets of the sweep in ``raw`` taken for their keys.

    >>> motor = {"small": {"flight.ascent.thrust": "small.csv", "flight.ascent.start_mass": "6 kg"}}
    >>> expanded({"sweep": {"sets": {"motor": motor}}}, {"motor": "small", "tip.material": "304"})
    {'flight.ascent.thrust': 'small.csv', 'flight.ascent.start_mass': '6 kg', 'tip.material': '304'}
    """
    sets = raw.get("sweep", {}).get("sets", {})
    values: dict[str, object] = {}
    for name, value in design.items():
        options = sets.get(name)
        if options is None:
            values[name] = value
        elif value in options:
            values.update(options[value])
        else:
            remedy = f"Name one of {', '.join(options)}"
            raise UserMistakes.one(f"sweep.sets.{_said(name)}", f"there is no option '{value}'", remedy)
    return values


def swept_files(raw: Mapping[str, Any]) -> dict[str, str]:
    """Return the names of the input files in the choices and sets of the sweep in ``raw``, by their place."""
    return {
        f"{place}.{_said(key)}" if place.startswith("sweep.sets") else f"{place} '{name}'": name
        for place, values in swept_options(raw)
        for key, name in _files_of(raw, values).items()
    }


def swept_options(raw: Mapping[str, Any]) -> Iterator[tuple[str, dict[str, object]]]:
    """Yield each option of the sweep's choices and sets: its place, and the keys it sets."""
    sweep = raw.get("sweep", {})
    for key, options in sweep.get("choices", {}).items():
        for option in options:
            yield f"sweep.choices.{_said(key)}", {key: option}
    for name, options in sweep.get("sets", {}).items():
        for option, values in options.items():
            yield f"sweep.sets.{_said(name)}.{_said(option)}", values


def files_renamed(
    raw: Mapping[str, Any], *, was: Mapping[str, Any], names: Callable[[str], str]
) -> dict[str, Any]:
    """Return a study with other names for the files in its choices and sets, its designs as they were.

    A choice among files becomes a set of that one key, its options under the names that designs hold.
    ``was`` is the study with its own files under the names they had.
    """
    sweep = raw.get("sweep", {})
    sets = {name: dict(options) for name, options in sweep.get("sets", {}).items()}
    choices = dict(sweep.get("choices", {}))
    for key, options in sweep.get("choices", {}).items():
        if any(_files_of(was, {key: option}) for option in options):
            del choices[key]
            sets[key] = {option: {key: option} for option in options}
    for options in sets.values():
        for option, values in options.items():
            options[option] = _renamed(values, _files_of(was, values), names)
    changed = {"choices": choices, "sets": sets}
    kept = {key: table for key, table in changed.items() if table or key in sweep}
    return {**raw, "sweep": {**sweep, **kept}} if sweep else dict(raw)


def mistakes_of_the_sweep(sweep: Sweep, raw: Mapping[str, Any], file: str) -> Iterator[Mistake]:
    """Yield what is wrong with what is free: each key is tried at every value it may take."""
    plain = {key: value for key, value in raw.items() if key != "sweep"}
    for key, options in {**sweep.free, **sweep.choices}.items():
        table = "free" if key in sweep.free else "choices"
        place = f"{file}, sweep.{table}.{_said(key)}"
        problems = list(_mistakes_of_key(key, place))
        if not problems:
            problems = _first_of(_untried(plain, {key: option}, place, file) for option in options)
        yield from problems
        if key in sweep.free and not problems:
            yield from _mistakes_of_range(*sweep.free[key], place)
        elif key not in sweep.free:
            yield from _mistakes_of_list(options, place)
    for key in sorted(set(sweep.free) & set(sweep.choices)):
        yield Mistake(f"{file}, sweep.{_said(key)}", "it is both free and a choice", "Keep one of the two")
    yield from _mistakes_of_sets(sweep, plain, file)


def _mistakes_of_key(key: str, place: str) -> Iterator[Mistake]:
    # the given outline is what designs are compared with
    if key.startswith("outline.given") or key.split(".", maxsplit=1)[0] not in _FREE_TABLES:
        yield Mistake(place, "this key can't be free", "Name a key of flight, outline, flow, tip or sample")


def _mistakes_of_range(low: str, high: str, place: str) -> Iterator[Mistake]:
    try:
        free_range(low, high)
    except UnitError as error:
        yield Mistake(place, error.problem, error.remedy)


def _mistakes_of_list(options: tuple[str | bool, ...], place: str) -> Iterator[Mistake]:
    if not options:
        yield Mistake(place, "the list is empty", "Name at least one option")
    if len(set(options)) != len(options):
        yield Mistake(place, "an option stands there twice", "Name each option once")


def _mistakes_of_sets(sweep: Sweep, plain: Mapping[str, Any], file: str) -> Iterator[Mistake]:
    taken = {key: f"sweep.{table}" for table in ("free", "choices") for key in getattr(sweep, table)}
    for name, options in sweep.sets.items():
        place = f"{file}, sweep.sets.{_said(name)}"
        keys = list(dict.fromkeys(key for values in options.values() for key in values))
        yield from _mistakes_of_name(name, keys, place)
        if len(options) < 2:
            yield Mistake(place, "there is no choice between options", "Give two options or more")
        for option, values in options.items():
            at = f"{place}.{_said(option)}"
            lacking = [key for key in keys if key not in values]
            if lacking or not values:
                both = f"it lacks {' and '.join(lacking)}, which other options set"
                problem = both if lacking else "it is empty"
                yield Mistake(at, problem, "Give all options of a set the same keys")
            yield from _mistakes_of_option(values, plain, at, file)
        for key in keys:
            if key in taken:
                problem = f"'{key}' is set by {taken[key]} as well"
                yield Mistake(place, problem, "Let one of the two set it")
            taken.setdefault(key, f"sweep.sets.{_said(name)}")


def _mistakes_of_name(name: str, keys: list[str], place: str) -> Iterator[Mistake]:
    if keys == [name]:  # as a run's own copy writes a choice among files
        return
    if name in StudyTables.model_fields or not _SET_NAME.fullmatch(name):
        problem = f"'{name}' is or looks like a key of a study"
        yield Mistake(place, problem, "Name the set with a word of your own, like motor")


def _mistakes_of_option(
    values: Mapping[str, object], plain: Mapping[str, Any], place: str, file: str
) -> Iterator[Mistake]:
    """Yield what is wrong with one option: its keys first, then its values together."""
    wrong = []
    for key, value in values.items():
        at = f"{place}.{_said(key)}"
        if isinstance(value, Mapping):
            remedy = 'Write the whole key between quotes, like "flight.ascent.thrust" = "small.csv"'
            wrong.append(Mistake(at, "this is a table", remedy))
        else:
            wrong += _mistakes_of_key(key, at)
    yield from wrong or _untried(plain, values, place, file)


def _untried(
    plain: Mapping[str, Any], values: Mapping[str, object], place: str, file: str
) -> Iterator[Mistake]:
    """Yield the first mistake of a study with the values set."""
    said = f"'{next(iter(values.values()))}'" if len(values) == 1 else "it"
    try:
        StudyTables.model_validate(set_keys(plain, values))
    except ValidationError as error:
        first = next(mistakes_of(error, file))
        which = "" if len(values) == 1 else f"{first.place.removeprefix(file).lstrip(', ')}: "
        yield Mistake(place, f"{said} can't stand there ({which}{first.problem})", first.remedy)
    except UserMistakes as error:
        yield from (Mistake(place, f"{one.place}: {one.problem}", one.remedy) for one in error.mistakes)


def _first_of(found: Iterator[Iterator[Mistake]]) -> list[Mistake]:
    """Return the mistakes of the first option that has any."""
    return next((problems for one in found if (problems := list(one))), [])


def _files_of(raw: Mapping[str, Any], values: Mapping[str, object]) -> dict[str, str]:
    """Return the files that an option names, by dotted key: what the study names itself is left out."""
    try:
        there = named_files(set_keys({key: one for key, one in raw.items() if key != "sweep"}, values))
    except UserMistakes:  # a key that can't be set is told elsewhere
        return {}
    return {key: name for key, name in there.items() if any(_holds(whole, key) for whole in values)}


def _holds(whole: str, key: str) -> bool:
    return key == whole or key.startswith(f"{whole}.")


def _renamed(
    values: Mapping[str, object], files: Mapping[str, str], names: Callable[[str], str]
) -> dict[str, object]:
    renamed = dict(values)
    for key, name in files.items():
        whole = next(one for one in values if _holds(one, key))
        inside = key.replace(whole, "value", 1)
        renamed[whole] = set_keys({"value": renamed[whole]}, {inside: names(name)})["value"]
    return renamed


def _said(key: str) -> str:
    """Return a name as it would stand in a TOML key, quoted where it needs to be."""
    return key if re.fullmatch(r"[\w-]+", key) else f"'{key}'"
