"""The tables of a part's arcs on paper: where each ends, from datum A, and its radius."""

from collections.abc import Sequence
from dataclasses import dataclass

from optitip.export.parts.arcs import Segment
from optitip.export.parts.part import TurnedPart
from optitip.export.sheets.part_features import on_axis
from optitip.export.sheets.sheet import PLAIN, SMALL, Paper, Sheet
from optitip.export.sheets.sheet_blocks import (
    ROW_HEIGHT,
    Column,
    draw_table,
    heading,
    length_text,
    table_height,
)
from optitip.units import System

ROW = 3.6
GAP = 6.0
_HEAD = 4.5
_BLOCK = 4 * ROW_HEIGHT


@dataclass(frozen=True, slots=True, kw_only=True)
class ArcTable:
    """One curve's table: its name, columns and rows of text."""

    name: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]

    @property
    def width(self) -> float:
        """Return its width [mm]."""
        return sum(one.width for one in self.columns)

    @property
    def height(self) -> float:
        """Return its height with its heading [mm]."""
        return _HEAD + table_height(len(self.rows), row=ROW)

    def part(self, first: int, last: int) -> "ArcTable":
        """Return some of its rows as a table."""
        more = " (goes on)" if first else ""
        name = self.name if self.name.endswith(more) else self.name + more
        return ArcTable(name=name, columns=self.columns, rows=self.rows[first:last])


def arc_tables(part: TurnedPart, *, system: System) -> tuple[ArcTable, ...]:
    """Return the tables of a part's outside and of its bore, where it has one."""
    bore = [one for one in part.inner if not on_axis(one)]
    curves = [("Outside", part.outer), ("Bore", bore)]
    return tuple(_table(name, curve, part=part, system=system) for name, curve in curves if curve)


def _table(name: str, curve: Sequence[Segment], *, part: TurnedPart, system: System) -> ArcTable:
    def long(length: float) -> str:
        return length_text(length + 0.0, system=system, digits=3)

    first = curve[0].start
    rows = [("0", long(part.end - first[0]), long(2.0 * first[1]), "begins")]
    for number, one in enumerate(curve, start=1):
        # in a bore an arc that bulges out of the metal is hollow to the tool
        sign = "" if one.bulge < 0.0 else "-"
        radius = "line" if one.bulge == 0.0 else sign + long(one.radius)
        rows.append((f"{number}", long(part.end - one.end[0]), long(2.0 * one.end[1]), radius))
    wide = 27.0 if system is System.US else 18.0
    unit = "mm [inch]" if system is System.US else "mm"
    columns = (
        Column(head="No.", width=8.0),
        Column(head="Z from A", width=wide),
        Column(head="diameter", width=wide),
        Column(head="arc to here", width=wide + 3.0),
    )
    return ArcTable(name=f"{name}, {unit}", columns=columns, rows=tuple(rows))


def draw_arc_table(sheet: Sheet, table: ArcTable, *, left: float, top: float) -> float:
    """Draw a table with its name over it; return its foot [mm]."""
    sheet.text(table.name, (left, top - 2.4), height=SMALL, bold=True)
    return draw_table(
        sheet, (left, top - _HEAD), columns=table.columns, rows=table.rows, row=ROW, height=SMALL
    )


def table_sheets(tables: Sequence[ArcTable], *, paper: Paper, title: str) -> list[Sheet]:
    """Return upright sheets with tables side by side, else below each other; a long one goes on further."""
    sheets: list[Sheet] = []
    waiting = list(tables)
    left = top = foot = right = lowest = 0.0
    while waiting:
        table = waiting.pop(0)
        if sheets and left + table.width > right and lowest - GAP - foot >= table.height:
            left, top = sheets[-1].frame[0] + 4.0, lowest - GAP
        elif not sheets or left + table.width > right:
            sheets.append(_table_sheet(paper, title))
            left, foot, right, top = sheets[-1].frame
            left, foot, top = left + 4.0, foot + _BLOCK + 6.0, top - 14.0
            lowest = top
        room = int((top - foot - _HEAD - 1.0) / ROW) - 1
        if len(table.rows) > room:
            waiting.insert(0, table.part(room, len(table.rows)))
            table = table.part(0, room)
        lowest = min(lowest, draw_arc_table(sheets[-1], table, left=left, top=top))
        left += table.width + GAP
    return sheets


def _table_sheet(paper: Paper, title: str) -> Sheet:
    sheet = Sheet(paper=paper, title=title)
    sheet.frame_in()
    left, _, right, top = sheet.frame
    heading(sheet, title, place=(left + 4.0, top - 8.0), room=right - left - 8.0, height=PLAIN)
    return sheet
