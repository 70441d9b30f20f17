"""Which designs to evaluate next, from all that were evaluated so far and a seed: a pure function.

First quasi-random designs; then, batch by batch, either the children of the best so far, or what processes
learnt from the figures hold for the best additions to the front, with a share of such children in case
the processes mislead.
"""

from collections.abc import Collection

import numpy as np

from optitip.arrays import FloatArray
from optitip.search import genetic, surrogate
from optitip.search.archive import Archive
from optitip.search.components import Components
from optitip.search.lead import LED_UP_TO, Lead
from optitip.search.space import Space, design_id

FIRST = 128
BRED_SMALLEST, BRED_LARGEST = 100, 400
LED_SMALLEST, LED_LARGEST = 16, 250
BRED_SHARE = 0.1
_TRIES = 20


def first_count(budget: int) -> int:
    """Return how many quasi-random designs open a search: 128, or a power of two in a small budget.

    >>> first_count(2000), first_count(200), first_count(10)
    (128, 64, 10)
    """
    wanted = max(min(budget // 3, FIRST), 16)
    return min(1 << (wanted.bit_length() - 1), budget)


def next_count(done: int, *, lead: Lead) -> int:
    """Return how many designs the next batch holds once ``done`` are evaluated.

    >>> next_count(128, lead=Lead.SURROGATE), next_count(1000, lead=Lead.SURROGATE)
    (32, 250)
    >>> next_count(128, lead=Lead.GENETIC), next_count(40_000, lead=Lead.GENETIC)
    (100, 400)
    """
    if lead is Lead.GENETIC or done >= LED_UP_TO:
        return min(max(done // 20, BRED_SMALLEST), BRED_LARGEST)
    return min(max(done // 4, LED_SMALLEST), LED_LARGEST)


def propose(
    archive: Archive,
    *,
    space: Space,
    components: Components,
    known: Collection[str],
    count: int,
    seed: int,
    lead: Lead,
) -> list[dict[str, str | bool]]:
    """Return up to ``count`` designs, none of them in ``known`` (design ids); fewer when the space ends.

    The same archive and seed give the same designs; an archive that has grown gives others.
    """
    random = np.random.default_rng([seed, len(archive)])
    options = [len(options) for options in space.choices.values()]
    gathered = _Gathered(space, known, count)
    enough = int(archive.answered.sum()) > 2 * (space.dimension + 1)
    if lead is Lead.SURROGATE and enough and len(archive) < LED_UP_TO:
        wanted = int(np.ceil(count * (1.0 - BRED_SHARE)))
        gathered.take(
            surrogate.searched(archive, components=components, options=options, count=wanted, random=random)
        )
    if enough and gathered.missing:
        best = genetic.best_of(archive)
        for _ in range(_TRIES):
            if gathered.missing:
                born = genetic.children(
                    archive.points, best, options=options, count=gathered.missing, random=random
                )
                gathered.take(born)
    for _ in range(_TRIES):
        if gathered.missing:
            gathered.take(random.random((gathered.missing, space.dimension)))
    return gathered.designs


class _Gathered:
    """The batch as it grows, each design once."""

    def __init__(self, space: Space, known: Collection[str], count: int) -> None:
        self._space, self._known, self._count = space, known, count
        self._new: set[str] = set()
        self.designs: list[dict[str, str | bool]] = []

    @property
    def missing(self) -> int:
        return self._count - len(self.designs)

    def take(self, points: FloatArray) -> None:
        for point in points:
            design = self._space.design_at(point)
            name = design_id(design)
            if self.missing and name not in self._known and name not in self._new:
                self._new.add(name)
                self.designs.append(design)
