"""Designs and figures as surfaces learn them: choices spread out, far ends pulled in."""

from collections.abc import Sequence

import numpy as np

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
        columns.append(OPTION_SPACING * _simplex(count)[index])
    return np.hstack(columns)


def _simplex(count: int) -> FloatArray:
    """Return the corners (n, n - 1) of a regular simplex: the columns of the Helmert matrix.

    Written out as it is in scipy.linalg, which takes longer to import than a front of 100,000 to be read.
    """
    place = np.arange(count)
    rows = np.tril(np.ones((count, count)), -1) - np.diag(place)
    corners: FloatArray = (rows[1:] / np.sqrt(place * (place + 1))[1:, None]).T
    return corners


def tamed(values: FloatArray) -> FloatArray:
    """Return values (n, m) with the far ends pulled in, so that a few huge ones don't bend the surface.

    The ends are half the span between the 2nd and 98th percentile beyond these.
    """
    low, high = np.percentile(values, [2.0, 98.0], axis=0)
    reach = 0.5 * (high - low) + 1e-12
    return np.clip(values, low - reach, high + reach)
