"""Designs and figures as surfaces learn them: choices spread out, far ends pulled in."""

from collections.abc import Sequence

import numpy as np
from scipy.linalg import helmert

from optitip.arrays import FloatArray

OPTION_SPACING = 0.6


def features(points: FloatArray, *, options: Sequence[int]) -> FloatArray:
    """Return points (n, d) with each choice spread out so that all its options lie equally far apart.

    ``options`` gives how many options each of the last columns has; one with n options becomes the n
    corners of a regular simplex in n - 1 columns.
    """
    numbers = points.shape[1] - len(options)
    columns = [points[:, :numbers]]
    for column, count in enumerate(options, start=numbers):
        index = np.clip((points[:, column] * count).astype(np.int64), 0, count - 1)
        corners = OPTION_SPACING * helmert(count).T if count > 1 else np.zeros((1, 0))
        columns.append(corners[index])
    return np.hstack(columns)


def tamed(values: FloatArray) -> FloatArray:
    """Return values (n, m) with the far ends pulled in, so that a few huge ones don't bend the surface.

    The ends are half the span between the 2nd and 98th percentile beyond these.
    """
    low, high = np.percentile(values, [2.0, 98.0], axis=0)
    reach = 0.5 * (high - low) + 1e-12
    return np.clip(values, low - reach, high + reach)
