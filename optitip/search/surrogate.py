"""Designs that Gaussian processes, learnt from what was evaluated, hold for the best next ones."""

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from optitip.arrays import FloatArray, IntArray
from optitip.search.archive import Archive
from optitip.search.components import Components
from optitip.search.gaussian import Process, Shape, fitted
from optitip.search.genetic import Bred, breed, ranked
from optitip.search.pareto import hypervolume, non_dominated
from optitip.search.response import features, tamed

LEARNT_FROM = 1000
SHAPED_FROM = 256
GENERATIONS, POPULATION = 60, 150
DOUBT, DOUBTED_UP_TO = 2.0, 400
"""By how many standard deviations a design has to be sure of an answer, and from how many on by none."""
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
    learnt = Learnt(archive, components=components, options=options)
    best = ranked(archive.cost, violation=archive.violation(), count=POPULATION)
    fresh = random.random((POPULATION // 2, archive.points.shape[1]))
    bred = breed(
        np.vstack([archive.points[best.rows], fresh]),
        judge=learnt.judge,
        options=options,
        generations=GENERATIONS,
        population=POPULATION,
        random=random,
    )
    front = archive.cost[archive.front()] / learnt.spread
    return bred.points[_adding_most(bred, front=front, count=count)]


class Learnt:
    """Processes of what an archive tells, as a judge of points.

    ``spread`` (m,) are the standard deviations of the costs.
    """

    def __init__(self, archive: Archive, *, components: Components, options: Sequence[int]) -> None:
        """Learn the columns that set a cost or an excess in some design, and which designs have an answer."""
        self._components, self._options = components, options
        spots = features(archive.points, options=options)
        self._processes = _processes(archive, spots=spots, components=components)
        self._answers = None if archive.answered.all() else _answers(archive, spots=spots)
        self.spread: FloatArray = archive.cost[archive.answered].std(axis=0) + 1e-12
        self._doubt = DOUBT if len(archive) <= DOUBTED_UP_TO else 0.0
        self._spread_excess = archive.excess[archive.answered].std(axis=0) + 1e-12

    def judge(self, points: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Return cost and excess of points in standard deviations, the last excess above 0 for no answer.

        Limits are taken as foretold: the designs that break one show where it lies. A design without an
        answer shows less, so that while little is known an answer has to be sure.
        """
        here = features(points, options=self._options)
        told = np.full((len(points), len(self._components.names)), np.nan)
        for column, process in self._processes.items():
            told[:, column] = process.at(here)
        refused = np.full((len(points), 1), -1.0)
        if self._answers is not None:
            refused[:, 0] = -self._answers.at(here, deviations=-self._doubt)
        excess = self._components.excess(told) / self._spread_excess
        return self._components.cost(told) / self.spread, np.hstack([excess, refused])


def _processes(archive: Archive, *, spots: FloatArray, components: Components) -> dict[int, Process]:
    """Return a process for each column that is the smallest of its group in some design.

    How a figure varies is learnt from the first that answered, which stay the same as a search goes on.
    """
    answered = np.flatnonzero(archive.answered)
    rows, first = _learnt_from(archive), answered[:SHAPED_FROM]
    known = archive.components[answered]
    filled = np.where(np.isnan(known), np.inf, known)
    processes = {}
    for group in components.groups():
        opening = _pulled_in(archive.components[first, group])
        figures = _pulled_in(archive.components[rows, group])
        for column in np.unique(filled[:, group].argmin(axis=1)).tolist():
            shape = _shape(spots[first], opening[:, column])
            processes[group.start + column] = Process(spots[rows], figures[:, column], shape=shape)
    return processes


def _learnt_from(archive: Archive) -> IntArray:
    """Return the rows figures are learnt from: of those that keep the limits and of the others the best.

    Both are needed, for where a limit lies only its two sides tell together.
    """
    keeping, breaking = archive.feasible, archive.answered & ~archive.feasible
    room = LEARNT_FROM - min(int(breaking.sum()), LEARNT_FROM // 3)
    violation = np.where(keeping, 0.0, 1.0)
    best = ranked(archive.cost, violation=violation, count=min(int(keeping.sum()), room)).rows
    worse = np.flatnonzero(breaking)
    order = np.argsort(archive.violation()[worse], kind="stable")
    return np.sort(np.concatenate([best, worse[order[: LEARNT_FROM - len(best)]]]))


def _answers(archive: Archive, *, spots: FloatArray) -> Process:
    """Return a process that is above zero where a design has an answer."""
    said = np.where(archive.answered, 1.0, -1.0)
    shape = _shape(spots[:SHAPED_FROM], said[:SHAPED_FROM])
    return Process(spots[-LEARNT_FROM:], said[-LEARNT_FROM:], shape=shape)


def _pulled_in(group: FloatArray) -> FloatArray:
    """Return columns (n, c), the smallest of which counts, with their far ends pulled in.

    A figure far above whatever is the smallest anywhere says no more than that it doesn't count there.
    """
    figures = group
    if group.shape[1] > 1:
        smallest = np.fmin.reduce(group, axis=1)
        top = smallest.max() + 0.5 * np.ptp(smallest)
        figures = np.fmin(group, top)
    return tamed(figures)


def _shape(points: FloatArray, values: FloatArray) -> Shape:
    """Return the likeliest shape; it is remembered, for the next batch asks the same."""
    return _remembered(points.tobytes(), values.tobytes(), points.shape)


@lru_cache(maxsize=128)
def _remembered(points: bytes, values: bytes, shape: tuple[int, int]) -> Shape:
    return fitted(np.frombuffer(points).reshape(shape), np.frombuffer(values))


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
