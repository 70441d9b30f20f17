"""What of a turned part's curves a drawing gives numbers to: stations, diameters, radii, chamfers.

Points are (z, r) in metres. A corner that is rounded or chamfered counts where its neighbours would meet.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from optitip.export.parts.arcs import Point, Segment

SAME = 2e-6  # [m] closer ones are one
_SQUARE = 1e-7
_TANGENT = 2e-3  # [rad]
_ROUND_TURN = 0.12  # [rad] an arc that turns less belongs to a curve, unless it is as tight as a tool's edge
_TIGHT = 1.5e-3
_LARGEST_ROUND = 6e-3
_LARGEST_CHAMFER = 3e-3
_TIGHTER = 4.0  # times: a round against the curve beside it


@dataclass(frozen=True, slots=True, kw_only=True)
class Corner:
    """A rounded or chamfered corner: its middle, and its radius or its leg at 45 degrees [m]."""

    point: Point
    size: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Features:
    """What a curve has: stations [m], points with a diameter, cylinders, rounds, chamfers."""

    stations: tuple[float, ...]
    diameters: tuple[Point, ...]
    cylinders: tuple[Segment, ...]
    rounds: tuple[Corner, ...]
    chamfers: tuple[Corner, ...]


def features_of(curve: Sequence[Segment]) -> Features:
    """Return what a curve that runs fore to aft has to be given numbers for.

    A cylinder's diameter stands at its middle, that of anything else at its ends.

    >>> steps = [(0.0, 0.01), (0.02, 0.01), (0.02, 0.015), (0.05, 0.015)]
    >>> made = features_of([Segment(start=a, end=b) for a, b in zip(steps, steps[1:])])
    >>> made.stations, made.diameters
    ((0.0, 0.02, 0.05), ((0.01, 0.01), (0.035, 0.015)))
    """
    sharp, rounds = without_rounds([one for one in curve if not on_axis(one)])
    segments, chamfers = _without_chamfers(sharp)
    runs = _runs(segments)
    cylinders = tuple(run[0] for run in runs if _is_cylinder(run))
    diameters = [(0.5 * (one.start[0] + one.end[0]), one.start[1]) for one in cylinders]
    for number, run in enumerate(runs):
        if _is_cylinder(run) or abs(run[-1].end[0] - run[0].start[0]) < _SQUARE:
            continue
        beside = [one for one in runs[max(number - 1, 0) : number + 2] if _is_cylinder(one)]
        for point in (run[0].start, run[-1].end):
            told = any(abs(point[1] - one[0].start[1]) < SAME for one in beside)
            known = any(math.dist(point, one) < SAME for one in diameters)
            if point[1] > SAME and not told and not known:
                diameters.append(point)
    return Features(
        stations=apart(point[0] for run in runs for point in (run[0].start, run[-1].end)),
        diameters=tuple(sorted(diameters)),
        cylinders=cylinders,
        rounds=tuple(rounds),
        chamfers=tuple(chamfers),
    )


def apart(stations: Iterable[float]) -> tuple[float, ...]:
    """Return stations in order, those that are one only once."""
    kept: list[float] = []
    for station in sorted(stations):
        if not kept or station - kept[-1] > SAME:
            kept.append(float(station))
    return tuple(kept)


def on_axis(one: Segment) -> bool:
    """Return whether a segment runs along the axis, where there is metal on both sides."""
    return one.start[1] < SAME and one.end[1] < SAME


def radius_on(curve: Sequence[Segment], station: float, *, ahead: bool = False) -> float:
    """Return a curve's radius [m] at a station [m]: aft of a face that stands there, or ahead of it."""
    found = [one for one in curve if one.start[0] - 1e-9 <= station <= one.end[0] + 1e-9]
    if not found:
        return (curve[0].start if station < curve[0].start[0] else curve[-1].end)[1]
    one = found[0] if ahead else found[-1]
    if station - one.start[0] < 1e-9:
        return (one.start if ahead or one.end[0] - one.start[0] > 1e-9 else one.end)[1]
    if one.end[0] - station < 1e-9:
        return one.end[1]
    return _radius_within(one, station)


def _radius_within(one: Segment, station: float) -> float:
    """Return r = r0 + (z - z0)(sin a + sin a0)/(cos a + cos a0), with sin a = sin a0 + (z - z0)/R.

    a is the heading; of an arc that z never falls on. Flat arcs keep their digits, a line is R without end.
    """
    curvature = 0.0 if one.bulge == 0.0 else math.copysign(1.0 / one.radius, one.bulge)
    along = station - one.start[0]
    before = math.sin(one.start_direction)
    here = min(max(before + curvature * along, -1.0), 1.0)
    cosines = math.cos(one.start_direction) + math.sqrt(1.0 - here * here)
    return one.start[1] + along * (here + before) / cosines


def without_rounds(
    curve: Sequence[Segment], *, largest: float = _LARGEST_ROUND
) -> tuple[list[Segment], list[Corner]]:
    """Return the curve without rounds up to ``largest`` [m], their neighbours run on to where they meet."""
    kept: list[Segment] = []
    rounds: list[Corner] = []
    waiting = list(curve)
    while waiting:
        one = waiting.pop(0)
        if kept and waiting and _is_round(one, kept[-1], waiting[0], largest=largest):
            sharp = _meeting(one.start, one.start_direction, one.end, one.end_direction)
            if sharp is not None:
                rounds.append(Corner(point=_middle(one), size=one.radius))
                kept[-1], waiting[0] = replace(kept[-1], end=sharp), replace(waiting[0], start=sharp)
                continue
        kept.append(one)
    return kept, rounds


def _without_chamfers(curve: Sequence[Segment]) -> tuple[list[Segment], list[Corner]]:
    """Return the curve with short slopes of 45 degrees taken out, and those of them that break a corner.

    A slope between two cylinders counts as a step where the larger of them ends.
    """
    kept: list[Segment] = []
    chamfers: list[Corner] = []
    waiting = list(curve)
    while waiting:
        one = waiting.pop(0)
        if not kept and waiting and _is_chamfer(one) and _is_cylinder([waiting[0]]):
            # at a bore's mouth
            chamfers.append(Corner(point=_middle(one), size=abs(one.end[0] - one.start[0])))
            waiting[0] = replace(waiting[0], start=(one.start[0], waiting[0].start[1]))
            continue
        if not (kept and waiting and _is_chamfer(one)):
            kept.append(one)
            continue
        before, after = kept[-1], waiting[0]
        sharp = _meeting(before.end, before.end_direction, after.start, after.start_direction)
        if sharp is None:
            z = max(one.start, one.end, key=lambda end: end[1])[0]
            ends = (z, before.end[1]), (z, after.start[1])
        else:
            chamfers.append(Corner(point=_middle(one), size=abs(one.end[0] - one.start[0])))
            ends = sharp, sharp
        kept[-1], waiting[0] = replace(before, end=ends[0]), replace(after, start=ends[1])
    return kept, chamfers


def _middle(one: Segment) -> Point:
    ((z, r),) = one.points(np.array([0.5])).tolist()
    return z, r


def _is_round(one: Segment, before: Segment, after: Segment, *, largest: float) -> bool:
    flat = abs(one.turn) < _ROUND_TURN and one.radius > _TIGHT
    if one.bulge == 0.0 or flat or one.radius > largest:
        return False
    return all(
        beside.bulge * one.bulge <= 0.0 or beside.radius > _TIGHTER * one.radius for beside in (before, after)
    )


def _is_chamfer(one: Segment) -> bool:
    legs = abs(one.end[0] - one.start[0]), abs(one.end[1] - one.start[1])
    return one.bulge == 0.0 and max(legs) < _LARGEST_CHAMFER and abs(legs[0] - legs[1]) < 0.01 * max(legs)


def _meeting(first: Point, heading: float, second: Point, other: float) -> Point | None:
    """Return where two lines meet; None if they are parallel or meet far away."""
    cross = math.sin(other - heading)
    if abs(cross) < 1e-3:
        return None
    dz, dr = second[0] - first[0], second[1] - first[1]
    along = (dz * math.sin(other) - dr * math.cos(other)) / cross
    if abs(along) > 5.0 * (math.hypot(dz, dr) + SAME):
        return None
    return first[0] + along * math.cos(heading), first[1] + along * math.sin(heading)


def _runs(segments: Sequence[Segment]) -> list[list[Segment]]:
    """Return the segments in runs: a curve's tangent arcs and lines together, straight lines alone."""
    runs: list[list[Segment]] = []
    for one in segments:
        before = runs[-1][-1] if runs else None
        if before is not None and (before.bulge != 0.0 or one.bulge != 0.0):
            turn = one.start_direction - before.end_direction
            smooth = abs(math.remainder(turn, 2.0 * math.pi)) < _TANGENT
            if smooth and not _is_cylinder([one]) and not _is_cylinder([before]):
                runs[-1].append(one)
                continue
        runs.append([one])
    return runs


def _is_cylinder(run: Sequence[Segment]) -> bool:
    (one, *rest) = run
    return not rest and one.bulge == 0.0 and abs(one.end[1] - one.start[1]) < _SQUARE
