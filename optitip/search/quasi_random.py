"""Designs spread evenly over a space; apart from the space, whose readers need no scipy."""

import math

from scipy.stats import qmc

from optitip.search.space import Space


def drawn(space: Space, count: int, *, seed: int, skip: int = 0) -> list[dict[str, str | bool]]:
    """Return ``count`` designs of the scrambled Sobol sequence of ``seed``, after the first ``skip``.

    Source: Sobol 1967, scrambling of Owen 1998 (from memory), as built in scipy.
    """
    if count <= 0:
        return []
    sequence = qmc.Sobol(space.dimension, seed=seed)
    points = sequence.random_base2(math.ceil(math.log2(max(count + skip, 1))))
    return [space.design_at(point) for point in points[skip : skip + count]]
