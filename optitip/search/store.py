"""The evaluations of a sweep in one SQLite file: one writer, any number of read-only readers.

Designs are written down when they are asked for and their evaluations as they come, so that a sweep that
was killed goes on with the very designs it had asked for. A metric's low, expected and high stand as three
doubles in the row's ``figures``, in the order of the table ``metric``, NaN where a design has no such metric:
so 100,000 rows are read in a second.
"""

import json
import sqlite3
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from pathlib import Path
from types import TracebackType
from typing import Self

import numpy as np

from optitip.errors import Outcome, UserMistakes
from optitip.metrics.values import Bracketed, Design, Evaluation
from optitip.search.evaluated import Evaluated, joined
from optitip.search.executors.face import States
from optitip.search.plainly import said_plainly
from optitip.search.records import Asked, Milestone, Record, RunIdentity, Stage, Stint
from optitip.search.rows import Reading, evaluated_of
from optitip.search.schema import begin_stint, check_head, check_identity, write_head
from optitip.search.space import design_id

NOT_FINAL = frozenset({Outcome.WORKER_DIED, Outcome.TIME_LIMIT})
"""Outcomes of a bad day rather than of a design: tried again when the sweep goes on."""
_READ_AT_ONCE = 4096


class Store:
    """The open ``run.sqlite`` of a run folder; use ``create_or_open`` or ``open_to_read``."""

    def __init__(self, path: Path, connection: sqlite3.Connection, *, stint: int | None) -> None:
        """Keep the connection; a stint is that of a writer."""
        self.path = path
        self._connection = connection
        self._stint = stint
        self._metrics = self._places("metric")
        self._flow_states = self._places("flow_state")

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
        if self._stint is not None:
            with suppress(sqlite3.OperationalError):  # read just now, or no room for it: the side files stay
                self._connection.execute("PRAGMA journal_mode = DELETE")
        self._connection.close()

    def meta(self) -> dict[str, str]:
        """Return what the store says of itself."""
        with said_plainly(self.path):
            return dict(self._connection.execute("SELECT key, value FROM meta ORDER BY key"))

    def decide(self, key: str, value: str) -> str:
        """Return what was decided under ``key`` for the whole run; the first to decide is kept."""
        with said_plainly(self.path), self._connection:
            self._connection.execute("INSERT OR IGNORE INTO meta VALUES (?, ?)", (key, value))
        return self.meta()[key]

    def stints(self) -> list[Stint]:
        """Return every go at this sweep, the first one first."""
        query = "SELECT number, started, versions, evaluations, stage, ended FROM stint ORDER BY number"
        with said_plainly(self.path):
            return [
                Stint(
                    number=row[0],
                    started=row[1],
                    versions=json.loads(row[2]),
                    evaluations=row[3],
                    stage=Stage(row[4]),
                    ended=row[5],
                )
                for row in self._connection.execute(query)
            ]

    def note(self, *, evaluations: int | None = None, stage: Stage | None = None, ended: str = "") -> None:
        """Write down what this stint aims at, what it does, or why it does no more."""
        values = (evaluations, None if stage is None else stage.value, ended, self._stint)
        with said_plainly(self.path), self._connection:
            self._connection.execute(
                "UPDATE stint SET evaluations = coalesce(?, evaluations), stage = coalesce(?, stage), "
                "ended = ? WHERE number = ?",
                values,
            )

    def ask(self, designs: Sequence[Design], states: States) -> list[Asked]:
        """Write down designs as asked for and return them with their numbers.

        One that was asked for before and has no evaluation that stays keeps its number; with one it is a bug.
        """
        named = {design_id(design): design for design in designs}
        with said_plainly(self.path), self._connection:
            numbers = {name: self._open_number(name, states) for name in named}
            last = self._connection.execute("SELECT coalesce(max(number), 0) FROM asked").fetchone()[0]
            fresh = [name for name, number in numbers.items() if number is None]
            numbers |= {name: number for number, name in enumerate(fresh, start=last + 1)}
            self._connection.executemany(
                "INSERT INTO asked VALUES (?, ?, ?, ?)",
                [(numbers[name], name, states.value, _json(dict(named[name]))) for name in fresh],
            )
        return [
            Asked(number=number, design_id=name, design=dict(named[name]), states=states)
            for name, number in numbers.items()
            if number is not None
        ]

    def _open_number(self, name: str, states: States) -> int | None:
        """Return the number under which a design was asked for and not answered, None if it never was."""
        query = (
            "SELECT asked.number, outcome, stint FROM asked LEFT JOIN evaluation USING (number) "
            "WHERE design_id = ? AND states = ?"
        )
        row = self._connection.execute(query, (name, states.value)).fetchone()
        if row is None:
            return None
        had_no_luck = row[1] is not None and row[2] != self._stint and Outcome[row[1]] in NOT_FINAL
        if row[1] is not None and not had_no_luck:
            raise ValueError(f"design {name} has been evaluated over {states.value} already")
        return int(row[0])

    def unanswered(self) -> list[Asked]:
        """Return what was asked for and has no answer that stays, in order.

        What an earlier stint had no luck with counts as unanswered: see ``NOT_FINAL``.
        """
        names = sorted(outcome.name for outcome in NOT_FINAL)
        query = (
            "SELECT asked.number, design_id, design, states FROM asked LEFT JOIN evaluation USING (number) "
            f"WHERE outcome IS NULL OR (stint < ? AND outcome IN ({', '.join('?' * len(names))})) "
            "ORDER BY asked.number"
        )
        with said_plainly(self.path):
            rows = self._connection.execute(query, (self._stint, *names))
            return [
                Asked(number=row[0], design_id=row[1], design=json.loads(row[2]), states=States(row[3]))
                for row in rows
            ]

    def add(self, asked: Asked, evaluation: Evaluation) -> Record:
        """Write an evaluation and return it as a record; a later one takes the place of a bad day's.

        What was written is there for every reader when this returns, and after the process is killed.
        """
        with said_plainly(self.path), self._connection:
            figures, sides = self._packed(evaluation.metrics)
            row = (
                asked.number, self._stint, time.time(), evaluation.seconds, evaluation.outcome.name,
                evaluation.detail, figures, sides,
            )  # fmt: skip
            self._connection.execute("INSERT OR REPLACE INTO evaluation VALUES (?, ?, ?, ?, ?, ?, ?, ?)", row)
        return Record(
            number=asked.number,
            design_id=asked.design_id,
            design=asked.design,
            states=asked.states,
            evaluation=evaluation,
        )

    def reach(self, *, searched: int, covered: float, front_size: int) -> None:
        """Write how much the front covers after ``searched`` designs; the first time counts."""
        row = (searched, covered, front_size, time.time())
        with said_plainly(self.path), self._connection:
            self._connection.execute("INSERT OR IGNORE INTO milestone VALUES (?, ?, ?, ?)", row)

    def milestones(self) -> list[Milestone]:
        """Return how far the front was along the search, the earliest first."""
        query = "SELECT searched, covered, front_size, reached FROM milestone ORDER BY searched"
        with said_plainly(self.path):
            return [
                Milestone(searched=row[0], covered=row[1], front_size=row[2], reached=row[3])
                for row in self._connection.execute(query)
            ]

    def failures(self) -> dict[Outcome, int]:
        """Return how many designs of the search had which outcome other than an answer."""
        query = (
            "SELECT outcome, count(*) FROM evaluation JOIN asked USING (number) "
            "WHERE states = ? AND outcome != ? GROUP BY outcome"
        )
        with said_plainly(self.path):
            rows = self._connection.execute(query, (States.SEARCH.value, Outcome.ANSWERED.name))
            return {Outcome[name]: count for name, count in rows}

    def counts(self) -> dict[States, int]:
        """Return how many evaluations there are of each choice of flow states."""
        query = "SELECT states, count(*) FROM evaluation JOIN asked USING (number) GROUP BY states"
        with said_plainly(self.path):
            found = {States(name): count for name, count in self._connection.execute(query)}
        return {states: found.get(states, 0) for states in States}

    def tally(self) -> dict[tuple[States, Outcome], int]:
        """Return how many evaluations over which flow states had which outcome."""
        query = "SELECT states, outcome, count(*) FROM evaluation JOIN asked USING (number) GROUP BY 1, 2"
        with said_plainly(self.path):
            return {(States(row[0]), Outcome[row[1]]): row[2] for row in self._connection.execute(query)}

    def asked_for(self) -> dict[States, int]:
        """Return how many evaluations of each choice of flow states were asked for, answered or not."""
        query = "SELECT states, count(*) FROM asked GROUP BY states"
        with said_plainly(self.path):
            return {States(name): count for name, count in self._connection.execute(query)}

    def times(self, *, last: int) -> list[float]:
        """Return when each of the last evaluations asked for was written [s since 1970], earliest first."""
        query = "SELECT created FROM evaluation ORDER BY number DESC LIMIT ?"
        with said_plainly(self.path):
            return sorted(row[0] for row in self._connection.execute(query, (last,)))

    def evaluated(self, metrics: Sequence[str]) -> Evaluated:
        """Return every evaluation as a row of arrays, in order, with the figures of ``metrics``."""
        query = (
            "SELECT number, design_id, states, outcome, seconds, figures "
            "FROM evaluation JOIN asked USING (number) ORDER BY number"
        )
        with said_plainly(self.path):
            self._metrics = self._places("metric")
            cursor = self._connection.execute(query)
            parts = [Evaluated.of_none(metrics)]
            while rows := cursor.fetchmany(_READ_AT_ONCE):
                parts.append(evaluated_of(rows, metrics=metrics, places=self._metrics))
        return joined(parts)

    def designs(self) -> Iterator[tuple[int, Design]]:
        """Yield the number and the design of each evaluation, in order."""
        query = "SELECT number, design FROM evaluation JOIN asked USING (number) ORDER BY number"
        with said_plainly(self.path):
            for number, design in self._connection.execute(query):
                yield number, json.loads(design)

    def records(self, numbers: Sequence[int] | None = None) -> list[Record]:
        """Return whole evaluations, those of ``numbers`` in their order or all in the order of asking."""
        query = (
            "SELECT number, design_id, design, states, outcome, detail, seconds, figures, sides "
            "FROM evaluation JOIN asked USING (number)"
        )
        with said_plainly(self.path):
            units = dict(self._connection.execute("SELECT name, unit FROM metric"))
            names = [row[0] for row in self._connection.execute("SELECT name FROM metric ORDER BY place")]
            states = list(self._connection.execute("SELECT name FROM flow_state ORDER BY place"))
            read = Reading(names=names, units=units, flow_states=[row[0] for row in states])
            if numbers is None:
                return [read.record(row) for row in self._connection.execute(f"{query} ORDER BY number")]
            one = f"{query} WHERE number = ?"
            found = [self._connection.execute(one, (int(number),)).fetchone() for number in numbers]
        return [read.record(row) for row in found if row is not None]

    def numbers_of(self, beginning: str) -> list[tuple[int, str]]:
        """Return number and name of the evaluations whose design's name begins so, in order."""
        query = (
            "SELECT number, design_id FROM evaluation JOIN asked USING (number) "
            "WHERE substr(design_id, 1, ?) = ? ORDER BY number"
        )
        with said_plainly(self.path):
            return list(self._connection.execute(query, (len(beginning), beginning)))

    def _places(self, table: str) -> dict[str, int]:
        with said_plainly(self.path):
            return dict(self._connection.execute(f"SELECT name, place FROM {table} ORDER BY place"))

    def _packed(self, metrics: Mapping[str, Bracketed] | None) -> tuple[bytes | None, bytes | None]:
        """Return the figures (k, 3) and the places of their sides (k, 2) as bytes; new names are written."""
        if metrics is None:
            return None, None
        for name, value in metrics.items():
            if name not in self._metrics:
                place = len(self._metrics)
                self._connection.execute("INSERT INTO metric VALUES (?, ?, ?)", (place, name, value.unit))
                self._metrics[name] = place
        figures = np.full((len(self._metrics), 3), np.nan)
        sides = np.zeros((len(self._metrics), 2), dtype="<u2")
        for name, value in metrics.items():
            place = self._metrics[name]
            figures[place] = value.low, value.expected, value.high
            sides[place] = self._side(value.low_state), self._side(value.high_state)
        return figures.astype("<f8").tobytes(), sides.tobytes()

    def _side(self, state: str) -> int:
        """Return one more than the place of a flow state, 0 for none; a new one is written."""
        if not state:
            return 0
        if state not in self._flow_states:
            place = len(self._flow_states)
            self._connection.execute("INSERT INTO flow_state VALUES (?, ?)", (place, state))
            self._flow_states[state] = place
        return self._flow_states[state] + 1


def create_or_open(path: Path, identity: RunIdentity) -> Store:
    """Return the store at ``path`` for writing, new or of the same study, seed and version of the file."""
    with said_plainly(path):
        connection = sqlite3.connect(path, timeout=5.0)
        try:
            # asked of SQLite, which first undoes what was half written as somebody began the file
            if not connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0]:
                write_head(connection, identity)
            else:
                check_head(path, connection)
                check_identity(path, connection, identity)
            connection.execute("PRAGMA journal_mode = WAL")
            connection.execute("PRAGMA synchronous = NORMAL")
            stint = begin_stint(connection, identity)
            return Store(path, connection, stint=stint)
        except BaseException:
            connection.close()
            raise


def open_to_read(path: Path) -> Store:
    """Return the store at ``path`` for reading, also while a sweep is writing it."""
    if not path.is_file():
        raise UserMistakes.one(str(path), "there is no such run", "Name the folder of a sweep")
    with said_plainly(path):
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
            check_head(path, connection)
            return Store(path, connection, stint=None)
        except BaseException:
            connection.close()
            raise


def _json(value: Mapping[str, object]) -> str:
    return json.dumps(value, ensure_ascii=False, allow_nan=False)
