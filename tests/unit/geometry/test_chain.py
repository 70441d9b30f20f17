import math
from dataclasses import replace

import numpy as np
import pytest

from optitip.errors import DesignFailure, Outcome, UserMistakes
from optitip.geometry.chain import build_cavity
from optitip.geometry.outline import family_outline
from optitip.inputs.study_tables import OutlineFamily


def distance_to(outline, point):
    """Return the distance of a point from the outline, found by search over a fine sampling."""
    z, r, _ = outline.at(np.linspace(0, outline.total_arc, 400_001))
    return float(np.hypot(r - point[0], z - point[1]).min())


def test_the_plugs_wall_is_measured_normal_to_the_surface_at_the_fore_faces_corner(design, outline):
    cavity = build_cavity(design, outline=outline)
    assert distance_to(outline, cavity.corner) == pytest.approx(0.003, abs=2e-8)
    assert cavity.corner[1] == 0.03


def test_the_band_has_the_asked_thickness_normal_to_the_surface(design, outline):
    cavity = build_cavity(design, outline=outline)
    middle = cavity.band_points(np.mean(cavity.band_arc))
    assert distance_to(outline, middle) == pytest.approx(0.0012, abs=1e-8)
    assert distance_to(outline, cavity.band_fore) == pytest.approx(0.001, abs=1e-8)
    assert distance_to(outline, cavity.band_aft) == pytest.approx(0.0014, abs=1e-8)
    assert distance_to(outline, cavity.base_corner) == pytest.approx(0.004, abs=1e-8)


def test_lengths_are_chained_along_the_arc(design, outline):
    cavity = build_cavity(design, outline=outline)
    assert np.diff([cavity.plug_arc, *cavity.band_arc, cavity.base_arc]) == pytest.approx(
        [0.008, 0.04, 0.008]
    )
    assert cavity.pocket_arc == pytest.approx((cavity.band_arc[0] + 0.004, cavity.band_arc[0] + 0.034))


def test_a_longer_plug_moves_everything_aft_of_it(design, outline):
    short, long = (build_cavity(replace(design, plug_length=x), outline=outline) for x in (0.03, 0.032))
    moved = long.base_arc - short.base_arc
    assert moved == pytest.approx(long.plug_arc - short.plug_arc)
    assert moved > 0.0019


def test_the_inner_walls_normals_are_at_right_angles_to_it(design, outline):
    cavity = build_cavity(replace(design, thickness_aft=0.003), outline=outline)
    s = np.linspace(*cavity.band_arc, 50)[1:-1]
    along = cavity.band_points(s + 1e-6) - cavity.band_points(s - 1e-6)
    along /= np.hypot(*along.T)[:, None]
    assert np.sum(along * cavity.band_inward(s), axis=1) == pytest.approx(0, abs=4e-4)
    assert np.all(cavity.band_inward(s)[:, 0] < 0)


def test_the_fillet_touches_face_and_taper(design, outline):
    cavity = build_cavity(design, outline=outline)
    fore, aft = cavity.fillet_fore - cavity.fillet_centre, cavity.fillet_aft - cavity.fillet_centre
    taper = cavity.band_fore - cavity.corner
    assert np.hypot(*fore) == pytest.approx(0.001)
    assert np.hypot(*aft) == pytest.approx(0.001)
    assert fore[0] == pytest.approx(0, abs=1e-12)
    assert aft @ taper == pytest.approx(0, abs=1e-12)


def test_a_solid_base_begins_with_a_face_behind_the_bands_own_wall(design, outline):
    cavity = build_cavity(replace(design, base_thickness=None, base_bore=0.004), outline=outline)
    assert distance_to(outline, cavity.base_corner) == pytest.approx(design.thickness_aft, abs=1e-8)
    assert cavity.bore_corner == pytest.approx([0.004, cavity.base_corner[1]])
    assert cavity.end == pytest.approx([0.004, 0.12])


def test_the_joint_of_a_separate_base_comes_out_in_its_corners_plane(design, outline):
    walled = build_cavity(replace(design, base_separate=True), outline=outline)
    assert outline.at(walled.joint_arc)[0] == pytest.approx(walled.base_corner[1], abs=1e-9)
    solid = build_cavity(replace(design, base_separate=True, base_thickness=None), outline=outline)
    assert outline.at(solid.joint_arc)[0] > solid.base_corner[1] + 1e-4
    assert build_cavity(design, outline=outline).joint_arc is None


@pytest.mark.parametrize(
    ("changed", "outcome", "place"),
    [
        ({"plug_length": 0.13}, Outcome.PLUG_TOO_LONG, "tip.plug.length"),
        ({"plug_wall": 0.012}, Outcome.WALL_TOO_THICK, "tip.plug.wall"),
        ({"plug_wall": 0.19e-3}, Outcome.WALL_TOO_THIN, "tip.plug.wall"),
        ({"thickness_fore": 0.19e-3}, Outcome.WALL_TOO_THIN, "tip.band.thickness"),
        ({"thickness_aft": 0.19e-3}, Outcome.WALL_TOO_THIN, "tip.band.thickness_aft"),
        ({"base_thickness": 0.19e-3}, Outcome.WALL_TOO_THIN, "tip.base.thickness"),
        ({"plug_fillet": 0.012}, Outcome.FILLET_TOO_LARGE, "tip.plug.fillet"),
        ({"plug_insert": 0.03}, Outcome.INSERT_TOO_LONG, "tip.plug.insert"),
        ({"fore_taper": 0.1}, Outcome.TIP_TOO_SHORT, "tip.fore_taper"),
        ({"band_length": 0.09}, Outcome.TIP_TOO_SHORT, "tip.band.length"),
        ({"aft_taper": 0.05}, Outcome.TIP_TOO_SHORT, "tip.aft_taper"),
        ({"plug_wall": 0.006, "fore_taper": 0.0003}, Outcome.MESH_FOLDED, "tip.fore_taper"),
        ({"aft_taper": 0.0001}, Outcome.MESH_FOLDED, "tip.aft_taper"),
        ({"thickness_fore": 0.0095}, Outcome.WALL_TOO_THICK, "tip.band.thickness"),
        ({"thickness_aft": 0.016}, Outcome.WALL_TOO_THICK, "tip.band.thickness_aft"),
        ({"base_thickness": 0.02}, Outcome.WALL_TOO_THICK, "tip.base.thickness"),
        ({"base_thickness": None, "base_bore": 0.016}, Outcome.BORE_TOO_WIDE, "tip.base.bore"),
        ({"base_thickness": None, "aft_taper": 0.0422}, Outcome.TIP_TOO_SHORT, "outline.turned_length"),
        ({"pocket_offset": 0.041}, Outcome.SLAB_OUTSIDE_BAND, "sample.pocket.offset"),
        ({"pocket_length": 0.037}, Outcome.SLAB_OUTSIDE_BAND, "sample.pocket.length"),
        ({"slab_thickness": 0.012}, Outcome.SLAB_TOO_THICK, "sample.slab.thickness"),
        ({"backing_thickness": 0.008}, Outcome.SLAB_TOO_THICK, "sample.backing.thickness"),
    ],
)
def test_what_can_not_be_built_names_the_number_to_change(design, outline, changed, outcome, place):
    with pytest.raises(DesignFailure) as caught:
        build_cavity(replace(design, **changed), outline=outline)
    assert (caught.value.outcome, caught.value.place) == (outcome, place)
    assert "mm" in caught.value.detail


@pytest.mark.parametrize(
    ("changed", "place"),
    [
        ({"band_length": -0.01}, "tip.band.length"),
        ({"slab_thickness": math.nan}, "sample.slab.thickness"),
        ({"base_bore": 0.004}, "tip.base.bore"),
        ({"slab_thickness": None, "backing_thickness": 0.001}, "sample.backing.thickness"),
    ],
)
def test_numbers_that_contradict_are_the_users_mistake(design, outline, changed, place):
    with pytest.raises(UserMistakes) as caught:
        build_cavity(replace(design, **changed), outline=outline)
    assert caught.value.mistakes[0].place == place


def test_a_wall_thicker_than_the_noses_radius_of_curvature_is_refused(design):
    hemisphere = family_outline(OutlineFamily.ELLIPSE, diameter=0.06, length=0.03, turned_length=0.0299)
    thick = replace(design, plug_length=0.0294, plug_wall=0.0288, fore_taper=0.0005, band_length=0.002)
    short = replace(thick, aft_taper=0.0005, pocket_offset=0, pocket_length=0.001, slab_thickness=None)
    with pytest.raises(DesignFailure) as caught:
        build_cavity(short, outline=hemisphere)
    assert (caught.value.outcome, caught.value.place) == (Outcome.WALL_TOO_THICK, "tip.plug.wall")
    with pytest.raises(
        DesignFailure
    ) as caught:  # 0.94 of the radius leaves an inner curve: other numbers fail
        build_cavity(replace(short, plug_wall=0.0282), outline=hemisphere)
    assert caught.value.place != "tip.plug.wall"
