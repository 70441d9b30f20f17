"""Reading a study file: every mistake of its schema at once, each with its place and remedy."""

import difflib
import hashlib
import json
import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, cast

from pydantic import BaseModel, ValidationError

from optitip.errors import Mistake, UserMistakes
from optitip.inputs.study_tables import OutlineShape, StudyTables, Sweep
from optitip.inputs.toml_files import read_toml
from optitip.units import UnitError

OWN_MATERIALS = "materials"
FILE_KEYS = (
    "flight.record",
    "flight.ascent.thrust",
    "flight.ascent.drag",
    "outline.profile",
    "outline.given.profile",
    "flow.heating_table",
    "flow.heating_low",
    "flow.heating_high",
)
SHAPE_KEYS = frozenset(f"outline.{name}" for name in OutlineShape.model_fields)
"""The keys that shape the outside."""

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
_BOUNDS = {
    "greater_than_equal": ("ge", "below", "larger"),
    "less_than_equal": ("le", "above", "smaller"),
}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Study:
    """A study as it was written (``raw``) and as it was understood (``tables``, SI)."""

    path: Path
    raw: Mapping[str, Any]
    tables: StudyTables

    @property
    def folder(self) -> Path:
        """Return the folder that file names in the study count from."""
        return self.path.parent

    @property
    def title(self) -> str:
        """Return the study's title, or the name of its file."""
        return self.tables.title or self.path.stem

    def files(self) -> dict[str, Path]:
        """Return the input files the study names, by dotted key."""
        also = value_at(self.raw, "flight.also")
        count = len(also) if isinstance(also, list) else 0
        keys = [*FILE_KEYS, *(f"flight.also.{index}.record" for index in range(count))]
        named = {key: value_at(self.raw, key) for key in keys}
        return {key: self.folder / name for key, name in named.items() if isinstance(name, str)}

    def own_materials(self) -> list[Path]:
        """Return the material files of the study's own, in ``materials`` beside it."""
        return sorted((self.folder / OWN_MATERIALS).glob("*.toml"))

    def with_design(self, design: Mapping[str, object]) -> "Study":
        """Return the study with the design's keys set, checked like a file; it has nothing free.

        A design that shapes the outside keeps the outline as it was written beside it, as the given one.
        """
        plain = {key: value for key, value in self.raw.items() if key != "sweep"}
        values = {**self._given_outline(design), **design}
        raw = set_keys(plain, values)
        changed = {key.partition(".")[0] for key in values}
        known = {key: table for key, table in self.tables if key in plain and key not in changed}
        return Study(path=self.path, raw=raw, tables=_checked(raw, self.path.name, known=known))

    def _given_outline(self, design: Mapping[str, object]) -> dict[str, object]:
        written = self.raw["outline"]
        if "given" in written or not SHAPE_KEYS & design.keys():
            return {}
        return {
            "outline.given": {key: value for key, value in written.items() if f"outline.{key}" in SHAPE_KEYS}
        }

    def fingerprint(self) -> str:
        """Return a hash of all that the answer depends on: the text and the files it names.

        How many evaluations a sweep may take is left out, so that a run can go on with more.
        """
        text = {key: value for key, value in self.raw.items() if key != "sweep"}
        text["sweep"] = {k: v for k, v in self.raw.get("sweep", {}).items() if k != "evaluations"}
        digest = hashlib.sha256(json.dumps(text, sort_keys=True, default=str).encode())
        for key, path in sorted(self.files().items()):
            digest.update(key.encode())
            digest.update(path.read_bytes() if path.is_file() else b"")
        for path in self.own_materials():
            digest.update(path.name.encode() + path.read_bytes())
        return digest.hexdigest()[:16]


def read_study(path: str | Path) -> Study:
    """Return the study in ``path``.

    Raises ``UserMistakes`` with all mistakes of the first pass (syntax, keys, values, units).
    """
    path = Path(path)
    path = path / "study.toml" if os.path.isdir(path) else path  # noqa: PTH112 (it never raises)
    raw = read_toml(path, what="study file")
    study = Study(path=path, raw=raw, tables=_checked(raw, path.name))
    _check_names_inside(study)
    return study


def value_at(raw: Mapping[str, Any], key: str) -> object:
    """Return the value under a dotted key, or None; a table in a list is counted from 0.

    >>> value_at({"tip": {"material": "304"}}, "tip.material")
    '304'
    >>> value_at({"flight": {"also": [{"record": "high.csv"}]}}, "flight.also.0.record")
    'high.csv'
    """
    here: object = raw
    for part in key.split("."):
        if isinstance(here, list) and part.isdigit() and int(part) < len(here):
            here = here[int(part)]
        elif isinstance(here, Mapping):
            here = here.get(part)
        else:
            return None
    return here


def set_keys(raw: Mapping[str, Any], values: Mapping[str, object]) -> dict[str, Any]:
    """Return a copy of ``raw`` with the dotted keys set; tables without such a key are shared with it.

    >>> set_keys({"tip": {}}, {"tip.band.thickness": "1 mm"})
    {'tip': {'band': {'thickness': '1 mm'}}}
    """
    result: object = dict(raw)
    for key, value in values.items():
        result = _with_key(result, key.split("."), value, key)
    return cast(dict[str, Any], result)


def _with_key(here: object, parts: list[str], value: object, key: str) -> object:
    """Return a copy of a table or list in which what lies on the way to ``parts`` is new, the rest shared."""
    part, rest = parts[0], parts[1:]
    if isinstance(here, dict):
        inside = _with_key(here.get(part, {}), rest, value, key) if rest else value
        return {**here, part: inside}
    if isinstance(here, list) and part.isdigit() and int(part) < len(here) and rest:
        place = int(part)
        return [*here[:place], _with_key(here[place], rest, value, key), *here[place + 1 :]]
    raise UserMistakes.one(key, "there is no such key", "Name a key of a table")


def _checked(raw: Mapping[str, Any], file: str, *, known: Mapping[str, object] | None = None) -> StudyTables:
    """Return the tables of ``raw``; those in ``known`` were checked before and are taken as they are."""
    try:
        tables = StudyTables.model_validate({**raw, **(known or {})})
    except ValidationError as error:
        raise UserMistakes(_mistakes(error, file)) from None
    if tables.sweep is not None:
        problems = list(_mistakes_of_the_sweep(tables.sweep, raw, file))
        if problems:
            raise UserMistakes(problems)
    return tables


def _mistakes(error: ValidationError, file: str) -> Iterator[Mistake]:
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


def _mistakes_of_the_sweep(sweep: Sweep, raw: Mapping[str, Any], file: str) -> Iterator[Mistake]:
    """Yield what is wrong with the free keys: each is tried at every value it may take."""
    plain = {key: value for key, value in raw.items() if key != "sweep"}
    values = {**sweep.free, **sweep.choices}
    for key, options in values.items():
        table = "free" if key in sweep.free else "choices"
        place = f"{file}, sweep.{table}.'{key}'"
        kept = key.startswith("outline.given")  # it is what designs are compared with
        if kept or key.split(".")[0] not in {"outline", "tip", "sample", "flight", "flow"}:
            yield Mistake(
                place, "this key can't be free", "Name a key of flight, outline, flow, tip or sample"
            )
            continue
        for option in options:
            try:
                StudyTables.model_validate(set_keys(plain, {key: option}))
            except ValidationError as error:
                first = next(_mistakes(error, file))
                yield Mistake(place, f"'{option}' can't stand there ({first.problem})", first.remedy)
                break
    doubled = sorted(set(sweep.free) & set(sweep.choices))
    for key in doubled:
        yield Mistake(f"{file}, sweep.'{key}'", "it is both free and a choice", "Keep one of the two")


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except OSError:  # such as a name too long for the system
        return False


def _check_names_inside(study: Study) -> None:
    """Raise for input files that aren't there, all together."""
    mistakes = [
        Mistake(f"{study.path.name}, {key}", f"there is no file '{path}'", "Name a file beside the study")
        for key, path in study.files().items()
        if not _is_file(path)
    ]
    if mistakes:
        raise UserMistakes(mistakes)
