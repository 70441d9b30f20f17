"""A tip's half section as DXF R2010 in millimetres: closed polylines of lines and arcs, no splines."""

import io
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from ezdxf._options import options
from ezdxf.document import Drawing
from ezdxf.filemanagement import new as new_drawing
from ezdxf.units import MM

from optitip.export.files import one_line, safe_name, write_text
from optitip.export.parts.profile import Profile

CAUTION = "CHECK BEFORE METAL IS CUT"
NOT_METAL = "SAMPLE, NOT METAL"
_PER_METRE = 1e3
# AutoCAD colour numbers: black or white, blue, grey
_METAL, _SAMPLE, _GREY = 7, 5, 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Title:
    """What stands beside the section: which design, of what study, made by which version."""

    design: str
    study: str
    version: str
    notes: tuple[str, ...] = ()


def write_dxf(profiles: Sequence[Profile], *, title: Title, folder: Path, name: str = "section.dxf") -> Path:
    """Write the closed half sections with centre line and title, and return the file's path.

    x is the station aft of the nose point and y the radius, in millimetres. Every profile is one closed
    LWPOLYLINE on a layer of its own; a sample's layer says that it isn't metal.
    """
    if not profiles:
        raise ValueError("a section needs one profile or more")
    # CAM programs read few line types: continuous and one of ours
    document = new_drawing("R2010", units=MM)
    document.header["$MEASUREMENT"] = 1
    document.linetypes.add("CENTRE", [12.0, 8.0, -1.5, 1.0, -1.5], description="centre line")
    for profile in profiles:
        _draw_profile(document, profile)
    length, height = _extent(profiles)
    document.layers.add("CENTRE_LINE", color=_GREY, linetype="CENTRE")
    ends = (-0.05 * length, 0.0), (1.05 * length, 0.0)
    document.modelspace().add_line(*ends, {"layer": "CENTRE_LINE"})
    letter = max(1.5, 0.02 * length)
    lines = _title_lines(profiles, title)
    top = height + letter * (1.5 + 1.8 * len(lines))
    _write_title(document, lines, top=top, letter=letter)
    document.header["$EXTMIN"], document.header["$EXTMAX"] = (*ends[0], 0.0), (ends[1][0], top, 0.0)
    document.set_modelspace_vport(height=1.2 * max(top, 0.6 * length), center=(0.5 * length, 0.5 * top))
    return write_text(folder, name, dxf_text(document))


def dxf_text(document: Drawing) -> str:
    """Return a drawing as DXF, without the day, number and order that would make each file another."""
    for name in sorted(document.entitydb.dxf_types_in_use()):  # else in the order of a set
        document.classes.add_class(name)
    document.ezdxf_metadata()["CREATED_BY_EZDXF"] = "ezdxf"  # else with the time of day
    stream, before = io.StringIO(), options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        document.write(stream)
    finally:
        options.write_fixed_meta_data_for_testing = before
    return stream.getvalue()


def layer_of(profile: Profile) -> str:
    """Return the layer a profile is drawn on, in letters every program takes.

    >>> layer_of(Profile(layer="slab", material="egg white", segments=(), metal=False))
    'SLAB_NOT_METAL'
    """
    word = safe_name(profile.layer).upper().replace("-", "_").replace(".", "_")
    return word if profile.metal else f"{word}_NOT_METAL"


def _draw_profile(document: Drawing, profile: Profile) -> None:
    layer = layer_of(profile)
    if layer not in document.layers:
        document.layers.add(layer, color=_METAL if profile.metal else _SAMPLE)
    vertices = [(one.start[0] * _PER_METRE, one.start[1] * _PER_METRE, one.bulge) for one in profile.segments]
    document.modelspace().add_lwpolyline(vertices, format="xyb", close=True, dxfattribs={"layer": layer})


def _extent(profiles: Sequence[Profile]) -> tuple[float, float]:
    """Return how far aft and how far from the axis the profiles reach [mm]."""
    share = np.linspace(0.0, 1.0, 17)
    points = np.vstack([one.points(share) for profile in profiles for one in profile.segments])
    length, height = points.max(axis=0) * _PER_METRE
    return float(length), float(height)


def _title_lines(profiles: Sequence[Profile], title: Title) -> list[str]:
    parts = [f"{layer_of(one)}: {one.material}, {one.volume * 1e6:.2f} cm3{_remark(one)}" for one in profiles]
    return [
        f"Design {title.design} of {title.study}",
        *parts,
        *title.notes,
        "Half section in mm: x from the nose point aft, y radius; arcs and lines only",
        f"{CAUTION}: no tolerances, threads or chamfers stand here",
        f"optitip {title.version}",
    ]


def _remark(profile: Profile) -> str:
    around = "" if profile.share == 1.0 else f", over {100.0 * profile.share:.3g} % of the circumference"
    return around + ("" if profile.metal else f" ({NOT_METAL})")


def _write_title(document: Drawing, lines: Sequence[str], *, top: float, letter: float) -> None:
    document.layers.add("TITLE", color=_GREY)
    for number, line in enumerate(lines):
        place = (0.0, top - 1.8 * letter * (number + 1))
        attributes = {"layer": "TITLE", "height": letter, "insert": place}
        document.modelspace().add_text(plain(line), dxfattribs=attributes)


def plain(text: str) -> str:
    """Return ``text`` without line breaks and without the codes that DXF reads inside a text."""
    return one_line(text).replace("\\", "/").replace("%%", "% %").replace("^", "^ ")
