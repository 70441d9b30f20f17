"""A sheet of paper for the shop, in millimetres from its lower left corner: strokes, letters, their boxes.

Black on white. Line widths and letters are of the series 0.18 / 0.25 / 0.5 mm and 1.8 / 2.5 / 3.5 / 5 mm
(ISO 128-2, ISO 3098-1), margins 20 mm on the filing side and 10 mm elsewhere (ISO 5457); all from memory.
"""

import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import Enum
from functools import lru_cache

import numpy as np
from matplotlib.font_manager import FontProperties
from matplotlib.path import Path
from matplotlib.textpath import text_to_path

from optitip.arrays import FloatArray
from optitip.export.files import one_line
from optitip.export.parts.arcs import Segment

FONT = "DejaVu Sans"
HAIR, THIN, THICK = 0.18, 0.25, 0.5
SMALL, PLAIN, LARGE, HEADING = 1.8, 2.5, 3.5, 5.0
FILING_MARGIN, MARGIN = 20.0, 10.0
POINTS_PER_MM = 72.0 / 25.4
_CAPITALS = 0.729  # of the font's size: how high its capitals are
_LARGEST_PIECE = math.pi / 4.0  # a cubic stands for so much of a circle within 4e-6 of its radius
_MEASURED = 100.0  # [pt] size at which letters are measured

Place = tuple[float, float]
Box = tuple[float, float, float, float]  # left, foot, right, top [mm]


class Paper(Enum):
    """The sizes of paper there are."""

    A4 = "A4"
    A3 = "A3"
    LETTER = "Letter"

    @property
    def size(self) -> tuple[float, float]:
        """Return width and height [mm], upright."""
        return {Paper.A4: (210.0, 297.0), Paper.A3: (297.0, 420.0), Paper.LETTER: (215.9, 279.4)}[self]


class Dashes(Enum):
    """How a line is broken: lengths of ink and gap [mm]."""

    NONE = ()
    CENTRE = (6.0, 1.2, 0.6, 1.2)
    HIDDEN = (2.4, 1.0)
    PHANTOM = (6.0, 1.2, 0.6, 1.2, 0.6, 1.2)


class Side(Enum):
    """Which point of a text stands at its place, along it."""

    LEFT = 0.0
    MIDDLE = 0.5
    RIGHT = 1.0


class Level(Enum):
    """Which height of a text stands at its place: the capitals' foot, middle or top."""

    FOOT = 0.0
    MIDDLE = 0.5
    TOP = 1.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stroke:
    """A path on the paper [mm], ``width`` [mm] thick, or filled; only what is inside ``clip`` is drawn."""

    path: Path
    width: float = THIN
    dashes: Dashes = Dashes.NONE
    filled: bool = False
    clip: Box | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Lettering:
    """A text: its foot's left end (x, y), the height of its capitals [mm], its turn [deg] and its size [mm].

    ``depth`` is how far letters such as g reach below the foot, ``rise`` how far above it.
    """

    words: str
    x: float
    y: float
    height: float
    turn: float
    width: float
    depth: float
    rise: float
    bold: bool = False

    @property
    def corners(self) -> FloatArray:
        """Return the corners (4, 2) of the box it fills [mm]."""
        along = np.array([math.cos(math.radians(self.turn)), math.sin(math.radians(self.turn))])
        across = np.array([-along[1], along[0]])
        foot = np.array([self.x, self.y])
        ends = ((0.0, -self.depth), (self.width, -self.depth), (self.width, self.rise), (0.0, self.rise))
        return np.array([foot + a * along + b * across for a, b in ends])


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """Where a tip lies on the paper: ``scale`` is drawn over real; station ``start`` [m] lies at (x, y).

    >>> view = View(scale=0.5, x=100.0, y=80.0, start=0.02)
    >>> view.at((0.06, 0.01)), view.at((0.06, 0.01), below=True)
    ((120.0, 85.0), (120.0, 75.0))
    """

    scale: float
    x: float
    y: float
    start: float = 0.0

    def at(self, point: Sequence[float], *, below: bool = False) -> Place:
        """Return where a point (z, r) [m] is drawn, or its image below the axis."""
        mm = 1e3 * self.scale
        return self.x + mm * (point[0] - self.start), self.y + (-mm if below else mm) * point[1]


class Sheet:
    """One sheet that is drawn on; strokes lie in the order they came, inside ``clip`` while that is set."""

    def __init__(self, *, paper: Paper, landscape: bool = False, title: str = "") -> None:
        width, height = paper.size
        self.paper, self.title = paper, title
        self.width, self.height = (height, width) if landscape else (width, height)
        self.clip: Box | None = None
        self.strokes: list[Stroke] = []
        self.texts: list[Lettering] = []

    @property
    def frame(self) -> Box:
        """Return left, foot, right and top of the frame [mm]."""
        return FILING_MARGIN, MARGIN, self.width - MARGIN, self.height - MARGIN

    def polyline(
        self,
        points: Iterable[Place] | FloatArray,
        *,
        width: float = THIN,
        dashes: Dashes = Dashes.NONE,
        closed: bool = False,
        filled: bool = False,
    ) -> None:
        """Draw straight lines through points [mm]."""
        vertices = np.array([*points], dtype=np.float64)
        path = Path(np.vstack([vertices, vertices[:1]]), closed=True) if closed else Path(vertices)
        self.strokes.append(Stroke(path=path, width=width, dashes=dashes, filled=filled, clip=self.clip))

    def line(self, start: Place, end: Place, *, width: float = THIN, dashes: Dashes = Dashes.NONE) -> None:
        """Draw a straight line."""
        self.polyline([start, end], width=width, dashes=dashes)

    def rectangle(self, left: float, foot: float, right: float, top: float, *, width: float = THIN) -> None:
        """Draw a rectangle."""
        self.polyline([(left, foot), (right, foot), (right, top), (left, top)], width=width, closed=True)

    def frame_in(self) -> None:
        """Draw the frame."""
        self.rectangle(*self.frame, width=THICK)

    def curve(
        self,
        segments: Sequence[Segment],
        *,
        view: View,
        below: bool = False,
        width: float = THICK,
        dashes: Dashes = Dashes.NONE,
    ) -> None:
        """Draw lines and arcs [m] that follow each other, to the scale of a view."""
        vertices = [view.at(segments[0].start, below=below)]
        codes = [int(Path.MOVETO)]
        for segment in segments:
            for cubic in _cubics(segment):
                points = [cubic[-1]] if segment.bulge == 0.0 else cubic[1:]
                vertices += [view.at(point, below=below) for point in points]
                codes += [int(Path.LINETO)] if segment.bulge == 0.0 else 3 * [int(Path.CURVE4)]
        path = Path(np.array(vertices), codes)
        self.strokes.append(Stroke(path=path, width=width, dashes=dashes, clip=self.clip))

    def hatch(
        self,
        outline: FloatArray,
        *,
        spacing: float,
        angle: float = 45.0,
        gaps: Sequence[Box] = (),
    ) -> None:
        """Hatch a closed broken line (n, 2) [mm], its first point not repeated, but for rectangles in it.

        Each gap is left, foot, right and top [mm].
        """
        lines = hatch_lines(outline, spacing=spacing, angle=angle)
        for gap in gaps:
            lines = [piece for line in lines for piece in _without(line, gap)]
        for start, end in lines:
            self.line(start, end, width=HAIR)

    def arrow(self, tip: Place, *, direction: float, length: float = 2.5) -> None:
        """Draw a filled arrow head that points along ``direction`` [rad] to ``tip``."""
        back = math.pi + direction
        sides = [
            (tip[0] + length * math.cos(back + turn), tip[1] + length * math.sin(back + turn))
            for turn in (-0.16, 0.16)
        ]
        self.polyline([tip, *sides], closed=True, filled=True, width=0.1)

    def dot(self, place: Place, *, radius: float = 0.45) -> None:
        """Draw a filled dot."""
        turn = np.linspace(0.0, 2.0 * math.pi, 13)[:-1]
        points = np.array(place) + radius * np.column_stack([np.cos(turn), np.sin(turn)])
        self.polyline(points, closed=True, filled=True, width=0.05)

    def circle(self, place: Place, *, radius: float, width: float = THIN) -> None:
        """Draw a circle [mm]."""
        self.strokes.append(Stroke(path=Path.circle(place, radius), width=width, clip=self.clip))

    def text(
        self,
        words: str,
        place: Place,
        *,
        height: float = PLAIN,
        side: Side = Side.LEFT,
        level: Level = Level.FOOT,
        turn: float = 0.0,
        bold: bool = False,
    ) -> None:
        """Write one line; what can't be printed in it becomes a space."""
        words = one_line(words)
        if not words.strip():
            return
        width, depth, rise = measured(words, height=height, bold=bold)
        back, down = side.value * width, level.value * height
        cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))
        self.texts.append(
            Lettering(
                words=words, x=place[0] - back * cos + down * sin, y=place[1] - back * sin - down * cos,
                height=height, turn=turn, width=width, depth=depth, rise=rise, bold=bold,
            )
        )  # fmt: skip


def measured(words: str, *, height: float, bold: bool = False) -> tuple[float, float, float]:
    """Return width, depth below the foot and rise above it [mm]; capitals are ``height`` high."""
    width, depth, rise = _measured_once(one_line(words), bold)
    share = height / (_MEASURED * _CAPITALS)
    return width * share, depth * share, rise * share


def font_size(height: float) -> float:
    """Return the font's size [pt] for capitals ``height`` [mm] high."""
    return height / _CAPITALS * POINTS_PER_MM


@lru_cache(maxsize=4096)
def _measured_once(words: str, bold: bool) -> tuple[float, float, float]:
    font = FontProperties(family=FONT, size=_MEASURED, weight="bold" if bold else "normal")
    width, height, depth = text_to_path.get_text_width_height_descent(words, font, False)
    return float(width), float(depth), float(height - depth)


def fitting_height(
    words: str, *, room: float, height: float, least: float = SMALL, bold: bool = False
) -> float:
    """Return the largest height [mm], up to ``height``, at which a text is within ``room`` [mm] wide."""
    width = measured(words, height=height, bold=bold)[0]
    return height if width <= room else max(least, height * room / width)


def shortened(words: str, *, room: float, height: float, bold: bool = False) -> str:
    """Return the text, cut and ended by three points if it is wider than ``room`` [mm].

    >>> shortened("Alder 98", room=50.0, height=2.5)
    'Alder 98'
    >>> shortened(100 * "long ", room=30.0, height=2.5)
    'long long...'
    """
    words = one_line(words)
    if measured(words, height=height, bold=bold)[0] <= room:
        return words
    kept = len(words)
    while kept and measured(words[:kept].rstrip() + "...", height=height, bold=bold)[0] > room:
        kept -= 1
    return words[:kept].rstrip() + "..."


def wrapped(words: str, *, room: float, height: float) -> list[str]:
    """Return the text as lines within ``room`` [mm]; a word that is too long alone is broken.

    >>> wrapped("break edges 0.2 mm", room=25.0, height=2.5)
    ['break edges', '0.2 mm']
    """
    lines: list[str] = []
    for word in one_line(words).split():
        if lines and measured(f"{lines[-1]} {word}", height=height)[0] <= room:
            lines[-1] += f" {word}"
            continue
        rest = word
        while measured(rest, height=height)[0] > room and len(rest) > 1:
            kept = len(rest) - 1
            while kept > 1 and measured(rest[:kept], height=height)[0] > room:
                kept -= 1
            lines.append(rest[:kept])
            rest = rest[kept:]
        lines.append(rest)
    return lines


def broken_line(segments: Sequence[Segment], *, view: View, below: bool = False) -> FloatArray:
    """Return a closed profile [m] as points (n, 2) on the paper [mm], for hatching."""
    points = [
        view.at(point, below=below)
        for one in segments
        for point in one.points(np.linspace(0.0, 1.0, 2 if one.bulge == 0.0 else 33)[:-1])
    ]
    return np.array(points)


def hatch_lines(outline: FloatArray, *, spacing: float, angle: float = 45.0) -> list[tuple[Place, Place]]:
    """Return the lines that hatch a closed broken line (n, 2), ``spacing`` apart, ``angle`` [deg] to x.

    >>> square = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    >>> len(hatch_lines(square, spacing=0.25, angle=0.0))
    4
    """
    cos, sin = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    along, across = outline @ np.array([cos, sin]), outline @ np.array([-sin, cos])
    lines = []
    first = math.ceil(across.min() / spacing - 0.5)
    last = math.floor(across.max() / spacing - 0.5)
    for number in range(first, last + 1):
        level = (number + 0.5) * spacing
        low, high = across, np.roll(across, -1)
        crossing = (low <= level) != (high <= level)
        share = (level - low[crossing]) / (high[crossing] - low[crossing])
        ends = np.sort(along[crossing] + share * (np.roll(along, -1)[crossing] - along[crossing]))
        lines += [
            ((a * cos - level * sin, a * sin + level * cos), (b * cos - level * sin, b * sin + level * cos))
            for a, b in zip(ends[::2], ends[1::2], strict=True)
        ]
    return lines


def _without(line: tuple[Place, Place], gap: Box) -> list[tuple[Place, Place]]:
    """Return what is left of a line outside a rectangle."""
    start, step = np.array(line[0]), np.subtract(line[1], line[0])
    low, high = 0.0, 1.0
    for axis in (0, 1):
        if abs(step[axis]) < 1e-12:
            if not gap[axis] < start[axis] < gap[axis + 2]:
                return [line]
            continue
        ends = sorted((gap[axis + side] - start[axis]) / step[axis] for side in (0, 2))
        low, high = max(low, ends[0]), min(high, ends[1])
    if high <= low:
        return [line]

    def at(share: float) -> Place:
        x, y = start + share * step
        return float(x), float(y)

    return [(at(a), at(b)) for a, b in ((0.0, low), (high, 1.0)) if b - a > 1e-9]


def _cubics(segment: Segment) -> list[FloatArray]:
    """Return Bezier cubics (4, 2) [m] that stand for a segment.

    The two inner points lie 4/3 tan(turn / 4) of the radius along the directions at the ends.
    """
    count = max(1, math.ceil(abs(segment.turn) / _LARGEST_PIECE))
    ends = segment.points(np.linspace(0.0, 1.0, count + 1))
    ends[0], ends[-1] = segment.start, segment.end
    turn = segment.turn / count
    cubics = []
    for number, (start, end) in enumerate(itertools.pairwise(ends)):
        heading = segment.start_direction + turn * np.array([number, number + 1])
        reach = math.hypot(*(end - start)) / (3.0 * math.cos(0.25 * turn) ** 2)
        tangents = reach * np.column_stack([np.cos(heading), np.sin(heading)])
        cubics.append(np.array([start, start + tangents[0], end - tangents[1], end]))
    return cubics
