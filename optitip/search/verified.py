"""The front once more on a finer grid: how far its figures move, and whose rank does not hold."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import Enum

import numpy as np

from optitip.metrics.goals import Goals
from optitip.search.front import costs, has_figures, keeps_limits
from optitip.search.pareto import non_dominated
from optitip.search.records import Record

SHARE, FEWEST = 0.6, 12
"""Members run on the finer grid at most, of all designs run over all flow states; but so many in any case.

A design takes five times as long there: so the finer grid takes three times as long as the front itself.
"""


class Rank(Enum):
    """What the finer grid says of a member of the front."""

    KEPT = "kept"
    BEATEN = "beaten"
    BROKEN = "breaks a limit"
    LOST = "no answer"


@dataclass(frozen=True, slots=True, kw_only=True)
class Verified:
    """A member on the finer grid: its rank there, and by how much each objective moved, in its SI unit."""

    rank: Rank
    errors: Mapping[str, float]


def members_to_verify(front: Sequence[Record], goals: Goals, *, confirmed: int) -> list[Record]:
    """Return the members to run on the finer grid: all, or of many the ends, the knee and an even spread.

    confirmed: how many designs were run over all flow states. The knee is the member nearest to the best of
    every objective, each in parts of the front's range.
    """
    most = max(FEWEST, int(SHARE * confirmed))
    if len(front) <= most:
        return list(front)
    cost = np.array([costs(record, goals) for record in front])
    reach = np.ptp(cost, axis=0)
    scaled = (cost - cost.min(axis=0)) / np.where(reach > 0.0, reach, 1.0)
    special = [*scaled.argmin(axis=0).tolist(), int((scaled**2).sum(axis=1).argmin())]
    even = np.linspace(0, len(front) - 1, most - len(special)).round().astype(int).tolist()
    return [front[row] for row in sorted({*special, *even})]


def verify(front: Sequence[Record], *, finer: Mapping[str, Record], goals: Goals) -> dict[str, Verified]:
    """Return what the finer grid says of the members that were run there, by design.

    finer: the members' records on the finer grid by design. A member is beaten where another one that was
    run there, and keeps the limits there, is as good in every objective and better in one.
    """
    pairs = [(record, finer[record.design_id]) for record in front if record.design_id in finer]
    able = [there for _, there in pairs if keeps_limits(there, goals)]
    cost = np.array([costs(there, goals) for there in able])
    best = {able[row].design_id for row in non_dominated(cost).tolist()}
    kept = {there.design_id for there in able}
    result = {}
    for here, there in pairs:
        rank, errors = Rank.LOST, {}
        if has_figures(there, goals):
            rank = Rank.KEPT if there.design_id in best else Rank.BEATEN
            rank = rank if there.design_id in kept else Rank.BROKEN
            errors = _moved(here, there, goals)
        result[here.design_id] = Verified(rank=rank, errors=errors)
    return result


def _moved(here: Record, there: Record, goals: Goals) -> dict[str, float]:
    before, after = here.evaluation.metrics or {}, there.evaluation.metrics or {}
    names = [objective.metric for objective in goals.objectives]
    return {name: after[name].expected - before[name].expected for name in names}
