"""A tip's outside at full size, to cut out: the shape itself and the gauge that is held against it.

A bar of exactly 100 mm each way tells whether a printer stretched the sheet. What is larger than the paper
goes over several sheets that overlap, with crosses to lay on each other.
"""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from optitip.export.parts.arcs import Segment
from optitip.export.sheets.part_features import radius_on
from optitip.export.sheets.sheet import (
    HAIR,
    SMALL,
    THIN,
    Box,
    Dashes,
    Level,
    Paper,
    Place,
    Sheet,
    Side,
    View,
    measured,
    shortened,
)
from optitip.export.sheets.sheet_blocks import ROW_HEIGHT, Field, bar, length_text, title_block
from optitip.export.sheets.sheet_facts import SheetFacts
from optitip.units import System

BAR = 100.0
OVERLAP = 12.0
_CARD = 14.0  # [mm] of paper round the gauge's hollow
_BETWEEN = 10.0
_SIDE, _ROW = 13.0, 12.0  # [mm] that the bars take
_TICK = 0.01  # [m] between the marks along the axis


@dataclass(frozen=True, slots=True, kw_only=True)
class _Figures:
    """What is drawn on one large plane [mm] before it is cut into sheets, the plane's size, what it holds."""

    width: float
    height: float
    shape: View | None
    gauge: View | None


def template_sheets(
    outer: Sequence[Segment], *, facts: SheetFacts, paper: Paper = Paper.A4, system: System = System.METRIC
) -> list[Sheet]:
    """Return the sheets of the outside (its segments fore to aft [m]) at 1:1: the shape, then its gauge.

    Both are on one sheet where they fit.
    """
    plans = [_planned(outer, paper=paper, landscape=across) for across in (True, False)]
    landscape, figures = min(plans, key=lambda one: _count(paper, *one))[0:2]
    sheets = [
        (sheet, words)
        for figure in figures
        for sheet, words in _sheets_of(outer, figure, paper=paper, landscape=landscape)
    ]
    for number, (sheet, words) in enumerate(sheets, start=1):
        row = [
            Field(name="study", words=facts.study, share=8.0),
            Field(name="template at full size", words=words, share=8.5),
            Field(name="revision: study / design", words=facts.revision, share=6.0),
            Field(name="scale", words="1:1", share=1.5),
            Field(name="sheet", words=f"{number} of {len(sheets)}", share=2.2),
        ]
        title_block(sheet, [row], whole_width=True)
        _bars(sheet, broken=facts.broken, system=system)
    return [sheet for sheet, _ in sheets]


def _planned(outer: Sequence[Segment], *, paper: Paper, landscape: bool) -> tuple[bool, list[_Figures]]:
    """Return the figures: both on one plane if that is one sheet, else a plane each."""
    length = 1e3 * (outer[-1].end[0] - outer[0].start[0])
    radius = 1e3 * max(max(one.start[1], one.end[1]) for one in outer)
    start = outer[0].start[0]
    wide, card = length + _CARD + 2.0, radius + _CARD
    shape = View(scale=1.0, x=_CARD, y=radius + 1.0, start=start)
    both = _Figures(
        width=wide,
        height=2.0 * radius + _BETWEEN + card + 2.0,
        shape=View(scale=1.0, x=_CARD, y=card + _BETWEEN + radius + 1.0, start=start),
        gauge=View(scale=1.0, x=_CARD, y=1.0, start=start),
    )
    if len(_tiles(both, Sheet(paper=paper, landscape=landscape))) == 1:
        return landscape, [both]
    alone = _Figures(width=wide, height=2.0 * radius + 2.0, shape=shape, gauge=None)
    gauge = View(scale=1.0, x=_CARD, y=1.0, start=start)
    return landscape, [alone, _Figures(width=wide, height=card + 2.0, shape=None, gauge=gauge)]


def _count(paper: Paper, landscape: bool, figures: Sequence[_Figures]) -> int:
    return sum(len(_tiles(one, Sheet(paper=paper, landscape=landscape))) for one in figures)


def _room(sheet: Sheet) -> Box:
    """Return where on a sheet there is room for the figures."""
    left, foot, right, top = sheet.frame
    return left + _SIDE, foot + ROW_HEIGHT + _ROW, right - 2.0, top - 2.0


def _tiles(figures: _Figures, sheet: Sheet) -> list[tuple[int, int]]:
    """Return column and row of each sheet that the plane is cut into, from its lower left."""
    left, foot, right, top = _room(sheet)

    def count(size: float, room: float) -> int:
        return 1 if size <= room else math.ceil((size - OVERLAP) / (room - OVERLAP))

    columns, rows = count(figures.width, right - left), count(figures.height, top - foot)
    return list(itertools.product(range(columns), range(rows)))


def _sheets_of(
    outer: Sequence[Segment], figures: _Figures, *, paper: Paper, landscape: bool
) -> list[tuple[Sheet, str]]:
    made = []
    tiles = _tiles(figures, Sheet(paper=paper, landscape=landscape))
    columns, rows = max(one[0] for one in tiles) + 1, max(one[1] for one in tiles) + 1
    for column, row in tiles:
        sheet = Sheet(paper=paper, landscape=landscape, title="template")
        sheet.frame_in()
        left, foot, right, top = room = _room(sheet)
        if len(tiles) == 1:
            across, up = 0.5 * (right - left - figures.width), 0.5 * (top - foot - figures.height)
        else:
            across, up = -column * (right - left - OVERLAP), -row * (top - foot - OVERLAP)
        origin = (left + across, foot + up)
        sheet.clip = room
        _draw(sheet, outer, figures, origin=origin, room=room)
        _marks(sheet, room, column=column, row=row, columns=columns, rows=rows)
        sheet.clip = None
        what = " and ".join(
            word for word, one in (("shape", figures.shape), ("gauge", figures.gauge)) if one is not None
        )
        place = "" if columns == 1 else f", part {column + 1} of {columns}"
        place += "" if rows == 1 else f", row {row + 1} of {rows} from below"
        made.append((sheet, what + place))
    return made


def _draw(sheet: Sheet, outer: Sequence[Segment], figures: _Figures, *, origin: Place, room: Box) -> None:
    if figures.shape is not None:
        view = _moved(figures.shape, origin)
        for below in (False, True):
            sheet.curve(outer, view=view, below=below, width=THIN)
        end = outer[-1].end
        sheet.line(view.at(end), view.at(end, below=True), width=THIN)
        _axis(sheet, outer, view=view, room=room)
    if figures.gauge is not None:
        view = _moved(figures.gauge, origin)
        sheet.curve(outer, view=view, width=THIN)
        (fore, level), (aft, _) = view.at(outer[0].start), view.at(outer[-1].end)
        top = view.y + 1e3 * max(max(one.start[1], one.end[1]) for one in outer) + _CARD
        low, right = (fore - _CARD, view.y), view.at(outer[-1].end)
        nose = view.at(outer[0].start)
        sheet.polyline([nose, low, (low[0], top), (right[0], top), right], width=THIN)
        sheet.line((fore, level), (aft, level), dashes=Dashes.CENTRE)
        place = (fore - _CARD + 2.0, top - 4.5)
        words = "gauge: cut along the outside, hold it against the part"
        last = place[0] + measured(words, height=SMALL)[0]
        if last < right[0] - 1.0 and all(_inside((x, place[1]), room) for x in (place[0], last)):
            sheet.text(words, place, height=SMALL)


def _axis(sheet: Sheet, outer: Sequence[Segment], *, view: View, room: Box) -> None:
    """Draw the axis with a mark every 10 mm from the aft face, the diameter at every fifth."""
    start, end = outer[0].start[0], outer[-1].end[0]
    sheet.line(view.at((start, 0.0)), view.at((end, 0.0)), dashes=Dashes.CENTRE, width=HAIR)
    for number in range(int((end - start) / _TICK) + 1):
        z = end - _TICK * number
        x, y = view.at((z, 0.0))
        long = number % 5 == 0
        sheet.line((x, y - (2.0 if long else 1.0)), (x, y + (2.0 if long else 1.0)), width=HAIR)
        radius = radius_on(outer, z, ahead=True)
        words = f"{10 * number} from A: ⌀{length_text(2.0 * radius)}"
        # upright beside its mark, where the shape is high enough for it
        reach = 5.0 + measured(words, height=SMALL)[0]
        fits = reach < 1e3 * radius and all(_inside((x - 3.0, y + up), room) for up in (0.0, reach))
        if long and number and fits:
            sheet.text(words, (x - 1.0, y + 3.0), height=SMALL, turn=90.0)


def _marks(sheet: Sheet, room: Box, *, column: int, row: int, columns: int, rows: int) -> None:
    """Draw crosses in the middle of each strip that two sheets share, and the strip's own edge."""
    left, foot, right, top = room
    half = 0.5 * OVERLAP
    upright = [x for x, there in ((left + half, column > 0), (right - half, column + 1 < columns)) if there]
    level = [y for y, there in ((foot + half, row > 0), (top - half, row + 1 < rows)) if there]
    crosses = [(x, foot + share * (top - foot)) for x in upright for share in (0.2, 0.8)]
    crosses += [(left + share * (right - left), y) for y in level for share in (0.2, 0.8)]
    for x, y in crosses:
        sheet.line((x - 3.0, y), (x + 3.0, y), width=HAIR)
        sheet.line((x, y - 3.0), (x, y + 3.0), width=HAIR)
        sheet.circle((x, y), radius=1.5, width=HAIR)
    for x in upright:
        sheet.line((x, foot), (x, top), width=HAIR, dashes=Dashes.HIDDEN)
        place = (x + (2.8 if x < 0.5 * (left + right) else -1.2), top - 2.0)
        words = "crosses on crosses"
        sheet.text(words, place, height=SMALL, turn=90.0, side=Side.RIGHT)
    for y in level:
        sheet.line((left, y), (right, y), width=HAIR, dashes=Dashes.HIDDEN)


def _bars(sheet: Sheet, *, broken: Sequence[str], system: System) -> None:
    """Draw the two bars that are 100 mm long on paper that wasn't stretched."""
    left, foot, right, _ = sheet.frame
    words = f"{length_text(1e-3 * BAR, system=system, unit=True)} when printed at full size, both ways"
    along = (left + _SIDE, foot + ROW_HEIGHT + 0.5 * _ROW)
    bar(sheet, along, drawn=BAR)
    x = along[0] + BAR + 3.0
    sheet.text(words, (x, along[1]), height=SMALL, level=Level.MIDDLE)
    if broken:
        warning = shortened(broken[0], room=right - x - 2.0, height=SMALL)
        sheet.text(warning, (x, along[1] - 4.5), height=SMALL)
    upright = (left + 0.5 * _SIDE, foot + ROW_HEIGHT + _ROW)
    bar(sheet, upright, drawn=BAR, upright=True)
    middle = (upright[0] - 3.2, upright[1] + 0.5 * BAR)
    sheet.text("100", middle, height=SMALL, turn=90.0, side=Side.MIDDLE, level=Level.MIDDLE)


def _moved(view: View, origin: Place) -> View:
    return View(scale=1.0, x=view.x + origin[0], y=view.y + origin[1], start=view.start)


def _inside(place: Place, room: Box) -> bool:
    return room[0] < place[0] < room[2] and room[1] < place[1] < room[3]
