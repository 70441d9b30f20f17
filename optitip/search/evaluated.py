"""Evaluations as arrays, all of a run: what the search, the front and their readers work on."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from optitip.arrays import BoolArray, FloatArray, IntArray
from optitip.errors import Outcome
from optitip.metrics.values import Bracketed, Evaluation
from optitip.search.executors.face import States

Codes: TypeAlias = NDArray[np.uint8]
Names: TypeAlias = NDArray[np.str_]
LOW, EXPECTED, HIGH = 0, 1, 2
_STATES, _OUTCOMES = tuple(States), tuple(Outcome)
_SIDES = 3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Evaluated:
    """Evaluations in the order of their numbers, a row each.

    numbers, design_ids (n,); states, outcomes (n,): places in ``States`` and ``Outcome``; seconds (n,): CPU
    time [s]; figures (n, m, 3): low, expected and high of each of ``metrics`` in its SI unit, NaN without;
    points (n, d): the designs in the unit cube, d = 0 where nobody asked for them.
    """

    numbers: IntArray
    design_ids: Names
    states: Codes
    outcomes: Codes
    seconds: FloatArray
    metrics: tuple[str, ...]
    figures: FloatArray
    points: FloatArray

    def __len__(self) -> int:
        """Return how many evaluations there are."""
        return len(self.numbers)

    @classmethod
    def of_none(cls, metrics: Sequence[str], *, dimension: int = 0) -> "Evaluated":
        """Return no evaluations, of these metrics and a space of this dimension."""
        return cls(
            numbers=np.zeros(0, dtype=np.int64),
            design_ids=np.zeros(0, dtype="<U12"),
            states=np.zeros(0, dtype=np.uint8),
            outcomes=np.zeros(0, dtype=np.uint8),
            seconds=np.zeros(0),
            metrics=tuple(metrics),
            figures=np.zeros((0, len(metrics), _SIDES)),
            points=np.zeros((0, dimension)),
        )

    @classmethod
    def of_one(
        cls,
        evaluation: Evaluation,
        *,
        number: int,
        design_id: str,
        states: States,
        metrics: Sequence[str],
        point: FloatArray,
    ) -> "Evaluated":
        """Return one evaluation as a row; ``point`` (d,) is its design in the unit cube."""
        figures = [_figures((evaluation.metrics or {}).get(name)) for name in metrics]
        return cls(
            numbers=np.array([number]),
            design_ids=np.array([design_id]),
            states=np.array([_STATES.index(states)], dtype=np.uint8),
            outcomes=np.array([_OUTCOMES.index(evaluation.outcome)], dtype=np.uint8),
            seconds=np.array([evaluation.seconds]),
            metrics=tuple(metrics),
            figures=np.array(figures).reshape(1, len(metrics), _SIDES),
            points=point[None, :],
        )

    def rows(self, which: IntArray | BoolArray) -> "Evaluated":
        """Return some of the rows."""
        return Evaluated(
            numbers=self.numbers[which],
            design_ids=self.design_ids[which],
            states=self.states[which],
            outcomes=self.outcomes[which],
            seconds=self.seconds[which],
            metrics=self.metrics,
            figures=self.figures[which],
            points=self.points[which],
        )

    def at(self, points: FloatArray) -> "Evaluated":
        """Return the same rows with their designs' points (n, d)."""
        return replace(self, points=points)

    def of_states(self, states: States) -> BoolArray:
        """Return which rows ran these flow states, (n,)."""
        found: BoolArray = self.states == _STATES.index(states)
        return found

    def with_outcome(self, outcome: Outcome) -> BoolArray:
        """Return which rows have this outcome, (n,)."""
        found: BoolArray = self.outcomes == _OUTCOMES.index(outcome)
        return found

    def values(self, metric: str, side: int = EXPECTED) -> FloatArray:
        """Return the low, expected or high figures of a metric [its SI unit], (n,)."""
        column: FloatArray = self.figures[:, self.metrics.index(metric), side]
        return column


def joined(parts: Sequence[Evaluated]) -> Evaluated:
    """Return the rows of all parts, which have the same metrics, in the order of their numbers."""
    numbers = np.concatenate([part.numbers for part in parts])
    order = np.argsort(numbers, kind="stable")
    return Evaluated(
        numbers=numbers[order],
        design_ids=np.concatenate([part.design_ids for part in parts])[order],
        states=np.concatenate([part.states for part in parts])[order],
        outcomes=np.concatenate([part.outcomes for part in parts])[order],
        seconds=np.concatenate([part.seconds for part in parts])[order],
        metrics=parts[0].metrics,
        figures=np.concatenate([part.figures for part in parts])[order],
        points=np.concatenate([part.points for part in parts])[order],
    )


def _figures(value: Bracketed | None) -> list[float]:
    return [np.nan] * _SIDES if value is None else [value.low, value.expected, value.high]
