"""The words round a part's section: diameters, threads, radii, walls, holes, and the notes below."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from optitip.export.parts.arcs import Segment
from optitip.export.parts.dimensions import Dimension, DimensionKind, dimensions_of, thread_note
from optitip.export.parts.part import CrossHoles, ThreadCut, TurnedPart
from optitip.export.sheets.part_features import Features, apart, features_of, radius_on
from optitip.export.sheets.sheet import measured
from optitip.export.sheets.sheet_blocks import length_text
from optitip.export.sheets.sheet_facts import SheetFacts
from optitip.units import System

ABOVE = 4.0  # [mm] from the part to where leaders bend
_ELBOW = 6.5
_SAME_RADIUS = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """Words for a point (z, r) [m] of a part."""

    words: str
    z: float
    r: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """All that is written round a part's section: labels above and below, lengths; their ``height`` [mm]."""

    above: tuple[Label, ...]
    below: tuple[Label, ...]
    stations: tuple[float, ...]
    end: float
    height: float
    system: System

    @property
    def row(self) -> float:
        """Return from one row of lengths to the next [mm]."""
        return 2.35 * self.height

    @property
    def room_above(self) -> float:
        """Return the height needed over the part [mm]."""
        return self._room(self.above)

    @property
    def room_below(self) -> float:
        """Return the height the labels below need [mm]."""
        return self._room(self.below)

    @property
    def around(self) -> float:
        """Return the height of all that stands over and under the part [mm]."""
        return self.room_above + self.room_below + self.row * len(self.stations) + 3.0

    def _room(self, labels: Sequence[Label]) -> float:
        if not labels:
            return ABOVE
        return ABOVE + _ELBOW + 1.5 + max(measured(one.words, height=self.height)[0] for one in labels)

    def long(self, length: float) -> str:
        """Return a length [m] as the sheet says it."""
        return length_text(length, system=self.system)


def words_of(part: TurnedPart, *, system: System, height: float) -> Words:
    """Return what is written round the section of a part."""
    outside, inside = features_of(part.outer), features_of(part.inner)
    holes = [one.axial for one in part.holes]
    threads = [z for cut in part.threads for z in (cut.start, cut.end)]
    stations = apart([*outside.stations, *inside.stations, *holes, *threads])
    sphere = _sphere(part.outer, system)
    above = [
        *sphere,
        *_labels(outside, part, system=system, external=True),
        *(_wall(one, system) for one in walls_of(part)),
        *(_holes(one, part, system) for one in part.holes),
    ]
    return Words(
        above=tuple(above),
        below=tuple(_labels(inside, part, system=system, external=False) + _along(part, system)),
        stations=tuple(one for one in reversed(stations) if part.end - one > _SAME_RADIUS),
        end=part.end,
        height=height,
        system=system,
    )


def walls_of(part: TurnedPart) -> tuple[Dimension, ...]:
    """Return the walls that have a tolerance of their own."""
    return tuple(one for one in dimensions_of(part) if one.kind is DimensionKind.WALL)


def _sphere(outer: Sequence[Segment], system: System) -> list[Label]:
    first = outer[0]
    if first.bulge == 0.0 or first.start[1] > _SAME_RADIUS:
        return []
    (z, r), *_ = first.points(np.array([0.6]))
    return [Label(words=f"SR{length_text(first.radius, system=system)}", z=float(z), r=float(r))]


def _labels(found: Features, part: TurnedPart, *, system: System, external: bool) -> list[Label]:
    def long(length: float) -> str:
        return length_text(length, system=system)

    labels = []
    cuts = [one for one in part.threads if one.external is external]
    for z, r in found.diameters:
        cut = next((one for one in cuts if one.start - 1e-6 <= z <= one.end + 1e-6 and _is_of(one, r)), None)
        if cut is None:
            at = _beside_holes(z, found, part)
            labels.append(Label(words=f"⌀{long(2.0 * r)}", z=at, r=r))
        else:
            labels.append(Label(words=thread_note(cut.thread, external=cut.external), z=z, r=r))
    for one in found.rounds:
        if abs(one.size - part.nose_radius) > _SAME_RADIUS:
            labels.append(Label(words=f"R{long(one.size)}", z=one.point[0], r=one.point[1]))
    for one in found.chamfers:
        words = f"{length_text(one.size, system=system, digits=1)}×45°"
        labels.append(Label(words=words, z=one.point[0], r=one.point[1]))
    return labels


def _beside_holes(z: float, found: Features, part: TurnedPart) -> float:
    """Return where a cylinder's label points, off the holes that lie in its middle."""
    if not any(abs(one.axial - z) < one.diameter for one in part.holes):
        return z
    for one in found.cylinders:
        if abs(0.5 * (one.start[0] + one.end[0]) - z) < 1e-9:
            return one.start[0] + 0.15 * (one.end[0] - one.start[0])
    return z


def _is_of(cut: ThreadCut, radius: float) -> bool:
    drawn = cut.thread.major if cut.external else cut.thread.minor
    return bool(abs(0.5 * drawn - radius) < 1e-5)


def _wall(wall: Dimension, system: System) -> Label:
    thickness, off = (length_text(x, system=system) for x in (wall.value, wall.tolerance or 0.0))
    z, r = wall.end
    return Label(words=f"wall {thickness} ±{off}", z=z, r=r)


def _holes(holes: CrossHoles, part: TurnedPart, system: System) -> Label:
    what = f"⌀{length_text(holes.diameter, system=system)}" if holes.tapped is None else holes.tapped
    through = "" if holes.tapped is None else f" (drill ⌀{length_text(holes.diameter, system=system)})"
    return Label(words=f"{holes.count}× {what}{through}", z=holes.axial, r=radius_on(part.outer, holes.axial))


def _along(part: TurnedPart, system: System) -> list[Label]:
    """Return the labels of holes along the axis."""
    labels = []
    for one in part.axial_holes:
        off = "" if one.off_axis == 0.0 else f", {length_text(one.off_axis, system=system)} off B"
        words = f"⌀{length_text(one.diameter, system=system)} {one.use}{off}"
        labels.append(Label(words=words, z=0.5 * (one.start + one.end), r=one.off_axis))
    return labels


def notes_of(part: TurnedPart, *, facts: SheetFacts, system: System) -> tuple[str, ...]:
    """Return the notes of a part's sheet: what holds for all of it, its own, then the cautions."""
    unit = "mm, inches in brackets" if system is System.US else "mm"
    radius = length_text(part.nose_radius, system=system, unit=True)
    standing = [
        f"All lengths in {unit}, from datum A, the aft face. Datum B is the axis. Don't scale the print.",
        "Between the stations outside and bore are arcs and lines that join smoothly: see the tables, where "
        "an arc's radius is above 0 if it bows away from the axis, below 0 if towards it.",
    ]
    if part.nose_radius > 0.0:
        standing.append(
            f"Break outer edges 0.2 mm. Inside corners R{radius} (tool's edge) where no other radius stands; "
            "stations and diameters there are those of the sharp corner."
        )
    if part.walls:
        standing.append("Walls have a tolerance of their own, which goes before the general one.")
    if any(one.count > 1 for one in part.holes):
        standing.append("Holes across lie on one circle, evenly all round.")
    return tuple(
        _sentence(note) for note in (*facts.broken, *standing, *part.notes, *facts.notes, *facts.cautions)
    )


def _sentence(note: str) -> str:
    key, *_ = note.split()
    # a study's key stays as it is written
    first = note[:1] if "." in key[:-1] else note[:1].upper()
    return first + note[1:] + ("" if note.endswith((".", "!")) else ".")
