import math

import ezdxf
import numpy as np
import pytest
from ezdxf.math import bulge_center, bulge_radius

from optitip.export.dxf import CAUTION, Title, write_dxf
from optitip.export.parts.arcs import Segment
from optitip.export.parts.profile import Profile, cut_apart, half_section, outline_segments, polygon

# planes at 20 mm, in the solid plug, and at 70 mm, where the taper ends
CUTS = [(0.02, (0.02, 0.0)), (0.07, (0.07, 0.018))]
TITLE = Title(design="k3f9", study="Breakfast at Mach 3", version="0.1.0", notes=("Joint: wetted",))


def dense_outline(length=0.12, radius=0.027):
    """A parabola with a vertical start of radius 2.9 mm: dense points and slopes."""
    z = length * np.linspace(0.0, 1.0, 3000) ** 2
    r = radius * np.sqrt(z / length)
    with np.errstate(divide="ignore"):
        slope = np.arctan(radius / (2.0 * np.sqrt(np.maximum(z, 0.0) * length)))
    return np.column_stack([z, r]), slope


def parts():
    points, direction = dense_outline()
    outer = outline_segments(points, direction=direction, nose_points=1).segments
    fillet = math.tan(math.pi / 8.0)
    inner = (
        Segment(start=(0.05, 0.0), end=(0.05, 0.010)),
        Segment(start=(0.05, 0.010), end=(0.052, 0.012), bulge=-fillet),
        Segment(start=(0.052, 0.012), end=(0.07, 0.018)),
        Segment(start=(0.07, 0.018), end=(0.12, 0.022)),
    )
    slab = polygon(np.array([[0.075, 0.016], [0.075, 0.0184], [0.095, 0.020], [0.095, 0.017]]))
    return outer, inner, slab


def given_volume():
    """The shell's volume from dense straight pieces, by formulas that know no arcs."""
    points, _ = dense_outline()
    _, inner, _ = parts()
    bore = np.vstack([one.points(np.linspace(0.0, 1.0, 400)) for one in inner])

    def cones(curve):
        z, r = curve.T
        return math.pi / 3.0 * np.sum(np.diff(z) * (r[:-1] ** 2 + r[:-1] * r[1:] + r[1:] ** 2))

    return cones(points) - cones(bore)


def volume_in_the_file(polyline):
    """Pappus on the file alone: the polygon of the chords and a circle's segment a bulge [mm3]."""
    moment = 0.0
    vertices = list(polyline.get_points("xyb"))
    for (x1, y1, bulge), (x2, y2, _) in zip(vertices, vertices[1:] + vertices[:1], strict=True):
        moment += (x2 - x1) * (y1**2 + y1 * y2 + y2**2) / 6.0
        if bulge:
            turn = 4.0 * math.atan(abs(bulge))
            radius = bulge_radius((x1, y1), (x2, y2), bulge)
            area = radius**2 / 2.0 * (turn - math.sin(turn))
            centre = bulge_center((x1, y1), (x2, y2), bulge)
            chord = math.hypot(x2 - x1, y2 - y1)
            outwards = math.copysign(1.0, -bulge) * (x2 - x1) / chord
            lever = 4.0 * radius * math.sin(turn / 2.0) ** 3 / (3.0 * (turn - math.sin(turn)))
            moment += math.copysign(area, -bulge) * (centre.y + outwards * lever)
    return abs(2.0 * math.pi * moment)


@pytest.fixture
def drawing(tmp_path):
    outer, inner, slab = parts()
    profiles = [
        Profile(layer="shell", material="6061-T6", segments=half_section(outer, inner)),
        Profile(layer="slab", material="egg white", segments=slab, metal=False, share=0.25),
    ]
    return ezdxf.readfile(write_dxf(profiles, title=TITLE, folder=tmp_path))


def test_the_file_is_clean_and_in_millimetres(drawing):
    auditor = drawing.audit()
    assert not auditor.has_errors
    assert not auditor.has_fixes
    assert drawing.dxfversion == "AC1024"
    assert drawing.header["$INSUNITS"] == 4
    assert drawing.header["$MEASUREMENT"] == 1


def test_the_section_is_closed_polylines_of_lines_and_arcs_and_nothing_else(drawing):
    kinds = {entity.dxftype() for entity in drawing.modelspace()}
    assert kinds == {"LWPOLYLINE", "LINE", "TEXT"}
    assert all(one.closed for one in drawing.modelspace().query("LWPOLYLINE"))


def test_the_shell_in_the_file_has_the_volume_it_was_given(drawing):
    [shell] = drawing.modelspace().query("LWPOLYLINE[layer=='SHELL']")
    assert volume_in_the_file(shell) == pytest.approx(given_volume() * 1e9, rel=3e-4)
    assert len(list(shell.get_points())) < 40


def test_the_shells_extents_are_its_length_and_radius_in_millimetres(drawing):
    [shell] = drawing.modelspace().query("LWPOLYLINE[layer=='SHELL']")
    points = np.array(shell.get_points("xy"))
    assert points.min(axis=0) == pytest.approx([0.0, 0.0], abs=1e-9)
    assert points.max(axis=0) == pytest.approx([120.0, 27.0], abs=1e-6)


def test_the_slab_is_marked_as_no_metal_on_its_layer_and_in_the_title(drawing):
    assert len(drawing.modelspace().query("LWPOLYLINE[layer=='SLAB_NOT_METAL']")) == 1
    texts = [one.dxf.text for one in drawing.modelspace().query("TEXT")]
    assert any("SAMPLE, NOT METAL" in text and "egg white" in text and "25 % of" in text for text in texts)


def test_the_title_names_design_material_and_caution_clear_of_the_section(drawing):
    texts = list(drawing.modelspace().query("TEXT"))
    text = "\n".join(one.dxf.text for one in texts)
    for word in ("k3f9", "Breakfast at Mach 3", "6061-T6", CAUTION, "0.1.0", "Joint: wetted", "in mm"):
        assert word in text
    assert min(one.dxf.insert.y for one in texts) > 27.0


def test_the_centre_line_lies_on_the_axis_past_both_ends(drawing):
    [line] = drawing.modelspace().query("LINE")
    assert line.dxf.start.y == line.dxf.end.y == 0.0
    assert line.dxf.start.x < 0.0
    assert line.dxf.end.x > 120.0
    assert drawing.layers.get("CENTRE_LINE").dxf.linetype == "CENTRE"


def test_a_tip_in_three_parts_has_three_profiles_that_sum_to_the_whole(tmp_path):
    outer, inner, _ = parts()
    profiles = [
        Profile(layer=name, material="6061-T6", segments=segments)
        for name, segments in zip(("plug", "band", "base"), cut_apart(outer, inner, CUTS), strict=True)
    ]
    drawing = ezdxf.readfile(write_dxf(profiles, title=TITLE, folder=tmp_path))
    volumes = {one.dxf.layer: volume_in_the_file(one) for one in drawing.modelspace().query("LWPOLYLINE")}
    assert set(volumes) == {"PLUG", "BAND", "BASE"}
    assert sum(volumes.values()) == pytest.approx(given_volume() * 1e9, rel=3e-4)
    plug = math.pi * 27.0**2 / 120.0 * 20.0**2 / 2.0
    assert volumes["PLUG"] == pytest.approx(plug, rel=1e-3)


def test_codes_and_line_breaks_in_a_name_reach_the_file_as_plain_text(tmp_path):
    outer, inner, _ = parts()
    shell = Profile(
        layer="shell/\n*?", material="a%%d\\U+0041\n  0\nLINE", segments=half_section(outer, inner)
    )
    title = Title(design="x^J", study="\x1b[31m\ud800", version="0")
    drawing = ezdxf.readfile(write_dxf([shell], title=title, folder=tmp_path))
    assert not drawing.audit().has_errors
    assert len(drawing.modelspace().query("LINE")) == 1
    text = "\n".join(one.dxf.text for one in drawing.modelspace().query("TEXT"))
    assert "%%d" not in text
    assert "\\U" not in text
    assert "\x1b" not in text
