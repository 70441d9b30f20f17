"""What of a study decides how its tip is put together."""

from pathlib import Path

import pytest

from optitip.errors import DesignFailure, Outcome
from optitip.evaluate.building import SWELLING, build_tip, fittings_of, growth_of
from optitip.geometry.assembly import Stuff
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.inputs.study import read_study
from optitip.inputs.tip_tables import BoringBar, Opens, Seat
from optitip.properties.materials import load_material

STUDIES = Path(__file__).parents[3] / "studies"
EGG = read_study(STUDIES / "coastal-egg")
COUPON = read_study(STUDIES / "polymer-coupon")
NAMES = ("coastal-egg", "polymer-coupon", "upland-potato", "heated-rig")
SOLID = {"tip.base.solid": True, "tip.base.bore": "14 mm"}


def built(study, design):
    given = study.with_design(design)
    return build_tip(given.tables, folder=given.folder, resolution=DEFAULT_RESOLUTION)


def test_each_key_reaches_the_geometry():
    keys = {
        "tip.opens": "none",
        "tip.boring": "carbide",
        "sample.seat": "flat",
        "sample.wires": "2 mm",
        "sample.probe": "1.5 mm",
    }
    pmma, ptfe = (load_material(name) for name in ("PMMA", "PTFE"))
    found = fittings_of(EGG.with_design(keys).tables, sample=pmma, backing=ptfe)
    assert (found.opens, found.boring, found.seat) == (Opens.NONE, BoringBar.CARBIDE, Seat.FLAT)
    assert (found.wires, found.probe) == pytest.approx((0.002, 0.0015))
    assert (found.slab_growth, found.backing_growth) == (growth_of(pmma), growth_of(ptfe))
    assert found.backing is Stuff.RIGID


@pytest.mark.parametrize(
    ("backing", "stuff"),
    [(None, Stuff.AIR), ("still-air", Stuff.AIR), ("potato", Stuff.SOFT), ("6061-T6", Stuff.RIGID)],
)
def test_a_backing_is_air_soft_or_rigid(backing, stuff):
    material = None if backing is None else load_material(backing)
    assert fittings_of(EGG.tables, sample=load_material("potato"), backing=material).backing is stuff


@pytest.mark.parametrize(
    ("name", "share"),
    [
        ("PMMA", 88.75e-6 * 75.0),  # to its limit of 95 degC, from memory as its file is
        ("PTFE", 130e-6 * 80.0),
        ("304", None),
        ("paraffin-wax", SWELLING),
        ("egg-white", 0.0),
        ("still-air", 0.0),
    ],
)
def test_a_thing_taken_out_hot_has_grown_by_its_expansion_to_100_degrees(name, share):
    found = growth_of(load_material(name))
    assert 1e-3 < found < 2e-3 if share is None else found == pytest.approx(share, rel=1e-6)


@pytest.mark.parametrize("name", NAMES)
def test_the_shipped_tips_go_together_with_room_and_a_heavy_metal_bar_bores_them(name):
    found = built(read_study(STUDIES / name), {"tip.boring": "heavy metal"}).assembly
    assert found.base_comes_off
    assert found.opening_room > 0.02
    assert found.bar_overhang < 4.5


def test_wires_and_a_probe_leave_the_shipped_tip_by_the_base_it_has():
    found = built(EGG, {"sample.wires": "3 mm", "sample.probe": "1.5 mm"}).assembly
    assert found.wires_hole > 0.01
    assert found.probe.length > 0.02


def test_the_seat_of_a_flat_coupon_is_told():
    found = built(COUPON, {"sample.seat": "flat", "sample.slab.share": 0.05}).assembly
    assert found.seat_depth + found.seat_wall == pytest.approx(1.5e-3, rel=1e-6)


def test_what_can_not_be_put_together_is_an_outcome_before_a_mesh_is_made():
    with pytest.raises(DesignFailure) as caught:
        built(EGG, {"sample.material": "PMMA"})  # a whole ring, behind a mouth narrower than its pocket
    assert caught.value.outcome is Outcome.SLAB_CANNOT_GO_IN


@pytest.mark.parametrize(
    ("fixing", "spigot", "rod"),
    [
        ({"thread": "M39x1.5", "engagement": "6 mm"}, 13.5e-3, None),
        ({"rod": "M5"}, 3e-3, 5e-3),
        ({"screw": "M3", "engagement": "5 mm"}, 10e-3, None),
    ],
)
def test_what_holds_the_base_gives_the_shell_its_spigot(fixing, spigot, rod):
    """A thread's own length and 2.5 pitches either end; both sides of screws; 3 mm under a rod's clamp."""
    tip = built(EGG, {"tip.base.fixing": fixing})
    assert tip.assembly.lap.length == pytest.approx(spigot)
    fittings = fittings_of(tip.tables, sample=load_material("potato"), backing=None)
    assert fittings.rod == (None if rod is None else pytest.approx(rod))


def test_a_threaded_base_leaves_the_sample_the_bore_of_the_shells_own_spigot():
    """The thread is outside on the shell: whatever its size, the sample passes what the joint leaves."""
    narrow, wide = (
        built(EGG, {"tip.base.fixing.thread": thread}).assembly for thread in ("M39x1.5", "M42x2")
    )
    assert narrow.opening == wide.opening
    assert narrow.opening_place == "tip.base.thickness"
