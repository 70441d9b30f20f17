"""NSGA-II: parents by rank and crowding, children by crossover and mutation, choices as categories."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from optitip.arrays import FloatArray, IntArray
from optitip.search.archive import Archive
from optitip.search.operators import changed, crossed
from optitip.search.pareto import non_dominated

PARENTS = 100
_CROSSED = 0.9

CostAndExcess: TypeAlias = Callable[[FloatArray], tuple[FloatArray, FloatArray]]
"""Points (n, d) to cost (n, m) and excess (n, k); an excess above zero breaks a limit."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ranked:
    """The best of many, as parents: their rows, front by front, and within one how far from their next.

    rows, rank (n,): 0 is the front; then come, one a rank, those that break limits. crowding (n,).
    """

    rows: IntArray
    rank: IntArray
    crowding: FloatArray


def ranked(cost: FloatArray, *, violation: FloatArray, count: int) -> Ranked:
    """Return the best ``count`` rows of cost (n, m), violation (n,), by constraint domination and crowding.

    Fronts are peeled off one by one until there are enough; of the last the most crowded are left out.

    Source: Deb, Pratap, Agarwal & Meyarivan 2002, from memory.
    """
    nothing = np.zeros(0, dtype=np.int64)
    rows, ranks, crowds = [nothing], [nothing], [np.zeros(0)]
    left, missing = np.flatnonzero(violation <= 0.0), count
    while len(left) and missing > 0:
        on_it = np.zeros(len(left), dtype=np.bool_)
        on_it[non_dominated(cost[left])] = True
        front, left = left[on_it], left[~on_it]
        apart = crowding(cost[front])
        if len(front) > missing:
            widest = np.sort(np.argsort(-apart, kind="stable")[:missing])
            front, apart = front[widest], apart[widest]
        rows.append(front)
        crowds.append(apart)
        ranks.append(np.full(len(front), len(ranks) - 1, dtype=np.int64))
        missing -= len(front)
    if missing > 0:
        broken = np.flatnonzero(violation > 0.0)
        broken = broken[np.argsort(violation[broken], kind="stable")][:missing]
        rows.append(broken)
        ranks.append(len(ranks) - 1 + np.arange(len(broken)))
        crowds.append(np.zeros(len(broken)))
    return Ranked(rows=np.concatenate(rows), rank=np.concatenate(ranks), crowding=np.concatenate(crowds))


def crowding(cost: FloatArray) -> FloatArray:
    """Return how far apart the neighbours of each row of a front (n, m) are, over all objectives.

    d_i = sum_k (f_k(next) - f_k(before)) / (max f_k - min f_k), rows sorted by f_k; inf at ends

    Source: Deb, Pratap, Agarwal & Meyarivan 2002, from memory.

    >>> crowding(np.array([[0.0, 1.0], [0.25, 0.5], [1.0, 0.0]])).tolist()
    [inf, 2.0, inf]
    """
    apart = np.zeros(len(cost))
    for column in cost.T:
        order = np.argsort(column, kind="stable")
        ordered = column[order]
        reach = ordered[-1] - ordered[0]
        gaps = np.full(len(cost), np.inf)
        gaps[1:-1] = (ordered[2:] - ordered[:-2]) / (reach if reach > 0.0 else 1.0)
        apart[order] += gaps
    return apart


def children(
    points: FloatArray, parents: Ranked, *, options: Sequence[int], count: int, random: np.random.Generator
) -> FloatArray:
    """Return ``count`` children (count, d) of parents among points (n, d), whose last columns are choices.

    Two tournaments of two choose a pair. Numbers cross and mutate as reals; of a choice a child takes one
    parent's option, or by mutation any of the ``options``, all alike.
    """
    numbers = points.shape[1] - len(options)
    pairs = (count + 1) // 2
    first, second = (points[_winners(parents, count=pairs, random=random)] for _ in range(2))
    both = np.vstack([first, second])
    mate = random.random(pairs) < _CROSSED
    if numbers:
        both[np.tile(mate, 2), :numbers] = crossed(
            first[mate, :numbers], second[mate, :numbers], random=random
        )
        both[:, :numbers] = changed(both[:, :numbers], share=1.0 / points.shape[1], random=random)
    if options:
        swapped = np.tile((random.random((pairs, len(options))) < 0.5) & mate[:, None], (2, 1))
        others = np.vstack([second, first])
        both[:, numbers:] = np.where(swapped, others[:, numbers:], both[:, numbers:])
        anew = random.random((2 * pairs, len(options))) < 1.0 / points.shape[1]
        both[:, numbers:] = np.where(anew, random.random(anew.shape), both[:, numbers:])
    return both[random.permutation(2 * pairs)[:count]]


def _winners(parents: Ranked, *, count: int, random: np.random.Generator) -> IntArray:
    one, other = random.integers(len(parents.rows), size=(2, count))
    better = parents.rank[one] < parents.rank[other]
    alike = parents.rank[one] == parents.rank[other]
    wider = parents.crowding[one] >= parents.crowding[other]
    winners: IntArray = parents.rows[np.where(better | (alike & wider), one, other)]
    return winners


def best_of(archive: Archive) -> Ranked:
    """Return the best of everything evaluated, as parents."""
    return ranked(archive.cost, violation=archive.violation(), count=PARENTS)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bred:
    """The last population: points (n, d), costs (n, m), and the sum of excesses (n,), zero when feasible."""

    points: FloatArray
    cost: FloatArray
    violation: FloatArray


def breed(
    start: FloatArray,
    *,
    judge: CostAndExcess,
    options: Sequence[int],
    generations: int,
    population: int,
    random: np.random.Generator,
) -> Bred:
    """Return the population that NSGA-II reaches from ``start`` (n, d) in the unit cube.

    Source: Deb, Pratap, Agarwal & Meyarivan 2002, from memory.
    """
    points = start
    cost, violation = _judged(points, judge)
    for _ in range(generations):
        best = ranked(cost, violation=violation, count=population)
        born = children(points, best, options=options, count=population, random=random)
        new_cost, new_violation = _judged(born, judge)
        points = np.vstack([points[best.rows], born])
        cost = np.vstack([cost[best.rows], new_cost])
        violation = np.concatenate([violation[best.rows], new_violation])
    best = ranked(cost, violation=violation, count=population)
    return Bred(points=points[best.rows], cost=cost[best.rows], violation=violation[best.rows])


def _judged(points: FloatArray, judge: CostAndExcess) -> tuple[FloatArray, FloatArray]:
    cost, excess = judge(points)
    violation: FloatArray = np.maximum(excess, 0.0).sum(axis=1)
    return cost, violation
