"""The folder of one sweep: study, inputs, store, lock, log and front.csv; nothing is written outside it."""

import csv
import io
import os
import shutil
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from optitip.errors import UserMistakes
from optitip.metrics.registry import UNITS
from optitip.metrics.values import Bracketed
from optitip.search.changed import check_unchanged
from optitip.search.lock import locked
from optitip.search.plainly import said_plainly
from optitip.search.records import Record, RunIdentity
from optitip.search.space import Space
from optitip.search.store import Store, create_or_open, open_to_read
from optitip.search.verified import Verified
from optitip.units import written

STORE, LOCK, STUDY, INPUTS, FRONT, LOG = "run.sqlite", "lock", "study.toml", "inputs", "front.csv", "log.txt"
_FORMULA_STARTS = ("=", "+", "-", "@")


@dataclass(frozen=True, slots=True, kw_only=True)
class RunFolder:
    """An open run folder; its store is written by this process alone."""

    path: Path
    store: Store

    def log(self, line: str) -> None:
        """Add a line with the time to the run's log."""
        now = datetime.now(UTC).isoformat(timespec="seconds")
        with said_plainly(self.path), (self.path / LOG).open("a", encoding="utf-8") as file:
            file.write(f"{now} {' '.join(line.split())}\n")

    def write_front(
        self, front: Sequence[Record], space: Space, *, verified: Mapping[str, Verified] | None = None
    ) -> Path:
        """Write ``front.csv``, a row for each record of ``front``, and return its path."""
        path = self.path / FRONT
        with said_plainly(self.path):
            _replace(path, front_table(front, space, verified=verified).encode("utf-8"))
        return path


@contextmanager
def run_folder(
    path: Path, *, study_text: str, inputs: Mapping[str, Path], identity: RunIdentity
) -> Iterator[RunFolder]:
    """Hold the run folder at ``path``, made now or left by an earlier sweep of the same study.

    ``inputs`` gives the file to copy under each name of ``input_names``.
    """
    _check_place(path)
    with said_plainly(path):
        path.mkdir(parents=True, exist_ok=True)
    with locked(path / LOCK), _unchanged(path, study_text, inputs, identity) as store:
        with said_plainly(path):
            if not (path / STUDY).exists():
                _copy_inputs(path, inputs)
                _replace(path / STUDY, study_text.encode("utf-8"))
        yield RunFolder(path=path, store=store)


def _unchanged(path: Path, study_text: str, inputs: Mapping[str, Path], identity: RunIdentity) -> Store:
    if (path / STORE).exists() and (path / STUDY).exists():
        check_unchanged(path, study=path / STUDY, study_text=study_text, inputs=inputs)
    return create_or_open(path / STORE, identity)


def read_run(path: Path) -> Store:
    """Return the store of the run folder at ``path`` for reading, also while a sweep is writing it."""
    return open_to_read(path / STORE)


def input_names(paths: Sequence[Path]) -> dict[str, Path]:
    """Return the name in the run folder for each different input file, to be written into the study's copy.

    >>> list(input_names([Path("a/thrust.csv"), Path("b/thrust.csv"), Path("a/thrust.csv")]))
    ['inputs/thrust.csv', 'inputs/thrust-2.csv']
    """
    names: dict[str, Path] = {}
    for path in dict.fromkeys(paths):
        name, turn = f"{INPUTS}/{path.name}", 1
        while name.casefold() in {taken.casefold() for taken in names}:
            turn += 1
            name = f"{INPUTS}/{path.stem}-{turn}{path.suffix}"
        names[name] = path
    return names


def front_table(
    front: Sequence[Record], space: Space, *, verified: Mapping[str, Verified] | None = None
) -> str:
    """Return the front as CSV, units in the headers: SI for metrics, the study's own for free numbers.

    Beside each metric's low and high stand the flow states they are from, empty where all give the same.
    ``verified`` adds what the finer grid says of each: its rank, and by how much each objective moved.
    """
    finer = verified or {}
    moved = list(dict.fromkeys(name for one in finer.values() for name in one.errors))
    metrics = _metric_units(front)
    header = ["design", "flow states"]
    header += [_headed(number.key, number.unit) for number in space.numbers] + list(space.choices)
    for name, unit in metrics.items():
        header += [_headed(f"{name} {part}", unit) for part in ("low", "expected", "high")]
        header += [f"{name} low from", f"{name} high from"]
    header += ["finer grid"] if finer else []
    header += [_headed(f"{name} moved by", metrics[name]) for name in moved]
    out = io.StringIO(newline="")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow([_harmless(cell) for cell in header])
    for record in front:
        row: list[str | float] = [record.design_id, record.states.value]
        row += [_number_alone(str(record.design[number.key]), number.unit) for number in space.numbers]
        row += [_harmless(str(record.design[key])) for key in space.choices]
        for name in metrics:
            row += _cells((record.evaluation.metrics or {}).get(name))
        row += _finer_cells(finer.get(record.design_id), moved) if finer else []
        writer.writerow(row)
    return out.getvalue()


def _metric_units(front: Sequence[Record]) -> dict[str, str]:
    """Return the metrics in the registry's order: which one a store met first is chance with many workers."""
    units = {
        name: written(value.unit)
        for record in front
        for name, value in (record.evaluation.metrics or {}).items()
    }
    places = {name: place for place, name in enumerate(UNITS)}
    return dict(sorted(units.items(), key=lambda pair: (places.get(pair[0], len(places)), pair[0])))


def _headed(name: str, unit: str) -> str:
    return name if unit in {"", "1"} else f"{name} [{unit}]"


def _number_alone(text: str, unit: str) -> str:
    return text.removesuffix(unit).rstrip()


def _cells(value: Bracketed | None) -> list[str]:
    if value is None:
        return [""] * 5
    figures = [f"{figure:.8g}" for figure in (value.low, value.expected, value.high)]
    return [*figures, _harmless(value.low_state), _harmless(value.high_state)]


def _finer_cells(one: Verified | None, moved: Sequence[str]) -> list[str]:
    if one is None:
        return ["not run", *[""] * len(moved)]
    return [one.rank.value, *(f"{one.errors[name]:.3g}" if name in one.errors else "" for name in moved)]


def _harmless(cell: str) -> str:
    """Return a text on one line that no spreadsheet takes for a formula."""
    shown = "".join(sign if sign.isprintable() else " " for sign in cell)
    return f"'{shown}" if shown.lstrip().startswith(_FORMULA_STARTS) else shown


def _check_place(path: Path) -> None:
    if path.exists() and not path.is_dir():
        raise UserMistakes.one(str(path), "this is a file", "Name a folder for the run")
    if path.is_dir() and not (path / STORE).exists():
        left_over = {LOCK, f"{STORE}-journal", f"{STORE}-wal", f"{STORE}-shm"}
        left_over |= {one.name for one in path.glob(f"{LOCK}.*")}
        if any(one.name not in left_over for one in path.iterdir()):
            problem = "the folder holds other things and no run"
            raise UserMistakes.one(str(path), problem, "Name a new or empty folder for the run")


def _copy_inputs(path: Path, inputs: Mapping[str, Path]) -> None:
    for name, source in inputs.items():
        target = path / name
        if path.resolve() not in target.resolve().parents:
            raise ValueError(f"'{name}' lies outside the run folder")
        target.parent.mkdir(exist_ok=True)
        shutil.copyfile(source, target)


def _replace(path: Path, content: bytes) -> None:
    """Write a file so that a reader sees the old one or the new one, never half of it."""
    beside = path.with_name(f"{path.name}.{os.getpid()}")
    with beside.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())  # or a power failure soon after leaves an empty file under the name
    beside.replace(path)
