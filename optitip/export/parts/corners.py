"""Inside corners with the radius of the tool's edge, tangent to what they join."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum

import numpy as np

from optitip.arrays import FloatArray
from optitip.export.parts.arcs import Point, Segment, wrapped

SMALLEST_KINK = 1e-3  # [rad] in which a nose radius of 1.2 mm leaves 0.2 nm
_SAME = 1e-9
_STUB = 1e-6


class Void(Enum):
    """On which side of a curve that runs fore to aft the tool is: left of an outside, right of a bore."""

    LEFT = 1.0
    RIGHT = -1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Rounded:
    """A curve with its inside corners rounded, and the corners that had no room and stay sharp."""

    segments: tuple[Segment, ...]
    sharp: tuple[Point, ...]


def rounded(segments: Sequence[Segment], *, radius: float, void: Void) -> Rounded:
    """Return the curve with an arc of ``radius`` [m], tangent at both ends, in every inside corner.

    An inside corner is where less than half a turn is open to the tool, which stands on the side ``void``. An
    arc tighter than ``radius`` in one gives way to the tool's. Corners outside stay.
    Valid for a radius above 0; where an arc doesn't fit between its neighbours the corner stays, named.

    >>> step = [Segment(start=(0.0, 2.0), end=(0.0, 1.0)), Segment(start=(0.0, 1.0), end=(3.0, 1.0))]
    >>> [round(one.radius, 9) for one in rounded(step, radius=0.25, void=Void.LEFT).segments]
    [inf, 0.25, inf]
    """
    result: list[Segment] = []
    sharp: list[Point] = []
    waiting = list(segments)
    while waiting:
        after = waiting.pop(0)
        tight = _is_tight(after, radius=radius, void=void) and bool(result) and bool(waiting)
        if tight and (arc := fillet(result[-1], waiting[0], radius=radius, void=void)) is not None:
            result[-1:], waiting[0] = [_up_to(result[-1], arc.start), arc], _from(waiting[0], arc.end)
            continue
        if tight or (_is_tight(after, radius=radius, void=void) and after.chord > _SAME):
            sharp.append(after.start)
        if result and _opens(result[-1], after, void=void):
            arc = fillet(result[-1], after, radius=radius, void=void)
            if arc is None:
                sharp.append(after.start)
            else:
                result[-1:] = [_up_to(result[-1], arc.start), arc]
                after = _from(after, arc.end)
        result.append(after)
    return Rounded(segments=tuple(result), sharp=tuple(sharp))


def _is_tight(one: Segment, *, radius: float, void: Void) -> bool:
    return void.value * one.bulge > 0.0 and one.radius < radius - _SAME


def _opens(before: Segment, after: Segment, *, void: Void) -> bool:
    return void.value * wrapped(after.start_direction - before.end_direction) > SMALLEST_KINK


def fillet(before: Segment, after: Segment, *, radius: float, void: Void) -> Segment | None:
    """Return the arc of ``radius`` [m] that joins two segments, tangent to both; None where it doesn't fit.

    Its centre lies the radius off both, found by Newton's method; lines take one step.
    """
    centre = np.add(before.end, after.start) / 2.0
    middle = 0.5 * (before.end_direction + before.end_direction + wrapped(_turn(before, after)))
    centre += void.value * radius * np.array([-math.sin(middle), math.cos(middle)])
    for _ in range(30):
        (first, along_first), (second, along_second) = _off(before, centre), _off(after, centre)
        off = np.array([first, second]) - void.value * radius
        matrix = np.array([along_first, along_second])
        if abs(np.linalg.det(matrix)) < SMALLEST_KINK / 10.0:
            return None
        step = np.linalg.solve(matrix, off)
        centre = centre - step
        if float(np.abs(step).max()) < 1e-15:
            break
    feet = []
    for one in (before, after):
        distance, normal = _off(one, centre)
        feet.append(centre - distance * normal)
    if not (_reaches(before, feet[0], end=False) and _reaches(after, feet[1], end=True)):
        return None
    start, end = ((float(z), float(r)) for z, r in feet)
    directions = [_direction(one, centre) for one in (before, after)]
    return Segment(start=start, end=end, bulge=math.tan(0.25 * wrapped(directions[1] - directions[0])))


def _turn(before: Segment, after: Segment) -> float:
    return after.start_direction - before.end_direction


def _off(one: Segment, point: FloatArray) -> tuple[float, FloatArray]:
    """Return how far left of a segment's line or circle a point lies [m], and the normal there."""
    heading = one.start_direction
    step = point - np.array(one.start)
    normal = np.array([-math.sin(heading), math.cos(heading)])
    curvature = 0.0 if one.bulge == 0.0 else math.copysign(1.0 / one.radius, one.bulge)
    raised = 0.5 * curvature * float(step @ step) - float(step @ normal)
    root = math.sqrt(max(1.0 + 2.0 * curvature * raised, 1e-12))
    return -2.0 * raised / (1.0 + root), (normal - curvature * step) / root


def _direction(one: Segment, point: FloatArray) -> float:
    """Return the direction of a segment at the foot of a point [rad]."""
    _, normal = _off(one, point)
    return math.atan2(-normal[0], normal[1])


def _reaches(one: Segment, foot: FloatArray, *, end: bool) -> bool:
    """Return whether a foot leaves a part of the segment towards its far end."""
    far, near = (one.end, one.start) if end else (one.start, one.end)
    chord = np.subtract(near, far) / one.chord
    return bool(float((foot - np.array(far)) @ chord) > _STUB)


def _up_to(one: Segment, point: Point) -> Segment:
    if one.bulge == 0.0:
        return Segment(start=one.start, end=point)
    chord = math.atan2(point[1] - one.start[1], point[0] - one.start[0])
    turn = 2.0 * wrapped(chord - one.start_direction)
    return Segment(start=one.start, end=point, bulge=math.tan(0.25 * turn))


def _from(one: Segment, point: Point) -> Segment:
    return _up_to(one.reversed(), point).reversed()
