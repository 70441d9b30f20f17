"""The numerical error of a figure: what finer grids, tighter steps and a finer heating say of it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from math import inf, log2

SLOWEST, FASTEST = 0.8, 4.0
"""Orders that a row on grids ever finer may show and count as settling; the elements' own is two"""
SLIGHT = 1e-3
"""Part of a value below which a row that shows no order is nothing to speak of"""


class Part(Enum):
    """Where an error comes from."""

    GRID = "grid"
    STEPS = "steps"
    HEATING = "heating table"


@dataclass(frozen=True, slots=True, kw_only=True)
class MetricError:
    """The error of a metric, in its SI unit, in the flow state where it is largest: in all, and by its parts.

    order: what the grids show, None where they show none. converged: whether finer grids settle.
    """

    total: float
    parts: Mapping[Part, float]
    order: float | None
    converged: bool


def settled(values: Sequence[float]) -> tuple[float, float | None, bool]:
    """Return the first value's error, the order it falls with, and whether the row settles.

    v_i = v + C h_i^p through three values gives p = log2((v_1 - v_2)/(v_2 - v_3)) and v_1 - v. Where p is
    none of ``SLOWEST`` to ``FASTEST``, as where the row turns, the error is the largest difference in it, and
    it settles if p is above or that difference slight.

    values: three, each on cells of half the size. Valid where one power of the cells' size rules the error.
    Source: Richardson's extrapolation, common practice.

    >>> settled([1.16, 1.04, 1.01])
    (0.16, 2.0, True)
    >>> settled([1.33, 1.70, 2.15])[1:]  # a stress in a sharp corner
    (None, False)
    """
    first, second = values[0] - values[1], values[1] - values[2]
    largest = max(values) - min(values)
    order = -inf if second == 0.0 or first / second <= 0.0 else log2(first / second)
    if SLOWEST <= order <= FASTEST:
        return round(abs(first) / (1.0 - 2.0**-order), 12), round(order, 9), True
    return largest, None, order > FASTEST or largest <= SLIGHT * max(abs(value) for value in values)
