"""All that a search knows of the designs it evaluated, as arrays, a row each."""

from dataclasses import dataclass

import numpy as np

from optitip.arrays import BoolArray, FloatArray, IntArray
from optitip.search.pareto import non_dominated


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Archive:
    """Everything evaluated: points (n, d), cost (n, m) less is better, excess (n, k) above 0 breaks a limit.

    ``components`` (n, c) are the figures that cost and excess are made of, see ``Components``; NaN where a
    design lacks one. ``answered`` (n,) tells the designs that have figures; the rows of the others in cost
    and excess hold zeros nobody reads.
    """

    points: FloatArray
    cost: FloatArray
    excess: FloatArray
    components: FloatArray
    answered: BoolArray

    def __len__(self) -> int:
        """Return how many designs were evaluated."""
        return len(self.points)

    @property
    def feasible(self) -> BoolArray:
        """Return which designs have an answer and keep all limits, (n,)."""
        kept: BoolArray = self.answered & (self.excess <= 0.0).all(axis=1)
        return kept

    def violation(self) -> FloatArray:
        """Return by how much limits are broken, each in standard deviations (n,); finite for every design.

        A design without an answer stands one beyond the worst that has one.
        """
        if not self.answered.any():
            return np.ones(len(self))
        spread = self.excess[self.answered].std(axis=0) + 1e-12
        broken: FloatArray = np.maximum(self.excess / spread, 0.0).sum(axis=1)
        return np.where(self.answered, broken, broken[self.answered].max() + 1.0)

    def front(self) -> IntArray:
        """Return the rows on the front."""
        feasible = np.flatnonzero(self.feasible)
        return feasible[non_dominated(self.cost[feasible])]

    def best(self, count: int) -> IntArray:
        """Return ``count`` rows or more, if there are as many: whole fronts, then the least violation."""
        taken = np.zeros(0, dtype=np.int64)
        left = np.flatnonzero(self.feasible)
        while len(left) and len(taken) < count:
            on_it = np.zeros(len(left), dtype=np.bool_)
            on_it[non_dominated(self.cost[left])] = True
            taken, left = np.concatenate([taken, left[on_it]]), left[~on_it]
        if len(taken) >= count:
            return taken
        order = np.argsort(self.violation(), kind="stable")
        others = order[~self.feasible[order]]
        return np.concatenate([taken, others[: count - len(taken)]])
