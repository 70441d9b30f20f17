"""The parts of a tip as each is turned, from the built tip and how its parts overlap.

Points are (z, r) in metres, z aft of the nose point of the whole tip.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from optitip.evaluate.building import Tip
from optitip.evaluate.drawn import MEASURED
from optitip.evaluate.laps import laps_of
from optitip.evaluate.weights import weights_of
from optitip.export.parts.arcs import CHORD_ERROR, Point, Segment
from optitip.export.parts.corners import Void, rounded
from optitip.export.parts.holes import with_holes
from optitip.export.parts.laps_turned import (
    check_room,
    mouth_chamfer,
    recess,
    recess_notes,
    seat_gap,
    spigot,
    spigot_notes,
)
from optitip.export.parts.part import ThreadCut, TurnedPart
from optitip.export.parts.profile import split_at, split_at_point
from optitip.export.parts.section import section_of
from optitip.geometry.lap import Lap
from optitip.geometry.shell import shell_profile
from optitip.geometry.topology import Zone
from optitip.units import System, text

_ZONES = {"insert": Zone.NOSE, "shell": Zone.PLUG, "base": Zone.BASE}

Curve = tuple[Segment, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Piece:
    """A part on the way: its curves with sharp corners, and the threads on it."""

    name: str
    outer: Curve
    inner: Curve
    threads: tuple[ThreadCut, ...] = ()
    notes: tuple[str, ...] = ()


def turned_parts(tip: Tip, *, tolerance: float = CHORD_ERROR) -> tuple[TurnedPart, ...]:
    """Return the parts of a tip as each is turned, fore to aft, every curve within ``tolerance`` [m].

    At a joint whose fixing the study gives, the fore part has a spigot and the aft part its recess, and the
    face between them is square to the axis; at any other they meet on the joint's plain face. A spigot in a
    solid base needs the whole recess bored, so that the base is lighter than the model's by that.
    Inside corners have the tool's nose radius. Raises UserMistakes where a fixing has no room.
    """
    shell = shell_profile(tip.cavity)
    section = section_of(tip, tolerance=tolerance)
    laps = {one.joint: one for one in laps_of(tip)}
    for lap in laps.values():
        check_room(lap)
    edge = tip.tables.turning.nose_radius
    pieces = [_Piece(name="shell", outer=section.outer, inner=section.inner)]
    if shell.insert_plane is not None:
        pieces = _insert_off(pieces[0], plane=shell.insert_plane, lap=laps.get("plug"), nose_radius=edge)
    if shell.joint_line is not None:
        corner, outside = ((float(z), float(r)) for r, z in shell.joint_line)
        pieces[-1:] = _base_off(
            pieces[-1], corner=corner, outside=outside, lap=laps.get("base"), nose_radius=edge
        )
    parts = tuple(
        _part(one, tip=tip, nose_radius=edge, material=_words(tip)[one.name], error=section.error)
        for one in pieces
    )
    return with_holes(parts, tip=tip, base_lap=laps.get("base"))


def mass_note(parts: Sequence[TurnedPart], *, tip: Tip, system: System = System.METRIC) -> str:
    """Return how the finished parts' mass compares with that of the model's shell, and why."""
    turned = sum(one.mass for one in parts)
    model = weights_of(tip).shell["shell.mass"]
    said = (text(one, "kg", system) for one in (turned, model))
    note = "together {} as finished, {} in the model".format(*said)
    note += f" ({100.0 * (turned / model - 1.0):+.2f} %)"
    if len(parts) > 1 and laps_of(tip):
        note += ": spigots, recesses and holes aren't in the model"
    return note


def _words(tip: Tip) -> Mapping[str, str]:
    table = tip.tables.tip
    return {
        "insert": table.plug.material or table.material,
        "shell": table.material,
        "base": table.base.material or table.material,
    }


def _part(piece: _Piece, *, tip: Tip, nose_radius: float, material: str, error: float) -> TurnedPart:
    outer = rounded(piece.outer, radius=nose_radius, void=Void.LEFT)
    inner = rounded(piece.inner, radius=nose_radius, void=Void.RIGHT)
    cells = np.flatnonzero(tip.mesh.cell_zone == _ZONES[piece.name])
    return TurnedPart(
        name=piece.name,
        material=material,
        outer=outer.segments,
        inner=inner.segments,
        threads=piece.threads,
        notes=piece.notes,
        nose_radius=nose_radius,
        sharp=(*outer.sharp, *inner.sharp),
        density=tip.materials[int(tip.cell_material[cells[0]])].density,
        chord_error=error,
        walls=_walls(tip) if piece.name == "shell" else (),
        wall_tolerance=tip.tables.turning.wall_tolerance,
    )


def _walls(tip: Tip) -> tuple[Point, ...]:
    start, end = tip.cavity.band_arc
    points = tip.cavity.band_points(start + (end - start) * np.array(MEASURED))
    return tuple((float(z), float(r)) for r, z in points)


def _insert_off(piece: _Piece, *, plane: float, lap: Lap | None, nose_radius: float) -> list[_Piece]:
    """Return insert and the rest; without a lap they meet in the plane."""
    fore, aft = split_at(piece.outer, plane)
    face = piece.inner[0].start
    if lap is None:
        insert = _Piece(name="insert", outer=fore, inner=_line((fore[0].start[0], 0.0), (plane, 0.0)))
        return [insert, replace(piece, outer=aft, inner=(*_line((plane, 0.0), face), *piece.inner))]
    outside = aft[0].start[1]
    stud = spigot(lap, outside=outside, nose_radius=nose_radius)
    insert = _Piece(
        name="insert",
        outer=(*fore, *stud),
        inner=_line((fore[0].start[0], 0.0), (stud[-1].end[0], 0.0)),
        threads=_threads(lap, external=True),
        notes=spigot_notes(lap, outside=outside, nose_radius=nose_radius),
    )
    hole = recess(lap, outside=outside, bore=0.0, nose_radius=nose_radius)
    rest = replace(
        piece,
        outer=aft,
        inner=(*hole, *_line((lap.end, 0.0), face), *piece.inner),
        threads=_threads(lap, external=False, outside=outside, nose_radius=nose_radius),
        notes=recess_notes(lap),
    )
    return [insert, rest]


def _base_off(
    piece: _Piece, *, corner: Point, outside: Point, lap: Lap | None, nose_radius: float
) -> list[_Piece]:
    """Return the shell and its base; without a lap they meet on the face from ``corner`` to ``outside``."""
    before, behind = split_at_point(piece.inner, corner)
    if lap is None:
        fore, aft = split_at(piece.outer, outside[0])
        return [replace(piece, outer=fore, inner=before), _Piece(name="base", outer=aft, inner=behind)]
    fore, aft = split_at(piece.outer, lap.start)
    radius = aft[0].start[1]
    end = lap.end - seat_gap(lap, nose_radius=nose_radius)
    if behind[0].start[0] == behind[0].end[0]:  # a solid base's face: the spigot's inside is straight
        through, left = _line(corner, (end, corner[1])), behind[1:]
        bore = behind[1].start[1]
        rest = _line((lap.end, bore), left[-1].end)
    else:
        through, _ = split_at(behind, end)
        _, rest = split_at(behind, lap.end)
        bore = rest[0].start[1]
    shell = replace(
        piece,
        outer=(*fore, *spigot(lap, outside=radius, nose_radius=nose_radius)),
        inner=(*before, *through),
        threads=(*piece.threads, *_threads(lap, external=True)),
        notes=(*piece.notes, *spigot_notes(lap, outside=radius, nose_radius=nose_radius)),
    )
    base = _Piece(
        name="base",
        outer=aft,
        inner=(*recess(lap, outside=radius, bore=bore, nose_radius=nose_radius), *rest),
        threads=_threads(lap, external=False, outside=radius, nose_radius=nose_radius),
        notes=recess_notes(lap),
    )
    return [shell, base]


def _threads(
    lap: Lap, *, external: bool, outside: float = 0.0, nose_radius: float = 0.0
) -> tuple[ThreadCut, ...]:
    """Return the thread of a lap's side: over the engaged length outside, from the chamfer on inside."""
    if lap.thread is None:
        return ()
    end = lap.start + lap.relief + lap.engaged
    start = lap.start + lap.relief
    if not external:
        start = lap.start + mouth_chamfer(lap, outside=outside, nose_radius=nose_radius)
    return (ThreadCut(thread=lap.thread, external=external, start=start, end=end),)


def _line(start: Point, end: Point) -> Curve:
    return (Segment(start=start, end=end),)
