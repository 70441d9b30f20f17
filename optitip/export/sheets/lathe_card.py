"""The lathe card of a part: one page for the machine, with set-ups, step-off table, blanks for readings."""

import math
from collections.abc import Sequence

from optitip.evaluate.building import Tip
from optitip.export.parts.compensation import compensation_note
from optitip.export.parts.part import TurnedPart
from optitip.export.parts.step_off import StepRow, step_rows
from optitip.export.sheets.part_features import SAME
from optitip.export.sheets.part_view import draw_part
from optitip.export.sheets.setups import Reading, cautions_of_turning, readings_of, setups_of
from optitip.export.sheets.sheet import PLAIN, SMALL, THIN, Paper, Place, Sheet, Side, View
from optitip.export.sheets.sheet_blocks import (
    INCH,
    ROW_HEIGHT,
    Column,
    Field,
    centre_line,
    draw_notes,
    draw_table,
    heading,
    notes_height,
    table_height,
    title_block,
)
from optitip.export.sheets.sheet_facts import SheetFacts
from optitip.units import System

_EDGE = 3.0
_TOP = 12.0
_BLOCK = 2 * ROW_HEIGHT
_SKETCH = 34.0
_LARGEST_ROW, _READING = 4.4, 5.2
_SMALLEST = 1.3  # [mm] letters


def lathe_card(
    part: TurnedPart,
    *,
    tip: Tip,
    facts: SheetFacts,
    paper: Paper = Paper.A4,
    system: System = System.METRIC,
) -> Sheet:
    """Return the card of a part, one page upright.

    In US customary use the table is in inches alone, as its dials are. A3 is too large for a machine: A4.
    """
    sheet = Sheet(paper=Paper.A4 if paper is Paper.A3 else paper, title=f"card, {part.name}")
    sheet.frame_in()
    left, foot, right, top = sheet.frame
    low, high, y = left + _EDGE, right - _EDGE, top - _TOP
    words = f"Lathe card: {part.name}, {facts.material}"
    heading(sheet, words, place=(low, top - 7.5), room=high - low)
    readings = readings_of(part, tip=tip, facts=facts, system=system)
    under = foot + _BLOCK + 2.0
    above = under + table_height(len(readings), row=_READING) + 2.0
    _reading_table(sheet, readings, place=(low, above - 2.0), width=high - low)
    wide = sum(width for _, width in _columns(part))
    _step_table(sheet, part, place=(high - wide, y), foot=above, system=system)
    steps = setups_of(part, tip=tip, facts=facts, system=system)
    beware = [
        *facts.broken,
        *cautions_of_turning(part, system=system),
        compensation_note(part, system=system),
    ]
    width = high - wide - low - _EDGE
    y = _sketch(sheet, part, left=low, top=y, width=width)
    _instructions(sheet, steps, beware, place=(low, y), width=width, room=y - above)
    title_block(sheet, _block(part, facts, system=system))
    return sheet


def _instructions(
    sheet: Sheet, steps: Sequence[str], beware: Sequence[str], *, place: Place, width: float, room: float
) -> None:
    """Write the set-ups and cautions, in smaller letters where they would else run into what is below."""
    height = SMALL
    while height > _SMALLEST and _height(steps, beware, width=width, height=height) > room:
        height -= 0.1
    x, y = place
    y = draw_notes(sheet, (x, y), notes=steps, width=width, height=height, head="Set-ups, in order")
    draw_notes(sheet, (x, y - 2.0), notes=beware, width=width, height=height, head="Beware")


def _height(steps: Sequence[str], beware: Sequence[str], *, width: float, height: float) -> float:
    heads = 2.0 + 5.6 * height
    return heads + sum(notes_height(notes, width=width, height=height) for notes in (steps, beware))


def _columns(part: TurnedPart) -> tuple[tuple[str, float], ...]:
    fore = "Z from nose" if part.outer[0].start[1] < SAME else "Z from fore"
    return (("Z from A", 17.0), (fore, 18.5), ("outside ⌀", 17.0), ("bore ⌀", 16.0), ("metal", 13.0))


def _step_table(sheet: Sheet, part: TurnedPart, *, place: Place, foot: float, system: System) -> None:
    unit = "inch" if system is System.US else "mm"
    sheet.text(f"Step-off table, {unit}", (place[0], place[1] - SMALL), height=SMALL, bold=True)
    columns = [Column(head=head, width=width) for head, width in _columns(part)]
    texts = [_row_text(row, system) for row in step_rows(part)]
    pitch = min(_LARGEST_ROW, (place[1] - 4.0 - foot - 1.0) / (len(texts) + 1))
    corner, height = (place[0], place[1] - 4.0), min(SMALL, 0.55 * pitch)
    draw_table(sheet, corner, columns=columns, rows=texts, row=pitch, height=height)


def _row_text(row: StepRow, system: System) -> tuple[str, ...]:
    figures = (row.from_aft, row.from_fore, row.outside, row.bore, row.metal)
    if system is System.US:
        return tuple(f"{abs(1e3 * one / INCH):.4f}" for one in figures)
    return tuple(f"{abs(1e3 * one):.{digits}f}" for one, digits in zip(figures, (2, 2, 3, 3, 3), strict=True))


def _sketch(sheet: Sheet, part: TurnedPart, *, left: float, top: float, width: float) -> float:
    """Draw the part small, with datum A and the way Z counts; return the foot [mm]."""
    length = part.end - part.start
    radius = max(max(one.start[1], one.end[1]) for one in part.outer)
    scale = min((width - 14.0) / (1e3 * length), (_SKETCH - 6.0) / (2e3 * radius))
    view = View(scale=scale, x=left + 3.0, y=top - 0.5 * _SKETCH, start=part.start)
    draw_part(sheet, part, view=view, spacing=1.4)
    fore, aft = view.at((part.start, 0.0)), view.at((part.end, 0.0))
    centre_line(sheet, (fore[0] - 2.0, fore[1]), (aft[0] + 2.0, aft[1]))
    sheet.text("A", (aft[0] + 3.5, aft[1] + 1.2), height=PLAIN)
    sheet.line((aft[0] + 9.0, aft[1] - 2.0), (aft[0] + 2.0, aft[1] - 2.0), width=THIN)
    sheet.arrow((aft[0] + 2.0, aft[1] - 2.0), direction=math.pi, length=1.8)
    sheet.text("Z", (aft[0] + 6.0, aft[1] - 5.0), height=SMALL)
    return top - _SKETCH - 1.0


def _reading_table(sheet: Sheet, readings: Sequence[Reading], *, place: Place, width: float) -> None:
    left = {"measure", "as-made key"}
    shares = {"measure": 0.31, "as-made key": 0.22, "should be": 0.15, "may be off": 0.15, "reading": 0.17}
    columns = [
        Column(head=head, width=share * width, side=Side.LEFT if head in left else Side.RIGHT)
        for head, share in shares.items()
    ]
    rows = [(one.what, one.key, one.nominal, one.off, "") for one in readings]
    draw_table(sheet, place, columns=columns, rows=rows, row=_READING)


def _block(part: TurnedPart, facts: SheetFacts, *, system: System) -> list[list[Field]]:
    unit = "inch" if system is System.US else "mm"
    return [
        [
            Field(name="study", words=facts.study, share=9.0),
            Field(name="part", words=part.name, share=4.0),
            Field(name="table in", words=unit, share=2.0),
            Field(name="general tolerances", words=facts.tolerance, share=4.0),
        ],
        [
            Field(name="revision: study / design", words=facts.revision, share=9.0),
            Field(name="drawn by", words=facts.drawn_by, share=4.0),
            Field(name="turned by", words="", share=3.0),
            Field(name="date", words="", share=3.0),
        ],
    ]
