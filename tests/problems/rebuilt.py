"""A turned part rebuilt from its files alone, by code that imports nothing of the package.

Lengths in millimetres, volumes in cubic millimetres.
"""

import math
import re
from dataclasses import dataclass

import ezdxf

NUMBER = re.compile(r"^(?:\d+x )?(?:%%c|R)?(\d+(?:\.\d+)?)")
THREAD = re.compile(r"- (?:6g|6H|2A|2B)\b")
DUAL = re.compile(r"^(?:\d+x )?(?:%%c|R)?(\d+\.\d+)[^\[]*\[(\d+\.\d{3})[^\[]* in\]")


def volume_of_dxf(path):
    """Return the volume that the closed polyline on the layer PROFILE of a DXF sweeps about x [mm3]."""
    [profile] = ezdxf.readfile(path).modelspace().query("LWPOLYLINE[layer=='PROFILE']")
    vertices = list(profile.get_points("xyb"))
    pieces = [
        (start[:2], end[:2], 4.0 * math.atan(start[2]))
        for start, end in zip(vertices, vertices[1:] + vertices[:1], strict=True)
    ]
    return abs(sum(_moment(*one) for one in pieces))


def volume_of_r12(path):
    """Return the same of a DXF R12 of lines and arcs, that have to join to one closed loop [mm3]."""
    pieces = []
    for one in ezdxf.readfile(path).modelspace():
        if one.dxftype() == "LINE":
            pieces.append((one.dxf.start.vec2, one.dxf.end.vec2, 0.0))
        elif one.dxftype() == "ARC":
            turn = math.radians((one.dxf.end_angle - one.dxf.start_angle) % 360.0)
            pieces.append((one.start_point.vec2, one.end_point.vec2, turn))
        else:
            raise ValueError(f"no line, no arc: {one.dxftype()}")
    loop = [pieces.pop(0)]
    while pieces:
        number, turned = _next(loop[-1][1], pieces)
        start, end, turn = pieces.pop(number)
        loop.append((end, start, -turn) if turned else (start, end, turn))
    if math.dist(loop[-1][1], loop[0][0]) > 1e-6:
        raise ValueError("the profile isn't closed")
    return abs(sum(_moment(*one) for one in loop))


def _next(point, pieces):
    """Return the number of the piece that goes on from a point, and whether it is run from its end."""
    gap, number, turned = min(
        (math.dist(point, piece[1 if turned else 0]), number, turned)
        for number, piece in enumerate(pieces)
        for turned in (False, True)
    )
    if gap > 1e-6:
        raise ValueError(f"the profile is broken at {point}")
    return number, turned


def _moment(start, end, turn):
    """Return pi times the integral of y2 dx along a line, or an arc that turns by so much to the left.

    A chord's cone, and the segment of a circle beside it by the path of its centre of area (Pappus).
    """
    (x1, y1), (x2, y2) = start, end
    cone = math.pi / 3.0 * (x2 - x1) * (y1 * y1 + y1 * y2 + y2 * y2)
    if turn == 0.0:
        return cone
    chord, half = math.hypot(x2 - x1, y2 - y1), 0.5 * abs(turn)
    radius = 0.5 * chord / math.sin(half)
    if abs(turn) < 0.1:  # the sine's series, as the difference of near equals has no digits left
        shape = turn**2 * abs(turn) / 6.0 * (1 - turn**2 / 20 * (1 - turn**2 / 42 * (1 - turn**2 / 72)))
    else:
        shape = abs(turn) - math.sin(abs(turn))
    area = 0.5 * radius**2 * shape
    # of the centre of area from the circle's, less that of the chord
    from_chord = 4.0 * radius * math.sin(half) ** 3 / (3.0 * shape) - radius * math.cos(half)
    # an arc that turns left bulges to the right of its chord
    side = math.copysign(1.0, turn)
    lever = 0.5 * (y1 + y2) - side * from_chord * (x2 - x1) / chord
    return cone - side * 2.0 * math.pi * lever * area


@dataclass(frozen=True)
class Read:
    """A dimension as it is printed in a DXF: its text, and what its own points measure [mm]."""

    text: str
    measured: float
    points: tuple

    @property
    def number(self):
        """Return the number of millimetres in the text, None for a designation."""
        found = None if THREAD.search(self.text) else NUMBER.match(self.text)
        return float(found[1]) if found else None

    @property
    def inches(self):
        """Return the inches in brackets, None where there are none."""
        found = DUAL.match(self.text)
        return float(found[2]) if found else None


def dimensions_of_dxf(path):
    """Return every dimension of a DXF as its rendered block prints it, and its points' distance."""
    found = []
    for one in ezdxf.readfile(path).modelspace().query("DIMENSION"):
        [text] = [entity.text for entity in one.get_geometry_block() if entity.dxftype() == "MTEXT"]
        p1, p2 = (one.dxf.defpoint, one.dxf.defpoint4)
        if one.dimtype in {0, 1}:
            p1, p2 = one.dxf.defpoint2, one.dxf.defpoint3
        measured = p1.distance(p2)
        if one.dimtype == 0:
            angle = math.radians(one.dxf.angle)
            measured = abs((p2.x - p1.x) * math.cos(angle) + (p2.y - p1.y) * math.sin(angle))
        found.append(Read(text, measured, (p1, p2)))
    return found
