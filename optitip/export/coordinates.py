"""The section as a table for a lathe without CAM: diameters by station, from either end."""

import csv
import io
import math
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from optitip.export.files import write_text
from optitip.export.parts.arcs import Segment
from optitip.export.parts.part import TurnedPart
from optitip.export.parts.profile import split_at

HEADER = (
    "z from nose point [mm]",
    "z from aft face [mm]",
    "outside diameter [mm]",
    "bore diameter [mm]",
    "outside arc radius to here (+ bulges outwards) [mm]",
    "bore arc radius to here (+ bulges outwards) [mm]",
)
PART_HEADER = ("z from fore end [mm]", *HEADER[1:], "z from the tip's nose point [mm]")
_PER_METRE = 1e3
_SAME = 1e-9
_ONE_ROW = 2e-6

Row = tuple[float, float, float, float, float | None, float | None]


def write_coordinates(
    outer: Sequence[Segment],
    inner: Sequence[Segment],
    *,
    folder: Path,
    name: str = "section-coordinates.csv",
    step: float | None = None,
) -> Path:
    """Write the table of ``coordinate_rows`` as CSV and return the file's path; a line's radius is empty."""
    stream = io.StringIO()
    table = csv.writer(stream, lineterminator="\n")
    table.writerow(HEADER)
    for row in coordinate_rows(outer, inner, step=step):
        table.writerow(["" if value is None else f"{_rounded(value):.4f}" for value in row])
    return write_text(folder, name, stream.getvalue())


def write_part_coordinates(part: TurnedPart, *, folder: Path, step: float | None = None) -> Path:
    """Write ``<part>-coordinates.csv``: the table of a part from its own two ends, and return its path."""
    stream = io.StringIO()
    table = csv.writer(stream, lineterminator="\n")
    table.writerow(PART_HEADER)
    for z, *rest in coordinate_rows(*faced(part), step=step):
        cells = (z - part.start * _PER_METRE, *rest, z)
        table.writerow(["" if value is None else f"{_rounded(value):.4f}" for value in cells])
    return write_text(folder, f"{part.name}-coordinates.csv", stream.getvalue())


def faced(part: TurnedPart) -> tuple[tuple[Segment, ...], tuple[Segment, ...]]:
    """Return outside and bore of a part with the leaning faces of its joints, each from end to end.

    A joint that leans aft is of the outside at the fore end and of the bore at the aft end.
    """
    outer, inner = part.outer, part.inner
    if inner[0].start[0] < outer[0].start[0] - _SAME:
        outer = (Segment(start=inner[0].start, end=outer[0].start), *outer)
    if inner[-1].end[0] < outer[-1].end[0] - _SAME:
        inner = (*inner, Segment(start=inner[-1].end, end=outer[-1].end))
    return outer, inner


def coordinate_rows(
    outer: Sequence[Segment], inner: Sequence[Segment], *, step: float | None = None
) -> list[Row]:
    """Return the rows of the table [mm], fore to aft.

    Both curves run fore to aft [m] and z must not fall along them. Rows stand where an arc or line ends, or
    every ``step`` [m] and at the end. Where a face stands square to the axis there are two rows, fore and
    aft of it. A radius belongs to the arc that leads to the row; None is a line. A solid place has bore 0.
    """
    if step is not None and not step > 0.0:
        raise ValueError("the step must be above zero")
    begin, end = min(outer[0].start[0], inner[0].start[0]), outer[-1].end[0]
    faces = [one.end[0] for one in (*outer, *inner) if one.end[0] - one.start[0] < _SAME]
    if step is None:
        stations = [inner[0].start[0], *(one.end[0] for one in (*outer, *inner))]
    else:
        stations = np.arange(begin, end, step).tolist()
    rows: list[Row] = []
    for station in _apart([begin, end, *faces, *stations]):
        rows.append(_row(outer, inner, station=station, end=end, aft=False))
        if any(abs(station - face) < _SAME for face in faces):
            rows.append(_row(outer, inner, station=station, end=end, aft=True))
    return [row for row, before in zip(rows, [None, *rows[:-1]], strict=True) if row != before]


def _row(outer: Sequence[Segment], inner: Sequence[Segment], *, station: float, end: float, aft: bool) -> Row:
    outside, outside_arc = _at(outer, station, aft=aft)
    bore, bore_arc = _at(inner, station, aft=aft)
    z = station * _PER_METRE
    return z, end * _PER_METRE - z, 2.0 * outside * _PER_METRE, 2.0 * bore * _PER_METRE, outside_arc, bore_arc


def _at(curve: Sequence[Segment], station: float, *, aft: bool) -> tuple[float, float | None]:
    """Return a curve's radius [m] fore or aft of a station, and the arc's that leads there [mm]."""
    before = [one for one in curve if one.start[0] < station - _SAME <= one.end[0]]
    behind = [one for one in curve if one.start[0] <= station + _SAME < one.end[0]]
    if before:
        radius, arc = _radius_at(before[-1], station), _signed_radius(before[-1])
    else:
        first = station <= curve[0].start[0] + _SAME
        radius, arc = (curve[0].start if first else curve[-1].end)[1], None
    if not aft:
        return radius, arc
    beyond = _radius_at(behind[0], station) if behind else curve[-1].end[1]
    if station < curve[0].start[0] - _SAME:
        beyond = curve[0].start[1]
    return beyond, arc if abs(beyond - radius) < _SAME else None


def _signed_radius(segment: Segment) -> float | None:
    return None if segment.bulge == 0.0 else -math.copysign(segment.radius, segment.bulge) * _PER_METRE


def _radius_at(segment: Segment, station: float) -> float:
    """Return the radius of a segment at a station, whose ends are its own to the last digit."""
    if abs(station - segment.start[0]) < _SAME:
        return segment.start[1]
    if abs(station - segment.end[0]) < _SAME:
        return segment.end[1]
    return split_at((segment,), station)[0][-1].end[1]


def _apart(stations: Sequence[float]) -> list[float]:
    """Return the stations in order, without those closer than a lathe can tell to one named before them."""
    kept: list[float] = []
    for station in stations:
        if all(abs(station - one) > _ONE_ROW for one in kept):
            kept.append(station)
    return sorted(kept)


def _rounded(value: float) -> float:
    return round(value, 4) + 0.0
