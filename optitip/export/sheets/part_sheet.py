"""A turned part's dimensioned sheets: full section, lengths from datum A, diameters, radii, walls, title."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from optitip.export.parts.part import TurnedPart
from optitip.export.sheets.part_detail import Details, detail_sheets
from optitip.export.sheets.part_features import radius_on
from optitip.export.sheets.part_tables import GAP, ArcTable, arc_tables, draw_arc_table, table_sheets
from optitip.export.sheets.part_view import draw_datums, draw_part
from optitip.export.sheets.part_words import ABOVE, Label, Words, notes_of, words_of
from optitip.export.sheets.sheet import PLAIN, SMALL, Level, Paper, Sheet, Side, View, measured
from optitip.export.sheets.sheet_blocks import (
    BLOCK_WIDTH,
    ROW_HEIGHT,
    SCALES,
    Callout,
    Field,
    bar_length,
    check_bar,
    draw_callouts,
    draw_notes,
    notes_height,
    scale_text,
    title_block,
)
from optitip.export.sheets.sheet_facts import SheetFacts
from optitip.units import System

BLOCK = 4 * ROW_HEIGHT
_BAR = 9.0
_FORE_ROOM, _DATUMS = 8.0, 18.0
_SLACK = 2.0  # [mm] a length is taken shorter when asked whether its words fit
_EDGE = 3.0  # [mm] that texts keep from the frame
_EXTENDS = 1.0  # [mm] a line runs past what it measures
_OUTSIDE_ARROWS = 6.5  # [mm] shorter lengths have their arrows outside


@dataclass(frozen=True, slots=True, kw_only=True)
class _Plan:
    """Where things stand on the first sheet: the drawing's scale, its foot and the room it has [mm]."""

    words: Words
    landscape: bool
    scale: float
    foot: float
    notes_width: float
    slack: float


def part_sheets(
    part: TurnedPart, *, facts: SheetFacts, paper: Paper = Paper.A4, system: System = System.METRIC
) -> list[Sheet]:
    """Return the sheets of a part: its drawing, and its tables of arcs on further ones if they don't fit.

    Lengths are from datum A, the aft face; datum B is the axis. The scale is the largest of ISO 5455 that
    fits, with the paper upright or across.
    """
    notes = notes_of(part, facts=facts, system=system)
    tried = [
        _plan(part, words, notes=notes, sheet=Sheet(paper=paper, landscape=across))
        for height in (PLAIN, SMALL)
        for words in [words_of(part, system=system, height=height)]
        for across in (False, True)
    ]
    plan = max(tried, key=lambda one: (one.scale, one.words.height, not one.landscape))
    first = Sheet(paper=paper, landscape=plan.landscape, title=part.name)
    first.frame_in()
    tables = arc_tables(part, system=system)
    fits = _tables_fit(first, tables, part, plan=plan)
    _draw(first, part, plan=plan, tables=tables if fits else ())
    _draw_foot(first, notes, plan=plan, system=system)
    details = detail_sheets(part, words=plan.words, paper=paper, scale=plan.scale)
    fits = fits or _fit_below(details, tables)
    rest = [] if fits else table_sheets(tables, paper=paper, title=f"{facts.study}: {part.name}, arcs")
    scales = [scale_text(plan.scale), *("as marked" for _ in details.sheets), *("none" for _ in rest)]
    sheets = [first, *details.sheets, *rest]
    for number, (sheet, scale) in enumerate(zip(sheets, scales, strict=True), start=1):
        count = f"{number} of {len(sheets)}"
        title_block(sheet, _block_rows(part, facts, scale=scale, count=count, system=system))
    return sheets


def _plan(part: TurnedPart, words: Words, *, notes: Sequence[str], sheet: Sheet) -> _Plan:
    left, foot, right, top = sheet.frame
    beside = sheet.width > sheet.height
    width = right - left - 2.0 * _EDGE - (BLOCK_WIDTH if beside else 0.0)
    height = notes_height(notes, width=width)
    lower = foot + 2.0 + (max(BLOCK, height + 2.0) if beside else BLOCK + height + 3.0) + _BAR
    across = 2.0 * max(max(one.start[1], one.end[1]) for one in part.outer)
    high = top - lower - words.around
    for scale in SCALES:
        wide = 1e3 * scale * (part.end - part.start) + _FORE_ROOM + _aft_room(words, scale=scale)
        if wide <= right - left - 2.0 * _EDGE and 1e3 * scale * across <= high:
            break
    return _Plan(
        words=words,
        landscape=beside,
        scale=scale,
        foot=lower,
        notes_width=width,
        slack=high - 1e3 * scale * across,
    )


def _aft_room(words: Words, *, scale: float) -> float:
    """Return the width aft of the part [mm] that datums need, and lengths too short for their words."""
    room = _DATUMS
    for station in words.stations:
        width = measured(words.long(words.end - station), height=words.height)[0]
        if width + 1.0 > 1e3 * scale * (words.end - station) - _SLACK:
            room = max(room, width + 6.0)
    return room


def _tables_fit(sheet: Sheet, tables: Sequence[ArcTable], part: TurnedPart, *, plan: _Plan) -> bool:
    """Return whether the tables have room: beside the part on a sheet across, below it on one upright."""
    left, _, right, top = sheet.frame
    width = right - left - 2.0 * _EDGE
    if plan.landscape:
        used = 1e3 * plan.scale * (part.end - part.start) + _FORE_ROOM
        used += _aft_room(plan.words, scale=plan.scale)
        high = sum(one.height for one in tables) + GAP * len(tables)
        return used + max(one.width for one in tables) + GAP <= width and high <= top - plan.foot
    wide = sum(one.width for one in tables) + GAP * (len(tables) - 1)
    return wide <= width and max(one.height for one in tables) + GAP <= plan.slack


def _fit_below(details: Details, tables: Sequence[ArcTable]) -> bool:
    """Draw the tables below the last detail if there is room; return whether there was."""
    if details.free is None:
        return False
    sheet = details.sheets[-1]
    left, foot, right, _ = sheet.frame
    wide = sum(one.width for one in tables) + GAP * (len(tables) - 1)
    high = max(one.height for one in tables)
    if wide > right - left - 4.0 * _EDGE or high > details.free - foot - BLOCK - GAP:
        return False
    x = left + 2.0 * _EDGE
    for table in tables:
        draw_arc_table(sheet, table, left=x, top=foot + BLOCK + GAP + high)
        x += table.width + GAP
    return True


def _draw(sheet: Sheet, part: TurnedPart, *, plan: _Plan, tables: Sequence[ArcTable]) -> None:
    left, _, right, top = sheet.frame
    low, high = left + _EDGE, right - _EDGE
    slack, words = plan.slack, plan.words
    if tables and plan.landscape:
        edge = right - _EDGE - max(one.width for one in tables)
        y = top - _EDGE
        for table in tables:
            y = draw_arc_table(sheet, table, left=edge, top=y) - GAP
        high = edge - GAP
    elif tables:
        x = left + _EDGE
        for table in tables:
            draw_arc_table(sheet, table, left=x, top=plan.foot + max(one.height for one in tables))
            x += table.width + GAP
        slack -= max(one.height for one in tables) + GAP
    long = 1e3 * plan.scale * (part.end - part.start)
    radius = 1e3 * plan.scale * max(max(one.start[1], one.end[1]) for one in part.outer)
    aft = _aft_room(words, scale=plan.scale)
    x = low + _FORE_ROOM + 0.5 * (high - low - _FORE_ROOM - aft - long)
    y = top - words.room_above - radius - 2.0 - min(0.5 * slack, 25.0)
    view = View(scale=plan.scale, x=x, y=y, start=part.start)
    draw_part(sheet, part, view=view)
    draw_datums(sheet, part, view=view)
    _labels(sheet, words, view=view, radius=radius, low=low, high=high)
    _lengths(sheet, part, words, view=view, top=y - radius - words.room_below)


def _labels(sheet: Sheet, words: Words, *, view: View, radius: float, low: float, high: float) -> None:
    def called(labels: Sequence[Label], *, below: bool) -> list[Callout]:
        return [Callout(words=one.words, point=view.at((one.z, one.r), below=below)) for one in labels]

    low, high = low + words.height, high - words.height
    draw_callouts(
        sheet, called(words.above, below=False), level=view.y + radius + ABOVE, low=low, high=high,
        height=words.height,
    )  # fmt: skip
    blocked = [view.at((one, 0.0))[0] for one in (*words.stations, words.end)]
    draw_callouts(
        sheet, called(words.below, below=True), level=view.y - radius - ABOVE, low=low, high=high,
        blocked=blocked, height=words.height, lean=2.0,
    )  # fmt: skip


def _lengths(sheet: Sheet, part: TurnedPart, words: Words, *, view: View, top: float) -> None:
    """Draw the lengths from datum A, the shortest nearest the part, each in a row of its own."""
    aft = view.at((part.end, 0.0))[0]
    y = top
    for station in words.stations:
        y -= words.row
        x, foot = view.at((station, radius_on(part.outer, station)), below=True)
        sheet.line((x, foot - _EXTENDS), (x, y - _EXTENDS))
        _length(sheet, words.long(part.end - station), start=x, end=aft, y=y, height=words.height)
    foot = view.at((part.end, part.outer[-1].end[1]), below=True)[1]
    sheet.line((aft, foot - _EXTENDS), (aft, y - _EXTENDS))


def _length(sheet: Sheet, words: str, *, start: float, end: float, y: float, height: float) -> None:
    if end - start >= _OUTSIDE_ARROWS:
        sheet.line((start, y), (end, y))
        sheet.arrow((start, y), direction=math.pi)
        sheet.arrow((end, y), direction=0.0)
        if measured(words, height=height)[0] + 1.0 <= end - start:
            sheet.text(words, (0.5 * (start + end), y + 0.7), height=height, side=Side.MIDDLE)
            return
        after = end + 1.0
    else:
        sheet.line((start - 4.0, y), (end + 4.0, y))
        sheet.arrow((start, y), direction=0.0)
        sheet.arrow((end, y), direction=math.pi)
        after = end + 4.8
    sheet.text(words, (after, y), height=height, level=Level.MIDDLE)


def _draw_foot(sheet: Sheet, notes: Sequence[str], *, plan: _Plan, system: System) -> None:
    left, _, right, _ = sheet.frame
    length = bar_length(plan.scale, room=0.45 * (right - left))
    check_bar(sheet, (left + _EDGE, plan.foot - 0.5 * _BAR), scale=plan.scale, length=length, system=system)
    draw_notes(sheet, (left + _EDGE, plan.foot - _BAR), notes=notes, width=plan.notes_width)


def _block_rows(
    part: TurnedPart, facts: SheetFacts, *, scale: str, count: str, system: System
) -> list[list[Field]]:
    unit = "mm [inch]" if system is System.US else "mm"
    return [
        [
            Field(name="study", words=facts.study, share=8.4),
            Field(name="part", words=part.name, share=4.6),
            Field(name="scale", words=scale, share=2.2),
            Field(name="sheet", words=count, share=2.8),
        ],
        [
            Field(name="material and temper", words=facts.material, share=5.0),
            Field(name="stock", words=facts.stock, share=6.0),
            Field(name="mass", words=facts.mass, share=3.6),
            Field(name="projection", words="", share=3.4, first_angle=True),
        ],
        [
            Field(name="outside finish", words=facts.finish, share=3.6),
            Field(name="coating", words=facts.coating, share=6.0),
            Field(name="general tolerances", words=facts.tolerance, share=5.0),
            Field(name="dimensions in", words=unit, share=3.4),
        ],
        [
            Field(name="revision: study / design", words=facts.revision, share=7.0),
            Field(name="drawn by", words=facts.drawn_by, share=4.0),
            Field(name="checked", words="", share=3.6),
            Field(name="date", words="", share=3.4),
        ],
    ]
