"""STEP files read again by Open CASCADE: names, millimetres, volumes by Pappus, boxes, sound solids."""

import itertools
import math
import sys

import pytest
from OCP.Bnd import Bnd_Box
from OCP.BRepBndLib import BRepBndLib
from OCP.BRepCheck import BRepCheck_Analyzer
from OCP.BRepGProp import BRepGProp
from OCP.collections import Sequence_TDF_Label
from OCP.GProp import GProp_GProps
from OCP.IFSelect import IFSelect_ReturnStatus
from OCP.STEPCAFControl import STEPCAFControl_Reader
from OCP.TCollection import TCollection_ExtendedString
from OCP.TDataStd import TDataStd_Name
from OCP.TDocStd import TDocStd_Document
from OCP.XCAFDoc import XCAFDoc_DocumentTool, XCAFDoc_ShapeTool
from turned_tips import random_tips

from optitip.errors import UserMistakes
from optitip.export.dxf import Title
from optitip.export.parts.arcs import Segment
from optitip.export.parts.part import TurnedPart
from optitip.export.parts.profile import Profile, revolved_volume
from optitip.export.parts.turned import turned_parts
from optitip.export.step import write_step

TITLE = Title(design="k3f9", study="A 'study' at Mach 3 \u00e9", version="0")


def read(path):
    """Return the solids of a STEP file by name."""
    document = TDocStd_Document(TCollection_ExtendedString("XmlXCAF"))
    reader = STEPCAFControl_Reader()
    reader.SetNameMode(True)
    assert reader.ReadFile(str(path)) == IFSelect_ReturnStatus.IFSelect_RetDone
    reader.Transfer(document)
    labels = Sequence_TDF_Label()
    XCAFDoc_DocumentTool.ShapeTool_s(document.Main()).GetFreeShapes(labels)
    found = {}
    for number in range(1, labels.Length() + 1):
        name = TDataStd_Name()
        label = labels.Value(number)
        assert label.FindAttribute(TDataStd_Name.GetID_s(), name)
        found[name.Get().ToExtString()] = XCAFDoc_ShapeTool.GetShape_s(label)
    return found


def volume(shape):
    properties = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, properties, 1e-9)
    return properties.Mass()


def box(shape):
    """Return the corners of the tight bounding box."""
    bounds = Bnd_Box()
    BRepBndLib.AddOptimal_s(shape, bounds, False, False)
    corners = bounds.CornerMin(), bounds.CornerMax()
    return tuple(value for one in corners for value in (one.X(), one.Y(), one.Z()))


def part(outer, inner, name="shell"):
    return TurnedPart(name=name, material="6061-T6", outer=outer, inner=inner)


def line(*points):
    return tuple(Segment(start=a, end=b) for a, b in itertools.pairwise(points))


def test_a_tube_has_its_textbook_volume_and_size_in_millimetres(tmp_path):
    tube = part(line((0.01, 0.02), (0.05, 0.02)), line((0.01, 0.012), (0.05, 0.012)))
    [(name, shape)] = read(write_step([tube], title=TITLE, folder=tmp_path).path).items()
    assert name == "shell: 6061-T6"
    assert volume(shape) == pytest.approx(math.pi * 40.0 * (20.0**2 - 12.0**2), rel=1e-9)
    assert box(shape) == pytest.approx((-20.0, -20.0, 10.0, 20.0, 20.0, 50.0), abs=1e-6)


def test_half_a_ball_is_a_sphere_with_its_textbook_volume(tmp_path):
    nose = (Segment(start=(0.0, 0.0), end=(0.01, 0.01), bulge=-math.tan(math.pi / 8.0)),)
    path = write_step([part(nose, line((0.0, 0.0), (0.01, 0.0)))], title=TITLE, folder=tmp_path).path
    [shape] = read(path).values()
    assert volume(shape) == pytest.approx(2.0 * math.pi / 3.0 * 1000.0, rel=1e-9)
    text = path.read_text()
    assert "SPHERICAL_SURFACE" in text
    assert "B_SPLINE" not in text


def test_random_tips_come_back_sound_with_the_volume_of_their_arcs(tmp_path):
    for tip in itertools.islice(random_tips(29), 15):
        parts = turned_parts(tip)
        written = write_step(parts, title=TITLE, folder=tmp_path)
        solids = read(written.path)
        assert tuple(solids) == written.names
        assert "B_SPLINE" not in written.path.read_text()
        for one, shape in zip(parts, solids.values(), strict=True):
            assert BRepCheck_Analyzer(shape).IsValid(), one.name
            assert volume(shape) == pytest.approx(revolved_volume(one.closed) * 1e9, rel=1e-6), one.name
            wide = 1e3 * max(segment.end[1] for segment in one.outer)
            wide = max(wide, 1e3 * one.outer[0].start[1])
            size = (-wide, -wide, 1e3 * one.start, wide, wide, 1e3 * one.end)
            assert box(shape) == pytest.approx(size, abs=1e-6), one.name


def test_a_ring_of_a_sample_is_there_and_a_strip_is_named_as_left_out(tmp_path):
    tube = part(line((0.01, 0.02), (0.05, 0.02)), line((0.01, 0.012), (0.05, 0.012)))
    ring = line((0.02, 0.010), (0.02, 0.012), (0.03, 0.012), (0.03, 0.010), (0.02, 0.010))
    slab = Profile(layer="SLAB", material="egg white", segments=ring, metal=False)
    whole = write_step([tube], sample=[slab], title=TITLE, folder=tmp_path)
    solids = read(whole.path)
    assert volume(solids["slab: egg white, not metal"]) == pytest.approx(math.pi * 10.0 * 44.0, rel=1e-9)
    strip = Profile(layer="SLAB", material="egg white", segments=ring, metal=False, share=0.25)
    partial = write_step([tube], sample=[strip], title=TITLE, folder=tmp_path)
    assert list(read(partial.path)) == ["shell: 6061-T6"]
    assert partial.left_out == ("slab: it covers 25 % of the circumference",)


def test_one_design_is_one_file(tmp_path):
    tube = part(line((0.01, 0.02), (0.05, 0.02)), line((0.01, 0.012), (0.05, 0.012)))
    first = write_step([tube], title=TITLE, folder=tmp_path, name="a.step").path.read_bytes()
    assert write_step([tube], title=TITLE, folder=tmp_path, name="b.step").path.read_bytes() == first
    assert b"'1970-01-01T00:00:00'" in first


def test_without_the_extra_one_line_says_what_to_install(tmp_path, monkeypatch):
    monkeypatch.delitem(sys.modules, "optitip.export.step_solids", raising=False)
    monkeypatch.setitem(sys.modules, "OCP.BRepPrimAPI", None)
    tube = part(line((0.01, 0.02), (0.05, 0.02)), line((0.01, 0.012), (0.05, 0.012)))
    with pytest.raises(UserMistakes, match=r"^step: .* Install it: pip install 'optitip\[cad\]'\.$"):
        write_step([tube], title=TITLE, folder=tmp_path)
    assert not list(tmp_path.iterdir())


class Refusing:
    """Loads what writes solids as a compiled package does that fails: an ImportError with its cause."""

    def __init__(self, cause):
        self.cause = cause

    def find_spec(self, name, *_):
        if name == "optitip.export.step_solids":
            raise ImportError("initialization failed") from self.cause


def unloadable(monkeypatch, cause):
    monkeypatch.delitem(sys.modules, "optitip.export.step_solids", raising=False)
    monkeypatch.setattr(sys, "meta_path", [Refusing(cause), *sys.meta_path])


def test_a_stop_while_the_package_is_loaded_stops(monkeypatch, tmp_path):
    unloadable(monkeypatch, KeyboardInterrupt())
    with pytest.raises(KeyboardInterrupt):
        write_step([], title=TITLE, folder=tmp_path)


def test_a_package_that_is_there_and_cannot_be_loaded_is_not_called_missing(monkeypatch, tmp_path):
    unloadable(monkeypatch, None)
    with pytest.raises(UserMistakes, match=r"can't be loaded \(initialization failed\)"):
        write_step([], title=TITLE, folder=tmp_path)
