"""Designs that Gaussian processes, learnt from what was evaluated, hold for the best next ones."""

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from optitip.arrays import FloatArray, IntArray
from optitip.search.archive import Archive
from optitip.search.components import Components, Side
from optitip.search.gaussian import Process, Shape, fitted
from optitip.search.genetic import Bred, CostAndExcess, breed, ranked
from optitip.search.pareto import hypervolume, non_dominated
from optitip.search.response import features, tamed

LEARNT_FROM = 1000
SHAPED_FROM = 256
DOUBT, DOUBTED_UP_TO = 2.0, 400
"""Standard deviations that a limit has to be kept by as foretold, and from how many designs on none."""
GENERATIONS, POPULATION = 60, 150
_SHIFT = 0.1


def searched(
    archive: Archive,
    *,
    components: Components,
    options: Sequence[int],
    count: int,
    random: np.random.Generator,
) -> FloatArray:
    """Return points (n <= count, d) that would add most to the front if the processes are right."""
    judge = learnt(archive, components=components, options=options)
    best = ranked(archive.cost, violation=archive.violation(), count=POPULATION)
    fresh = random.random((POPULATION // 2, archive.points.shape[1]))
    start = np.vstack([archive.points[best.rows], fresh])
    bred = breed(
        start,
        judge=judge,
        options=options,
        generations=GENERATIONS,
        population=POPULATION,
        random=random,
    )
    spread = _spread(archive)
    return bred.points[_adding_most(bred, front=archive.cost[archive.front()] / spread, count=count)]


def learnt(archive: Archive, *, components: Components, options: Sequence[int]) -> CostAndExcess:
    """Return the processes as a judge of points: cost and excess in standard deviations, no answer beside.

    Only columns that set a cost or an excess in some design are learnt; the rest can't be told to matter.
    """
    spots = features(archive.points, options=options)
    answered = np.flatnonzero(archive.answered)
    nearest = np.argsort(archive.violation()[answered], kind="stable")[:LEARNT_FROM]
    rows = np.sort(answered[nearest])
    first = answered[:SHAPED_FROM]
    figures, setting = _setting(archive.components, answered=answered, components=components)
    processes = {
        column: Process(
            spots[rows], figures[rows, column], shape=_shape(spots[first], figures[first, column])
        )
        for column in setting
    }
    answers = None
    if not archive.answered.all():
        latest = np.arange(len(archive))[-LEARNT_FROM:]
        said = np.where(archive.answered, 1.0, -1.0)
        shape = _shape(spots[:SHAPED_FROM], said[:SHAPED_FROM])
        answers = Process(spots[latest], said[latest], shape=shape)
    spread_cost = _spread(archive)
    spread_excess = archive.excess[answered].std(axis=0) + 1e-12

    doubted = DOUBT if len(rows) <= DOUBTED_UP_TO else 0.0
    worse = {Side.LOW: -doubted, Side.EXPECTED: 0.0, Side.HIGH: doubted}

    def judge(points: FloatArray) -> tuple[FloatArray, FloatArray]:
        here = features(points, options=options)
        told = np.full((len(points), len(components.names)), np.nan)
        for column, process in processes.items():
            told[:, column] = process.at(here, deviations=worse[components.sides[column]])
        refused = np.full((len(points), 1), -1.0)
        if answers is not None:
            refused[:, 0] = -answers.at(here, deviations=-doubted)
        return (
            components.cost(told) / spread_cost,
            np.hstack([components.excess(told) / spread_excess, refused]),
        )

    return judge


def _setting(
    columns: FloatArray, *, answered: IntArray, components: Components
) -> tuple[FloatArray, list[int]]:
    """Return the columns (n, c) with their far ends pulled in, and which of them are the smallest anywhere.

    A figure far above whatever was the smallest of its group says no more than that it doesn't count.
    """
    figures, setting = columns.copy(), []
    for group in components.groups():
        known = columns[answered, group]
        filled = np.where(np.isnan(known), np.inf, known)
        smallest = filled.min(axis=1)
        low, high = smallest.min(), smallest.max()
        smallest_at = np.unique(filled.argmin(axis=1))
        setting += [group.start + int(column) for column in smallest_at]
        if group.stop - group.start > 1:
            top = high + 0.5 * (high - low)
            figures[:, group] = np.minimum(np.where(np.isnan(columns[:, group]), top, columns[:, group]), top)
    figures[answered] = tamed(figures[answered])
    return figures, setting


def _shape(points: FloatArray, values: FloatArray) -> Shape:
    """Return the likeliest shape; it is remembered, for the next batch asks the same."""
    return _remembered(points.tobytes(), values.tobytes(), points.shape)


@lru_cache(maxsize=128)
def _remembered(points: bytes, values: bytes, shape: tuple[int, int]) -> Shape:
    return fitted(np.frombuffer(points).reshape(shape), np.frombuffer(values))


def _spread(archive: Archive) -> FloatArray:
    spread: FloatArray = archive.cost[archive.answered].std(axis=0) + 1e-12
    return spread


def _adding_most(bred: Bred, *, front: FloatArray, count: int) -> IntArray:
    """Return rows of ``bred``, each the one that adds most volume to the front and those taken before it.

    The volume that a point adds only shrinks as others join, so that most needn't be reckoned again.
    """
    rows = np.flatnonzero(bred.violation <= 0.0)
    if len(rows) == 0:
        return np.argsort(bred.violation, kind="stable")[:count]
    rows = rows[non_dominated(bred.cost[rows])]
    everything = np.vstack([bred.cost[rows], front])
    best, reach = everything.min(axis=0), np.ptp(everything, axis=0) + 1e-12
    scaled, known = (bred.cost[rows] - best) / reach, (front - best) / reach
    reference = np.full(everything.shape[1], 1.0 + _SHIFT)
    volume = hypervolume(known, reference=reference)
    adds = np.array([hypervolume(np.vstack([known, one]), reference=reference) for one in scaled]) - volume
    chosen: list[int] = []
    fresh = np.ones(len(rows), dtype=np.bool_)
    while len(chosen) < count and adds.max(initial=0.0) > 1e-9:
        top = int(np.argmax(adds))
        if not fresh[top]:
            adds[top] = hypervolume(np.vstack([known, scaled[top]]), reference=reference) - volume
            fresh[top] = True
            continue
        chosen.append(top)
        known = np.vstack([known, scaled[top]])
        volume += adds[top]
        adds[top] = 0.0
        fresh[:] = False
    return rows[chosen]
