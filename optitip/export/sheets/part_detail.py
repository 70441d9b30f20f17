"""Threads of a part drawn large, each with what is beside it, where the part's own drawing is small."""

from collections.abc import Sequence
from dataclasses import dataclass

from optitip.export.parts.dimensions import thread_note
from optitip.export.parts.part import ThreadCut, TurnedPart
from optitip.export.sheets.part_features import radius_on
from optitip.export.sheets.part_view import draw_part
from optitip.export.sheets.part_words import Label, Words
from optitip.export.sheets.sheet import PLAIN, SMALL, Paper, Sheet, View, measured
from optitip.export.sheets.sheet_blocks import (
    ROW_HEIGHT,
    Callout,
    draw_callouts,
    heading,
    largest_scale,
    scale_text,
)

_BESIDE = 4.0  # pitches either side of a thread: its groove and its plain end
_AROUND = 1.0e-3  # [m] of radius shown beyond the metal
_EDGE = 6.0
_BLOCK = 4 * ROW_HEIGHT
_LEADER = 9.5  # [mm] from the box to a label's foot
_HEAD = 10.0
_PER_SHEET = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Details:
    """Sheets of details; ``free`` is the top [mm] of what is left free on the last, None where nothing is."""

    sheets: tuple[Sheet, ...] = ()
    free: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Region:
    """What is shown: the thread, and stations and radii between which it lies [m]."""

    cut: ThreadCut
    start: float
    end: float
    low: float
    high: float


def detail_sheets(part: TurnedPart, *, words: Words, paper: Paper, scale: float) -> Details:
    """Return sheets with each thread of a part drawn larger than at ``scale``; none where it can't be."""
    height = _box_height(words, Sheet(paper=paper))
    regions = [_region(part, cut) for cut in part.threads]
    larger = [(one, own) for one in regions if (own := _scale(one, paper=paper, height=height)) > scale]
    sheets: list[Sheet] = []
    free = None
    for first in range(0, len(larger), _PER_SHEET):
        sheet = Sheet(paper=paper, title=part.name)
        sheet.frame_in()
        top = sheet.frame[3]
        slot = (top - sheet.frame[1] - _BLOCK) / _PER_SHEET
        shown = larger[first : first + _PER_SHEET]
        for number, (region, own) in enumerate(shown):
            _draw(sheet, part, region, words=words, scale=own, top=top - number * slot, height=height)
        sheets.append(sheet)
        free = top - slot if len(shown) < _PER_SHEET else None
    return Details(sheets=tuple(sheets), free=free)


def _region(part: TurnedPart, cut: ThreadCut) -> _Region:
    beside = _BESIDE * cut.thread.pitch
    start, end = max(cut.start - beside, part.start), min(cut.end + beside, part.end)
    stations = [start + 0.05 * number * (end - start) for number in range(21)]
    low = min(radius_on(part.inner, z) for z in stations)
    high = max(max(radius_on(part.outer, z, ahead=ahead) for z in stations) for ahead in (True, False))
    # of a solid part, or one with much metal outside, only what is near the thread
    reach = 0.5 * cut.thread.major
    deep = max(3.0 * cut.thread.pitch, 2e-3)
    return _Region(
        cut=cut,
        start=start,
        end=end,
        low=max(low, reach - 3.0 * deep) - (_AROUND if low > 0.0 else 0.0),
        high=min(high, reach + 3.0 * deep) + _AROUND,
    )


def _longest(labels: Sequence[Label], height: float) -> float:
    return max((measured(one.words, height=height)[0] for one in labels), default=0.0)


def _box_height(words: Words, sheet: Sheet) -> float:
    """Return how high a box may be [mm] with labels over and under it."""
    _, foot, _, top = sheet.frame
    slot = (top - foot - _BLOCK) / _PER_SHEET
    stations = [Label(words=f"{words.long(words.end - z)} from A", z=z, r=0.0) for z in words.stations]
    labels = _longest(words.above, SMALL) + _longest((*words.below, *stations), SMALL)
    return slot - _HEAD - labels - 2.0 * _LEADER - 4.0


def _scale(region: _Region, *, paper: Paper, height: float) -> float:
    left, _, right, _ = Sheet(paper=paper).frame
    room = (right - left - 40.0, height)
    return largest_scale(width=region.end - region.start, height=region.high - region.low, room=room)


def _draw(
    sheet: Sheet,
    part: TurnedPart,
    region: _Region,
    *,
    words: Words,
    scale: float,
    top: float,
    height: float,
) -> None:
    left, _, right, _ = sheet.frame
    note = thread_note(region.cut.thread, external=region.cut.external)
    name = f"Detail: {note}, {scale_text(scale)}"
    heading(sheet, name, place=(left + _EDGE, top - 7.0), room=right - left - 2.0 * _EDGE, height=PLAIN)
    wide, high = 1e3 * scale * (region.end - region.start), 1e3 * scale * (region.high - region.low)
    x = 0.5 * (left + right - wide)
    foot = top - _HEAD - _longest(words.above, SMALL) - _LEADER - 0.5 * (height + high)
    view = View(scale=scale, x=x, y=foot - 1e3 * scale * region.low, start=region.start)
    box = (x - 2.0, foot, x + wide + 2.0, foot + high)
    sheet.clip = box
    draw_part(sheet, part, view=view)
    sheet.clip = None
    sheet.rectangle(*box)
    ends = {"low": left + _EDGE, "high": right - _EDGE}
    above = [_called(one, view) for one in words.above if _inside(one, region)]
    draw_callouts(sheet, above, level=box[3] + 3.0, low=ends["low"], high=ends["high"], height=SMALL)
    stations = [
        Label(words=f"{words.long(part.end - z)} from A", z=z, r=radius_on(part.outer, z, ahead=True))
        for z in words.stations
        if region.start <= z <= region.end
    ]
    below = [_called(one, view) for one in words.below if _inside(one, region)]
    for one in stations:
        sheet.line(view.at((one.z, min(one.r, region.high))), (view.at((one.z, 0.0))[0], foot - 2.5))
    low = [Callout(words=one.words, point=(view.at((one.z, 0.0))[0], foot - 2.5)) for one in stations]
    draw_callouts(sheet, [*below, *low], level=foot - 3.0, low=ends["low"], high=ends["high"], height=SMALL)


def _inside(one: Label, region: _Region) -> bool:
    return region.start <= one.z <= region.end and region.low < one.r < region.high


def _called(one: Label, view: View) -> Callout:
    return Callout(words=one.words, point=view.at((one.z, one.r)))
