"""How parts overlap at their joints, by hand on a cylinder and at the edges of what there is."""

from dataclasses import replace

import numpy as np
import pytest

from optitip.geometry.chain import build_cavity
from optitip.geometry.lap import REGISTER, LapKind, base_lap, insert_lap
from optitip.geometry.measured import smooth_profile
from optitip.geometry.outline import smoothed_outline
from optitip.properties.threads import thread_of

THREAD = thread_of("M48x1.5")  # root 48 - 1.226869 x 1.5 = 46.1597 mm (ISO 68-1, as the thread has it)


@pytest.fixture(scope="module")
def tube():
    """Return a cylinder of some 27 mm in radius behind half a sphere."""
    z = np.linspace(0.0, 0.46, 1200)
    r = np.where(z < 0.027, np.sqrt(np.maximum(0.027**2 - (0.027 - z) ** 2, 0.0)), 0.027)
    return smoothed_outline(smooth_profile(z, r), turned_length=0.2)


@pytest.fixture
def parts(design):
    return replace(
        design,
        plug_length=0.06,
        thickness_fore=0.002,
        thickness_aft=0.002,
        base_thickness=0.006,
        base_separate=True,
    )


def lap(design, outline, *, kind=LapKind.THREAD, thread=THREAD, engagement=0.006):
    cavity = build_cavity(design, outline=outline)
    return base_lap(cavity, kind=kind, thread=thread, engagement=engagement), cavity


def test_a_thread_on_a_cylinder_leaves_what_its_diameters_leave(parts, tube):
    """Outside R, bore R - 6: the root at 23.080 keeps what is between, the crests at 24 leave R - 24."""
    one, cavity = lap(parts, tube)
    outside = float(tube.radius[-1])
    assert one.inner == pytest.approx(outside - 0.006, abs=1e-6)
    assert one.spigot_wall == pytest.approx(0.5 * 46.1597e-3 - (outside - 0.006), abs=1e-6)
    assert one.skirt_wall == pytest.approx(outside - 0.024, abs=1e-6)
    assert one.start == pytest.approx(float(cavity.base_corner[1]), abs=1e-6)
    # 6 mm of thread, a groove of 2.5 pitches behind it and as much of plain end ahead
    assert one.length == pytest.approx(0.006 + 2.0 * 2.5 * 1.5e-3)
    assert one.room == pytest.approx(0.2 - one.end)


@pytest.mark.parametrize(
    ("kind", "engagement", "length"),
    [(LapKind.SCREWS, 0.005, 0.010), (LapKind.PLAIN, 0.005, REGISTER)],
)
def test_a_plain_spigot_takes_half_the_wall(parts, tube, kind, engagement, length):
    one, _ = lap(parts, tube, kind=kind, thread=None, engagement=engagement)
    assert one.spigot_wall == pytest.approx(0.003, abs=2e-5)
    assert one.skirt_wall == pytest.approx(0.003, abs=2e-5)
    assert one.length == pytest.approx(length)


def test_in_a_solid_base_the_spigot_has_the_cavitys_radius_and_half_the_bands_wall(parts, tube):
    solid = replace(parts, base_thickness=None, slab_thickness=None)
    one, cavity = lap(solid, tube, kind=LapKind.SCREWS, thread=None)
    assert one.inner == pytest.approx(float(cavity.base_corner[0]))
    assert one.spigot_wall == pytest.approx(0.001, abs=1e-4)
    assert one.skirt_wall == pytest.approx(0.001, abs=1e-4)


def test_where_the_bore_opens_aft_the_spigot_is_thinnest_at_its_end(design, outline):
    separate = replace(design, base_separate=True)
    one, cavity = lap(separate, outline, thread=None, kind=LapKind.SCREWS, engagement=0.004)
    at_joint = one.radius - float(cavity.base_corner[0])
    assert one.spigot_wall < at_joint
    longer, _ = lap(separate, outline, thread=None, kind=LapKind.SCREWS, engagement=0.006)
    assert longer.spigot_wall < one.spigot_wall
    assert longer.skirt_wall == pytest.approx(one.skirt_wall, rel=1e-6)  # at the joint, where it is narrowest


def test_an_inserts_stud_reaches_into_the_plug(parts, tube):
    given = replace(parts, plug_insert=0.035)
    stud = insert_lap(build_cavity(given, outline=tube), thread=thread_of("M8"), engagement=0.010)
    assert stud.inner is None
    assert stud.spigot_wall == pytest.approx(0.5 * (8.0 - 1.226869 * 1.25) * 1e-3)
    assert stud.skirt_wall == pytest.approx(float(tube.radius[-1]) - 0.004, abs=1e-6)
    assert stud.room == pytest.approx(0.060 - (0.035 + 0.010 + 2.0 * 2.5 * 1.25e-3))


def test_what_is_no_part_of_its_own_has_no_lap(parts, tube):
    whole = build_cavity(replace(parts, base_separate=False), outline=tube)
    with pytest.raises(ValueError, match="one with the shell"):
        base_lap(whole, kind=LapKind.PLAIN, thread=None, engagement=0.006)
    with pytest.raises(ValueError, match="without an insert"):
        insert_lap(whole, thread=THREAD, engagement=0.006)
