"""Slab in and out, wires, probe, seat and bar: each by hand at the edge of what goes and what doesn't."""

import math
from dataclasses import replace

import numpy as np
import pytest

from optitip.errors import DesignFailure, Outcome
from optitip.geometry.assembly import (
    SEAT_WALL,
    WIRE_ROOM,
    Fittings,
    Stuff,
    put_together,
    seat_depth,
)
from optitip.geometry.chain import build_cavity
from optitip.geometry.lap import LapKind, Spigot
from optitip.geometry.measured import smooth_profile
from optitip.geometry.outline import family_outline, smoothed_outline
from optitip.inputs.study_tables import OutlineFamily
from optitip.inputs.tip_tables import BoringBar, Opens, Seat

PLAIN = Fittings()
IN, OUT = Outcome.SLAB_CANNOT_GO_IN, Outcome.SLAB_CANNOT_COME_OUT


def together(design, outline, **fittings):
    return put_together(build_cavity(design, outline=outline), fittings=replace(PLAIN, **fittings))


def refused(design, outline, **fittings):
    """Return outcome and place of the failure; True where there is none."""
    try:
        together(design, outline, **fittings)
    except DesignFailure as failure:
        return failure.outcome, failure.place
    return True


def inside(tube):
    return float(tube.radius[-1]) - 0.002


@pytest.fixture
def bored(design):
    return replace(design, base_thickness=None, base_bore=0.010)


@pytest.fixture(scope="module")
def cone():
    return family_outline(
        OutlineFamily.CONE, diameter=0.054, length=0.19, turned_length=0.13, tip_radius=0.002
    )


@pytest.fixture(scope="module")
def tube():
    """Return a cylinder of some 27 mm in radius behind half a sphere."""
    z = np.linspace(0.0, 0.46, 1200)
    r = np.sqrt(0.027**2 - np.maximum(0.027 - z, 0.0) ** 2)
    return smoothed_outline(smooth_profile(z, r), turned_length=0.45)


@pytest.fixture
def straight(design):
    """Return a cavity of one radius, 2 mm inside ``tube`` and far from its nose."""
    return replace(
        design,
        plug_length=0.3,
        plug_wall=0.002,
        thickness_fore=0.002,
        thickness_aft=0.002,
        base_thickness=0.002,
        slab_thickness=0.002,
    )


def test_a_soft_slab_goes_through_a_bore_wider_than_its_thickness(bored, outline):
    # a bore as narrow as that can't be bored behind, so a separate base stands for the tip's own
    narrow = replace(bored, base_bore=0.0031)
    assert refused(replace(narrow, slab_thickness=0.0030), outline)[0] is Outcome.CANNOT_BE_TURNED
    assert refused(replace(narrow, slab_thickness=0.0032), outline) == (IN, "tip.base.bore")
    kept = replace(narrow, base_separate=True)
    assert refused(replace(kept, slab_thickness=0.0030), outline, opens=Opens.NONE) is True
    assert refused(replace(kept, slab_thickness=0.0032), outline, opens=Opens.NONE) == (OUT, "tip.opens")


def test_a_closed_base_lets_nothing_in_unless_it_comes_off(bored, outline):
    closed = replace(bored, base_bore=None)
    assert refused(closed, outline) == (IN, "tip.base.bore")
    assert refused(replace(closed, base_separate=True), outline) is True
    # joined for good it goes in before, and never comes out
    assert refused(replace(closed, base_separate=True), outline, opens=Opens.NONE) == (OUT, "tip.opens")


def test_a_rigid_ring_needs_an_opening_of_its_outer_diameter(design, outline):
    ring = replace(design, slab_soft=False, slab_share=1.0)
    assert refused(ring, outline) == (IN, "tip.base.thickness")
    # a base no thicker than the band opens to more than the pocket's own radius
    assert refused(replace(ring, base_thickness=0.0014), outline) is True


def test_a_rigid_strip_goes_in_by_the_diagonal_of_its_box(design, cone):
    strip = replace(
        design, base_thickness=None, slab_soft=False, slab_share=0.25, slab_thickness=0.002, aft_taper=0.01
    )
    cavity = build_cavity(replace(strip, base_separate=True), outline=cone)
    outer = float(cavity.band_points(cavity.pocket_arc[1])[0])
    sagitta = outer * (1 - math.cos(0.25 * math.pi))
    diagonal = math.hypot(2 * outer * math.sin(0.25 * math.pi), 0.002 + sagitta)
    assert refused(replace(strip, base_bore=0.5 * diagonal * 1.001), cone) is True
    assert refused(replace(strip, base_bore=0.5 * diagonal * 0.999), cone) == (IN, "tip.base.bore")


def test_a_flat_strip_goes_in_by_width_and_thickness(straight, tube):
    flat = replace(straight, slab_soft=False, slab_share=0.05, base_separate=True)
    found = together(flat, tube, seat=Seat.FLAT)
    width = 2 * math.pi * inside(tube) * 0.05
    assert found.passes == pytest.approx(math.hypot(width, 0.002), rel=1e-9)


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
    assert refused(ring, outline) == (IN, "tip.band.thickness_aft")


def test_a_rigid_backing_has_to_pass_as_the_slab_has(straight, tube):
    # behind a wall and a slab of 2 mm each it is as wide as a base of 4 mm opens
    walled = replace(straight, backing_thickness=0.001, base_thickness=0.0041)
    for stuff in (Stuff.AIR, Stuff.SOFT):
        assert refused(walled, tube, backing=stuff) is True
    assert refused(walled, tube, backing=Stuff.RIGID) == (IN, "tip.base.thickness")
    assert refused(replace(walled, base_thickness=0.0039), tube, backing=Stuff.RIGID) is True


def test_a_thick_layer_of_air_passes_any_opening(bored, outline):
    airy = replace(bored, slab_thickness=0.001, backing_thickness=0.006, base_bore=0.0055, base_separate=True)
    assert refused(airy, outline, opens=Opens.NONE) is True
    assert refused(airy, outline, opens=Opens.NONE, backing=Stuff.SOFT) == (OUT, "tip.opens")


def test_what_is_left_of_the_opening_is_told_cold_and_hot(straight, tube):
    ring = replace(straight, slab_soft=False, base_separate=True, pocket_offset=0.0)
    found = together(ring, tube, slab_growth=0.01)
    assert found.base_comes_off
    assert found.passes_hot == pytest.approx(1.01 * found.passes)
    assert found.opening == pytest.approx(found.way_out)
    assert found.opening_room == pytest.approx(found.opening - 1.01 * found.passes, abs=1e-12)
    assert found.opening_room < 0.0 < together(ring, tube).opening_room + 1e-6
    soft = together(replace(ring, slab_soft=True), tube)
    assert soft.passes == pytest.approx(2 * 0.002)
    assert soft.opening_room == pytest.approx(soft.opening - 0.004)


def test_the_way_out_of_a_base_that_stays_on_is_its_own_hole(bored, outline):
    kept = replace(bored, base_separate=True)
    on, off = (together(kept, outline, opens=opens) for opens in (Opens.NONE, Opens.BASE))
    assert on.way_out == pytest.approx(0.020)
    assert on.opening == off.opening == off.way_out > 0.025
    assert (on.base_comes_off, off.base_comes_off) == (False, True)
    assert on.opening_room == pytest.approx(0.020 - 0.006)


def test_the_sagitta_of_a_coupon_30_mm_wide_in_a_radius_of_25_is_4_and_a_half():
    # w^2 / (8 r) = 900 / 200; the exact cut at its edges is sqrt(r^2 + w^2/4) - r = 4.15 mm
    share = 0.03 / (2 * math.pi * 0.025)
    assert seat_depth(np.array([0.025]), share=share) == pytest.approx([0.0045], rel=1e-12)
    assert seat_depth(np.array([0.025]), share=0.02) == pytest.approx(
        [math.hypot(0.025, math.pi * 0.025 * 0.02) - 0.025], rel=2e-3
    )


def test_a_flat_seat_must_leave_a_wall(straight, tube):
    strip = replace(straight, slab_soft=False, base_separate=True)
    most = math.sqrt(2 * (0.002 - SEAT_WALL) / (math.pi**2 * inside(tube)))
    assert refused(replace(strip, slab_share=0.99 * most), tube, seat=Seat.FLAT) is True
    too_wide = replace(strip, slab_share=1.01 * most)
    assert refused(too_wide, tube, seat=Seat.FLAT) == (Outcome.SEAT_DOES_NOT_FIT, "sample.seat")
    assert refused(too_wide, tube) is True
    cut = together(replace(strip, slab_share=0.5 * most), tube, seat=Seat.FLAT)
    assert cut.seat_depth + cut.seat_wall == pytest.approx(0.002, rel=1e-6)
    assert cut.seat_depth == pytest.approx(0.25 * (0.002 - SEAT_WALL), rel=1e-9)


def test_wires_leave_by_the_bore(bored, outline):
    bored = replace(bored, base_bore=0.005, base_separate=True)
    fits = 0.010 - WIRE_ROOM
    assert together(bored, outline, wires=0.999 * fits).wires_hole == pytest.approx(0.010)
    place = (Outcome.WIRES_CANNOT_LEAVE, "tip.base.bore")
    assert refused(bored, outline, wires=1.001 * fits) == place
    closed = replace(bored, base_bore=None, base_separate=True)
    assert refused(closed, outline, wires=0.001) == place


def test_wires_need_a_core_in_the_lining_or_the_place_beside_a_strip(straight, tube):
    # a ring 20 mm thick in a radius of 25 leaves a core of 10 mm across
    ring = replace(straight, slab_thickness=0.020)
    core = 2 * (inside(tube) - 0.020)
    assert together(ring, tube, wires=0.001).wires_hole == pytest.approx(core, rel=1e-9)
    said = (Outcome.WIRES_CANNOT_LEAVE, "sample.slab.thickness")
    assert refused(ring, tube, wires=core - 0.99 * WIRE_ROOM) == said
    # half a ring leaves half the circle: the circle in it is of half the radius
    half = together(replace(ring, slab_share=0.5), tube, wires=0.001)
    assert half.wires_hole == pytest.approx(inside(tube), rel=1e-9)
    backed = replace(ring, slab_thickness=0.002, backing_thickness=0.018)
    assert refused(backed, tube, wires=0.0095, backing=Stuff.SOFT) == (
        Outcome.WIRES_CANNOT_LEAVE,
        "sample.backing.thickness",
    )
    assert refused(backed, tube, wires=0.0095, backing=Stuff.AIR) is True


def test_a_probe_goes_straight_through_the_base_or_not_at_all(bored, outline):
    small = replace(bored, base_bore=0.004, base_separate=True)
    path = together(small, outline, probe=0.002).probe
    cavity = build_cavity(small, outline=outline)
    assert 0.0 < path.tilt < math.radians(45)
    assert path.length * math.cos(path.tilt) == pytest.approx(float(cavity.end[1]) - path.axial)
    closed = replace(bored, base_bore=None, base_separate=True)
    assert refused(closed, outline, probe=0.001) == (Outcome.PROBE_CANNOT_REACH, "tip.base.bore")
    # a long narrow bore lets it lean too little
    long_bore = replace(bored, base_bore=0.0015, base_separate=True)
    assert refused(long_bore, outline, probe=0.002) == (Outcome.PROBE_CANNOT_REACH, "tip.base.bore")
    assert refused(long_bore, outline) is True


def test_the_bar_is_that_of_the_cavity_before_the_base_is_on(bored, outline):
    whole, apart = (replace(bored, base_separate=own) for own in (False, True))
    through_the_bore, from_the_joint = (together(one, outline).bar for one in (whole, apart))
    assert through_the_bore.reach == pytest.approx(outline.turned_length - 0.03)
    assert from_the_joint.reach < through_the_bore.reach - 0.01
    assert from_the_joint.overhang < through_the_bore.overhang


def test_a_plain_bar_stands_its_length_over_its_diameter(straight, tube):
    found = together(straight, tube)
    diameter = 0.7 * 2 * inside(tube)
    assert found.bar_overhang == pytest.approx((tube.turned_length - 0.3) / diameter, rel=1e-6)
    assert found.bar.limit == 10.0


def test_what_a_steel_bar_can_not_bore_a_damped_one_may(straight, tube):
    deep = replace(straight, plug_length=0.27)
    said = (Outcome.CANNOT_BE_TURNED, "tip.base.separate")
    assert refused(deep, tube, boring=BoringBar.STEEL) == said
    assert refused(deep, tube, boring=BoringBar.CARBIDE) is True
    deeper = replace(straight, plug_length=0.2)
    assert refused(deeper, tube, boring=BoringBar.CARBIDE) == said
    assert refused(deeper, tube, boring=BoringBar.DAMPED) is True
    assert refused(replace(straight, plug_length=0.05), tube) == said


def test_a_base_of_its_own_too_deep_behind_a_wide_mouth_asks_for_a_shorter_band(straight, tube):
    deep = replace(straight, plug_length=0.2, band_length=0.2, base_separate=True)
    assert refused(deep, tube, boring=BoringBar.STEEL) == (Outcome.CANNOT_BE_TURNED, "tip.band.length")


def test_an_undercut_too_deep_for_any_head_is_told_as_one(bored, outline):
    with pytest.raises(DesignFailure, match=r"wider in radius behind 6\.2 mm across") as caught:
        together(replace(bored, base_bore=0.0031), outline)
    assert (caught.value.outcome, caught.value.place) == (Outcome.CANNOT_BE_TURNED, "tip.base.bore")


def test_its_lines_are_figures_with_units_and_leave_out_what_is_not_there(bored, outline):
    bare = {one.name: one for one in together(replace(bored, base_separate=True), outline).lines}
    everything = together(
        replace(bored, slab_share=0.02, slab_soft=False), outline, wires=0.002, probe=0.001, seat=Seat.FLAT
    )
    full = {one.name: one for one in everything.lines}
    assert {one.unit for one in full.values()} == {"m", "1", "rad"}
    assert bare.keys() < full.keys()
    assert full["narrowest the wires have, across"].value == everything.wires_hole
    assert full["room left"].value == everything.opening_room
    assert full["boring bar overhang, lengths over diameters"].value == everything.bar_overhang
    assert not {name for name in bare if "wires" in name or "probe" in name or "seat" in name}


def test_the_shells_spigot_is_bored_with_it_and_adds_to_the_bars_overhang(straight, tube):
    """A plain tube: the bar reaches as much farther as the spigot is long, its diameter stays 1.4 R."""
    soft = replace(straight, base_separate=True)
    screwed = Spigot(kind=LapKind.SCREWS, thread=None, engagement=0.006)
    bare, long = together(soft, tube), together(soft, tube, spigot=screwed)
    across = 1.4 * inside(tube)
    assert long.bar.reach == pytest.approx(bare.bar.reach + 0.012, abs=1e-6)
    assert long.bar.overhang == pytest.approx(bare.bar.overhang + 0.012 / across, rel=1e-3)
    assert long.opening == bare.opening


def test_behind_a_solid_base_the_spigot_keeps_the_bore_of_the_joint(straight, tube):
    solid = replace(straight, base_thickness=None, base_separate=True, slab_thickness=None)
    screwed = Spigot(kind=LapKind.SCREWS, thread=None, engagement=0.005)
    bare, long = together(solid, tube), together(solid, tube, spigot=screwed)
    assert bare.lap is None
    assert long.bar.reach == pytest.approx(long.lap.end - 0.3, abs=1e-6)
    assert long.bar.reach > bare.bar.reach
    assert long.bar.aft == pytest.approx(1.4 * inside(tube), rel=1e-3)
    assert bare.bar.aft > long.bar.aft


def test_a_tie_rod_on_the_axis_needs_the_core_of_the_lining_and_takes_it_from_the_wires(straight, tube):
    ring = replace(straight, slab_thickness=0.020)
    core = 2.0 * (inside(tube) - 0.020)
    assert refused(ring, tube, rod=0.99 * core) is True
    assert refused(ring, tube, rod=1.01 * core) == (Outcome.ROD_CANNOT_PASS, "tip.base.fixing.rod")
    assert refused(ring, tube, rod=1.01 * core, backing=Stuff.SOFT) == refused(ring, tube, rod=1.01 * core)
    # between a rod of 4 mm and a core of 10 mm there are 3 mm
    assert together(ring, tube, rod=0.004, wires=0.001).wires_hole == pytest.approx(0.5 * core - 0.002)
    said = (Outcome.WIRES_CANNOT_LEAVE, "sample.slab.thickness")
    assert refused(ring, tube, rod=0.004, wires=0.5 * core - 0.002 - 0.99 * WIRE_ROOM) == said
    # beside a strip a bundle still finds what is between rod and wall
    strip = replace(ring, slab_share=0.5)
    beside = inside(tube) - 0.002
    assert together(strip, tube, rod=0.004, wires=0.001).wires_hole == pytest.approx(beside)


def test_a_probe_does_not_cross_a_tie_rod(bored, outline):
    """Through a bore of 10 mm in radius a probe of 2 mm comes within some mm of the axis."""
    small = replace(bored, base_separate=True)
    path = together(small, outline, probe=0.002).probe
    near = path.radius - path.length * math.sin(path.tilt)
    most = 2.0 * near * math.cos(path.tilt) - 0.002
    assert most > 0.5e-3
    assert refused(small, outline, probe=0.002, rod=0.99 * most) is True
    said = (Outcome.PROBE_CANNOT_REACH, "tip.base.fixing.rod")
    assert refused(small, outline, probe=0.002, rod=1.01 * most) == said
