from dataclasses import replace

import numpy as np
import pytest

from optitip.errors import DesignFailure, Outcome
from optitip.geometry import mesh as mesh_module
from optitip.geometry.chain import build_cavity
from optitip.geometry.mesh import build_mesh, graded_shares
from optitip.geometry.sides import edge_areas
from optitip.geometry.topology import Resolution, Zone


@pytest.fixture
def full(design):
    """Return a design with every joint a mesh can have."""
    return replace(design, plug_insert=0.02, base_separate=True, backing_thickness=0.001)


def test_rows_run_from_the_outline_to_the_inner_curve(full, outline):
    mesh = build_mesh(build_cavity(full, outline=outline))
    z, r, _ = outline.at(mesh.outer_arc)
    assert mesh.points[mesh.outer] == pytest.approx(np.stack([r, z], axis=1), abs=1e-12)
    assert np.all(np.diff(mesh.outer_arc) >= 0)
    assert mesh.outer_arc[[0, -1]] == pytest.approx([0, outline.total_arc])
    solid = np.isin(mesh.strip_zone, [Zone.NOSE, Zone.PLUG])
    assert np.all(mesh.points[mesh.rows[1:][solid], 0][:, -1] == 0)


def test_in_the_pocket_the_wall_has_its_thickness_and_the_slab_its_own(full, outline):
    cavity = build_cavity(full, outline=outline)
    mesh = build_mesh(cavity)
    sample = next(joint for joint in mesh.joints if joint.name == "sample")
    wall, back = mesh.points[sample.first], mesh.points[mesh.slab_rows[:, -1]]
    fine = outline.at(np.linspace(0, outline.total_arc, 400_001))
    distance = [np.hypot(fine[1] - r, fine[0] - z).min() for r, z in wall]
    # the wall grows by 0.4 mm over a band of 40 mm, the pocket spans 4 to 34 mm of it
    assert distance[0] == pytest.approx(0.00104, abs=1e-8)
    assert distance[-1] == pytest.approx(0.00134, abs=1e-8)
    assert np.hypot(*(back - wall).T) == pytest.approx(0.003, rel=1e-12)
    behind = mesh.points[mesh.backing_rows]
    assert np.hypot(*(behind[:, -1] - behind[:, 0]).T) == pytest.approx(0.001, rel=1e-12)


def test_the_slabs_cells_grow_from_the_hot_face(full, outline):
    mesh = build_mesh(build_cavity(full, outline=outline))
    steps = np.hypot(*np.diff(mesh.points[mesh.slab_rows[5]], axis=0).T)
    assert steps[0] == pytest.approx(5e-5, rel=1e-6)
    assert steps[1:] / steps[:-1] == pytest.approx(steps[1] / steps[0])


def test_a_thin_slab_gets_even_cells():
    assert graded_shares(4, first=0.3) == pytest.approx([0, 0.25, 0.5, 0.75, 1])


def test_the_sides_of_a_joint_lie_on_each_other(full, outline):
    mesh = build_mesh(build_cavity(full, outline=outline))
    assert [joint.name for joint in mesh.joints] == ["sample", "backing", "plug", "base"]
    for joint in mesh.joints:
        assert np.array_equal(mesh.points[joint.first], mesh.points[joint.second])
        assert not np.intersect1d(joint.first, joint.second).size


def test_joint_areas_are_those_of_the_surfaces_they_stand_for(full, outline):
    mesh = build_mesh(build_cavity(full, outline=outline), resolution=Resolution().refined(2))
    area = {joint.name: joint.area.sum() for joint in mesh.joints}
    _, r, _ = outline.at(outline.arc_length_of(0.02))
    assert area["plug"] == pytest.approx(np.pi * float(r) ** 2, rel=1e-9)
    corner, out = mesh.points[next(j for j in mesh.joints if j.name == "base").first][[-1, 0]]
    assert area["base"] == pytest.approx(np.pi * (out[0] ** 2 - corner[0] ** 2), rel=1e-9)
    fine = build_cavity(full, outline=outline)
    wall = fine.band_points(np.linspace(*fine.pocket_arc, 2001))
    rings = np.pi * np.sum(np.hypot(*np.diff(wall, axis=0).T) * (wall[1:, 0] + wall[:-1, 0]))
    assert area["sample"] == pytest.approx(rings, rel=1e-5)


def test_the_outer_edges_have_the_outlines_area(full, outline):
    mesh = build_mesh(build_cavity(full, outline=outline))
    assert edge_areas(mesh.points, mesh.outer_edges).sum() == pytest.approx(outline.surface, rel=1e-3)


def test_the_aft_edges_lie_in_the_aft_plane(full, outline):
    for design in (full, replace(full, base_thickness=None)):
        mesh = build_mesh(build_cavity(design, outline=outline))
        assert mesh.points[mesh.aft_edges.ravel(), 1] == pytest.approx(outline.turned_length, abs=1e-12)
        assert np.array_equal(mesh.aft_edges[:, 0], mesh.rows[-1, :-1])


def test_the_insert_is_the_zone_nose_and_ends_in_its_plane(full, outline):
    mesh = build_mesh(build_cavity(full, outline=outline))
    nose = mesh.points[mesh.cells[mesh.cell_zone == Zone.NOSE].ravel(), 1]
    others = mesh.points[mesh.cells[mesh.cell_zone != Zone.NOSE].ravel(), 1]
    assert (nose.min(), nose.max(), others.min()) == pytest.approx((0, 0.02, 0.02))


def test_the_apex_is_one_node_and_its_cells_are_collapsed(design, outline):
    mesh = build_mesh(build_cavity(design, outline=outline))
    fan = mesh.cells[:4]
    assert np.all(fan[:, [0, 3]] == 0)
    assert np.all(mesh.rows[0] == 0)
    assert not np.any(mesh.cells[4:] == 0)


def test_what_crosses_the_border_can_not_be_written_on(design, outline):
    mesh = build_mesh(build_cavity(design, outline=outline))
    arrays = (mesh.points, mesh.cells, mesh.rows, mesh.outer, mesh.outer_arc, mesh.joints[0].area)
    assert not any(array.flags.writeable for array in arrays)


def test_a_finer_mesh_keeps_the_corners_where_they_are(design, outline):
    cavity = build_cavity(design, outline=outline)
    coarse, fine = build_mesh(cavity), build_mesh(cavity, resolution=Resolution().refined(2))
    borders = [mesh.outer_arc[1:][np.append(np.diff(mesh.strip_zone) != 0, True)] for mesh in (coarse, fine)]
    assert borders[0] == pytest.approx(borders[1], abs=1e-12)


def test_a_folded_mesh_is_an_outcome_with_the_place_to_change(design, outline, monkeypatch):
    monkeypatch.setattr(mesh_module, "FLATTEST", 0.9)
    with pytest.raises(DesignFailure) as caught:
        build_mesh(build_cavity(design, outline=outline))
    assert caught.value.outcome is Outcome.MESH_FOLDED
    assert caught.value.place.startswith("tip.")
    assert "mm" in caught.value.detail
