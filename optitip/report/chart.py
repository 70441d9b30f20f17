"""A chart as numbers for a template to draw: places on the paper, marks of the axes, shades."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from optitip.arrays import FloatArray

WIDTH, HEIGHT = 360.0, 270.0
LEFT, RIGHT, TOP, BOTTOM = 58.0, 20.0, 10.0, 40.0
"""Margins of the chart's paper; a phone shows a unit of it as one of its own pixels."""
_ROOM = 0.05  # of an axis, beyond the outermost point
# matplotlib's cividis at five places: dark blue over grey to yellow, told apart by the colour-blind too
_SHADES = ((0, 32, 77), (62, 76, 108), (124, 123, 120), (187, 175, 113), (255, 234, 70))


@dataclass(frozen=True, slots=True, kw_only=True)
class Axis:
    """A linear axis: what its ends stand for, where they lie on the paper, and its marks."""

    label: str
    low: float
    high: float
    start: float
    end: float

    def at(self, value: float) -> float:
        """Return where a value lies on the paper, to a tenth of a unit."""
        share = (value - self.low) / (self.high - self.low)
        return round(self.start + share * (self.end - self.start), 1)

    def marks(self) -> list[tuple[float, str]]:
        """Return places and texts of a few round values."""
        values = round_values(self.low, self.high)
        digits = max(0, -math.floor(math.log10(values[1] - values[0]) + 1e-9)) if len(values) > 1 else 2
        return [(self.at(value), f"{value + 0.0:,.{digits}f}") for value in values]


def axis(label: str, values: FloatArray, *, start: float, end: float, from_nought: bool = False) -> Axis:
    """Return the axis that holds all values with some room round them."""
    finite = values[np.isfinite(values)]
    low, high = (float(finite.min()), float(finite.max())) if len(finite) else (0.0, 1.0)
    if from_nought:
        low = min(low, 0.0)
    room = _ROOM * (high - low) or 0.05 * abs(high) or 1.0
    return Axis(label=label, low=low if from_nought else low - room, high=high + room, start=start, end=end)


def round_values(low: float, high: float, *, most: int = 5) -> list[float]:
    """Return up to ``most`` round values between two bounds, steps of 1, 2 or 5 times a power of ten.

    >>> round_values(0.13, 1.9), round_values(-3.0, 41.0)
    ([0.5, 1.0, 1.5], [0.0, 10.0, 20.0, 30.0, 40.0])
    """
    power = 10.0 ** math.floor(math.log10((high - low) / most))
    for factor in (1.0, 2.0, 5.0, 10.0):
        step = factor * power
        first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
        if last - first < most:
            break
    return [round(step * place, 12) for place in range(first, last + 1)]


def across(label: str, values: FloatArray, *, from_nought: bool = False) -> Axis:
    """Return the axis along the foot of the chart."""
    return axis(label, values, start=LEFT, end=WIDTH - RIGHT, from_nought=from_nought)


def upward(label: str, values: FloatArray, *, from_nought: bool = False) -> Axis:
    """Return the axis up the chart's left side."""
    return axis(label, values, start=HEIGHT - BOTTOM, end=TOP, from_nought=from_nought)


def shade(share: float) -> str:
    """Return the colour at a share, 0..1, of a scale from dark blue to yellow.

    >>> shade(0.0) == "#" + "00204d", shade(1.0) == "#" + "ffea46"
    (True, True)
    """
    place = min(max(share, 0.0), 1.0) * (len(_SHADES) - 1)
    below = min(int(place), len(_SHADES) - 2)
    mixed = [
        round(a + (place - below) * (b - a)) for a, b in zip(_SHADES[below], _SHADES[below + 1], strict=True)
    ]
    return "#" + "".join(f"{one:02x}" for one in mixed)


def dots(x: Sequence[float], y: Sequence[float]) -> str:
    """Return a path of points for a stroke with round ends: a few letters each, thousands in a chart."""
    return "".join(f"M{across:g} {up:g}h0" for across, up in zip(x, y, strict=True))
