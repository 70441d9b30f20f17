"""Which designs to evaluate next, from all that were evaluated so far and a seed: a pure function.

First quasi-random designs; then, batch by batch, smooth surfaces are laid through the figures at hand, a
genetic search runs on the surfaces, and those of its designs that would beat the front where it is thin
are evaluated, with a share of small changes to members of the front in case the surfaces mislead.
"""

from collections.abc import Callable, Collection

import numpy as np

from optitip.arrays import FloatArray, IntArray, frozen
from optitip.search.archive import Archive
from optitip.search.bred import Bred, breed
from optitip.search.response import Kernel, Surface, features, tamed
from optitip.search.space import Space, design_id

FIRST_SHARE = 7
FIRST_LARGEST = 256
BATCH_SMALLEST, BATCH_LARGEST = 16, 64
CHANGED_SHARE = 0.1
GENERATIONS, POPULATION = 20, 100
LEARNT_FROM = 1200
_TRIES = 20


def first_count(budget: int) -> int:
    """Return how many quasi-random designs open a search: a power of two, about a seventh of the budget.

    >>> first_count(2000), first_count(500), first_count(10)
    (256, 64, 10)
    """
    wanted = max(min(budget // FIRST_SHARE, FIRST_LARGEST), 16)
    return min(1 << (wanted.bit_length() - 1), budget)


def next_count(done: int) -> int:
    """Return how many designs the next batch holds once ``done`` are evaluated.

    >>> next_count(64), next_count(1000)
    (16, 64)
    """
    return min(max(done // 4, BATCH_SMALLEST), BATCH_LARGEST)


def propose(
    archive: Archive, *, space: Space, known: Collection[str], count: int, seed: int
) -> list[dict[str, str | bool]]:
    """Return up to ``count`` designs, none of them in ``known`` (design ids); fewer when the space ends.

    The same archive and seed give the same designs; seeds have to differ from batch to batch.
    """
    random = np.random.default_rng([seed, len(archive)])
    gathered = _Gathered(space, set(known), count)
    if int(archive.answered.sum()) > 2 * (space.dimension + 1):
        wanted = int(np.ceil(count * (1.0 - CHANGED_SHARE)))
        gathered.take(_searched(archive, space=space, count=wanted, random=random))
        for _ in range(_TRIES):
            if gathered.missing:
                gathered.take(_changed(archive, space=space, count=gathered.missing, random=random))
    for _ in range(_TRIES):
        if gathered.missing:
            gathered.take(random.random((gathered.missing, space.dimension)))
    return gathered.designs


class _Gathered:
    """The batch as it grows, each design once."""

    def __init__(self, space: Space, known: set[str], count: int) -> None:
        self._space, self._known, self._count = space, known, count
        self.designs: list[dict[str, str | bool]] = []

    @property
    def missing(self) -> int:
        return self._count - len(self.designs)

    def take(self, points: FloatArray) -> None:
        for point in points:
            design = self._space.design_at(point)
            name = design_id(design)
            if self.missing and name not in self._known:
                self._known.add(name)
                self.designs.append(design)


def _searched(archive: Archive, *, space: Space, count: int, random: np.random.Generator) -> FloatArray:
    """Return points (n <= count, d) that the surfaces hold for the best additions to the front."""
    judge = _judge(archive, options=[len(options) for options in space.choices.values()])
    parents = archive.best(POPULATION)
    if len(parents) > POPULATION:
        parents = random.choice(parents, POPULATION, replace=False)
    start = np.vstack([archive.points[parents], random.random((POPULATION // 2, space.dimension))])
    bred = breed(
        start,
        judge=judge,
        generations=GENERATIONS,
        population=POPULATION,
        seed=int(random.integers(2**31)),
    )
    scaled_front = archive.cost[archive.front()] / _spread(archive)
    return bred.points[_widest(bred, front=scaled_front, count=count)]


def _spread(archive: Archive) -> FloatArray:
    spread: FloatArray = archive.cost[archive.answered].std(axis=0) + 1e-12
    return spread


def _judge(archive: Archive, *, options: list[int]) -> Callable[[FloatArray], tuple[FloatArray, FloatArray]]:
    """Return the surfaces as a judge of points: scaled cost, and scaled excess with one for no answer."""
    space = features(archive.points, options=options)
    rows = np.flatnonzero(archive.answered)
    nearest = np.argsort(archive.violation()[rows], kind="stable")[:LEARNT_FROM]
    rows = np.sort(rows[nearest])
    values = np.hstack([archive.cost[rows], archive.excess[rows]])
    spread = np.concatenate([_spread(archive), archive.excess[archive.answered].std(axis=0) + 1e-12])
    figures = Surface(space[rows], tamed(values) / spread)
    latest = np.arange(len(archive))[-LEARNT_FROM:]
    said = np.where(archive.answered[latest], 1.0, -1.0)[:, None]
    answers = None if archive.answered.all() else Surface(space[latest], said, kernel=Kernel.LINEAR)
    objectives = archive.cost.shape[1]

    def judge(points: FloatArray) -> tuple[FloatArray, FloatArray]:
        spread_out = features(points, options=options)
        told = figures.at(spread_out)
        refused = np.full((len(points), 1), -1.0) if answers is None else -answers.at(spread_out)
        return told[:, :objectives], np.hstack([told[:, objectives:], refused])

    return judge


def _widest(bred: Bred, *, front: FloatArray, count: int) -> IntArray:
    """Return rows of ``bred`` that would stand on the front, each as far as can be from it and each other."""
    open_rows = np.flatnonzero(bred.violation <= 0.0)
    if len(open_rows) == 0:
        return np.argsort(bred.violation, kind="stable")[:count]
    if len(front):
        beaten = (front[:, None, :] <= bred.cost[None, open_rows, :]).all(axis=2).any(axis=0)
        open_rows = open_rows[~beaten]
    if len(open_rows) == 0:
        return open_rows
    cost = bred.cost[open_rows]
    everything = np.vstack([cost, front])
    scale = np.ptp(everything, axis=0) + 1e-12
    distance = np.full(len(cost), np.inf)
    for member in front:
        distance = np.minimum(distance, np.linalg.norm((cost - member) / scale, axis=1))
    chosen: list[int] = []
    while len(chosen) < count and distance.max() > 1e-9:
        farthest = int(np.argmax(distance))
        chosen.append(farthest)
        distance = np.minimum(distance, np.linalg.norm((cost - cost[farthest]) / scale, axis=1))
    return open_rows[chosen]


def _changed(archive: Archive, *, space: Space, count: int, random: np.random.Generator) -> FloatArray:
    """Return points (count, d): members of the front, or the next best, each with a few small changes."""
    front = archive.front()
    pool = front if len(front) > 5 else archive.best(40)
    points = archive.points[random.choice(pool, count)]
    numbers = len(space.numbers)
    step = 10.0 ** random.uniform(-2.3, -0.7, (count, 1)) * random.standard_normal((count, numbers))
    moved = np.where(random.random((count, numbers)) < 0.5, step, 0.0)
    changed = frozen(points).copy()
    changed[:, :numbers] = np.clip(points[:, :numbers] + moved, 0.0, 1.0)
    switched = random.random((count, len(space.choices))) < 0.1
    others = random.random((count, len(space.choices)))
    changed[:, numbers:] = np.where(switched, others, points[:, numbers:])
    return changed
