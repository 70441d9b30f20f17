"""The evaluations of a sweep in one SQLite file: one writer, any number of read-only readers.

Designs are written down when they are asked for and their evaluations as they come, so that a sweep that
was killed goes on with the very designs it had asked for.
"""

import json
import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from types import TracebackType
from typing import Self

from optitip.errors import Outcome, UserMistakes
from optitip.metrics.values import Bracketed, Design, Evaluation
from optitip.search.executors.face import States
from optitip.search.space import design_id

SCHEMA = 2
_APPLICATION = 0x6F707469  # marks the file as ours, in SQLite's own header field
_TABLES = (
    "CREATE TABLE meta (key TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID",
    "CREATE TABLE metric (name TEXT PRIMARY KEY, unit TEXT NOT NULL) WITHOUT ROWID",
    """CREATE TABLE asked (
    number INTEGER PRIMARY KEY, design_id TEXT NOT NULL, states TEXT NOT NULL, design TEXT NOT NULL,
    UNIQUE (design_id, states))""",
    """CREATE TABLE evaluation (
    number INTEGER PRIMARY KEY, design_id TEXT NOT NULL, design TEXT NOT NULL, outcome TEXT NOT NULL,
    detail TEXT NOT NULL, metrics TEXT, seconds REAL NOT NULL, states TEXT NOT NULL,
    created TEXT NOT NULL)""",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A design that was asked for, by the number of its turn."""

    number: int
    design_id: str
    design: Design
    states: States


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """A design and what became of it."""

    number: int
    design_id: str
    design: Design
    states: States
    evaluation: Evaluation


@dataclass(frozen=True, slots=True, kw_only=True)
class RunIdentity:
    """What a store belongs to; a sweep goes on only in the store of its own study and seed."""

    study_hash: str
    version: str
    seed: int


class Store:
    """The open ``run.sqlite`` of a run folder; use ``create_or_open`` or ``open_to_read``."""

    def __init__(self, path: Path, connection: sqlite3.Connection, *, writable: bool) -> None:
        """Keep the connection."""
        self.path = path
        self._connection = connection
        self._writable = writable

    def __enter__(self) -> Self:
        """Return the store."""
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Close it."""
        self.close()

    def close(self) -> None:
        """Close the file; a finished one needs no side files, so that it can be copied alone."""
        if self._writable:
            with suppress(sqlite3.OperationalError):  # somebody reads it just now: the side files stay
                self._connection.execute("PRAGMA journal_mode = DELETE")
        self._connection.close()

    def meta(self) -> dict[str, str]:
        """Return what the store says of itself."""
        with _said_plainly(self.path):
            return dict(self._connection.execute("SELECT key, value FROM meta ORDER BY key"))

    def ask(self, designs: Sequence[Design], states: States) -> list[Asked]:
        """Write down designs as asked for and return them with their numbers."""
        with _said_plainly(self.path), self._connection:
            first = self._connection.execute("SELECT coalesce(max(number), 0) + 1 FROM asked").fetchone()[0]
            asked = [
                Asked(number=number, design_id=design_id(design), design=dict(design), states=states)
                for number, design in enumerate(designs, start=first)
            ]
            self._connection.executemany(
                "INSERT INTO asked VALUES (?, ?, ?, ?)",
                [(one.number, one.design_id, states.value, _json(dict(one.design))) for one in asked],
            )
        return asked

    def unanswered(self) -> list[Asked]:
        """Return what was asked for and never answered, in order."""
        query = "SELECT number, design_id, design, states FROM asked WHERE number NOT IN"
        with _said_plainly(self.path):
            rows = self._connection.execute(f"{query} (SELECT number FROM evaluation) ORDER BY number")
            return [
                Asked(number=row[0], design_id=row[1], design=json.loads(row[2]), states=States(row[3]))
                for row in rows
            ]

    def add(self, asked: Asked, evaluation: Evaluation) -> Record:
        """Write an evaluation and return it as a record; it is on the disk when this returns."""
        metrics = evaluation.metrics
        figures = None
        if metrics is not None:
            figures = {
                name: [m.low, m.expected, m.high, m.low_state, m.high_state] for name, m in metrics.items()
            }
        row = (
            asked.number, asked.design_id, _json(dict(asked.design)), evaluation.outcome.name,
            evaluation.detail, None if figures is None else _json(figures), evaluation.seconds,
            asked.states.value, datetime.now(UTC).isoformat(timespec="seconds"),
        )  # fmt: skip
        with _said_plainly(self.path), self._connection:
            units = [(name, m.unit) for name, m in (metrics or {}).items()]
            self._connection.executemany("INSERT OR IGNORE INTO metric VALUES (?, ?)", units)
            self._connection.execute("INSERT INTO evaluation VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)", row)
        return Record(
            number=asked.number,
            design_id=asked.design_id,
            design=asked.design,
            states=asked.states,
            evaluation=evaluation,
        )

    def records(self) -> list[Record]:
        """Return all evaluations in the order they were asked for."""
        query = "SELECT number, design_id, design, states, outcome, detail, metrics, seconds FROM evaluation"
        with _said_plainly(self.path):
            units = dict(self._connection.execute("SELECT name, unit FROM metric"))
            return [_record(row, units) for row in self._connection.execute(f"{query} ORDER BY number")]


def create_or_open(path: Path, identity: RunIdentity) -> Store:
    """Return the store at ``path`` for writing, new or of the same study, seed and version of the file."""
    fresh = not path.exists() or path.stat().st_size == 0
    with _said_plainly(path):
        connection = sqlite3.connect(path, timeout=5.0)
        try:
            if fresh:
                _write_head(connection, identity)
            else:
                _check_head(path, connection)
            connection.execute("PRAGMA journal_mode = WAL")
            connection.execute("PRAGMA synchronous = NORMAL")
            connection.execute("BEGIN IMMEDIATE")  # a folder or file that can't be written says so here
            connection.commit()
            store = Store(path, connection, writable=True)
            _check_identity(store, identity)
        except BaseException:
            connection.close()
            raise
    return store


def open_to_read(path: Path) -> Store:
    """Return the store at ``path`` for reading, also while a sweep is writing it."""
    if not path.is_file():
        raise UserMistakes.one(str(path), "there is no such run", "Name the folder of a sweep")
    with _said_plainly(path):
        quoted = path.resolve().as_uri()
        alone = not path.with_name(path.name + "-wal").exists()
        try:
            connection = sqlite3.connect(f"{quoted}?mode=ro", uri=True, timeout=5.0)
            connection.execute("SELECT count(*) FROM sqlite_master")
        except sqlite3.OperationalError:
            if not alone:
                raise
            # a file at rest in a folder that can't be written: no side files are needed
            connection = sqlite3.connect(f"{quoted}?immutable=1", uri=True)
        try:
            _check_head(path, connection)
        except BaseException:
            connection.close()
            raise
    return Store(path, connection, writable=False)


def _write_head(connection: sqlite3.Connection, identity: RunIdentity) -> None:
    meta = {"schema": str(SCHEMA), "study_hash": identity.study_hash}
    meta |= {"optitip_version": identity.version, "seed": str(identity.seed)}
    with connection:  # all of it or nothing, should the process end here
        connection.execute("BEGIN IMMEDIATE")
        connection.execute(f"PRAGMA application_id = {_APPLICATION}")
        connection.execute(f"PRAGMA user_version = {SCHEMA}")
        for table in _TABLES:
            connection.execute(table)
        connection.executemany("INSERT INTO meta VALUES (?, ?)", meta.items())


def _check_head(path: Path, connection: sqlite3.Connection) -> None:
    mark = connection.execute("PRAGMA application_id").fetchone()[0]
    schema = connection.execute("PRAGMA user_version").fetchone()[0]
    if mark != _APPLICATION:
        raise UserMistakes.one(str(path), "this file is no run of optitip", "Name another folder")
    if schema != SCHEMA:
        raise UserMistakes.one(
            str(path),
            f"this run was written in format {schema}, and this version reads format {SCHEMA}",
            "Use the version that wrote it, or sweep into a new folder",
        )


def _check_identity(store: Store, identity: RunIdentity) -> None:
    meta = store.meta()
    wanted = {"study_hash": identity.study_hash, "seed": str(identity.seed)}
    for key, name in (("study_hash", "study"), ("seed", "seed")):
        if meta[key] != wanted[key]:
            raise UserMistakes.one(
                str(store.path),
                f"this run belongs to another {name} ({meta[key]}, and now it is {wanted[key]})",
                "Sweep into a new folder, or put the study back as it was",
            )


def _record(row: tuple[int, str, str, str, str, str, str | None, float], units: Mapping[str, str]) -> Record:
    number, name, design, states, outcome, detail, figures, seconds = row
    metrics = None
    if figures is not None:
        metrics = {
            metric: _bracketed(units[metric], *stored) for metric, stored in json.loads(figures).items()
        }
    evaluation = Evaluation(outcome=Outcome[outcome], detail=detail, metrics=metrics, seconds=seconds)
    return Record(
        number=number,
        design_id=name,
        design=json.loads(design),
        states=States(states),
        evaluation=evaluation,
    )


def _bracketed(
    unit: str, low: float, expected: float, high: float, low_state: str = "", high_state: str = ""
) -> Bracketed:
    """Return a metric as it was stored; runs of before the states were kept have none."""
    return Bracketed(
        unit=unit, low=low, expected=expected, high=high, low_state=low_state, high_state=high_state
    )


def _json(value: Mapping[str, object]) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)


@contextmanager
def _said_plainly(path: Path) -> Iterator[None]:
    """Turn what SQLite says of a disk, a folder or a foreign file into one line for a person."""
    try:
        yield
    except sqlite3.DatabaseError as error:
        said = str(error)
        for part, problem, remedy in _TROUBLES:
            if part in said:
                raise UserMistakes.one(str(path), problem, remedy) from None
        raise


_TROUBLES = (
    ("disk is full", "the disk is full", "Make room and give the same command again: nothing is lost"),
    ("disk I/O error", "the disk can't be read or written", "Look after the disk, or name another folder"),
    (
        "readonly database",
        "the run can't be written",
        "Take off the write protection, or name another folder",
    ),
    ("unable to open", "the run can't be opened", "Look after its rights, or name another folder"),
    ("is locked", "another program is writing this run", "Wait until it is done"),
    ("not a database", "this file is no run of optitip", "Name another folder"),
    ("malformed", "the run's file is damaged", "Sweep into a new folder"),
)
