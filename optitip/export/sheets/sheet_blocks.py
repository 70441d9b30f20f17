"""What stands on a sheet beside the drawing: title block, check bar, tables, notes, leaders kept apart."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from optitip.export.sheets.sheet import (
    LARGE,
    PLAIN,
    SMALL,
    THICK,
    THIN,
    Dashes,
    Level,
    Place,
    Sheet,
    Side,
    fitting_height,
    measured,
    shortened,
    wrapped,
)
from optitip.units import System

INCH = 25.4
BLOCK_WIDTH, ROW_HEIGHT = 180.0, 9.0
LINE = 1.75  # from foot to foot of lines, in heights of the capitals
# ISO 5455: enlarged, full size, reduced
SCALES = (20.0, 10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05, 0.02)
_PAD = 1.2
_STEP = 0.25  # [mm] between the places a label may have


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One field of a title block: what it is, what it says or the symbol of first angle, its share."""

    name: str
    words: str
    share: float
    height: float = PLAIN
    first_angle: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """One column of a table: its head, its width [mm], where its texts stand."""

    head: str
    width: float
    side: Side = Side.RIGHT


def length_text(length: float, *, system: System = System.METRIC, digits: int = 2, unit: bool = False) -> str:
    """Return a length [m] as a drawing says it: millimetres, in US customary use with inches in brackets.

    >>> length_text(0.06), length_text(0.0254, system=System.US), length_text(0.001204, unit=True)
    ('60', '25.4 [1.000]', '1.2 mm')
    >>> length_text(0.0254, system=System.US, unit=True)
    '25.4 mm [1.000 inch]'
    """
    mm = _trimmed(1e3 * length, digits)
    if system is System.US:
        inches = f"{1e3 * length / INCH:.{digits + 1}f}"
        return f"{mm} mm [{inches} inch]" if unit else f"{mm} [{inches}]"
    return mm + (" mm" if unit else "")


def _trimmed(value: float, digits: int) -> str:
    written = f"{value:.{digits}f}"
    plain = written.rstrip("0").rstrip(".") if "." in written else written
    return "0" if plain == "-0" else plain


def scale_text(scale: float) -> str:
    """Return a scale as a drawing says it.

    >>> scale_text(0.5), scale_text(1.0), scale_text(5.0)
    ('1:2', '1:1', '5:1')
    """
    return f"{scale:g}:1" if scale >= 1.0 else f"1:{1.0 / scale:g}"


def largest_scale(*, width: float, height: float, room: tuple[float, float]) -> float:
    """Return the largest scale of ISO 5455 at which ``width`` by ``height`` [m] is within ``room`` [mm].

    >>> largest_scale(width=0.15, height=0.08, room=(170.0, 100.0))
    1.0
    """
    for scale in SCALES:
        if 1e3 * scale * width <= room[0] and 1e3 * scale * height <= room[1]:
            return scale
    return SCALES[-1]


def title_block(sheet: Sheet, rows: Sequence[Sequence[Field]], *, whole_width: bool = False) -> float:
    """Draw the title block in the frame's lower right corner, or all along its foot; return its top [mm]."""
    left, foot, right, _ = sheet.frame
    if sheet.width > sheet.height and not whole_width:
        left = right - BLOCK_WIDTH
    top = foot + ROW_HEIGHT * len(rows)
    sheet.rectangle(left, foot, right, top, width=THICK)
    for number, row in enumerate(rows):
        y = top - ROW_HEIGHT * (number + 1)
        if number + 1 < len(rows):
            sheet.line((left, y), (right, y))
        x, whole = left, sum(one.share for one in row)
        for place, one in enumerate(row):
            width = (right - left) * one.share / whole
            if place:
                sheet.line((x, y), (x, y + ROW_HEIGHT))
            _field(sheet, one, left=x, foot=y, width=width)
            x += width
    return top


def _field(sheet: Sheet, one: Field, *, left: float, foot: float, width: float) -> None:
    name = 1.4
    room = width - 2.0 * _PAD
    sheet.text(one.name, (left + _PAD, foot + ROW_HEIGHT - _PAD - name), height=name)
    below = ROW_HEIGHT - name - 2.0 * _PAD
    if one.first_angle:
        _first_angle(sheet, (left + 0.5 * width, foot + 0.5 + 0.5 * below))
    height = fitting_height(one.words, room=room, height=one.height)
    lines = [one.words]
    if measured(one.words, height=height)[0] > room:
        lines = wrapped(one.words, room=room, height=SMALL)
        height = SMALL
    if len(lines) > 2:
        lines = [lines[0], " ".join(lines[1:])]
    if len(lines) == 2:
        height = 1.5
    lines = [shortened(line, room=room, height=height) for line in lines]
    gap = below / len(lines)
    for number, line in enumerate(lines):
        place = (left + _PAD, foot + 0.6 + below - gap * (number + 0.5))
        sheet.text(line, place, height=height, level=Level.MIDDLE)


def _first_angle(sheet: Sheet, place: Place) -> None:
    """Draw the cone that says which view stands where (ISO 5456-2, from memory)."""
    x, y = place
    ends = [(x - 5.5, y - 1.0), (x - 0.5, y - 2.0), (x - 0.5, y + 2.0), (x - 5.5, y + 1.0)]
    sheet.polyline(ends, closed=True)
    for radius in (1.0, 2.0):
        sheet.circle((x + 4.0, y), radius=radius)
    sheet.line((x - 6.5, y), (x + 7.0, y), width=0.13)
    sheet.line((x + 4.0, y - 2.7), (x + 4.0, y + 2.7), width=0.13)


def check_bar(sheet: Sheet, place: Place, *, scale: float, length: float, system: System) -> None:
    """Draw a bar that is ``length`` [m] long at the drawing's scale from ``place``, and say so."""
    drawn = 1e3 * scale * length
    bar(sheet, place, drawn=drawn)
    words = f"{length_text(length, system=system, unit=True)} at {scale_text(scale)}"
    if scale != 1.0:
        words += f" ({_trimmed(drawn, 2)} mm on paper)"
    sheet.text(words, (place[0] + drawn + 2.0, place[1]), height=SMALL, level=Level.MIDDLE)


def bar(sheet: Sheet, place: Place, *, drawn: float, upright: bool = False) -> None:
    """Draw a bar ``drawn`` [mm] long from ``place``, with ticks at its ends and tenths."""
    x, y = place

    def at(along: float, across: float) -> Place:
        return (x + across, y + along) if upright else (x + along, y + across)

    sheet.line(at(0.0, 0.0), at(drawn, 0.0), width=THIN)
    for number in range(11):
        reach = 2.0 if number in {0, 10} else 1.2 if number == 5 else 0.8
        sheet.line(at(0.1 * number * drawn, -reach), at(0.1 * number * drawn, reach), width=THIN)


def bar_length(scale: float, *, room: float) -> float:
    """Return the length [m] of a check bar that is 30 to 100 mm long on paper, and within ``room`` [mm]."""
    most = min(room, 100.0) / (1e3 * scale)
    for length in (1.0, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01, 0.005):
        if length <= most * (1.0 + 1e-9):
            return length
    return 0.002


def table_height(rows: int, *, row: float = 4.0) -> float:
    """Return the height [mm] of a table of so many rows under its head."""
    return row * (rows + 1) + 1.0


def draw_table(
    sheet: Sheet,
    place: Place,
    *,
    columns: Sequence[Column],
    rows: Iterable[Sequence[str]],
    row: float = 4.0,
    height: float = SMALL,
) -> float:
    """Draw a table with its upper left corner at ``place``; return its foot [mm]."""
    left, top = place
    width = sum(one.width for one in columns)
    body = [[one.head for one in columns], *rows]
    foot = top - row * len(body) - 1.0
    sheet.rectangle(left, foot, left + width, top)
    sheet.line((left, top - row - 0.5), (left + width, top - row - 0.5), width=THIN)
    edges = [left + sum(one.width for one in columns[:number]) for number in range(len(columns))]
    for x in edges[1:]:
        sheet.line((x, foot), (x, top))
    for count, texts in enumerate(body):
        y = top - row * (count + 0.5) - (0.25 if count == 0 else 0.75)
        for x, column, words in zip(edges, columns, texts, strict=True):
            at = x + _PAD + column.side.value * (column.width - 2.0 * _PAD)
            room = column.width - 1.6
            own = fitting_height(words, room=room, height=height, least=1.2)
            cut = shortened(words, room=room, height=own)
            sheet.text(cut, (at, y), height=own, side=column.side, level=Level.MIDDLE)
    return foot


def notes_height(notes: Iterable[str], *, width: float, height: float = SMALL) -> float:
    """Return how high the notes stand [mm]."""
    return sum(len(lines) * LINE * height + 0.6 for lines in _numbered(notes, width=width, height=height))


def draw_notes(
    sheet: Sheet, place: Place, *, notes: Iterable[str], width: float, height: float = SMALL, head: str = ""
) -> float:
    """Write numbered notes below ``place``, lines wrapped to ``width`` [mm]; return the foot of the last."""
    x, y = place
    if head:
        y -= height
        sheet.text(head, (x, y), height=height, bold=True)
        y -= 0.75 * height
    for number, lines in enumerate(_numbered(notes, width=width, height=height), start=1):
        for count, line in enumerate(lines):
            y -= LINE * height if count or number > 1 or head else height
            if count == 0:
                sheet.text(f"{number}", (x, y), height=height)
            sheet.text(line, (x + 2.6 * height, y), height=height)
        y -= 0.6
    return y


def _numbered(notes: Iterable[str], *, width: float, height: float) -> list[list[str]]:
    return [wrapped(note, room=width - 2.6 * height, height=height) for note in notes]


def spread(
    wanted: Sequence[float], *, gap: float, low: float, high: float, blocked: Sequence[float] = ()
) -> list[float]:
    """Return places near those wanted (in order), ``gap`` apart or more, in low to high, off what is blocked.

    The sum of the squared ways is as small as can be, by dynamic programming on a fine row of places. Where
    there isn't room for all, the blocked places are let go, then the gap.

    >>> spread([10.0, 10.0], gap=4.0, low=0.0, high=100.0)
    [8.0, 12.0]
    """
    if not wanted:
        return []
    row = np.arange(low, high + 0.5 * _STEP, _STEP)
    clear = np.ones(len(row), dtype=bool)
    for one in blocked:
        clear &= np.abs(row - one) > 0.62 * gap
    for places in (row[clear], row):
        found = _least_way(np.asarray(wanted), places=places, gap=gap)
        if found is not None:
            return found
    return [float(x) for x in np.linspace(low, high, len(wanted) + 2)[1:-1]]


def _least_way(wanted: np.ndarray, *, places: np.ndarray, gap: float) -> list[float] | None:
    """Return the ordered places of least cost, None where they don't fit."""
    if len(places) == 0:
        return None
    before = np.searchsorted(places, places - gap + 1e-9, side="right") - 1
    total = (places - wanted[0]) ** 2
    picks = []
    for one in wanted[1:]:
        best = np.minimum.accumulate(total)
        at = np.maximum.accumulate(np.where(total <= best, np.arange(len(places)), 0))
        picks.append(np.where(before >= 0, at[before], -1))
        total = (places - one) ** 2 + np.where(before >= 0, best[before], math.inf)
    if not np.isfinite(total.min()):
        return None
    chosen = [int(total.argmin())]
    for pick in reversed(picks):
        chosen.append(int(pick[chosen[-1]]))
    return [float(places[number]) for number in reversed(chosen)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Callout:
    """A label with the point of the drawing [mm] it speaks of."""

    words: str
    point: Place
    dot: bool = False


def draw_callouts(
    sheet: Sheet,
    callouts: Sequence[Callout],
    *,
    level: float,
    low: float,
    high: float,
    blocked: Sequence[float] = (),
    height: float = PLAIN,
    lean: float = 0.0,
) -> list[float]:
    """Write labels upright, side by side, away from ``level`` [mm], with elbowed leaders from their points.

    Labels stand above a level that lies above their points, else below it; return their places. ``lean`` [mm]
    is how far a leader may slant before its elbow.
    """
    up = all(one.point[1] <= level for one in callouts)
    sign = 1.0 if up else -1.0
    ordered = sorted(callouts, key=lambda one: one.point[0])
    gap = 1.75 * height
    wanted = [one.point[0] for one in ordered]
    places = spread(wanted, gap=gap, low=low, high=high, blocked=blocked)
    for one, x in zip(ordered, places, strict=True):
        elbow = (one.point[0] + min(max(x - one.point[0], -lean), lean), level)
        end = (x, level + sign * 5.0)
        sheet.polyline([one.point, elbow, end], width=THIN)
        if one.dot:
            sheet.dot(one.point)
        else:
            sheet.arrow(one.point, direction=-sign * 0.5 * math.pi, length=2.0)
        foot = (x, end[1] + sign * 0.9)
        side = Side.LEFT if up else Side.RIGHT
        sheet.text(one.words, foot, height=height, side=side, level=Level.MIDDLE, turn=90.0)
    return places


def datum(sheet: Sheet, place: Place, *, letter: str, toward: float) -> None:
    """Draw a datum's triangle with its base at ``place``, the boxed letter ``toward`` [rad] of it.

    Source: ISO 5459 (from memory).
    """
    ahead = np.array([math.cos(toward), math.sin(toward)])
    across = np.array([-ahead[1], ahead[0]])
    foot = np.array(place)
    corners = [foot - 1.4 * across, foot + 1.4 * across, foot + 2.4 * ahead]
    sheet.polyline([(float(x), float(y)) for x, y in corners], closed=True, filled=True, width=0.1)
    middle = foot + 8.0 * ahead
    edge = middle - 2.5 * ahead
    sheet.line((float(corners[2][0]), float(corners[2][1])), (float(edge[0]), float(edge[1])))
    x, y = float(middle[0]), float(middle[1])
    sheet.rectangle(x - 2.5, y - 2.5, x + 2.5, y + 2.5)
    sheet.text(letter, (x, y), height=PLAIN, side=Side.MIDDLE, level=Level.MIDDLE)


def centre_line(sheet: Sheet, start: Place, end: Place) -> None:
    """Draw a centre line."""
    sheet.line(start, end, dashes=Dashes.CENTRE)


def heading(sheet: Sheet, words: str, *, place: Place, room: float, height: float = LARGE) -> None:
    """Write a heading, smaller or cut if it is too long."""
    own = fitting_height(words, room=room, height=height, least=PLAIN, bold=True)
    cut = shortened(words, room=room, height=own, bold=True)
    sheet.text(cut, place, height=own, bold=True)
