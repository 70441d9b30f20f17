"""What the evaluation of one design hands on: its outcome and its metrics with their brackets."""

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeAlias

from optitip.errors import Outcome

Design: TypeAlias = Mapping[str, str | bool]
"""One value for each free key of a study, exactly as it would be written in the study file."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bracketed:
    """A metric in its SI unit: lowest, expected and highest over the flow states, and which give the sides.

    The states are empty where all states give the same.

    >>> Bracketed(unit="J", low=1.0, expected=2.0, high=3.0).expected
    2.0
    """

    unit: str
    low: float
    expected: float
    high: float
    low_state: str = ""
    high_state: str = ""

    def __post_init__(self) -> None:
        """Refuse what is no bracket: a number that isn't finite, or an order that isn't one."""
        if not all(math.isfinite(value) for value in (self.low, self.expected, self.high)):
            raise ValueError(f"a metric must be finite, got {self}")
        if not self.low <= self.expected <= self.high:
            raise ValueError(f"a bracket goes from low over expected to high, got {self}")


def sides_text(values: Iterable[Bracketed]) -> str:
    """Return which flow states give low and high of one metric, in one design or in several; "" if none does.

    >>> energy = {"unit": "J", "low": 1.0, "expected": 2.0, "high": 3.0}
    >>> sides_text([Bracketed(**energy, low_state="laminar", high_state="turbulent")])
    'low from laminar, high from turbulent'
    """
    named = [(one.low_state, one.high_state) for one in values if one.low_state]
    if not named:
        return ""
    low, high = (" or ".join(dict.fromkeys(side)) for side in zip(*named, strict=True))
    return f"low from {low}, high from {high}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Evaluation:
    """What became of one design; ``metrics`` is None when it has no answer, ``detail`` says why."""

    outcome: Outcome
    detail: str = ""
    metrics: Mapping[str, Bracketed] | None = None
    seconds: float = 0.0

    def __post_init__(self) -> None:
        """Refuse metrics without an answer and an answer without metrics."""
        if (self.outcome is Outcome.ANSWERED) != (self.metrics is not None):
            raise ValueError(f"{self.outcome.name} and metrics {self.metrics} contradict each other")


Evaluate: TypeAlias = Callable[[Sequence[Design]], Sequence[Evaluation]]
"""Designs in, their evaluations out, each as if it were alone; whatever it raises is a bug."""
