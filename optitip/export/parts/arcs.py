"""Arcs and straight lines in place of a dense curve, tangent to each other, for lathes and drawings.

Points are (z, r) in metres, z along the axis and r away from it; a turn to the left is positive.
"""

import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import Enum

import numpy as np

from optitip.arrays import FloatArray

CHORD_ERROR = 5e-6
_LARGEST_TURN = 0.75 * math.pi
_STRAIGHT = 1e-8

Point = tuple[float, float]


class Sense(Enum):
    """Which way a segment turns, z to the right and r up."""

    LINE = "line"
    CLOCKWISE = "clockwise"
    COUNTER_CLOCKWISE = "counter-clockwise"


@dataclass(frozen=True, slots=True, kw_only=True)
class Segment:
    """A line or an arc from ``start`` to ``end``; ``bulge`` is tan(turn / 4), 0 for a line.

    >>> quarter = Segment(start=(0.0, 0.0), end=(1.0, 1.0), bulge=-math.tan(math.pi / 8.0))
    >>> round(quarter.radius, 12), quarter.sense.value, [round(x, 12) for x in quarter.centre]
    (1.0, 'clockwise', [1.0, 0.0])
    """

    start: Point
    end: Point
    bulge: float = 0.0

    @property
    def sense(self) -> Sense:
        """Return which way the segment turns."""
        if self.bulge == 0.0:
            return Sense.LINE
        return Sense.COUNTER_CLOCKWISE if self.bulge > 0.0 else Sense.CLOCKWISE

    @property
    def turn(self) -> float:
        """Return the angle the direction turns by, left positive [rad]."""
        return 4.0 * math.atan(self.bulge)

    @property
    def chord(self) -> float:
        """Return the distance from start to end [m]."""
        return math.hypot(self.end[0] - self.start[0], self.end[1] - self.start[1])

    @property
    def radius(self) -> float:
        """Return the radius [m], infinite for a line."""
        if self.bulge == 0.0:
            return math.inf
        return self.chord / (2.0 * math.sin(abs(self.turn) / 2.0))

    @property
    def centre(self) -> Point:
        """Return the centre of an arc; a line has none."""
        if self.bulge == 0.0:
            raise ValueError("a line has no centre")
        z, r = (a + b for a, b in zip(self.start, self.end, strict=True))
        reach = (1.0 - self.bulge**2) / (4.0 * self.bulge)
        return (
            0.5 * z - reach * (self.end[1] - self.start[1]),
            0.5 * r + reach * (self.end[0] - self.start[0]),
        )

    @property
    def start_direction(self) -> float:
        """Return the angle of the direction at the start to the z axis [rad]."""
        return self._chord_direction - 0.5 * self.turn

    @property
    def end_direction(self) -> float:
        """Return the angle of the direction at the end to the z axis [rad]."""
        return self._chord_direction + 0.5 * self.turn

    @property
    def _chord_direction(self) -> float:
        return math.atan2(self.end[1] - self.start[1], self.end[0] - self.start[0])

    def reversed(self) -> "Segment":
        """Return the same segment run the other way."""
        return Segment(start=self.end, end=self.start, bulge=-self.bulge)

    def points(self, share: FloatArray) -> FloatArray:
        """Return the points (n, 2) at ``share`` (n,) of the turn, 0 the start and 1 the end."""
        half = 0.5 * self.turn
        if half == 0.0:
            along, across = np.asarray(share, float), np.zeros(np.shape(share))
        else:
            angle = half * (2.0 * share - 1.0)
            along = 0.5 * (1.0 + np.sin(angle) / math.sin(half))
            # cos(half) - cos(angle), written so that a flat arc keeps its digits
            across = -np.sin(0.5 * (half + angle)) * np.sin(0.5 * (half - angle)) / math.sin(half)
        start, step = np.array(self.start), np.subtract(self.end, self.start)
        points: FloatArray = start + np.outer(along, step) + np.outer(across, [-step[1], step[0]])
        return points

    def distance(self, points: FloatArray) -> FloatArray:
        """Return the distance (n,) of ``points`` (n, 2) from the segment's circle or line [m]."""
        direction = self.start_direction
        step = points - np.array(self.start)
        across = step[:, 1] * math.cos(direction) - step[:, 0] * math.sin(direction)
        curvature = 0.0 if self.bulge == 0.0 else math.copysign(1.0 / self.radius, self.bulge)
        # |p - centre| - radius without the difference of two large numbers
        raised = 0.5 * curvature * np.sum(step**2, axis=1) - across
        root = np.sqrt(np.maximum(1.0 + 2.0 * curvature * raised, 0.0))
        distance: FloatArray = np.abs(2.0 * raised / (1.0 + root))
        return distance


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """The segments that stand for a curve, and how far its dense points lie off them [m]."""

    segments: tuple[Segment, ...]
    error: float


def directions(points: FloatArray) -> FloatArray:
    """Return the direction (n,) [rad] of the smooth curve through ``points`` (n, 2).

    Each is that of the circle through a point and its two neighbours: second order in the spacing.
    """
    step = np.diff(points, axis=0)
    length = np.hypot(step[:, 0], step[:, 1])
    chord = np.unwrap(np.arctan2(step[:, 1], step[:, 0]))
    if len(chord) == 1:
        return np.array([chord[0], chord[0]])
    bend = np.diff(chord) / (length[:-1] + length[1:])
    middle = chord[:-1] + bend * length[:-1]
    return np.concatenate([[chord[0] - bend[0] * length[0]], middle, [chord[-1] + bend[-1] * length[-1]]])


def fit_curve(
    points: FloatArray, *, direction: FloatArray | None = None, tolerance: float = CHORD_ERROR
) -> Fit:
    """Return the few tangent arcs and lines that pass within ``tolerance`` of a smooth curve.

    Pairs of arcs (biarcs with equal tangent lengths), each as long as the tolerance lets it be; the ends
    of a pair are points of the curve and have its direction. ``points`` (n, 2) [m], ``direction`` (n,)
    [rad] against the z axis; the error is measured on the points, so they should lie close.
    Valid for curves without corners. Source: common practice, no source.

    >>> angle = np.linspace(0.0, 1.5, 200)
    >>> circle = np.column_stack([np.sin(angle), 1.0 - np.cos(angle)])
    >>> [round(one.radius, 9) for one in fit_curve(circle, direction=angle).segments]
    [1.0]
    """
    if len(points) < 2 or np.any(np.hypot(*np.diff(points, axis=0).T) == 0.0):
        raise ValueError("a curve needs two points or more, each apart from the next")
    if not tolerance > 0.0:
        raise ValueError("the tolerance must be above zero")
    angle = np.unwrap(directions(points) if direction is None else direction)
    breaks = _breaks(points, angle, tolerance)
    # the same number of pairs with the error spread evenly, so that no stub is left at the end
    low, high = 0.0, tolerance
    for _ in range(10):
        middle = 0.5 * (low + high)
        tighter = _breaks(points, angle, middle, most=len(breaks))
        if tighter:
            breaks, high = tighter, middle
        else:
            low = middle
    pairs = [_pair(points, angle, i, j) for i, j in itertools.pairwise(breaks)]
    return Fit(
        segments=joined(segment for segments, _ in pairs for segment in segments),
        error=max(error for _, error in pairs),
    )


def _breaks(points: FloatArray, angle: FloatArray, tolerance: float, *, most: int | None = None) -> list[int]:
    """Return where the pairs begin and end, greedily; empty if there would be more than ``most``."""
    last = len(points) - 1
    breaks = [0]
    while breaks[-1] < last:
        here = breaks[-1]
        turned = np.abs(angle[here:] - angle[here]) > _LARGEST_TURN
        far = here + int(np.argmax(turned)) - 1 if turned.any() else last
        good, bad = here + 1, max(far, here + 1) + 1
        if _pair(points, angle, here, bad - 1)[1] <= tolerance:
            good = bad - 1
        while bad - good > 1:
            middle = (good + bad) // 2
            if _pair(points, angle, here, middle)[1] <= tolerance:
                good = middle
            else:
                bad = middle
        breaks.append(good)
        if most is not None and len(breaks) > most:
            return []
    return breaks


def _pair(points: FloatArray, angle: FloatArray, i: int, j: int) -> tuple[list[Segment], float]:
    """Return the biarc from point i to point j and the distance of the points between from it."""
    start, end = points[i], points[j]
    first, last = float(angle[i]), float(angle[j])
    between = points[i : j + 1]
    chord = math.atan2(end[1] - start[1], end[0] - start[0])
    leave, arrive = wrapped(chord - first), wrapped(last - chord)
    if abs(leave - arrive) < _STRAIGHT:
        one = _arc(start, end, leave + arrive)
        return [one], float(one.distance(between).max())
    t1 = np.array([math.cos(first), math.sin(first)])
    t2 = np.array([math.cos(last), math.sin(last)])
    v = end - start
    along = v @ (t1 + t2)
    # |v|2 = 2 d v.(t1 + t2) + 2 d2 (1 - t1.t2), solved for d without cancellation
    d = (v @ v) / (along + math.sqrt(along**2 + 2.0 * (1.0 - t1 @ t2) * (v @ v)))
    joint = 0.5 * (start + end + d * (t1 - t2))
    fore = _arc(start, joint, 2.0 * wrapped(math.atan2(*(joint - start)[::-1]) - first))
    aft = _arc(joint, end, 2.0 * wrapped(last - math.atan2(*(end - joint)[::-1])))
    middle = fore.end_direction
    is_aft = (between - joint) @ np.array([math.cos(middle), math.sin(middle)]) > 0.0
    error = np.where(is_aft, aft.distance(between), fore.distance(between))
    return [fore, aft], float(error.max())


def _arc(start: FloatArray, end: FloatArray, turn: float) -> Segment:
    return Segment(
        start=(float(start[0]), float(start[1])),
        end=(float(end[0]), float(end[1])),
        bulge=0.0 if abs(turn) < _STRAIGHT else math.tan(0.25 * turn),
    )


def wrapped(angle: float) -> float:
    """Return an angle within half a turn either way [rad]."""
    return math.remainder(angle, 2.0 * math.pi)


def joined(segments: Iterable[Segment]) -> tuple[Segment, ...]:
    """Return the segments with neighbours on the same line or circle made one."""
    result: list[Segment] = []
    for segment in segments:
        one = _one_of(result[-1], segment) if result else None
        if one is None:
            result.append(segment)
        else:
            result[-1] = one
    return tuple(result)


def _one_of(first: Segment, second: Segment) -> Segment | None:
    if (first.bulge == 0.0) != (second.bulge == 0.0):
        return None
    if abs(wrapped(second.start_direction - first.end_direction)) > _STRAIGHT:
        return None
    turn = first.turn + second.turn
    if first.bulge == 0.0:
        return Segment(start=first.start, end=second.end)
    curvatures = [one.turn / (one.radius * abs(one.turn)) for one in (first, second)]
    if abs(curvatures[0] - curvatures[1]) > 1e-7 * abs(curvatures[0]) or abs(turn) > _LARGEST_TURN:
        return None
    return Segment(start=first.start, end=second.end, bulge=math.tan(0.25 * turn))


def largest_corner(segments: Sequence[Segment]) -> float:
    """Return the largest change of direction between neighbours [rad]."""
    return max(
        (
            abs(wrapped(after.start_direction - before.end_direction))
            for before, after in itertools.pairwise(segments)
        ),
        default=0.0,
    )
