"""What a machinist measures on a turned part: lengths, diameters, radii, walls, threads, holes.

Points are (z, r) in metres, z aft of the nose point of the whole tip. Datum A is a part's aft face, from
which lengths count, datum B its axis. An inside corner is dimensioned to where its sides would meet.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass
from enum import Enum
from itertools import pairwise

import numpy as np

from optitip.export.parts.arcs import Point, Segment, wrapped
from optitip.export.parts.part import AxialHole, CrossHoles, ThreadCut, TurnedPart
from optitip.export.parts.profile import radius_at
from optitip.properties.threads import INCH, Family, Thread

CORNER = 1e-3  # [rad] of turn between neighbours from which on they meet in a corner
SAME = 1e-7  # [m]
_ON_AXIS = 1e-9
_MM = 1e3


class DimensionKind(Enum):
    """What a dimension measures."""

    LENGTH = "length"
    DIAMETER = "diameter"
    RADIUS = "radius"
    WALL = "wall"
    THREAD = "thread"
    HOLE = "hole"


class DimensionUnits(Enum):
    """In which units a dimension is written: millimetres, inches, or millimetres with inches behind."""

    MILLIMETRES = "mm"
    INCHES = "inch"
    DUAL = "dual"


@dataclass(frozen=True, slots=True, kw_only=True)
class Dimension:
    """One dimension of a part.

    value: [m]. start, end: what it lies between; a diameter's are its two sides, a radius' the centre and the
    arc's middle, a wall's the bore's side and the outside's. inside: it belongs to the bore. name: what it
    is, in words. tolerance: [m] either way, None where the general one holds. called: what stands instead of
    the number, a thread's designation; before, behind: what stands around it.
    """

    kind: DimensionKind
    name: str
    value: float
    start: Point
    end: Point
    inside: bool = False
    tolerance: float | None = None
    called: str | None = None
    before: str = ""
    behind: str = ""

    @property
    def station(self) -> float:
        """Return where along the axis it belongs [m]: of a length the end that isn't the datum."""
        return self.start[0]

    def text(self, units: DimensionUnits = DimensionUnits.MILLIMETRES) -> str:
        """Return what stands on the drawing.

        Millimetres to 0.01 without idle noughts, but with as many places as a tolerance has; inches to 0.001
        and always three places; both as millimetres with two places and the inches in brackets.

        >>> ends = {"start": (0.0, 0.0), "end": (0.0254, 0.0)}
        >>> inch = Dimension(kind=DimensionKind.LENGTH, name="length", value=0.0254, **ends)
        >>> inch.text(), inch.text(DimensionUnits.DUAL)
        ('25.4', '25.40 [1.000 in]')
        """
        sign = {DimensionKind.DIAMETER: "⌀", DimensionKind.HOLE: "⌀", DimensionKind.RADIUS: "R"}
        number = self.called or sign.get(self.kind, "") + _number(self.value, units, tolerance=self.tolerance)
        return f"{self.before}{number}{self.behind}"


def dimensions_of(part: TurnedPart) -> tuple[Dimension, ...]:
    """Return a part's dimensions: of outside and bore fore to aft, then radii, walls, threads, holes."""
    return (
        *_along(part, part.outer, inside=False),
        *(() if part.solid else _along(part, part.inner, inside=True)),
        *_radii(part),
        *_walls(part),
        *(one for cut in part.threads for one in _thread(part, cut)),
        *(one for holes in part.holes for one in _across(part, holes)),
        *(_hole(part, hole) for hole in part.axial_holes),
    )


def corners(curve: tuple[Segment, ...], *, nose_radius: float, inside: bool) -> tuple[Point, ...]:
    """Return a curve's ends and corners, fore to aft; one that has an arc is where its sides would meet."""
    found = [curve[0].start]
    arcs = [is_corner(curve, i, nose_radius=nose_radius, inside=inside) for i in range(len(curve))]
    for i, (one, after) in enumerate(pairwise(curve)):
        if arcs[i]:
            found.append(_meeting(one))
        elif not arcs[i + 1] and abs(wrapped(after.start_direction - one.end_direction)) > CORNER:
            found.append(one.end)
    return (*found, curve[-1].end)


def is_corner(curve: tuple[Segment, ...], number: int, *, nose_radius: float, inside: bool) -> bool:
    """Return whether an arc rounds an inside corner: it has the tool's radius, or follows a square face."""
    one = curve[number]
    if one.bulge == 0.0 or (one.bulge > 0.0) == inside:
        return False
    before = curve[number - 1] if number else None
    faced = before is not None and before.bulge == 0.0 and abs(before.start[0] - before.end[0]) < _ON_AXIS
    if before is not None and abs(wrapped(one.start_direction - before.end_direction)) > CORNER:
        return False
    return abs(one.radius - nose_radius) < _ON_AXIS or (faced and number + 1 < len(curve))


def _meeting(arc: Segment) -> Point:
    reach = arc.radius * math.tan(0.5 * abs(arc.turn))
    heading = arc.start_direction
    return arc.start[0] + reach * math.cos(heading), arc.start[1] + reach * math.sin(heading)


def _along(part: TurnedPart, curve: tuple[Segment, ...], *, inside: bool) -> Iterator[Dimension]:
    """Yield lengths from the aft face and diameters at a curve's corners, each once."""
    where = "bore" if inside else "outside"
    datum = (part.end, curve[-1].end[1])
    lengths: list[float] = [part.end]
    last = 0.0
    for point in corners(curve, nose_radius=part.nose_radius, inside=inside):
        z, r = point
        if all(abs(z - one) > SAME for one in lengths):
            lengths.append(z)
            name = f"{where}, corner to datum A"
            yield _length(part, point, datum=datum, name=name, inside=inside)
        threaded = not inside and any(_on(cut, point) for cut in part.threads)
        if r > _ON_AXIS and abs(r - last) > SAME and not threaded:
            yield Dimension(
                kind=DimensionKind.DIAMETER,
                name=f"{where}, across",
                value=2.0 * r,
                start=point,
                end=(z, -r),
                inside=inside,
            )
        last = r


def _on(cut: ThreadCut, point: Point) -> bool:
    z, r = point
    return cut.external and cut.start - SAME < z < cut.end + SAME and abs(2.0 * r - cut.thread.major) < SAME


def _length(part: TurnedPart, point: Point, *, datum: Point, name: str, inside: bool) -> Dimension:
    return Dimension(
        kind=DimensionKind.LENGTH,
        name=name,
        value=part.end - point[0],
        start=point,
        end=datum,
        inside=inside,
    )


def _radii(part: TurnedPart) -> Iterator[Dimension]:
    """Yield the nose's sphere and the fillets that aren't the tool's own radius."""
    nose = part.outer[0]
    if nose.bulge < 0.0 and nose.start[1] == 0.0 and abs(nose.centre[1]) < _ON_AXIS:
        yield _radius(nose, name="nose, a sphere", inside=False)
    for curve, inside in ((part.outer, False), (part.inner, True)):
        for number, one in enumerate(curve):
            if not is_corner(curve, number, nose_radius=part.nose_radius, inside=inside):
                continue
            if abs(one.radius - part.nose_radius) > _ON_AXIS:
                yield _radius(one, name="fillet", inside=inside)


def _radius(arc: Segment, *, name: str, inside: bool) -> Dimension:
    z, r = arc.points(np.array([0.5]))[0]
    return Dimension(
        kind=DimensionKind.RADIUS,
        name=name,
        value=arc.radius,
        start=arc.centre,
        end=(float(z), float(r)),
        inside=inside,
    )


def _walls(part: TurnedPart) -> Iterator[Dimension]:
    for point in part.walls:
        foot = nearest(part.outer, point)
        yield Dimension(
            kind=DimensionKind.WALL,
            name="wall, square to the outside",
            value=math.dist(point, foot),
            start=point,
            end=foot,
            tolerance=part.wall_tolerance,
        )


def nearest(curve: tuple[Segment, ...], point: Point) -> Point:
    """Return the point of a curve that is nearest to a point [m], to 1e-12 m of its own distance."""
    share = np.linspace(0.0, 1.0, 65)
    rows = [(one, one.points(share)) for one in curve]
    far = [np.hypot(*(points - np.array(point)).T) for _, points in rows]
    number = int(np.argmin([one.min() for one in far]))
    one, middle = curve[number], float(share[int(far[number].argmin())])
    low, high = max(middle - 1.0 / 64.0, 0.0), min(middle + 1.0 / 64.0, 1.0)
    for _ in range(60):
        tries = low + (high - low) * np.array([0.381966, 0.618034])
        first, second = np.hypot(*(one.points(tries) - np.array(point)).T)
        low, high = (low, float(tries[1])) if first < second else (float(tries[0]), high)
    z, r = one.points(np.array([0.5 * (low + high)]))[0]
    return float(z), float(r)


def thread_note(thread: Thread, *, external: bool) -> str:
    """Return a thread's designation with its class: 6g and 6H, or 2A and 2B, unless it has one.

    >>> from optitip.properties.threads import thread_of
    >>> thread_note(thread_of("M39x1.5"), external=True), thread_note(thread_of("1/4-20 UNC"), external=False)
    ('M39x1.5 - 6g', '1/4-20 UNC - 2B')
    """
    named = thread.designation
    if thread.family is Family.METRIC:
        return named if "-" in named else f"{named} - {'6g' if external else '6H'}"
    return named if named[-1] in "ABab123" else f"{named} - {'2A' if external else '2B'}"


def _thread(part: TurnedPart, cut: ThreadCut) -> Iterator[Dimension]:
    middle = 0.5 * (cut.start + cut.end)
    radius = 0.5 * cut.thread.major
    yield Dimension(
        kind=DimensionKind.THREAD,
        name="thread outside" if cut.external else "thread inside",
        value=cut.thread.major,
        start=(middle, radius),
        end=(middle, -radius),
        inside=not cut.external,
        called=thread_note(cut.thread, external=cut.external),
    )
    bored = 0.5 * cut.thread.minor
    if not cut.external and all(
        abs(one.end[0] - cut.end) > SAME for one in part.inner if abs(one.end[1] - bored) < SAME
    ):
        datum = (part.end, part.inner[-1].end[1])
        name = "thread inside, full as far as here"
        yield _length(part, (cut.end, bored), datum=datum, name=name, inside=True)


def _across(part: TurnedPart, holes: CrossHoles) -> Iterator[Dimension]:
    outside = radius_at(part.outer, holes.axial)
    datum = (part.end, part.outer[-1].end[1])
    yield Dimension(
        kind=DimensionKind.HOLE,
        name="holes across the axis",
        value=holes.diameter,
        start=(holes.axial - 0.5 * holes.diameter, outside),
        end=(holes.axial + 0.5 * holes.diameter, outside),
        called=None if holes.tapped is None else f"{holes.tapped} - {_class_inside(holes.tapped)}",
        before=f"{holes.count}x ",
    )
    name = "holes' centres to datum A"
    yield _length(part, (holes.axial, outside), datum=datum, name=name, inside=False)


def _class_inside(designation: str) -> str:
    return "6H" if designation[:1] in "Mm" else "2B"


def _hole(part: TurnedPart, hole: AxialHole) -> Dimension:
    through = hole.end >= part.end - SAME
    off = "on the axis" if hole.off_axis == 0.0 else f"{_plain(_MM * hole.off_axis)} off the axis"
    return Dimension(
        kind=DimensionKind.HOLE,
        name=f"{hole.use}, {off}",
        value=hole.diameter,
        start=(hole.end, hole.off_axis - 0.5 * hole.diameter),
        end=(hole.end, hole.off_axis + 0.5 * hole.diameter),
        inside=True,
        behind=" through" if through else "",
    )


def _number(value: float, units: DimensionUnits, *, tolerance: float | None) -> str:
    inches = f"{value / INCH:.3f}"
    if units is DimensionUnits.INCHES:
        return inches + ("" if tolerance is None else f" ±{tolerance / INCH:.3f}")
    off = "" if tolerance is None else _plain(_MM * tolerance)
    dual = units is DimensionUnits.DUAL
    places = max(2 * dual, len(off.partition(".")[2]))
    number = f"{_MM * value:.{places}f}" if places else _plain(_MM * value)
    metric = number + (f" ±{off}" if off else "")
    if not dual:
        return metric
    return f"{metric} [{inches}{'' if tolerance is None else f' ±{tolerance / INCH:.3f}'} in]"


def _plain(value: float) -> str:
    """Return a number of millimetres to 0.01 without idle noughts."""
    return f"{value:.2f}".rstrip("0").rstrip(".")
