import csv

import ezdxf
import numpy as np
import pytest

from optitip.export.coordinates import write_coordinates
from optitip.export.dxf import Title, write_dxf
from optitip.export.parts.arcs import Sense, largest_corner
from optitip.export.parts.section import Materials, tip_section
from optitip.geometry.chain import build_cavity
from optitip.geometry.mesh import build_mesh
from optitip.geometry.outline import family_outline
from optitip.geometry.shell import part_volumes, shell_profile
from optitip.geometry.sides import cell_volumes
from optitip.geometry.tip import TipDesign
from optitip.geometry.topology import Zone
from optitip.inputs.study_tables import OutlineFamily

MATERIALS = Materials(shell="6061-T6", insert="304", base="C110 copper", slab="egg white")
TITLE = Title(design="k3f9", study="A study", version="0")
PLAIN = {
    "plug_length": 0.05,
    "plug_wall": 0.003,
    "plug_fillet": 0.002,
    "fore_taper": 0.008,
    "band_length": 0.06,
    "thickness_fore": 0.0012,
    "thickness_aft": 0.0010,
    "aft_taper": 0.008,
    "base_thickness": 0.004,
    "pocket_offset": 0.005,
    "pocket_length": 0.04,
    "slab_thickness": 0.004,
    "slab_soft": True,
}
DESIGNS = {
    "open base": {},
    "solid base, no slab": {"base_thickness": None, "slab_thickness": None},
    "bored base": {"base_thickness": None, "base_bore": 0.009},
    "two joints": {"plug_insert": 0.02, "base_separate": True, "backing_thickness": 0.002},
    "solid base of its own": {"base_thickness": None, "base_bore": 0.009, "base_separate": True},
    "sharp corner": {"plug_fillet": 0.0},
}


def cavity_of(changes, family=OutlineFamily.VON_KARMAN, tip_radius=0.004):
    outline = family_outline(family, diameter=0.06, length=0.3, turned_length=0.16, tip_radius=tip_radius)
    return build_cavity(TipDesign(**(PLAIN | changes)), outline=outline)


def section_of(changes, tolerance=5e-6, **outline):
    shell = shell_profile(cavity_of(changes, **outline))
    return tip_section(shell, materials=MATERIALS, slab_share=0.3, tolerance=tolerance)


@pytest.mark.parametrize("changes", DESIGNS.values(), ids=DESIGNS)
def test_the_profiles_have_the_volumes_of_the_parts_once_the_arcs_are_fine(changes):
    section = section_of(changes, tolerance=2e-7)
    volumes = {one.layer: one.volume for one in section.profiles}
    given = part_volumes(cavity_of(changes))
    assert volumes["SHELL"] == pytest.approx(given.shell, rel=1e-4)
    assert volumes.get("PLUG_INSERT", 0.0) == pytest.approx(given.insert, rel=1e-4)
    assert volumes.get("BASE", 0.0) == pytest.approx(given.base, rel=1e-4)
    assert section.error <= 2e-7


@pytest.mark.parametrize("changes", DESIGNS.values(), ids=DESIGNS)
def test_the_profiles_have_the_volumes_of_the_mesh_that_was_solved(changes):
    section, mesh = section_of(changes), build_mesh(cavity_of(changes))
    assert section.error <= 5e-6
    volumes, zones = cell_volumes(mesh.points, mesh.cells), mesh.cell_zone
    turned = sum(one.volume for one in section.profiles if one.metal)
    assert turned == pytest.approx(volumes[zones < Zone.SLAB].sum(), rel=3e-3)
    slab = sum(one.volume for one in section.profiles if one.layer == "SLAB")
    assert slab == pytest.approx(0.3 * volumes[zones == Zone.SLAB].sum(), rel=3e-3)


def test_the_fillet_is_one_exact_arc_between_face_and_taper():
    cavity = cavity_of({})
    inner = section_of({}).inner
    assert inner[1].radius == pytest.approx(0.002, rel=1e-9)
    assert inner[1].sense is Sense.CLOCKWISE
    assert inner[1].centre == pytest.approx(tuple(cavity.fillet_centre[::-1]), abs=1e-9)
    assert largest_corner(inner[:3]) < 1e-6


def test_the_outline_is_its_nose_sphere_and_few_tangent_arcs():
    outer = section_of({}).outer
    assert outer[0].centre == pytest.approx((0.004, 0.0), abs=1e-9)
    assert largest_corner(outer) < 1e-6
    assert len(outer) <= 14
    assert outer[-1].end[0] == pytest.approx(0.16, abs=1e-12)


def test_an_outline_with_a_round_nose_of_its_own_needs_no_sphere():
    section = section_of({}, family=OutlineFamily.ELLIPSE, tip_radius=None)
    assert section.error <= 5e-6
    assert largest_corner(section.outer) < 1e-6
    assert section.outer[0].start == (0.0, 0.0)
    assert np.degrees(section.outer[0].start_direction) == pytest.approx(90.0, abs=1e-6)


def test_a_cone_outline_is_one_arc_and_one_line():
    outer = section_of({}, family=OutlineFamily.CONE).outer
    assert [one.sense for one in outer] == [Sense.CLOCKWISE, Sense.LINE]


def test_every_part_is_closed_and_carries_its_own_material():
    section = section_of(DESIGNS["two joints"])
    materials = {one.layer: (one.material, one.metal) for one in section.profiles}
    assert materials == {
        "PLUG_INSERT": ("304", True),
        "SHELL": ("6061-T6", True),
        "BASE": ("C110 copper", True),
        "SLAB": ("egg white", False),
        "BACKING": ("backing", False),
    }
    for profile in section.profiles:
        for before, after in zip(profile.segments, (*profile.segments[1:], profile.segments[0]), strict=True):
            assert before.end == pytest.approx(after.start, abs=2e-9)


@pytest.mark.parametrize("changes", DESIGNS.values(), ids=DESIGNS)
def test_every_design_becomes_a_clean_drawing_and_a_table(changes, tmp_path):
    section = section_of(changes)
    drawing = ezdxf.readfile(write_dxf(section.profiles, title=TITLE, folder=tmp_path))
    assert not drawing.audit().has_errors
    assert len(drawing.modelspace().query("LWPOLYLINE")) == len(section.profiles)
    with write_coordinates(section.outer, section.inner, folder=tmp_path).open(newline="") as file:
        rows = [[float(value) for value in row[:4]] for row in list(csv.reader(file))[1:]]
    z, aft, outside, bore = np.array(rows).T
    assert z + aft == pytest.approx(np.full(len(z), 160.0), abs=1e-3)
    assert np.all(np.diff(z) >= 0.0)
    assert np.all(outside >= bore)
    assert np.all(bore[z < 49.99] == 0.0)
