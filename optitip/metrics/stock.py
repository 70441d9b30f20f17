"""The round bar a part is turned from: how thick, how it is called, how long to saw it off."""

import math
from bisect import bisect_left
from dataclasses import dataclass
from operator import attrgetter

from optitip.inputs.turning_tables import StockSeries

CLEANED = 2e-3
"""[m] on the diameter that is turned off all round: common practice, no source"""
FACED = 2e-3
"""[m] that both faces take together: common practice, no source"""
PARTED = 4e-3
"""[m] to part the part off its grip: common practice, no source"""
GRIP = 25e-3
"""[m] in the chuck at least, and half a diameter: common practice, no source"""
INCH = 0.0254
# sizes that are usually on a shelf, as EN 755-3 and EN 10060 have among theirs; from memory
METRIC = (
    *(10, 12, 14, 15, 16, 18, 20, 22, 25, 28, 30, 32, 35, 38, 40, 45, 50, 55, 60, 65, 70, 75, 80, 85, 90, 95),
    *(100, 110, 120, 130, 140, 150, 160, 170, 180, 190, 200, 220, 240, 250, 260, 280, 300, 320, 350, 400),
)
# eighths to 2 1/4, quarters to 4, halves to 8, whole inches on: common practice, no source
EIGHTHS = (*range(3, 19), *range(20, 33, 2), *range(36, 65, 4), *range(72, 129, 8))


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundBar:
    """A size of round bar: its diameter [m] and what a shop calls it."""

    diameter: float
    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """What one part is sawn from: its bar and length [m], what the chuck grips [m] in it."""

    part: str
    material: str
    bar: RoundBar
    length: float
    grip: float


def bar_over(diameter: float, *, series: StockSeries) -> RoundBar:
    """Return the thinnest bar of a series that a part of ``diameter`` [m] comes out of, cleaned all round.

    Above the series' last size the bar is as thick as is needed, and its name says so.

    >>> bar_over(0.0426, series=StockSeries.METRIC).name, bar_over(0.0426, series=StockSeries.INCH).name
    ('45 mm bar', '1 7/8 in bar')
    """
    needed = diameter + CLEANED
    bars = _BARS[series]
    first = bisect_left(bars, needed - 1e-9, key=attrgetter("diameter"))
    if first == len(bars):
        return RoundBar(diameter=needed, name=f"a forging or casting {1e3 * needed:.0f} mm thick")
    return bars[first]


def stock_of(part: str, *, material: str, diameter: float, length: float, series: StockSeries) -> Stock:
    """Return what a part of so great a ``diameter`` and ``length`` [m] is sawn from, in whole millimetres.

    >>> one = stock_of("base", material="6061-T6", diameter=0.0426, length=0.0285, series=StockSeries.METRIC)
    >>> one.bar.name, round(one.grip * 1e3), round(one.length * 1e3)  # 28.5 + 2 + 4 + 25
    ('45 mm bar', 25, 60)
    """
    bar = bar_over(diameter, series=series)
    grip = max(GRIP, 0.5 * bar.diameter)
    whole = math.ceil((length + FACED + PARTED + grip) * 1e3 - 1e-6) * 1e-3
    return Stock(part=part, material=material, bar=bar, length=whole, grip=grip)


def _eighths(count: int) -> str:
    """Return a number of eighths as it is written on a shelf."""
    whole, rest = divmod(count, 8)
    if rest == 0:
        return str(whole)
    common = math.gcd(rest, 8)
    fraction = f"{rest // common}/{8 // common}"
    return f"{whole} {fraction}" if whole else fraction


_BARS = {
    StockSeries.METRIC: [RoundBar(diameter=1e-3 * size, name=f"{size} mm bar") for size in METRIC],
    StockSeries.INCH: [
        RoundBar(diameter=0.125 * INCH * size, name=f"{_eighths(size)} in bar") for size in EIGHTHS
    ],
}
