"""Whether a design still holds when its lengths come out a little off, as lathes make them.

Each free length is moved alone to both sides, then all together to both sides; from these the corner that is
worst for each objective and each limit is foretold as if all were linear, and run as well.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from optitip.arrays import FloatArray
from optitip.errors import Outcome, UserMistakes
from optitip.metrics.goals import Goals, Sense
from optitip.metrics.values import Bracketed, Design, Evaluation
from optitip.search.executors.face import States, Task
from optitip.search.space import FreeNumber, Space
from optitip.units import UnitError, quantity, scale, split_quantity

Steps = tuple[int, ...]
"""Where a neighbour lies: each free length one step down (-1), up (1) or left alone (0)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Neighbour:
    """A design a step away: how it lies to the one in the middle, and what became of it."""

    steps: Steps
    evaluation: Evaluation


@dataclass(frozen=True, slots=True, kw_only=True)
class Neighbourhood:
    """A design and its neighbours, all run in every flow state; ``lengths`` are the keys that are moved."""

    design: Design
    lengths: tuple[str, ...]
    centre: Evaluation
    neighbours: tuple[Neighbour, ...]

    def broken(self, goals: Goals) -> tuple[Neighbour, ...]:
        """Return the neighbours that can't exist or break a limit in their worst flow state."""
        return tuple(one for one in self.neighbours if not _holds(one.evaluation, goals))

    def holds(self, goals: Goals) -> bool:
        """Return whether the design and all its neighbours keep every limit."""
        return _holds(self.centre, goals) and not self.broken(goals)

    def lost(self, goals: Goals, reach: FloatArray) -> FloatArray:
        """Return how much the worst neighbour loses of each objective, (m,), in parts of ``reach`` (m,).

        Neighbours that have no figures are left out here: they are among ``broken``. 0 loses nothing.
        """
        here = _costs(self.centre, goals)
        there = np.array([_costs(one.evaluation, goals) for one in self._answered(goals)])
        if len(there) == 0:
            return np.zeros(len(here))
        lost: FloatArray = np.maximum((there - here).max(axis=0), 0.0) / np.where(reach > 0.0, reach, 1.0)
        return lost

    def worst_objective(self, metric: str, goals: Goals) -> float:
        """Return an objective as expected [its SI unit] where it is worst, the design itself among them."""
        objective = next(one for one in goals.objectives if one.metric == metric)
        return max(self._values(metric, goals), key=objective.cost).expected

    def worst_limit(self, metric: str, goals: Goals) -> tuple[float, float]:
        """Return a limit's metric [its SI unit] in its worst flow state: worst of all, and of the design."""
        limit = next(one for one in goals.limits if one.metric == metric)
        values = self._values(metric, goals)
        worst = max(values, key=limit.excess), values[0]
        there, here = (one.low if limit.sense is Sense.AT_LEAST else one.high for one in worst)
        return there, here

    def _values(self, metric: str, goals: Goals) -> list[Bracketed]:
        """Return a metric of the design, then of its neighbours that have figures."""
        evaluations = [self.centre, *(one.evaluation for one in self._answered(goals))]
        return [(one.metrics or {})[metric] for one in evaluations]

    def _answered(self, goals: Goals) -> Iterator[Neighbour]:
        return (one for one in self.neighbours if _has_figures(one.evaluation, goals))


def tolerance(text: str) -> float:
    """Return a length [m] that people give, or raise a mistake.

    >>> round(tolerance("0.05 mm"), 9)
    5e-05
    """
    try:
        value = quantity(text, "m")
    except UnitError as error:
        raise UserMistakes.one("--within", error.problem, error.remedy) from None
    if not value > 0.0:
        raise UserMistakes.one("--within", f"'{text}' moves nothing", "Give a length above 0")
    return value


def free_lengths(space: Space) -> tuple[FreeNumber, ...]:
    """Return the free numbers of a space that are lengths: what a lathe makes; choices are none."""
    return tuple(number for number in space.numbers if _metres(number.unit) is not None)


def neighbourhoods(
    designs: Sequence[Design],
    *,
    space: Space,
    goals: Goals,
    within: float,
    evaluate: Callable[[Sequence[Task]], Sequence[Evaluation]],
) -> list[Neighbourhood]:
    """Return each design with its neighbours, every length moved by ``within`` [m].

    ``evaluate`` is called twice, with what can run side by side. A length may leave its free range.
    """
    lengths = free_lengths(space)
    first = [(0,) * len(lengths), *_first_steps(len(lengths))]
    pairs = [(design, steps) for design in designs for steps in first]
    answers = evaluate([_task(design, steps, lengths, within) for design, steps in pairs])
    known: list[dict[Steps, Evaluation]] = [{} for _ in designs]
    for place, ((_, steps), answer) in enumerate(zip(pairs, answers, strict=True)):
        known[place // len(first)][steps] = answer
    corners = [(place, steps) for place, found in enumerate(known) for steps in _worst_corners(found, goals)]
    answers = evaluate([_task(designs[place], steps, lengths, within) for place, steps in corners])
    for (place, steps), answer in zip(corners, answers, strict=True):
        known[place][steps] = answer
    return [
        Neighbourhood(
            design=design,
            lengths=tuple(number.key for number in lengths),
            centre=found[first[0]],
            neighbours=tuple(
                Neighbour(steps=steps, evaluation=answer) for steps, answer in found.items() if any(steps)
            ),
        )
        for design, found in zip(designs, known, strict=True)
    ]


def ranked(found: Sequence[Neighbourhood], goals: Goals, reach: FloatArray) -> list[int]:
    """Return places: those that hold first, then fewer broken neighbours, then the least that is lost."""

    def key(place: int) -> tuple[bool, int, float]:
        one = found[place]
        if not _has_figures(one.centre, goals):
            return True, len(one.neighbours), np.inf
        return not one.holds(goals), len(one.broken(goals)), float(one.lost(goals, reach).max())

    return sorted(range(len(found)), key=key)


def steps_text(steps: Steps, lengths: Sequence[str], within: str) -> str:
    """Return how a neighbour lies, in words.

    >>> steps_text((0, -1), ("tip.plug.length", "tip.band.thickness"), "0.05 mm")
    'tip.band.thickness 0.05 mm less'
    >>> steps_text((1, 1), ("tip.plug.length", "tip.band.thickness"), "0.05 mm")
    'every length 0.05 mm more'
    """
    said = {1: f"{within} more", -1: f"{within} less"}
    if len(set(steps)) == 1 and len(steps) > 1:
        return f"every length {said[steps[0]]}"
    parts = []
    for step, word in said.items():
        keys = [key for key, one in zip(lengths, steps, strict=True) if one == step]
        if keys:
            parts.append(f"{', '.join(keys)} {word}")
    return "; ".join(parts)


def _first_steps(count: int) -> list[Steps]:
    """Return each length alone to both sides, and all together; with one length these are the same."""
    alone = [
        tuple(side if place == moved else 0 for place in range(count))
        for moved in range(count)
        for side in (-1, 1)
    ]
    return list(dict.fromkeys([*alone, (-1,) * count, (1,) * count])) if count else []


def _worst_corners(known: Mapping[Steps, Evaluation], goals: Goals) -> list[Steps]:
    """Return the corners that would be worst for each goal were it linear, but for those known already.

    A side without an answer is taken for the worse one; a length that moves nothing stays.
    """
    count = len(next(iter(known)))
    sides = {}
    for side in (-1, 1):
        alone = [tuple(side if place == moved else 0 for place in range(count)) for moved in range(count)]
        sides[side] = np.array([_badness(known[steps], goals) for steps in alone])
    if count == 0:
        return []
    with np.errstate(invalid="ignore"):
        slopes = np.nan_to_num(np.sign(sides[1] - sides[-1]), nan=0.0).astype(int)
    corners = [tuple(column.tolist()) for column in slopes.T]
    return [steps for steps in dict.fromkeys(corners) if any(steps) and steps not in known]


def _badness(evaluation: Evaluation, goals: Goals) -> FloatArray:
    """Return cost and excess of each goal, more is worse; infinite where there is no answer."""
    if not _has_figures(evaluation, goals):
        return np.full(len(goals.objectives) + len(goals.limits), np.inf)
    metrics = evaluation.metrics or {}
    excess = [limit.excess(metrics[limit.metric]) for limit in goals.limits]
    return np.array([*_costs(evaluation, goals), *excess])


def _costs(evaluation: Evaluation, goals: Goals) -> FloatArray:
    metrics = evaluation.metrics or {}
    return np.array([one.cost(metrics[one.metric]) for one in goals.objectives])


def _has_figures(evaluation: Evaluation, goals: Goals) -> bool:
    metrics = evaluation.metrics
    return metrics is not None and all(name in metrics for name in goals.metrics)


def _holds(evaluation: Evaluation, goals: Goals) -> bool:
    if evaluation.outcome is not Outcome.ANSWERED or not _has_figures(evaluation, goals):
        return False
    return all(limit.kept((evaluation.metrics or {})[limit.metric]) for limit in goals.limits)


def _task(design: Design, steps: Steps, lengths: Sequence[FreeNumber], within: float) -> Task:
    moved = dict(design)
    for number, step in zip(lengths, steps, strict=True):
        metres = _metres(number.unit)
        if step and metres:
            value, unit = split_quantity(str(design[number.key]))
            own = value * scale(unit, number.unit)[1] if unit != number.unit else value
            moved[number.key] = f"{own + step * within / metres:.9g} {number.unit}"
    return Task(design=moved, states=States.ALL)


def _metres(unit: str) -> float | None:
    """Return the metres of one unit of a length, None for any other unit."""
    try:
        return scale(unit, "m")[1]
    except UnitError:
        return None
