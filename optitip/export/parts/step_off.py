"""A part's step-off table: even steps from datum A, every corner among them, and both diameters at each.

Points are (z, r) in metres. Corners that the tool's edge rounds stand as if they were sharp, unless what is
in them counts.
"""

import itertools
import math
from collections.abc import Sequence
from dataclasses import astuple, dataclass
from typing import TypeAlias

import numpy as np

from optitip.export.parts.arcs import Segment
from optitip.export.parts.part import TurnedPart
from optitip.export.parts.profile import half_section, revolved_volume
from optitip.export.sheets.part_features import SAME, apart, on_axis, radius_on, without_rounds

MOST_ROWS = 45
_STEPS = (1e-3, 2e-3, 2.5e-3, 5e-3, 10e-3, 20e-3, 25e-3, 50e-3)
_TOOL_ROUND = 1.3  # times the tool's nose radius: larger rounds keep their arc
_SHORT = 20e-3  # [m] shorter parts have steps of 1 mm
_NEAR = 0.3  # of a step: even stations nearer to a corner are left out
_FACE = 1e-9
_BETWEEN = tuple(0.1 * number for number in range(1, 10))
_KINK = 2e-3  # [rad]
_NOSE_ANGLES = (12.0, 25.0, 40.0, 55.0, 70.0)  # [deg] round a spherical nose
_Curves: TypeAlias = tuple[tuple[Segment, ...], tuple[Segment, ...]]
_ROUNDS = 5e-4  # of the volume
_WITHIN = 1.5e-3  # of the volume, that frusta through the table may be off


@dataclass(frozen=True, slots=True, kw_only=True)
class StepRow:
    """One row: station from datum A and from the fore end, outside and bore diameter [m]."""

    from_aft: float
    from_fore: float
    outside: float
    bore: float

    @property
    def metal(self) -> float:
        """Return the metal between bore and outside, across the axis [m]."""
        return 0.5 * (self.outside - self.bore)


def step_rows(part: TurnedPart, *, most: int = MOST_ROWS) -> tuple[StepRow, ...]:
    """Return the rows of a part, from its fore end aft; two where a face stands square to the axis.

    Even steps are as fine as ``most`` rows allow, with those rows left that bring frusta through them within
    0.15 % of the part's volume: they are added where most of it is missed.
    """
    volume = revolved_volume(part.closed)
    curves = _stepped(part)
    corners = apart([*_corners(curves[0]), *_corners(curves[1])])
    finest = 2e-3 if part.end - part.start > _SHORT else 1e-3
    best: tuple[float, tuple[StepRow, ...]] | None = None
    for step in (one for one in _STEPS if one >= finest):
        rows = _refined(part, curves, _with_even(part, corners, step), volume=volume, most=most)
        off = abs(frusta_volume(rows) - volume)
        if len(rows) <= most and off <= _WITHIN * volume:
            return rows
        if best is None or (len(rows) > most, off) < (len(best[1]) > most, best[0]):
            best = off, rows
    return _rows(part, curves, corners) if best is None else best[1]


def _stepped(part: TurnedPart) -> _Curves:
    """Return the curves that the rows are of: corners sharp, but rounded where a small part's volume asks."""
    curves = _closed_ends(*(_plain(one, part.nose_radius) for one in (part.outer, part.inner)))
    volume = revolved_volume(part.closed)
    if abs(revolved_volume(half_section(*curves)) - volume) > _ROUNDS * volume:
        return _closed_ends(part.outer, part.inner)
    return curves


def _refined(
    part: TurnedPart, curves: _Curves, stations: tuple[float, ...], *, volume: float, most: int
) -> tuple[StepRow, ...]:
    """Return the rows at the stations and at those between that bring frusta near to the volume."""
    rows = _rows(part, curves, stations)
    while abs(frusta_volume(rows) - volume) > _WITHIN * volume and len(rows) < most:
        more = apart([*stations, _worst_middle(curves, stations)])
        if len(more) == len(stations):
            break
        stations, rows = more, _rows(part, curves, more)
    return rows


def straight_error(part: TurnedPart, rows: Sequence[StepRow]) -> float:
    """Return how far straight lines from row to row are off the radii that the rows are of at most [m]."""
    curves = _stepped(part)
    worst = 0.0
    for a, b in itertools.pairwise(rows):
        if a.from_aft - b.from_aft < SAME:
            continue
        for share in _BETWEEN:
            z = part.end - a.from_aft + share * (a.from_aft - b.from_aft)
            for curve, first, last in zip(curves, (a.outside, a.bore), (b.outside, b.bore), strict=True):
                straight = 0.5 * (first + share * (last - first))
                worst = max(worst, abs(radius_on(curve, z) - straight))
    return worst


def frusta_volume(rows: Sequence[StepRow]) -> float:
    """Return the volume of the frusta through the rows [m3]: pi h/12 (a^2 + a b + b^2), bore taken off.

    >>> rows = [StepRow(from_aft=z, from_fore=1.0 - z, outside=2.0, bore=1.0) for z in (1.0, 0.0)]
    >>> round(frusta_volume(rows) / math.pi, 12)
    0.75
    """
    total = 0.0
    for a, b in itertools.pairwise(rows):
        height = a.from_aft - b.from_aft
        for first, second, sign in ((a.outside, b.outside, 1.0), (a.bore, b.bore, -1.0)):
            total += sign * math.pi / 12.0 * height * (first**2 + first * second + second**2)
    return total


def _rows(part: TurnedPart, curves: _Curves, stations: Sequence[float]) -> tuple[StepRow, ...]:
    rows: list[StepRow] = []
    for z in stations:
        for ahead in (True, False):
            outside, bore = (2.0 * radius_on(one, z, ahead=ahead) for one in curves)
            row = StepRow(from_aft=part.end - z, from_fore=z - part.start, outside=outside, bore=bore)
            if not rows or _differ(row, rows[-1]):
                rows.append(row)
    return tuple(rows)


def _differ(one: StepRow, other: StepRow) -> bool:
    pairs = zip(astuple(one), astuple(other), strict=True)
    return any(abs(a - b) > _FACE for a, b in pairs)


def _with_even(part: TurnedPart, corners: Sequence[float], step: float) -> tuple[float, ...]:
    """Return the corners and the whole steps from datum A that no corner is near to."""
    count = int((part.end - part.start) / step)
    even = [part.end - step * number for number in range(1, count + 1)]
    known = np.array(corners)
    return apart([*corners, *(z for z in even if np.abs(known - z).min() > _NEAR * step)])


def _worst_middle(curves: _Curves, stations: Sequence[float]) -> float:
    """Return the middle of the interval in which straight lines are off by most volume."""

    def off(pair: tuple[float, float]) -> float:
        start, end = pair
        total = 0.0
        for curve in curves:
            middle = radius_on(curve, 0.5 * (start + end))
            ends = radius_on(curve, start), radius_on(curve, end, ahead=True)
            total += middle * abs(middle - 0.5 * sum(ends)) * (end - start)
        return total

    worst = max(itertools.pairwise(stations), key=off)
    # where nothing is off a known station is named again, and the search ends
    return 0.5 * sum(worst) if off(worst) > 0.0 else worst[0]


def _closed_ends(outer: tuple[Segment, ...], inner: tuple[Segment, ...]) -> _Curves:
    """Return both curves from one end to the other: a joint's slanting face belongs to the shorter one."""
    first, second = outer[0].start, inner[0].start
    if first[0] < second[0] - _FACE:
        inner = (Segment(start=first if second[1] > SAME else (first[0], 0.0), end=second), *inner)
    elif second[0] < first[0] - _FACE:
        outer = (Segment(start=second, end=first), *outer)
    last, end = outer[-1].end, inner[-1].end
    if last[0] > end[0] + _FACE:
        inner = (*inner, Segment(start=end, end=last if end[1] > SAME else (last[0], 0.0)))
    elif end[0] > last[0] + _FACE:
        outer = (*outer, Segment(start=last, end=end))
    return outer, inner


def _plain(curve: Sequence[Segment], nose_radius: float) -> tuple[Segment, ...]:
    sharp, _ = without_rounds(curve, largest=_TOOL_ROUND * nose_radius)
    return tuple(sharp)


def _corners(curve: Sequence[Segment]) -> list[float]:
    """Return the stations that can't be left out: ends, kinks, faces, larger rounds, a spherical nose."""
    stations = [curve[0].start[0], curve[-1].end[0]]
    for before, after in itertools.pairwise(curve):
        turn = math.remainder(after.start_direction - before.end_direction, 2.0 * math.pi)
        if abs(turn) > _KINK:
            stations.append(before.end[0])
    for one in curve:
        if abs(one.turn) > 0.12 and not on_axis(one):
            share = np.array([0.0, 0.5, 1.0])
            if one.start[1] < SAME:
                angles = np.radians(_NOSE_ANGLES) / abs(one.turn)
                share = np.array([0.0, *angles[angles < 0.95], 1.0])
            stations += [float(z) for z in one.points(share)[:, 0]]
    return stations
