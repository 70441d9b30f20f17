"""A turned part in full section on a sheet: hatched halves, edges behind the cut, threads, holes, datums."""

import itertools
import math

import numpy as np

from optitip.export.parts.arcs import Segment
from optitip.export.parts.part import AxialHole, CrossHoles, ThreadCut, TurnedPart
from optitip.export.sheets.part_features import on_axis, radius_on
from optitip.export.sheets.sheet import HAIR, THICK, THIN, Box, Dashes, Sheet, View, broken_line
from optitip.export.sheets.sheet_blocks import centre_line, datum

_EDGE = 0.35
_KINK = 0.01  # [rad]


def draw_part(
    sheet: Sheet,
    part: TurnedPart,
    *,
    view: View,
    spacing: float = 2.0,
    angle: float = 45.0,
    core: float = 0.0,
) -> None:
    """Draw both halves of a part in section, threads by convention (ISO 6410-1, from memory).

    ``core`` [m] is the radius of what lies on the axis and hides the edges behind it.
    """
    gaps = [_gap(part, one, view=view, below=below) for one in part.holes for below in _halves(one)]
    gaps += [_along(one, view=view) for one in part.axial_holes]
    for below in (False, True):
        outline = broken_line(part.closed, view=view, below=below)
        sheet.hatch(outline, spacing=spacing, angle=angle, gaps=gaps)
        visible = [one for one in part.closed if not on_axis(one)]
        for run in _chained(visible):
            sheet.curve(run, view=view, below=below)
        for cut in part.threads:
            _thread(sheet, cut, view=view, below=below)
    _edges_behind(sheet, part, view=view, core=core)
    for one in part.axial_holes:
        _drilled(sheet, one, view=view)
    for holes in part.holes:
        for below in _halves(holes):
            _hole(sheet, part, holes, view=view, below=below)


def draw_datums(sheet: Sheet, part: TurnedPart, *, view: View) -> None:
    """Draw the centre line, which is datum B, and datum A on the aft face."""
    fore, aft = view.at((part.start, 0.0)), view.at((part.end, 0.0))
    centre_line(sheet, (fore[0] - 4.0, fore[1]), (aft[0] + 4.0, aft[1]))
    datum(sheet, (aft[0] + 4.0, aft[1]), letter="B", toward=0.0)
    top = view.at((part.end, part.outer[-1].end[1]))
    bore = view.at((part.end, part.inner[-1].end[1]))
    middle = 0.5 * (top[1] + bore[1]) if top[1] - bore[1] < 10.0 else top[1] - 4.0
    if middle - aft[1] < 6.0:
        # a small part: the letters would touch
        middle = aft[1] + 6.0
        sheet.line((aft[0], top[1]), (aft[0], middle + 2.0))
    datum(sheet, (aft[0], middle), letter="A", toward=0.0)


def _halves(holes: CrossHoles) -> tuple[bool, ...]:
    """Return in which halves of the section a hole lies: an even number has one opposite the first."""
    return (False, True) if holes.count % 2 == 0 else (False,)


def _wall(part: TurnedPart, station: float) -> tuple[float, float]:
    return radius_on(part.inner, station), radius_on(part.outer, station)


def _gap(part: TurnedPart, holes: CrossHoles, *, view: View, below: bool) -> Box:
    inside, outside = _wall(part, holes.axial)
    half = 0.5 * holes.diameter
    ends = [
        view.at((holes.axial + side * half, r), below=below) for side in (-1, 1) for r in (inside, outside)
    ]
    x, y = zip(*ends, strict=True)
    return min(x), min(y) - 1.0, max(x), max(y) + 1.0


def _along(hole: AxialHole, *, view: View) -> Box:
    """Return where a hole along the axis lies on the paper, above the axis if off it."""
    half = 0.5 * hole.diameter
    left, foot = view.at((hole.start, hole.off_axis - half))
    right, top = view.at((hole.end, hole.off_axis + half))
    return left, foot, right, top


def _drilled(sheet: Sheet, hole: AxialHole, *, view: View) -> None:
    left, foot, right, top = _along(hole, view=view)
    for y in (foot, top):
        sheet.line((left, y), (right, y), width=THICK)
    if hole.off_axis > 0.0:
        y = 0.5 * (foot + top)
        sheet.line((left - 2.0, y), (right + 2.0, y), dashes=Dashes.CENTRE)


def _hole(sheet: Sheet, part: TurnedPart, holes: CrossHoles, *, view: View, below: bool) -> None:
    half = 0.5 * holes.diameter
    for side in (-1.0, 1.0):
        z = holes.axial + side * half
        inside, outside = _wall(part, z)
        sheet.line(view.at((z, inside), below=below), view.at((z, outside), below=below), width=THICK)
    inside, outside = _wall(part, holes.axial)
    reach = 2e-3 / view.scale
    ends = [view.at((holes.axial, r), below=below) for r in (max(inside - reach, 0.0), outside + reach)]
    sheet.line(*ends, dashes=Dashes.CENTRE)


def _thread(sheet: Sheet, cut: ThreadCut, *, view: View, below: bool) -> None:
    """Draw the thin line of a thread: its root outside, its full diameter inside, and where it ends."""
    radius = 0.5 * (cut.thread.root if cut.external else cut.thread.major)
    drawn = 0.5 * (cut.thread.major if cut.external else cut.thread.minor)
    sheet.line(view.at((cut.start, radius), below=below), view.at((cut.end, radius), below=below), width=THIN)
    for z in (cut.start, cut.end):
        ends = [view.at((z, r), below=below) for r in (radius, drawn)]
        sheet.line(*ends, width=HAIR)


def _edges_behind(sheet: Sheet, part: TurnedPart, *, view: View, core: float) -> None:
    """Draw the edges of bore and faces that show behind the cut, across the axis."""
    inner = [one for one in part.inner if not on_axis(one)]
    points = []
    if inner:
        points = [inner[0].start, inner[-1].end]
    for before, after in itertools.pairwise(inner):
        turn = math.remainder(after.start_direction - before.end_direction, 2.0 * math.pi)
        # an edge shows where the bore behind is narrower towards the eye: any kink of the wall
        if abs(turn) > _KINK and before.end[1] > 0.0:
            points.append(before.end)
    for point in points:
        if core > 0.0 and point[1] > core:
            for below in (False, True):
                ends = [view.at((point[0], r), below=below) for r in (core, point[1])]
                sheet.line(*ends, width=_EDGE)
        elif point[1] > core:
            sheet.line(view.at(point), view.at(point, below=True), width=_EDGE)


def _chained(segments: list[Segment]) -> list[list[Segment]]:
    """Return segments in chains that follow each other."""
    chains: list[list[Segment]] = []
    for one in segments:
        if chains and np.allclose(chains[-1][-1].end, one.start, atol=1e-9):
            chains[-1].append(one)
        else:
            chains.append([one])
    return chains
