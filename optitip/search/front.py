"""The front: of all evaluations that keep the limits, those that no other beats in every objective."""

from dataclasses import dataclass

import numpy as np

from optitip.arrays import BoolArray, FloatArray, IntArray
from optitip.errors import Outcome
from optitip.metrics.goals import Goals
from optitip.search.archive import Archive
from optitip.search.components import Components, Side
from optitip.search.evaluated import Evaluated
from optitip.search.executors.face import States
from optitip.search.pareto import hypervolume, non_dominated
from optitip.search.records import Record
from optitip.search.response import features
from optitip.search.space import Space

APART = 0.025
"""Of the front's range in some objective: members closer to each other than that say the same to a person."""
_AT_ONCE = 4096  # designs weighed at once: a long run's, with all of a front's, would fill the memory


def has_figures(record: Record, goals: Goals) -> bool:
    """Return whether the evaluation gave every metric the goals speak of."""
    metrics = record.evaluation.metrics
    return metrics is not None and all(name in metrics for name in goals.metrics)


def costs(record: Record, goals: Goals) -> FloatArray:
    """Return the objectives of a record that has figures, (m,): less is better."""
    metrics = record.evaluation.metrics or {}
    return np.array([objective.cost(metrics[objective.metric]) for objective in goals.objectives])


def excesses(record: Record, goals: Goals) -> FloatArray:
    """Return by how much the worst flow state breaks each limit, (k,); zero or less keeps it."""
    metrics = record.evaluation.metrics or {}
    return np.array([limit.excess(metrics[limit.metric]) for limit in goals.limits])


def keeps_limits(record: Record, goals: Goals) -> bool:
    """Return whether a record has figures and its worst flow state keeps every limit."""
    return has_figures(record, goals) and bool((excesses(record, goals) <= 0.0).all())


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Judged:
    """One row a design: its row of the evaluations (n,), whether it has figures, and what these say.

    components (n, c) as in ``Components``; cost (n, m), less is better; excess (n, k), above zero breaks a
    limit. The rows of designs without figures hold NaN.
    """

    rows: IntArray
    answered: BoolArray
    components: FloatArray
    cost: FloatArray
    excess: FloatArray

    @property
    def keeping(self) -> BoolArray:
        """Return which designs have figures and keep every limit, (n,)."""
        kept: BoolArray = self.answered & (self.excess <= 0.0).all(axis=1)
        return kept

    def best(self) -> IntArray:
        """Return the places of those no other beats, best in the first objective first, then by number."""
        able = np.flatnonzero(self.keeping)
        on_front = able[non_dominated(self.cost[able])]
        return on_front[np.lexsort((self.rows[on_front], self.cost[on_front, 0]))]


def latest(evaluated: Evaluated) -> IntArray:
    """Return a row for each design, in the order they were asked for: over all flow states where it was run.

    What a finer grid said of a design stays apart: others, not run there, would be compared with it.
    """
    rows = np.flatnonzero(~evaluated.of_states(States.FINER))
    _, first, design = np.unique(evaluated.design_ids[rows], return_index=True, return_inverse=True)
    chosen = rows[first]
    every = np.flatnonzero(evaluated.of_states(States.ALL)[rows])
    chosen[design[every]] = rows[every]
    return chosen[np.argsort(first, kind="stable")]


def judged(evaluated: Evaluated, components: Components) -> Judged:
    """Return what the evaluations say of each design; one run over all flow states counts with those figures.

    Objectives take the expected value, limits the worst flow state.
    """
    rows = latest(evaluated)
    columns = components.rows(evaluated.figures[rows], metrics=evaluated.metrics)
    cost, excess = components.cost(columns), components.excess(columns)
    answered = evaluated.with_outcome(Outcome.ANSWERED)[rows]
    answered &= np.isfinite(cost).all(axis=1) & np.isfinite(excess).all(axis=1)
    return Judged(rows=rows, answered=answered, components=columns, cost=cost, excess=excess)


def front_rows(evaluated: Evaluated, components: Components) -> IntArray:
    """Return the rows no other design beats, best in the first objective at the head, ties by number."""
    found = judged(evaluated, components)
    return found.rows[found.best()]


def spread(cost: FloatArray, *, first: BoolArray) -> IntArray:
    """Return rows of a front (n, m) that stand ``APART`` of its range from each other in some objective.

    The best of each objective are taken first, then those of ``first`` (n,), then the rest in their order, so
    that every member of the front lies within ``APART`` of one that is returned.
    """
    if len(cost) == 0:
        return np.zeros(0, dtype=np.int64)
    reach = np.ptp(cost, axis=0)
    scaled = (cost - cost.min(axis=0)) / np.where(reach > 0.0, reach, 1.0)
    kept: list[int] = []
    rank = np.where(first, 1, 2)
    rank[scaled.argmin(axis=0)] = 0
    for row in np.argsort(rank, kind="stable").tolist():
        if not kept or np.abs(scaled[kept] - scaled[row]).max(axis=1).min() > APART:
            kept.append(row)
    return np.array(sorted(kept), dtype=np.int64)


def archive_of(evaluated: Evaluated, *, components: Components, space: Space) -> Archive:
    """Return the designs of evaluations that have points, for the choice of the next ones, a row each.

    A design that was run over all flow states stands with those figures. The limits of the others are
    drawn in by what all states took from designs like them, so that the search aims at what will last.
    """
    found = judged(evaluated, components)
    columns = found.components.copy()
    searched = found.answered & evaluated.of_states(States.SEARCH)[found.rows]
    rows = found.rows[searched]
    columns[searched] += _taken_by_all_states(rows, evaluated=evaluated, components=components, space=space)
    answered = found.answered[:, None]
    return Archive(
        points=evaluated.points[found.rows],
        cost=np.where(answered, components.cost(columns), 0.0),
        excess=np.where(answered, components.excess(columns), 0.0),
        components=columns,
        answered=found.answered,
    )


def _taken_by_all_states(
    rows: IntArray, *, evaluated: Evaluated, components: Components, space: Space
) -> FloatArray:
    """Return how far all flow states would move the components of some rows toward their limits, (n, c).

    It is the mean over the designs run both ways, each weighted with 1 / distance^2.

    Source: Shepard 1968, inverse distance weighting, from memory.
    """
    few, every = _run_both_ways(evaluated)
    if len(few) == 0:
        return np.zeros((len(rows), len(components.names)))
    before, after = (
        components.rows(evaluated.figures[these], metrics=evaluated.metrics) for these in (few, every)
    )
    gaps = np.nan_to_num(after - before)
    options = [len(options) for options in space.choices.values()]
    here, known = (features(evaluated.points[these], options=options) for these in (rows, few))
    blocks = range(0, len(here), _AT_ONCE)
    parts = [_nearby_mean(here[start : start + _AT_ONCE], known, values=gaps) for start in blocks]
    taken: FloatArray = np.concatenate([np.zeros((0, gaps.shape[1])), *parts])
    worse = {Side.LOW: (-np.inf, 0.0), Side.EXPECTED: (0.0, 0.0), Side.HIGH: (0.0, np.inf)}
    bounds = np.array([worse[side] for side in components.sides])
    return np.clip(taken, bounds[:, 0], bounds[:, 1])


def _nearby_mean(here: FloatArray, known: FloatArray, *, values: FloatArray) -> FloatArray:
    """Return the mean (n, c) of values (k, c) at ``known`` (k, d), as it weighs at ``here`` (n, d)."""
    apart = (here**2).sum(axis=1)[:, None] + (known**2).sum(axis=1)[None, :] - 2.0 * here @ known.T
    weight = 1.0 / (np.maximum(apart, 0.0) + 1e-9)
    mean: FloatArray = weight @ values / weight.sum(axis=1)[:, None]
    return mean


def _run_both_ways(evaluated: Evaluated) -> tuple[IntArray, IntArray]:
    """Return the rows of answered designs over a search's flow states, and those of the same over all."""
    answered = evaluated.with_outcome(Outcome.ANSWERED)
    few, every = (
        np.flatnonzero(answered & evaluated.of_states(states)) for states in (States.SEARCH, States.ALL)
    )
    _, here, there = np.intersect1d(
        evaluated.design_ids[few], evaluated.design_ids[every], assume_unique=True, return_indices=True
    )
    return few[here], every[there]


def covered(archive: Archive, *, opening: int) -> float:
    """Return the share of the box of objectives that the front dominates, for showing progress.

    The box spans what the first ``opening`` designs reached, so the figure only grows as a search goes on
    and may pass one.
    """
    first = archive.cost[:opening][archive.answered[:opening]]
    if len(first) == 0:
        return 0.0
    worst, span = first.max(axis=0), np.ptp(first, axis=0) + 1e-12
    scaled = (archive.cost[archive.front()] - worst) / span
    return hypervolume(scaled, reference=np.zeros(len(worst)))
