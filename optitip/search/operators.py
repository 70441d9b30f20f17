"""The one door to pymoo: how two parents give children and how these change, with types."""

import numpy as np
from pymoo.operators.crossover.sbx import cross_sbx
from pymoo.operators.mutation.pm import mut_pm

from optitip.arrays import FloatArray

CROSSED_SPREAD, CHANGED_SPREAD = 15.0, 20.0
"""Distribution indices: the larger, the nearer children lie to a parent, and changes to where they began."""


def crossed(first: FloatArray, second: FloatArray, *, random: np.random.Generator) -> FloatArray:
    """Return two children, (2 n, d), of each pair of parents (n, d) in the unit cube.

    Source: Deb & Agrawal 1995, simulated binary crossover (from memory), as built in pymoo.
    """
    count, numbers = first.shape
    low, high = np.zeros(numbers), np.ones(numbers)
    children: FloatArray = cross_sbx(
        np.stack([first, second]),
        low,
        high,
        np.full((count, 1), CROSSED_SPREAD),
        np.full((count, 1), 0.5),
        np.full((count, 1), 0.5),
        random_state=random,
    )
    return children.reshape(2 * count, numbers)


def changed(points: FloatArray, *, share: float, random: np.random.Generator) -> FloatArray:
    """Return points (n, d) of the unit cube with about a ``share`` of their numbers changed.

    Source: Deb & Goyal 1996, polynomial mutation (from memory), as built in pymoo.
    """
    count, numbers = points.shape
    mutated: FloatArray = mut_pm(
        points,
        np.zeros(numbers),
        np.ones(numbers),
        np.full(count, CHANGED_SPREAD),
        np.full(count, share),
        at_least_once=False,
        random_state=random,
    )
    return mutated
