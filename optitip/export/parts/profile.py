"""The half section of a tip as closed profiles of lines and arcs, one a part.

Points are (z, r) in metres: z aft from the nose point along the axis, r away from it.
"""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from optitip.arrays import FloatArray
from optitip.export.parts.arcs import CHORD_ERROR, Fit, Point, Segment, fit_curve, joined

_TOUCHING = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True)
class Profile:
    """One part's closed half section; ``layer`` is a word like ``SHELL``, ``metal`` false for a sample.

    ``share`` is the part of the circumference it covers.
    """

    layer: str
    material: str
    segments: tuple[Segment, ...]
    metal: bool = True
    share: float = 1.0

    @property
    def volume(self) -> float:
        """Return the volume the part fills over its share of the circumference [m3]."""
        return self.share * revolved_volume(self.segments)


def outline_segments(
    points: FloatArray, *, direction: FloatArray, nose_points: int, tolerance: float = CHORD_ERROR
) -> Fit:
    """Return an outline as an exact nose arc and the tangent arcs that follow it.

    ``points`` (n, 2) [m] dense from the nose point aft, ``direction`` (n,) [rad] against the axis (pi/2 at
    a round nose). The first ``nose_points`` of them lie on a sphere about the axis.
    """
    last = nose_points - 1
    if last < 1:
        return fit_curve(points, direction=direction, tolerance=tolerance)
    turn = 2.0 * math.atan2(points[last, 0] - points[0, 0], points[last, 1])
    nose = Segment(
        start=(float(points[0, 0]), float(points[0, 1])),
        end=(float(points[last, 0]), float(points[last, 1])),
        bulge=-math.tan(0.25 * turn),
    )
    if last == len(points) - 1:
        return Fit(segments=(nose,), error=0.0)
    rest = direction[last:].copy()
    rest[0] = nose.end_direction
    fit = fit_curve(points[last:], direction=rest, tolerance=tolerance)
    return Fit(segments=joined((nose, *fit.segments)), error=fit.error)


def half_section(outer: Sequence[Segment], inner: Sequence[Segment]) -> tuple[Segment, ...]:
    """Return the closed half section between an outline and a cavity, both given from fore to aft.

    It runs from the nose point along the outside, down the aft face, back along the cavity to the axis and
    along the axis to the nose point. The cavity begins on the axis; the aft face is straight.
    """
    return _closed((*outer, *(one.reversed() for one in reversed(inner))))


def cut_apart(
    outer: Sequence[Segment], inner: Sequence[Segment], cuts: Sequence[tuple[float, Point]]
) -> list[tuple[Segment, ...]]:
    """Return the closed half sections, fore to aft, that straight cuts part a tip into.

    Each cut, fore to aft, runs from the outline at a station [m] to a point of the cavity or of the axis
    fore of it.
    """
    above, below = tuple(outer), tuple(inner)
    if math.dist(outer[0].start, inner[0].start) > _TOUCHING:
        below = (Segment(start=outer[0].start, end=inner[0].start), *below)
    parts = []
    for station, point in cuts:
        above_fore, above = split_at(above, station)
        below_fore, below = split_at_point(below, point)
        parts.append(half_section(above_fore, below_fore))
    return [*parts, half_section(above, below)]


def split_at(segments: Sequence[Segment], station: float) -> tuple[tuple[Segment, ...], tuple[Segment, ...]]:
    """Return the segments fore and aft of the plane at ``station`` [m]; z must not fall along them."""
    if not segments[0].start[0] < station < segments[-1].end[0]:
        raise ValueError(
            f"no cut at {station} m: the segments run from {segments[0].start} to {segments[-1].end}"
        )
    fore: list[Segment] = []
    aft: list[Segment] = []
    for segment in segments:
        if segment.end[0] <= station + _TOUCHING and not aft:
            fore.append(segment)
        elif segment.start[0] >= station - _TOUCHING:
            aft.append(segment)
        else:
            first, second = _halves(segment, station)
            fore.append(first)
            aft.append(second)
    return tuple(fore), tuple(aft)


def radius_at(segments: Sequence[Segment], station: float) -> float:
    """Return the radius [m] of a curve at a station [m]; fore of its start, or aft of its end, that of those.

    On a face square to the axis it is where the curve arrives; z must not fall along the curve.
    """
    if station <= segments[0].start[0]:
        return segments[0].start[1]
    for segment in segments:
        if station <= segment.end[0]:
            return _halves(segment, station)[0].end[1] if station < segment.end[0] else segment.end[1]
    return segments[-1].end[1]


def split_at_point(
    segments: Sequence[Segment], point: Point
) -> tuple[tuple[Segment, ...], tuple[Segment, ...]]:
    """Return the segments before and after a point, which is an end of one or lies on a line."""
    for number, one in enumerate(segments):
        before, after = tuple(segments[:number]), tuple(segments[number + 1 :])
        if math.dist(one.end, point) < _TOUCHING:
            return (*before, one), after
        detour = math.dist(one.start, point) + math.dist(point, one.end) - one.chord
        if one.bulge == 0.0 and detour < _TOUCHING:
            return (*before, Segment(start=one.start, end=point)), (Segment(start=point, end=one.end), *after)
    raise ValueError(f"no line of the cavity passes through {point}")


def _halves(segment: Segment, station: float) -> tuple[Segment, Segment]:
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        z = segment.points(np.array([middle]))[0, 0]
        low, high = (middle, high) if z < station else (low, middle)
    share = 0.5 * (low + high)
    r = float(segment.points(np.array([share]))[0, 1])
    return (
        Segment(start=segment.start, end=(station, r), bulge=math.tan(0.25 * segment.turn * share)),
        Segment(start=(station, r), end=segment.end, bulge=math.tan(0.25 * segment.turn * (1.0 - share))),
    )


def polygon(points: FloatArray) -> tuple[Segment, ...]:
    """Return the closed profile of straight lines through ``points`` (n, 2) [m], for a slab's section."""
    corners: list[Point] = [(float(z), float(r)) for z, r in points]
    return _closed([Segment(start=a, end=b) for a, b in itertools.pairwise(corners)])


def _closed(segments: Sequence[Segment]) -> tuple[Segment, ...]:
    """Return the segments with straight lines over the gaps between them, the last gap too."""
    result: list[Segment] = []
    for before, after in itertools.pairwise([*segments, segments[0]]):
        result.append(before)
        if math.dist(before.end, after.start) > _TOUCHING:
            result.append(Segment(start=before.end, end=after.start))
    return joined(one for one in result if one.chord > _TOUCHING)


def revolved_volume(segments: Sequence[Segment]) -> float:
    """Return the volume a closed profile fills when it is turned about the axis [m3].

    V = |pi loop integral of r2 dz| (Pappus's theorem with Green's), exact for lines and arcs.

    Source: Pappus of Alexandria, second theorem; the form is Green's theorem.

    >>> cylinder = [(0.0, 0.0), (0.0, 1.0), (2.0, 1.0), (2.0, 0.0)]
    >>> round(revolved_volume(polygon(np.array(cylinder))) / np.pi, 12)
    2.0
    """
    nodes, weights = np.polynomial.legendre.leggauss(16)
    total = 0.0
    for segment in segments:
        half = 0.5 * segment.turn
        points = segment.points(0.5 * (nodes + 1.0))
        if half == 0.0:
            slope = np.full(len(nodes), segment.end[0] - segment.start[0])
        else:
            heading = segment.start_direction + segment.turn * 0.5 * (nodes + 1.0)
            slope = segment.radius * abs(segment.turn) * np.cos(heading)
        total += 0.5 * float(weights @ (points[:, 1] ** 2 * slope))
    return abs(math.pi * total)
