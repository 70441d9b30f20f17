"""The coastal study as a search sees it, and its evaluations kept by design."""

import sqlite3
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from optitip.evaluate.evaluator import evaluators_of
from optitip.inputs.study import read_study
from optitip.metrics.goals import parse_goals
from optitip.metrics.registry import UNITS
from optitip.search.components import Components
from optitip.search.pareto import hypervolume, non_dominated
from optitip.search.space import Space, design_id

STUDY = Path(__file__).parents[2] / "studies" / "coastal-egg" / "study.toml"
METRICS = tuple(UNITS)
BATCH = 16


@dataclass(frozen=True, kw_only=True)
class Problem:
    """What is free and what is sought."""

    path: Path
    space: Space
    components: Components

    @property
    def options(self) -> list[int]:
        return [len(options) for options in self.space.choices.values()]

    def cost_of_feasible(self, columns):
        """Return the cost (n, m) of components (n, c), NaN where a limit is broken."""
        cost, excess = self.components.cost(columns), self.components.excess(columns)
        kept = (excess <= 0.0).all(axis=1)
        return np.where(kept[:, None], cost, np.nan)


@dataclass(frozen=True, kw_only=True)
class Told:
    """Components (n, c), which designs answered, and the CPU time of each [s]."""

    components: np.ndarray
    answered: np.ndarray
    seconds: list[float]


BEYOND = 0.1
"""Of the reference front's reach in each objective: where the volume ends behind it."""


@dataclass(frozen=True, kw_only=True)
class Reference:
    """The best that is known: where its front begins (m,), how far it reaches (m,), its scaled volume."""

    low: np.ndarray
    reach: np.ndarray
    volume: float

    def share(self, cost) -> float:
        """Return the volume of cost (n, m), NaN rows left out, over the reference's."""
        return scaled_volume(cost, low=self.low, reach=self.reach) / self.volume


def reference_of(front) -> Reference:
    """Return a front (n, m) as the reference."""
    low, reach = front.min(axis=0), np.ptp(front, axis=0)
    return Reference(low=low, reach=reach, volume=scaled_volume(front, low=low, reach=reach))


def scaled_volume(cost, *, low, reach) -> float:
    """Return the volume of cost (n, m) up to a little beyond low + reach, all scaled by reach."""
    kept = cost[np.isfinite(cost).all(axis=1)]
    if len(kept) == 0:
        return 0.0
    front = kept[non_dominated(kept)]
    return hypervolume((front - low) / reach, reference=np.full(cost.shape[1], 1.0 + BEYOND))


def coastal() -> Problem:
    """Return the coastal study as its own sweep has it."""
    tables = read_study(STUDY).tables
    goals = parse_goals(
        maximise=tables.sweep.maximise,
        minimise=tables.sweep.minimise,
        limits=tables.limits,
        units=UNITS,
    )
    space = Space(tables.sweep.free, tables.sweep.options)
    return Problem(path=STUDY, space=space, components=Components(goals))


class Judge:
    """Evaluates designs over a search's flow states, each once ever."""

    def __init__(self, problem: Problem, path: Path) -> None:
        self._problem = problem
        self._kept = sqlite3.connect(path, timeout=60.0)
        self._kept.execute("PRAGMA journal_mode = WAL")
        self._kept.execute(
            "CREATE TABLE IF NOT EXISTS kept (id TEXT PRIMARY KEY, seconds REAL, figures BLOB) WITHOUT ROWID"
        )
        self._evaluate = None

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self._kept.close()

    def evaluate(self, designs) -> Told:
        """Return what the designs came to; figures of those that were met before are read."""
        names = [design_id(one) for one in designs]
        found = {name: self._read(name) for name in names}
        missing = [(n, one) for n, one in zip(names, designs, strict=True) if found[n] is None]
        for begin in range(0, len(missing), BATCH):
            batch = dict(missing[begin : begin + BATCH])
            for name, told in zip(batch, self._fresh(list(batch.values())), strict=True):
                found[name] = told
        figures = np.array([found[name][1] for name in names]).reshape(-1, len(METRICS), 3)
        columns = self._problem.components.rows(figures, metrics=METRICS)
        whole = np.hstack([self._problem.components.cost(columns), self._problem.components.excess(columns)])
        return Told(
            components=columns,
            answered=np.isfinite(whole).all(axis=1),
            seconds=[found[name][0] for name in names],
        )

    def add(self, name: str, seconds: float, figures) -> None:
        """Keep one evaluation."""
        with self._kept:
            blob = np.asarray(figures, dtype=np.float64).tobytes()
            self._kept.execute("INSERT OR REPLACE INTO kept VALUES (?, ?, ?)", (name, seconds, blob))

    def front(self):
        """Return the cost of the front of everything kept, (n, m)."""
        front = np.zeros((0, 0))
        query = self._kept.execute("SELECT figures FROM kept ORDER BY id")
        while rows := query.fetchmany(10000):
            figures = np.array([np.frombuffer(row[0]) for row in rows]).reshape(-1, len(METRICS), 3)
            cost = self._problem.cost_of_feasible(self._problem.components.rows(figures, metrics=METRICS))
            cost = cost[np.isfinite(cost).all(axis=1)]
            both = np.vstack([front, cost]) if len(front) else cost
            front = both[non_dominated(both)]
        return front

    def _read(self, name: str):
        row = self._kept.execute("SELECT seconds, figures FROM kept WHERE id = ?", (name,)).fetchone()
        return None if row is None else (row[0], np.frombuffer(row[1]).reshape(len(METRICS), 3))

    def _fresh(self, designs):
        if self._evaluate is None:
            self._evaluate = evaluators_of(self._problem.path)[0]
        for design, one in zip(designs, self._evaluate(designs), strict=True):
            figures = np.full((len(METRICS), 3), np.nan)
            for name, value in (one.metrics or {}).items():
                figures[METRICS.index(name)] = value.low, value.expected, value.high
            self.add(design_id(design), one.seconds, figures)
            yield one.seconds, figures
