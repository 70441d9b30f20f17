"""What is wrong with the keys and values of a study, as a person reads it."""

import difflib
from collections.abc import Iterator, Mapping

from pydantic import BaseModel, ValidationError

from optitip.errors import Mistake
from optitip.inputs.study_tables import StudyTables
from optitip.units import UnitError

# pydantic's kinds of error, as a person reads them: problem and remedy
_KINDS = {
    "string_type": ("is no text", "Write text between quotes"),
    "string_too_short": ("is empty", "Write a name between quotes"),
    "bool_type": ("is neither true nor false", "Write true or false, without quotes"),
    "bool_parsing": ("is neither true nor false", "Write true or false, without quotes"),
    "int_type": ("is no whole number", "Write a whole number without quotes or unit"),
    "model_type": ("is no table", "Write it as a table of its own, like [tip.band]"),
    "dict_type": ("is no table", "Write it as a table of its own, like [sweep.free]"),
    "tuple_type": ("is no list", 'Write a list, like ["1 mm", "2 mm"]'),
    "float_parsing": ("is no number", "Write a plain number without quotes or unit"),
    "float_type": ("is no number", "Write a plain number without quotes or unit"),
    "too_long": ("has too many entries", 'Write two ends, like ["1 mm", "2 mm"]'),
}
_LISTS = {
    "also": "Head each further record with [[flight.also]]",
    "missing": "Write a list, like [65535, -999]",
    "maximise": 'Write a list, like ["sample.energy_peak"]',
    "minimise": 'Write a list, like ["shell.mass"]',
}
_OPTIONS = 'Write options under it, like [sweep.sets.motor.small] with "flight.ascent.thrust" = "small.csv"'
_BOUNDS = {
    "greater_than_equal": ("ge", "below", "larger"),
    "less_than_equal": ("le", "above", "smaller"),
}


def mistakes_of(error: ValidationError, file: str) -> Iterator[Mistake]:
    """Yield what is wrong with a study's schema, each with its place in ``file`` and its remedy."""
    for item in error.errors():
        parts = [str(part) for part in item["loc"]]
        place = f"{file}, {'.'.join(parts)}" if parts else file
        cause = item.get("ctx", {}).get("error")
        if isinstance(cause, UnitError):
            yield Mistake(place, cause.problem, cause.remedy)
        elif item["type"] == "extra_forbidden":
            yield Mistake(place, "this key is unknown", _known_keys(parts))
        elif item["type"] == "missing":
            yield Mistake(place, "this key is missing", "Add it; 'optitip new NAME' writes an example")
        elif item["type"] == "enum":
            remedy = f"Write one of {item['ctx']['expected']}"
            yield Mistake(place, f"'{item['input']}' is none of the choices", remedy)
        elif item["type"] in _BOUNDS:
            key, side, other = _BOUNDS[item["type"]]
            yield Mistake(place, f"{item['input']} is {side} {item['ctx'][key]}", f"Give a {other} value")
        elif item["type"] == "tuple_type" and parts[-1] in _LISTS:
            yield Mistake(place, "this is no list", _LISTS[parts[-1]])
        elif item["type"] == "dict_type" and parts[:2] == ["sweep", "sets"]:
            problem = _mistake_of_kind(item["type"], item["msg"], item["input"], place).problem
            yield Mistake(place, problem, _OPTIONS)
        else:
            yield _mistake_of_kind(item["type"], item["msg"], item["input"], place)


def _mistake_of_kind(kind: str, said: str, value: object, place: str) -> Mistake:
    """Return the mistake of a value that isn't of the kind its key takes."""
    problem, remedy = _KINDS.get(kind, (f"can't stand there: {said[:1].lower()}{said[1:]}", "Put it right"))
    written = "the value" if isinstance(value, Mapping | list | tuple) else repr(value)
    return Mistake(place, f"{written} {problem}", remedy)


def _model_at(parts: list[str]) -> type[BaseModel] | None:
    model: type[BaseModel] = StudyTables
    for part in (part for part in parts if not part.isdigit()):
        field = model.model_fields.get(part)
        options = [] if field is None else [field.annotation, *getattr(field.annotation, "__args__", ())]
        tables = [one for one in options if isinstance(one, type) and issubclass(one, BaseModel)]
        if not tables:
            return None
        model = tables[0]
    return model


def is_study_key(place: str) -> bool:
    """Return whether a mistake's place is a dotted key of a study, and no file that is named like a table.

    >>> is_study_key("flight.record"), is_study_key("flight.csv"), is_study_key("limits.'shell.mass'")
    (True, False, True)
    """
    table, _, rest = place.partition(".")
    if table not in StudyTables.model_fields:
        return False
    model = _model_at([table])
    return model is None or not rest or rest.split(".")[0] in model.model_fields


def _known_keys(parts: list[str]) -> str:
    model = _model_at(parts[:-1])
    known = list(model.model_fields) if model else []
    near = difflib.get_close_matches(parts[-1], known, n=1)
    return f"Did you mean '{near[0]}'" if near else f"Known here: {', '.join(known)}"
