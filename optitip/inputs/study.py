"""Reading a study file: every mistake of its schema at once, each with its place and remedy."""

import hashlib
import json
import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from optitip.errors import Mistake, UserMistakes
from optitip.inputs.keys import named_files, set_keys
from optitip.inputs.schema import mistakes_of
from optitip.inputs.study_tables import OutlineShape, StudyTables
from optitip.inputs.swept import expanded, files_renamed, mistakes_of_the_sweep, swept_files
from optitip.inputs.toml_files import read_toml

OWN_MATERIALS = "materials"
HOW_LONG = frozenset({"evaluations", "time_limit", "stalled"})
"""Keys of the sweep that say how long it takes and not what it finds."""
SHAPE_KEYS = frozenset(f"outline.{name}" for name in OutlineShape.model_fields)
"""The keys that shape the outside."""


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
        """Return the input files the study names for its own design, by dotted key."""
        return {key: self.folder / name for key, name in named_files(self.raw).items()}

    def swept_files(self) -> dict[str, Path]:
        """Return the input files that the choices and sets of its sweep name, by their place in it."""
        return {place: self.folder / name for place, name in swept_files(self.raw).items()}

    def all_files(self) -> dict[str, Path]:
        """Return all input files by key or place, the study's own first."""
        return {**self.files(), **self.swept_files()}

    def with_files_named(self, names: Mapping[Path, str]) -> dict[str, Any]:
        """Return the study as written, each of ``all_files`` under its new name."""
        own = {key: names[path] for key, path in self.files().items()}
        return files_renamed(
            set_keys(self.raw, own), was=self.raw, names=lambda one: names[self.folder / one]
        )

    def expanded(self, design: Mapping[str, object]) -> dict[str, object]:
        """Return the study keys a design sets: the names of its sweep's sets taken for their keys."""
        return expanded(self.raw, design)

    def own_materials(self) -> list[Path]:
        """Return the material files of the study's own, in ``materials`` beside it."""
        return sorted((self.folder / OWN_MATERIALS).glob("*.toml"))

    def with_design(self, design: Mapping[str, object]) -> "Study":
        """Return the study with the design's keys and sets set, checked like a file; it has nothing free.

        A design that shapes the outside keeps the outline as it was written beside it, as the given one.
        """
        plain = {key: value for key, value in self.raw.items() if key != "sweep"}
        design = self.expanded(design)
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

        How long a sweep may take is left out, so that a run can go on with more.
        """
        text = {key: value for key, value in self.raw.items() if key != "sweep"}
        text["sweep"] = {k: v for k, v in self.raw.get("sweep", {}).items() if k not in HOW_LONG}
        digest = hashlib.sha256(json.dumps(text, sort_keys=True, default=str).encode())
        for key, path in (*sorted(self.files().items()), *sorted(self.swept_files().items())):
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


def _checked(raw: Mapping[str, Any], file: str, *, known: Mapping[str, object] | None = None) -> StudyTables:
    """Return the tables of ``raw``; those in ``known`` were checked before and are taken as they are."""
    try:
        tables = StudyTables.model_validate({**raw, **(known or {})})
    except ValidationError as error:
        raise UserMistakes(mistakes_of(error, file)) from None
    if tables.sweep is not None:
        problems = list(mistakes_of_the_sweep(tables.sweep, raw, file))
        if problems:
            raise UserMistakes(problems)
    return tables


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except OSError:  # such as a name too long for the system
        return False


def _check_names_inside(study: Study) -> None:
    """Raise for input files that aren't there, all together."""
    mistakes = [
        Mistake(f"{study.path.name}, {key}", f"there is no file '{path}'", "Name a file beside the study")
        for key, path in study.all_files().items()
        if not _is_file(path)
    ]
    if mistakes:
        raise UserMistakes(mistakes)
