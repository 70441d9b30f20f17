import itertools
from dataclasses import replace

import numpy as np
import pytest

from optitip.geometry.chain import build_cavity
from optitip.geometry.outline import family_outline
from optitip.geometry.shell import SegmentKind, part_volumes, shell_profile
from optitip.geometry.tip import TipDesign
from optitip.inputs.study_tables import OutlineFamily


def test_the_inner_curve_runs_unbroken_from_the_axis_to_the_aft_plane(design, outline):
    for one in (
        design,
        replace(design, base_thickness=None, base_bore=0.005),
        replace(design, plug_fillet=0),
    ):
        inner = shell_profile(build_cavity(one, outline=outline)).inner
        assert inner[0].points[0] == pytest.approx([0, 0.03])
        assert inner[-1].points[-1, 1] == pytest.approx(0.12)
        for fore, aft in itertools.pairwise(inner):
            assert fore.points[-1] == pytest.approx(aft.points[0], abs=1e-12)


def test_the_fillet_is_an_arc_of_its_radius(design, outline):
    cavity = build_cavity(design, outline=outline)
    arcs = [one for one in shell_profile(cavity).inner if one.kind is SegmentKind.ARC]
    assert len(arcs) == 1
    assert np.hypot(*(arcs[0].points - cavity.fillet_centre).T) == pytest.approx(0.001)


def test_the_slabs_section_has_its_thickness(design, outline):
    profile = shell_profile(build_cavity(replace(design, backing_thickness=0.001), outline=outline))
    wall, back = np.split(profile.slab, 2)
    assert np.hypot(*(back[::-1] - wall).T) == pytest.approx(0.003)
    assert profile.backing[: len(back)] == pytest.approx(back[::-1])
    assert shell_profile(build_cavity(replace(design, slab_thickness=None), outline=outline)).slab is None


def test_the_sphere_points_lie_on_the_sphere(design, outline):
    profile = shell_profile(build_cavity(design, outline=outline))
    n = profile.sphere_points
    from_centre = np.hypot(profile.outer[:, 0], profile.outer[:, 1] - outline.tip_radius)
    assert from_centre[:n] == pytest.approx(outline.tip_radius, rel=1e-9)
    assert from_centre[n] > outline.tip_radius * (1 + 1e-9)


def test_volumes_of_a_cone_are_those_of_frusta():
    # tan 0.2: a wall of constant thickness under a cone is a cone too, its tip aft by t / sin
    cone = family_outline(OutlineFamily.CONE, diameter=0.08, length=0.2, turned_length=0.15, tip_radius=0.001)
    design = TipDesign(
        plug_length=0.05,
        plug_wall=0.002,
        plug_fillet=0.0,
        fore_taper=0.01,
        band_length=0.04,
        thickness_fore=0.002,
        thickness_aft=0.002,
        aft_taper=0.01,
        base_thickness=0.002,
        pocket_offset=0.0,
        pocket_length=0.04,
        plug_insert=0.03,
        base_separate=True,
    )
    cavity = build_cavity(design, outline=cone)
    parts = part_volumes(cavity)
    tip, shift = cone.blunting, 0.002 * np.hypot(1, 5)

    def frustum(start, end, *, from_tip):
        return np.pi / 3 * 0.04 * ((end + from_tip) ** 3 - (start + from_tip) ** 3)

    joint = cavity.base_corner[1]
    base = frustum(joint, 0.15, from_tip=tip) - frustum(joint, 0.15, from_tip=tip - shift)
    assert parts.base == pytest.approx(base, rel=1e-6)
    shell = frustum(0.03, joint, from_tip=tip) - frustum(0.05, joint, from_tip=tip - shift)
    assert parts.shell == pytest.approx(shell, rel=1e-6)
    # the insert: what a cone has lost by its spherical tip
    sphere_end = 0.001 * (1 - np.sin(np.arctan(0.2)))
    cap = np.pi * sphere_end**2 * (0.001 - sphere_end / 3)
    assert parts.insert == pytest.approx(cap + frustum(sphere_end, 0.03, from_tip=tip), rel=1e-6)


def test_a_part_that_is_not_there_weighs_nothing(design, outline):
    parts = part_volumes(build_cavity(design, outline=outline))
    assert (parts.insert, parts.base) == (0, 0)
    both = part_volumes(build_cavity(replace(design, plug_insert=0.02, base_separate=True), outline=outline))
    assert both.insert + both.shell + both.base == pytest.approx(parts.shell, rel=1e-12)
