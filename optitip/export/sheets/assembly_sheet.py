"""The assembly sheet: a whole tip in section with numbered balloons, its parts list, how it goes together."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from optitip.evaluate.building import Tip
from optitip.evaluate.sources import thread_at
from optitip.export.parts.arcs import Point
from optitip.export.parts.part import TurnedPart
from optitip.export.parts.section import section_of
from optitip.export.sheets.assembly_items import Item, cautions_of, items_of, steps_of
from optitip.export.sheets.part_features import radius_on
from optitip.export.sheets.part_view import draw_part
from optitip.export.sheets.sheet import (
    PLAIN,
    THICK,
    THIN,
    Level,
    Paper,
    Place,
    Sheet,
    Side,
    View,
    broken_line,
)
from optitip.export.sheets.sheet_blocks import (
    ROW_HEIGHT,
    Column,
    Field,
    bar_length,
    centre_line,
    check_bar,
    draw_notes,
    draw_table,
    largest_scale,
    notes_height,
    scale_text,
    spread,
    table_height,
    title_block,
)
from optitip.export.sheets.sheet_facts import SheetFacts
from optitip.units import System, text

_EDGE = 3.0
_BALLOON = 3.6  # [mm] radius
_OVER = 22.0  # [mm] over the tip, for balloons
_BAR = 9.0
_BLOCK = 2 * ROW_HEIGHT
_ROW = 4.2
_LEAST = 40.0  # [mm] of height for the drawing, or the steps go on a sheet of their own
_HATCHES = ((2.2, 45.0), (2.2, -45.0), (1.5, 45.0))
_AFT = 0.012  # [m] that wires and rods show behind the base, over the scale


@dataclass(frozen=True, slots=True, kw_only=True)
class _Drawn:
    """The tip on paper: its view, its sections, its items with the point each balloon speaks of [m]."""

    view: View
    tip: Tip
    parts: tuple[TurnedPart, ...]
    items: tuple[Item, ...]


def assembly_sheets(
    tip: Tip,
    *,
    parts: Sequence[TurnedPart],
    facts: SheetFacts,
    paper: Paper = Paper.A4,
    system: System = System.METRIC,
) -> list[Sheet]:
    """Return the assembly sheet of a tip: section with balloons, parts list, order of assembly, cautions.

    The steps go on a second sheet where the first has no room for them.
    """
    items = items_of(tip, parts=parts)
    steps, cautions = steps_of(tip, items=items, system=system), (*facts.broken, *cautions_of(tip))
    first = Sheet(paper=paper, title="assembly")
    first.frame_in()
    left, foot, right, top = first.frame
    low, width = left + _EDGE, right - left - 2.0 * _EDGE
    under = foot + _BLOCK + 3.0
    needed = _words_height(steps, cautions, width=width)
    table = table_height(len(items), row=_ROW) + 3.0
    together = top - under - needed - table - _BAR - _OVER >= _LEAST
    sheets = [first]
    if together:
        _write(first, steps, cautions, place=(low, under + needed - 2.5), width=width)
        under += needed
    else:
        sheets.append(_steps_sheet(steps, cautions, paper=paper))
    _parts_list(first, items, place=(low, under + table - 2.0), width=width, system=system)
    scale = _draw_section(first, tip, tuple(parts), items, foot=under + table + _BAR)
    length = bar_length(scale, room=0.45 * width)
    check_bar(first, (low, under + table + 0.5 * _BAR - 1.0), scale=scale, length=length, system=system)
    for number, sheet in enumerate(sheets, start=1):
        count = f"{number} of {len(sheets)}"
        title_block(sheet, _rows(facts, items, scale=scale, count=count, system=system))
    return sheets


def _words_height(steps: Sequence[str], cautions: Sequence[str], *, width: float) -> float:
    return sum(notes_height(notes, width=width) + 6.5 for notes in (steps, cautions))


def _write(
    sheet: Sheet, steps: Sequence[str], cautions: Sequence[str], *, place: Place, width: float
) -> None:
    y = draw_notes(sheet, place, notes=steps, width=width, head="Order of putting together")
    draw_notes(sheet, (place[0], y - 2.0), notes=cautions, width=width, head="Cautions")


def _steps_sheet(steps: Sequence[str], cautions: Sequence[str], *, paper: Paper) -> Sheet:
    sheet = Sheet(paper=paper, title="assembly")
    sheet.frame_in()
    left, _, right, top = sheet.frame
    _write(sheet, steps, cautions, place=(left + _EDGE, top - 6.0), width=right - left - 2.0 * _EDGE)
    return sheet


def _parts_list(sheet: Sheet, items: Sequence[Item], *, place: Place, width: float, system: System) -> None:
    def mass(one: Item) -> str:
        return "" if one.mass is None else text(one.mass, "kg", system, digits=3)

    columns = [
        Column(head="item", width=10.0, side=Side.MIDDLE),
        Column(head="count", width=12.0, side=Side.MIDDLE),
        Column(head="name", width=0.42 * (width - 46.0), side=Side.LEFT),
        Column(head="material", width=0.58 * (width - 46.0), side=Side.LEFT),
        Column(head="mass of one", width=24.0),
    ]
    rows = [
        (f"{number}", f"{one.count}", one.name, one.material, mass(one))
        for number, one in enumerate(items, start=1)
    ]
    draw_table(sheet, place, columns=columns, rows=rows, row=_ROW)


def _draw_section(
    sheet: Sheet, tip: Tip, parts: tuple[TurnedPart, ...], items: tuple[Item, ...], *, foot: float
) -> float:
    """Draw the tip above ``foot`` [mm] as large as fits; return the scale."""
    left, _, right, top = sheet.frame
    length = parts[-1].end - parts[0].start
    radius = max(max(one.start[1], one.end[1]) for part in parts for one in part.outer)
    room = right - left - 2.0 * _EDGE - 24.0, top - foot - _OVER - 3.0
    scale = largest_scale(width=length, height=2.0 * radius, room=room)
    view = View(
        scale=scale,
        x=0.5 * (left + right) - 500.0 * scale * length,
        y=foot + 2.0 + 0.5 * room[1],
        start=parts[0].start,
    )
    drawn = _Drawn(view=view, tip=tip, parts=parts, items=items)
    rod = _rod(tip)
    for part, (spacing, angle) in zip(parts, _HATCHES, strict=False):
        draw_part(sheet, part, view=view, spacing=spacing, angle=angle, core=rod)
    start, end = view.at((parts[0].start, 0.0)), view.at((parts[-1].end, 0.0))
    centre_line(sheet, (start[0] - 4.0, start[1]), (end[0] + 8.0, end[1]))
    points = _lining(sheet, drawn) | _held_and_led(sheet, drawn, rod=rod)
    points |= {part.name: _in_metal(part) for part in parts}
    top_of_tip = view.y + 1e3 * scale * radius
    _balloons(sheet, drawn, points=points, level=min(top_of_tip + 20.0, top - 8.0))
    return scale


def _lining(sheet: Sheet, drawn: _Drawn) -> dict[str, Point]:
    """Draw slab and backing, a strip in the upper half alone; return a point in each."""
    points = {}
    keys = {one.key for one in drawn.items}
    for one in section_of(drawn.tip).profiles:
        if one.metal or one.layer.lower() not in keys:
            continue
        for below in (False, True) if one.share == 1.0 else (False,):
            sheet.curve(one.segments, view=drawn.view, below=below, width=0.35)
            outline = broken_line(one.segments, view=drawn.view, below=below)
            for angle in (45.0, -45.0) if one.layer == "SLAB" else (-45.0,):
                sheet.hatch(outline, spacing=1.3, angle=angle)
        ends = np.array([segment.start for segment in one.segments])
        z, r = ends.mean(axis=0)
        points[one.layer.lower()] = (float(z), float(r))
    return points


def _rod(tip: Tip) -> float:
    """Return the radius of a tie rod [m], 0 without one."""
    fixing = tip.tables.tip.base.fixing
    if fixing is None or fixing.rod is None:
        return 0.0
    return 0.5 * thread_at(fixing.rod, place="tip.base.fixing.rod").major


def _held_and_led(sheet: Sheet, drawn: _Drawn, *, rod: float) -> dict[str, Point]:
    """Draw tie rod, wires and probe; return a point of each, and of the screws' holes."""
    tip, end = drawn.tip, drawn.parts[-1].end
    out = _AFT / drawn.view.scale
    points: dict[str, Point] = {}
    fixing = tip.tables.tip.base.fixing
    if rod > 0.0 and fixing is not None:
        face = tip.cavity.design.plug_length
        _box(sheet, drawn.view, (face - fixing.engagement, -rod), (end + 4.0 * rod, rod))
        opening = drawn.parts[-1].inner[-1].end[1]
        if opening > 1.8 * rod:
            # the nut needs a washer that spans the base's opening
            _box(sheet, drawn.view, (end, -1.1 * opening), (end + 0.5 * rod, 1.1 * opening))
            end += 0.5 * rod
        _box(sheet, drawn.view, (end, -1.8 * rod), (end + 1.6 * rod, 1.8 * rod))
        points |= {"rod": (0.5 * (face + end), 0.4 * rod), "nut": (end + 0.8 * rod, 1.3 * rod)}
    for part in drawn.parts:
        for holes in part.holes:
            wall = radius_on(part.inner, holes.axial), radius_on(part.outer, holes.axial)
            points["screws"] = (holes.axial, 0.5 * (wall[0] + wall[1]))
    wires, hole = tip.tables.sample.wires, tip.assembly.wires_hole
    if wires is not None and hole is not None:
        level = rod + 0.5 * hole if rod > 0.0 else min(0.25 * hole, 0.5 * hole - 0.5 * wires)
        slab = section_of(tip).profiles
        last = max((one.end for p in slab if not p.metal for one in p.segments), key=lambda one: one[0])
        inner = min((one.end for p in slab if not p.metal for one in p.segments), key=lambda one: one[1])
        way = [(last[0] - 0.002, inner[1]), (last[0], level), (end + 0.8 * out, level)]
        sheet.polyline([drawn.view.at(one, below=True) for one in way], width=0.7)
        points["wires"] = (end + 0.7 * out, -level)
    return points | _probe(sheet, drawn, out=out)


def _probe(sheet: Sheet, drawn: _Drawn, *, out: float) -> dict[str, Point]:
    probe, diameter = drawn.tip.assembly.probe, drawn.tip.tables.sample.probe
    if probe is None or diameter is None:
        return {}
    along = np.array([math.cos(probe.tilt), -math.sin(probe.tilt)])
    across = 0.5 * diameter * np.array([-along[1], along[0]])
    start = np.array([probe.axial, probe.radius])
    end = start + (probe.length + out) * along
    corners = [start - across, end - across, end + across, start + across]
    sheet.polyline([drawn.view.at(one.tolist()) for one in corners], closed=True, width=0.35)
    z, r = end - 0.3 * out * along
    return {"probe": (float(z), float(r))}


def _box(sheet: Sheet, view: View, low: Point, high: Point) -> None:
    (left, foot), (right, top) = view.at(low), view.at(high)
    sheet.rectangle(left, foot, right, top, width=THICK)


def _in_metal(part: TurnedPart) -> Point:
    """Return a point in the middle of a part's thickest wall."""
    stations = np.linspace(part.outer[0].start[0], part.outer[-1].end[0], 21)[1:-1]
    walls = [(radius_on(part.inner, float(z)), radius_on(part.outer, float(z)), float(z)) for z in stations]
    inner, outer, z = max(walls, key=lambda wall: wall[1] - wall[0])
    return z, 0.5 * (inner + outer)


def _balloons(sheet: Sheet, drawn: _Drawn, *, points: dict[str, Point], level: float) -> None:
    left, _, right, _ = sheet.frame
    known = [
        (number, drawn.view.at(points[one.key]))
        for number, one in enumerate(drawn.items, start=1)
        if one.key in points
    ]
    known.sort(key=lambda one: one[1][0])
    places = spread(
        [point[0] for _, point in known], gap=2.0 * _BALLOON + 3.0, low=left + 8.0, high=right - 8.0
    )
    for (number, point), x in zip(known, places, strict=True):
        step = np.subtract((x, level), point)
        end = np.array((x, level)) - _BALLOON * step / np.hypot(*step)
        sheet.line(point, (float(end[0]), float(end[1])), width=THIN)
        sheet.dot(point)
        sheet.circle((x, level), radius=_BALLOON)
        sheet.text(f"{number}", (x, level), height=PLAIN, side=Side.MIDDLE, level=Level.MIDDLE)


def _rows(
    facts: SheetFacts, items: Sequence[Item], *, scale: float, count: str, system: System
) -> list[list[Field]]:
    total = sum(one.count * one.mass for one in items if one.mass is not None)
    return [
        [
            Field(name="study", words=facts.study, share=8.4),
            Field(name="sheet of", words="assembly", share=4.0),
            Field(name="mass, where listed", words=text(total, "kg", system), share=5.0),
            Field(name="scale", words=scale_text(scale), share=2.0),
            Field(name="sheet", words=count, share=2.2),
        ],
        [
            Field(name="revision: study / design", words=facts.revision, share=8.4),
            Field(name="drawn by", words=facts.drawn_by, share=4.0),
            Field(name="checked", words="", share=4.6),
            Field(name="date", words="", share=4.6),
        ],
    ]
