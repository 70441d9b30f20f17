"""One part as DXF: its closed profile, threads, holes and dimensions in R2010; the profile alone in R12.

Millimetres; x is the station aft of the nose point of the whole tip, y the radius.
"""

import math
import textwrap
from collections.abc import Sequence
from pathlib import Path

from ezdxf.document import Drawing
from ezdxf.filemanagement import new as new_drawing
from ezdxf.layouts.layout import Modelspace
from ezdxf.units import MM

from optitip.export.dxf import CAUTION, Title, dxf_text, plain
from optitip.export.files import write_text
from optitip.export.parts.arcs import Point, Segment
from optitip.export.parts.compensation import compensation_note
from optitip.export.parts.dimensions import Dimension, DimensionKind, DimensionUnits, dimensions_of
from optitip.export.parts.part import TurnedPart
from optitip.export.parts.profile import radius_at

STYLE = "TURNED"
_PER_METRE = 1e3
# AutoCAD colour numbers: black or white, red, green, blue, grey
LAYERS = {"PROFILE": 7, "CENTRE_LINE": 8, "THREAD": 3, "HOLES": 5, "DIMENSIONS": 1, "NOTES": 8}
WIDE = 110  # letters in a line of notes
_ON_LAYER = {"layer": "DIMENSIONS"}
_ROW = 2.4  # letters between rows of dimensions


def write_part_dxf(
    part: TurnedPart, *, title: Title, folder: Path, units: DimensionUnits = DimensionUnits.MILLIMETRES
) -> tuple[Path, Path]:
    """Write ``<part>.dxf`` with layers and dimensions and ``<part>-r12.dxf`` with the bare profile.

    The profile is one closed LWPOLYLINE on the layer PROFILE; dimensions are DIMENSION entities of a style of
    our own, their texts in ``units``, the geometry in millimetres whatever they are.
    """
    return (
        write_text(folder, f"{part.name}.dxf", dxf_text(_drawn(part, title=title, units=units))),
        write_text(folder, f"{part.name}-r12.dxf", dxf_text(_bare(part.closed))),
    )


def _bare(profile: Sequence[Segment]) -> Drawing:
    """Return a closed profile as lines and arcs of DXF R12 and nothing else."""
    # not by new_drawing, which logs a warning that R12 has no units
    document = Drawing.new("R12")
    space = document.modelspace()
    for one in profile:
        if one.bulge == 0.0:
            space.add_line(_mm(one.start), _mm(one.end))
            continue
        centre = one.centre
        first, last = (one.start, one.end) if one.bulge > 0.0 else (one.end, one.start)
        angles = [math.degrees(math.atan2(r - centre[1], z - centre[0])) for z, r in (first, last)]
        space.add_arc(_mm(centre), one.radius * _PER_METRE, angles[0], angles[1])
    return document


def _drawn(part: TurnedPart, *, title: Title, units: DimensionUnits) -> Drawing:
    document = new_drawing("R2010", units=MM)
    document.header["$MEASUREMENT"] = 1
    document.linetypes.add("CENTRE", [12.0, 8.0, -1.5, 1.0, -1.5], description="centre line")
    for layer, colour in LAYERS.items():
        line = "CENTRE" if layer == "CENTRE_LINE" else "Continuous"
        document.layers.add(layer, color=colour, linetype=line)
    length = (part.end - part.start) * _PER_METRE
    letter = min(max(1.8, 0.016 * length), 3.5)
    _add_style(document, letter=letter)
    space = document.modelspace()
    vertices = [(*_mm(one.start), one.bulge) for one in part.closed]
    space.add_lwpolyline(vertices, format="xyb", close=True, dxfattribs={"layer": "PROFILE"})
    reach = 0.05 * length
    ends = ((part.start * _PER_METRE - reach, 0.0), (part.end * _PER_METRE + reach, 0.0))
    space.add_line(*ends, {"layer": "CENTRE_LINE"})
    _add_threads(space, part)
    _add_holes(space, part)
    dimensions = dimensions_of(part)
    top = _add_dimensions(space, part, dimensions, letter=letter, units=units)
    for number, line in enumerate(note_lines(part, title=title, units=units)):
        place = (ends[0][0], top + letter * (4.0 + 1.8 * number))
        attributes = {"layer": "NOTES", "height": letter, "insert": place}
        space.add_text(plain(line), dxfattribs=attributes)
    return document


def note_lines(
    part: TurnedPart, *, title: Title, units: DimensionUnits = DimensionUnits.MILLIMETRES
) -> tuple[str, ...]:
    """Return the notes of a part, from the lowest line up."""
    radius = DimensionUnits.INCHES if units is DimensionUnits.INCHES else DimensionUnits.MILLIMETRES
    edge = Dimension(
        kind=DimensionKind.RADIUS, name="edge", value=part.nose_radius, start=(0.0, 0.0), end=(0.0, 0.0)
    ).text(radius)
    lines = [
        f"{part.name.capitalize()} of design {title.design}, {title.study}: {part.material}, "
        f"{part.mass * 1e3:.1f} g as finished",
        "Half section in mm: x aft of the nose point of the whole tip, y radius. Datum A: aft face; B: axis",
        f"Inside corners {edge} where no radius is given; dimensions go to where their sides would meet",
        "Break outside edges 0.1 to 0.3 mm. Threads drawn over crests outside, as bored inside",
        f"Curves within {part.chord_error * 1e6:.1f} um of the design's; see the coordinate table",
        *textwrap.wrap(compensation_note(part), WIDE),
        *part.notes,
        *title.notes,
        f"{CAUTION}. optitip {title.version}",
    ]
    lines += [
        f"{one.text(units)}: {one.name}" for one in dimensions_of(part) if one.kind is DimensionKind.HOLE
    ]
    lines[5:5] = [
        f"No room for {edge} in the corner at {(part.end - z) * _PER_METRE:.2f} from A, "
        f"diameter {2.0 * r * _PER_METRE:.2f}: leave it as sharp as the tool can"
        for z, r in part.sharp
    ]
    return tuple(reversed(lines))


def _add_style(document: Drawing, *, letter: float) -> None:
    """Add a dimension style in millimetres as drawn: ready-made ones print a hundred times the length."""
    document.dimstyles.new(
        STYLE,
        dxfattribs={
            "dimtxt": letter,
            "dimasz": 0.8 * letter,
            "dimexe": 0.5 * letter,
            "dimexo": 0.3 * letter,
            "dimgap": 0.3 * letter,
            "dimscale": 1.0,
            "dimlfac": 1.0,
            "dimdec": 2,
            "dimzin": 8,
            "dimtad": 1,
            "dimtih": 0,
            "dimtoh": 0,
            "dimblk": "",
        },
    )


def _add_threads(space: Modelspace, part: TurnedPart) -> None:
    for cut in part.threads:
        other = 0.5 * (cut.thread.root if cut.external else cut.thread.major)
        space.add_line(_mm((cut.start, other)), _mm((cut.end, other)), {"layer": "THREAD", "lineweight": 18})


def _add_holes(space: Modelspace, part: TurnedPart) -> None:
    for holes in part.holes:
        ends = [radius_at(curve, holes.axial) for curve in (part.inner, part.outer)]
        for offset in (-0.5 * holes.diameter, 0.0, 0.5 * holes.diameter):
            z = holes.axial + offset
            layer = "CENTRE_LINE" if offset == 0.0 else "HOLES"
            space.add_line(_mm((z, ends[0])), _mm((z, ends[1])), {"layer": layer})
    for hole in part.axial_holes:
        for offset in (-0.5 * hole.diameter, 0.5 * hole.diameter):
            r = hole.off_axis + offset
            space.add_line(_mm((hole.start, r)), _mm((hole.end, r)), {"layer": "HOLES"})


def _add_dimensions(
    space: Modelspace,
    part: TurnedPart,
    dimensions: Sequence[Dimension],
    *,
    letter: float,
    units: DimensionUnits,
) -> float:
    """Draw the dimensions, lengths in rows, diameters across; return how high they reach [mm]."""
    height = max(radius_at(part.outer, part.end), *(one.end[1] for one in part.outer)) * _PER_METRE
    lengths = [one for one in dimensions if one.kind is DimensionKind.LENGTH]
    rows = {False: 0, True: 0}
    for one in sorted(lengths, key=lambda one: one.value):
        rows[one.inside] += 1
        y = (-1.0 if one.inside else 1.0) * (height + letter * _ROW * rows[one.inside])
        _linear(space, one, base=(0.0, y), angle=0.0, units=units)
    across = (DimensionKind.DIAMETER, DimensionKind.THREAD)
    last = -math.inf
    for one in sorted((one for one in dimensions if one.kind in across), key=lambda one: one.station):
        last = max(one.station * _PER_METRE, last + letter * _ROW)
        _linear(space, one, base=(last, 0.0), angle=90.0, units=units)
    for one in dimensions:
        if one.kind in {DimensionKind.WALL, DimensionKind.HOLE}:
            _aligned(space, one, distance=letter, units=units)
        elif one.kind is DimensionKind.RADIUS:
            _radial(space, one, units=units)
    return height + letter * _ROW * rows[False]


def _text_of(one: Dimension, units: DimensionUnits) -> str:
    """Return a dimension's text with DXF's own codes for the diameter's sign and plus or minus."""
    return one.text(units).replace("⌀", "%%c").replace("±", "%%p")


def _linear(space: Modelspace, one: Dimension, *, base: Point, angle: float, units: DimensionUnits) -> None:
    space.add_linear_dim(
        base=base,
        p1=_mm(one.start),
        p2=_mm(one.end),
        angle=angle,
        text=_text_of(one, units),
        dimstyle=STYLE,
        dxfattribs=dict(_ON_LAYER),
    ).render()


def _aligned(space: Modelspace, one: Dimension, *, distance: float, units: DimensionUnits) -> None:
    space.add_aligned_dim(
        p1=_mm(one.start),
        p2=_mm(one.end),
        distance=distance,
        text=_text_of(one, units),
        dimstyle=STYLE,
        dxfattribs=dict(_ON_LAYER),
    ).render()


def _radial(space: Modelspace, one: Dimension, *, units: DimensionUnits) -> None:
    space.add_radius_dim(
        center=_mm(one.start),
        mpoint=_mm(one.end),
        text=_text_of(one, units),
        dimstyle=STYLE,
        dxfattribs=dict(_ON_LAYER),
    ).render()


def _mm(point: Point) -> Point:
    return point[0] * _PER_METRE, point[1] * _PER_METRE
