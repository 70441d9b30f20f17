"""The part of a heating's table that walls can reach: the rest is looked up by nobody."""

from functools import lru_cache

import numpy as np

from optitip.arrays import FloatArray, frozen
from optitip.evaluate.heatings import KEPT
from optitip.heating.table import Heating


def reached(heating: Heating, *, start: float, resistance: float = 0.0) -> tuple[FloatArray, FloatArray]:
    """Return the wall temperatures (n_w,) [K] and films (n_t, n_s, n_w) [W/(m2 K)] that a tip can meet.

    At T >= recovery + absorbed (1/film + resistance) and T >= surroundings a wall gains nothing, so no part
    becomes hotter than the largest of these and of ``start``: columns above the second past it are left out.

    start: [K] the hottest that any part begins at, or that lies behind it. resistance: [m2 K/W] of a coating.
    Valid where nothing inside a tip gives heat of its own beyond these temperatures.
    Source: the maximum principle of the heat equation.
    """
    hottest = max(start, _hottest(heating, resistance=resistance))
    columns = min(int(heating.wall.searchsorted(hottest)) + 2, heating.wall.size)
    return heating.wall[:columns], _first(heating, columns=columns)


@lru_cache(maxsize=KEPT)
def _hottest(heating: Heating, *, resistance: float) -> float:
    # without air a flux reaches all columns: a film this thin says so, and overflows nothing
    lowest = np.maximum(heating.film.min(axis=2), 1e-12)
    above = float((heating.absorbed * (1.0 / lowest + resistance)).max())
    return max(float(heating.recovery.max()) + above, float(heating.surroundings.max()))


@lru_cache(maxsize=KEPT)
def _first(heating: Heating, *, columns: int) -> FloatArray:
    return frozen(heating.film[:, :, :columns])
