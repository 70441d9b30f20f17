"""What objectives and limits rest on, figure by figure: smooth where the smallest of several has kinks."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum

import numpy as np

from optitip.arrays import FloatArray
from optitip.metrics.goals import Direction, Goals, Sense
from optitip.metrics.registry import SMALLEST_OF
from optitip.metrics.values import Bracketed


class Side(Enum):
    """Which figure of a metric's bracket counts."""

    LOW = "low"
    EXPECTED = "expected"
    HIGH = "high"


_SIDES = (Side.LOW, Side.EXPECTED, Side.HIGH)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Rested:
    """A goal: factor (smallest of its columns - offset) is its cost, or its excess."""

    metric: str
    side: Side
    factor: float
    offset: float = 0.0

    @property
    def parts(self) -> tuple[str, ...]:
        """Return the metrics whose smallest it is; none when it is one by itself."""
        return SMALLEST_OF.get(self.metric, ())


class Components:
    """The columns that goals rest on: a metric's side, or the same side of all that it is the smallest of.

    The smallest over flow states and parts is the same in either order, so cost and excess come out of the
    columns exactly. A part that a design lacks, or that doesn't count in it, is NaN and bounds nothing;
    should a design's smallest be none of the known parts, it stands in a column of its own.

    >>> from optitip.metrics.goals import Limit
    >>> limit = Limit(metric="shell.mass", sense=Sense.AT_MOST, value=0.25)
    >>> components = Components(Goals(objectives=(), limits=(limit,)))
    >>> mass = Bracketed(unit="kg", low=0.5, expected=0.5, high=0.5)
    >>> components.names, components.excess(components.row({"shell.mass": mass})[None]).tolist()
    (('shell.mass high',), [[0.25]])
    """

    def __init__(self, goals: Goals) -> None:
        """Lay out the columns, each once however many goals rest on it."""
        self._objectives = [
            _Rested(
                metric=one.metric,
                side=Side.EXPECTED,
                factor=1.0 if one.direction is Direction.MINIMISE else -1.0,
            )
            for one in goals.objectives
        ]
        self._limits = [
            _Rested(
                metric=one.metric,
                side=Side.LOW if one.sense is Sense.AT_LEAST else Side.HIGH,
                factor=-1.0 if one.sense is Sense.AT_LEAST else 1.0,
                offset=one.value,
            )
            for one in goals.limits
        ]
        self._columns: dict[tuple[str, Side], slice] = {}
        names: list[str] = []
        sides: list[Side] = []
        metrics: dict[str, None] = {}
        for one in (*self._objectives, *self._limits):
            if (one.metric, one.side) not in self._columns:
                own = [f"{name} {one.side.value}" for name in (*one.parts, one.metric)]
                self._columns[one.metric, one.side] = slice(len(names), len(names) + len(own))
                names += own
                sides += [one.side] * len(own)
                metrics |= dict.fromkeys((one.metric, *one.parts))
        self.names, self.sides, self.metrics = tuple(names), tuple(sides), tuple(metrics)

    def row(self, metrics: Mapping[str, Bracketed]) -> FloatArray:
        """Return the columns of a design's metrics, (c,)."""
        figures = [[one.low, one.expected, one.high] for one in metrics.values()]
        row: FloatArray = self.rows(np.array([figures]), metrics=tuple(metrics))[0]
        return row

    def rows(self, figures: FloatArray, *, metrics: Sequence[str]) -> FloatArray:
        """Return the columns, (n, c), of figures (n, len(metrics), 3), low, expected and high, or NaN."""
        place = {name: column for column, name in enumerate(metrics)}
        rows = np.full((len(figures), len(self.names)), np.nan)
        for (metric, side), columns in self._columns.items():
            for column, name in enumerate((*SMALLEST_OF.get(metric, ()), metric), start=columns.start):
                if name in place:
                    rows[:, column] = figures[:, place[name], _SIDES.index(side)]
            whole, parts = rows[:, columns.stop - 1], rows[:, columns.start : columns.stop - 1]
            parts[~(parts >= whole[:, None])] = np.nan  # told and doesn't count in this design
            known = np.fmin.reduce(parts, axis=1, initial=np.nan) == whole
            whole[known] = np.nan
        return rows

    def cost(self, rows: FloatArray) -> FloatArray:
        """Return the objectives of rows (n, c), (n, m): less is better."""
        return self._reckoned(rows, self._objectives)

    def excess(self, rows: FloatArray) -> FloatArray:
        """Return by how much limits are broken in rows (n, c), (n, k); zero or less keeps them."""
        return self._reckoned(rows, self._limits)

    def groups(self) -> Iterator[slice]:
        """Yield the columns that are taken together, the smallest of each group counting."""
        yield from self._columns.values()

    def _reckoned(self, rows: FloatArray, goals: list[_Rested]) -> FloatArray:
        found = np.zeros((len(rows), len(goals)))
        for column, one in enumerate(goals):
            smallest = np.fmin.reduce(rows[:, self._columns[one.metric, one.side]], axis=1)
            found[:, column] = one.factor * (smallest - one.offset)
        return found
