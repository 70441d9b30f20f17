"""The numerical error of an answer: the same design on finer grids, with tighter steps, under finer heating.

Each part is measured apart. Of a row of values on grids ever finer, the error is the first one's difference to
the value they tend to, extrapolated with the order that is observed (Richardson). Where the row doesn't settle,
the largest difference in it is the error, and is said to be one that didn't converge.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from functools import partial

from optitip.evaluate.assess import assess_refined
from optitip.evaluate.assessment import Assessment
from optitip.inputs.study import Study

TIGHTER = 8.0
"""The tolerance on a step is divided by this: the third order makes its error an eighth"""
SLOWEST, FASTEST = 0.8, 4.0
"""Orders that a row on grids ever finer may show and count as settling; the elements' own is two"""


class Part(Enum):
    """Where an error comes from."""

    GRID = "grid"
    STEPS = "steps"
    HEATING = "heating table"


@dataclass(frozen=True, slots=True, kw_only=True)
class MetricError:
    """The error of a metric's value, in its SI unit: in all, and of each part; of the worst flow state.

    order: observed from the grids, None where they don't settle or the values don't move.
    """

    total: float
    parts: Mapping[Part, float]
    order: float | None
    converged: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Refined:
    """The errors of all metrics, and how fine the finest grid was."""

    errors: Mapping[str, MetricError]
    finest: int


def refine(
    study: Study, *, base: Assessment, finest: int, report: Callable[[str, int, int], None] = lambda *_: None
) -> Refined:
    """Return the error of each metric of an answered assessment of the study's own design.

    finest: 2 or 4, how often the cells of the finest grid are cut. report: is told what is run, its number
    and of how many. Of the grids it runs that of 1.5 or 2, and ``finest``.
    """
    factors = (1.5, 2.0) if finest == 2 else (2.0, 4.0)
    runs: list[tuple[str, Callable[[], Assessment]]] = [
        (f"cells cut in {factor:g}", partial(assess_refined, study, grid=factor)) for factor in factors
    ]
    runs.append(("tighter steps", partial(assess_refined, study, tolerance=1.0 / TIGHTER)))
    runs.append(("finer heating table", partial(assess_refined, study, heating=2)))
    answers = []
    for number, (said, run) in enumerate(runs, start=1):
        report(said, number, len(runs))
        answers.append(run())
    grids, steps, heating = [base, *answers[:2]], answers[2], answers[3]
    errors = {
        name: _worst(
            [
                _error(
                    [one.states[state].metrics[name] for one in grids],
                    cuts=(1.0, *factors),
                    steps=steps.states[state].metrics[name],
                    heating=heating.states[state].metrics[name],
                )
                for state in base.states
                if all(_has(one, state, name) for one in (*grids, steps, heating))
            ]
        )
        for name in base.metrics
    }
    return Refined(errors={name: one for name, one in errors.items() if one is not None}, finest=finest)


def _has(assessment: Assessment, state: str, name: str) -> bool:
    return state in assessment.states and name in assessment.states[state].metrics


def _worst(errors: Sequence[MetricError]) -> MetricError | None:
    return max(errors, key=lambda one: (not one.converged, one.total), default=None)


def _error(values: Sequence[float], *, cuts: Sequence[float], steps: float, heating: float) -> MetricError:
    grid, order, converged = settled(values, cuts=cuts)
    # steps of a third of the error of third order leave an eighth of it
    parts = {
        Part.GRID: grid,
        Part.STEPS: abs(values[0] - steps) * TIGHTER / (TIGHTER - 1.0),
        Part.HEATING: abs(values[0] - heating) * 4.0 / 3.0,
    }
    return MetricError(total=sum(parts.values()), parts=parts, order=order, converged=converged)


def settled(values: Sequence[float], *, cuts: Sequence[float]) -> tuple[float, float | None, bool]:
    """Return the first value's error, the order it falls with, and whether the row settles.

    v_i = v + C cuts_i^-p through three values; where no p of ``SLOWEST`` to ``FASTEST`` fits, as where the row
    turns, the error is the largest difference in it.

    values: three, on grids whose cells are cut in ``cuts``, rising from 1. Valid where the grids are fine
    enough for one power to rule. Source: Richardson's extrapolation, common practice.

    >>> settled([1.16, 1.04, 1.01], cuts=(1.0, 2.0, 4.0))
    (0.16, 2.0, True)
    """
    first, second = values[0] - values[1], values[1] - values[2]
    largest = max(values) - min(values)
    if largest <= 1e-9 * max(abs(value) for value in values):
        return largest, None, True
    wanted = first / second if second != 0.0 else float("inf")
    low, high = SLOWEST, FASTEST
    if not _ratio(low, cuts) <= wanted <= _ratio(high, cuts):
        # the differences fall faster than any order that is sought: what is left is less than the last one
        return largest, None, wanted > _ratio(high, cuts) or wanted < -_ratio(low, cuts)
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if _ratio(middle, cuts) < wanted else (low, middle)
    order = round(low, 9)
    return round(abs(first) / (1.0 - cuts[1] ** -order), 12), order, True


def _ratio(order: float, cuts: Sequence[float]) -> float:
    """Return how the two differences of a row compare at an order; it grows with the order."""
    a, b, c = (cut**-order for cut in cuts)
    return (a - b) / (b - c)
