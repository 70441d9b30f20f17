"""What a tool's nose radius leaves, or takes too much, where its compensation is off."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from optitip.export.parts.arcs import Segment
from optitip.export.parts.dimensions import is_corner
from optitip.export.parts.part import TurnedPart
from optitip.units import System, shown

_CHAMFER = 2e-3  # [m] up to which a line of 45 degrees is a chamfer or a thread's slope
_SQUARE = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Uncompensated:
    """The most metal left, and the most cut too deep, outside and in the bore [m], normal to the surface."""

    outside_left: float
    outside_deep: float
    bore_left: float
    bore_deep: float


def metal_left(lean: float, *, nose_radius: float) -> float:
    """Return the metal left normal to a surface [m] by a program of the edge's imaginary point.

    e = rho (sin t + cos t - 1). The imaginary point P is where the edge's tangents along and across the axis
    meet; the edge's centre lies rho off it both ways, so rho (sin t + cos t) off a surface through P that
    leans t, and its circle stops rho short of that. The path of the centre is that of P moved as a whole:
    this holds on arcs too.

    lean: t [rad] from the axis, above 0 where the surface rises against the tool as it is fed, below 0 where
    it falls away; nose_radius: rho [m]. Negative: cut too deep, by rho (1 + sin|t| - cos t).
    Valid for -90 to 90 degrees and surfaces that don't bend in tighter than rho; nought on cylinders, and on
    faces that the tool is fed against.
    Source: plain geometry.

    >>> round(metal_left(math.radians(45.0), nose_radius=0.4e-3) * 1e3, 4)  # 0.4 (sqrt(2) - 1)
    0.1657
    """
    return nose_radius * (math.sin(lean) + math.cos(lean) - 1.0)


def uncompensated(part: TurnedPart) -> Uncompensated:
    """Return the extremes over a part's surfaces, its corners' arcs and chamfers aside.

    The outside is cut from fore to aft, a bore from its aft opening.
    """
    left, deep = [0.0, 0.0], [0.0, 0.0]
    for number, (curve, inside) in enumerate(((part.outer, False), (part.inner, True))):
        for lean in _leans(curve, nose_radius=part.nose_radius, inside=inside):
            found = metal_left(lean, nose_radius=part.nose_radius)
            left[number], deep[number] = max(left[number], found), max(deep[number], -found)
    return Uncompensated(outside_left=left[0], outside_deep=deep[0], bore_left=left[1], bore_deep=deep[1])


def _leans(curve: tuple[Segment, ...], *, nose_radius: float, inside: bool) -> Iterator[float]:
    """Yield the leans among which the extremes are: both ends of a segment, and 45 degrees between."""
    for number, one in enumerate(curve):
        if is_corner(curve, number, nose_radius=nose_radius, inside=inside):
            continue
        ends = one.start_direction, one.end_direction
        low, high = min(ends), max(ends)
        slanted = abs(abs(low) - 0.25 * math.pi) < _SQUARE
        face = abs(abs(low) - 0.5 * math.pi) < _SQUARE
        if one.bulge == 0.0 and (face or (slanted and one.chord < _CHAMFER)):
            continue
        yield low
        yield high
        if low < 0.25 * math.pi < high:
            yield 0.25 * math.pi


def compensation_note(part: TurnedPart, *, system: System = System.METRIC) -> str:
    """Return what a machinist has to know who programs this part without nose-radius compensation."""
    most = uncompensated(part)

    def long(length: float) -> str:
        value, unit = shown(length, "m", system)
        return f"{value:.{3 if system is System.METRIC else 4}f} {unit}"

    text = (
        f"Coordinates are the finished surface. Programmed on the edge's imaginary point with compensation "
        f"off, a nose radius rho of {long(part.nose_radius)} leaves rho (sin t + cos t - 1) where the "
        f"surface leans t to the axis and rises against the feed: up to {long(most.outside_left)} outside"
    )
    if not part.solid:
        text += f" and {long(most.bore_left)} in the bore"
    deep = max(most.outside_deep, most.bore_deep)
    if deep > 0.0:
        where = "in the bore" if most.bore_deep >= most.outside_deep else "outside"
        text += f"; where it falls away it cuts rho (1 + sin t - cos t) too deep, up to {long(deep)} {where}"
    return (
        f"{text}. Nothing on cylinders and square faces. Outside fed fore to aft, bore from its aft end; "
        "corners and chamfers aside. Turn the compensation on, or program the edge's centre: arcs that bulge "
        "towards the tool with their radius plus rho, the others less rho."
    )
