import math
from dataclasses import replace

import pytest

from optitip.errors import DesignFailure, Outcome
from optitip.geometry.chain import build_cavity
from optitip.geometry.outline import family_outline
from optitip.inputs.study_tables import OutlineFamily


def goes_in(design, outline):
    try:
        build_cavity(design, outline=outline)
    except DesignFailure as failure:
        if failure.outcome is not Outcome.SLAB_CANNOT_GO_IN:
            raise
        return failure.place
    return True


@pytest.fixture
def bored(design):
    return replace(design, base_thickness=None, base_bore=0.005)


def test_a_soft_slab_goes_through_a_bore_wider_than_its_thickness(bored, outline):
    assert goes_in(replace(bored, slab_thickness=0.0049), outline) is True
    assert goes_in(replace(bored, slab_thickness=0.0051), outline) == "tip.base.bore"


def test_a_closed_base_lets_nothing_in_unless_it_comes_off(bored, outline):
    closed = replace(bored, base_bore=None)
    assert goes_in(closed, outline) == "tip.base.bore"
    assert goes_in(replace(closed, base_separate=True), outline) is True


def test_a_rigid_ring_needs_an_opening_of_its_outer_diameter(design, outline):
    ring = replace(design, slab_soft=False, slab_share=1.0)
    assert goes_in(ring, outline) == "tip.base.thickness"
    # a base no thicker than the band opens to more than the pocket's own radius
    assert goes_in(replace(ring, base_thickness=0.0014), outline) is True


def test_a_rigid_strip_goes_in_by_the_diagonal_of_its_box(design):
    cone = family_outline(
        OutlineFamily.CONE, diameter=0.054, length=0.19, turned_length=0.13, tip_radius=0.002
    )
    strip = replace(
        design, base_thickness=None, slab_soft=False, slab_share=0.1, slab_thickness=0.002, aft_taper=0.01
    )
    cavity = build_cavity(replace(strip, base_separate=True), outline=cone)
    outer = float(cavity.band_points(cavity.pocket_arc[1])[0])
    sagitta = outer * (1 - math.cos(0.1 * math.pi))
    diagonal = math.hypot(2 * outer * math.sin(0.1 * math.pi), 0.002 + sagitta)
    assert goes_in(replace(strip, base_bore=0.5 * diagonal * 1.001), cone) is True
    assert goes_in(replace(strip, base_bore=0.5 * diagonal * 0.999), cone) == "tip.base.bore"


def test_a_ring_can_not_pass_a_band_that_thickens_aft_of_it(design, outline):
    ring = replace(
        design,
        slab_soft=False,
        base_separate=True,
        base_thickness=0.0012,
        thickness_aft=0.009,
        pocket_offset=0.0,
        pocket_length=0.005,
    )
    assert goes_in(ring, outline) == "tip.band.thickness_aft"


def test_a_slab_that_leans_into_the_base_is_too_thick(design, outline):
    # the wall thins aft, so its normal leans aft of the surface's, past the start of the base
    full = replace(design, pocket_length=0.036, thickness_fore=0.004, aft_taper=0.0003, base_thickness=0.007)
    assert goes_in(replace(full, pocket_length=0.034), outline) is True
    with pytest.raises(DesignFailure) as caught:
        build_cavity(replace(full, slab_thickness=0.005), outline=outline)
    assert caught.value.outcome is Outcome.SLAB_TOO_THICK
    assert "into the shell" in caught.value.detail
