import numpy as np
import pytest

from optitip.metrics.instants import Instant
from optitip.metrics.margins import CAP
from optitip.metrics.slab import (
    bond_shear,
    contact_margin,
    lift_off_pressure,
    pressing_margin,
    shoulder_stress,
    shrink_gap,
    slab_margin,
    spin_pressure,
)

WHEN = (Instant(time=2.0, names=("burnout",)), Instant(time=20.0, names=("snatch",)))


def test_a_column_of_water_stands_on_its_end_with_its_head():
    # 10 m of water at 1 g: 98.07 kPa, by hand
    assert float(shoulder_stress(1000.0, acceleration=9.80665, length=10.0)) == pytest.approx(98066.5)


def test_the_weight_of_a_slab_is_the_same_pushed_and_braked():
    both = shoulder_stress(1030.0, acceleration=np.array([400.0, -400.0]), length=0.04)
    assert both[0] == both[1] == pytest.approx(1030.0 * 400.0 * 0.04)
    shear = bond_shear(1030.0, acceleration=np.array([400.0, -400.0]), thickness=0.005)
    assert shear[0] == shear[1] == pytest.approx(1030.0 * 400.0 * 0.005)


def test_a_bonded_slab_hangs_on_the_face_with_all_its_weight():
    # volume times density over the face: a ring of r 25 mm, 5 mm thick, is thin enough within 10 %
    radius, thickness, length = 0.025, 0.005, 0.04
    weight = 1030.0 * np.pi * (radius**2 - (radius - thickness) ** 2) * length * 400.0
    shear = float(bond_shear(1030.0, acceleration=400.0, thickness=thickness))
    assert weight / (2 * np.pi * radius * length) == pytest.approx(0.9 * shear)


def test_spin_lays_a_ring_on_the_wall_a_little_softer_than_said():
    radius, thickness, spin = 0.025, 0.005, 62.832
    exact = 1030.0 * spin**2 * (radius**3 - (radius - thickness) ** 3) / (3.0 * radius)
    said = float(spin_pressure(1030.0, spin=spin, radius=radius, thickness=thickness))
    assert 0.8 * said < exact < said
    thin = 1e-6
    exact = 1030.0 * spin**2 * (radius**3 - (radius - thin) ** 3) / (3.0 * radius)
    assert float(spin_pressure(1030.0, spin=spin, radius=radius, thickness=thin)) == pytest.approx(
        exact, rel=1e-4
    )


def slab(**stresses):
    rows = {name: np.array(values) for name, values in stresses.items()}
    return slab_margin(rows, low=18e3, expected=30e3, axial=0.1, instants=WHEN, factor=1.5)


def test_the_worst_way_at_the_worst_instant_sets_the_slabs_margin():
    one = slab(weight=[4e3, 6e3], spin=[9e3, 1e3])
    assert one.value == pytest.approx(18 / (1.5 * 9) - 1)
    assert (one.name, one.part, one.axial, one.time, one.seconds) == (
        "margin.shoulder",
        "slab",
        0.1,
        "burnout",
        2.0,
    )
    assert one.said() == "spin: 9 kPa, factor 1.5, strength 18 kPa (low) to 30 kPa (expected)"


def test_a_slab_that_bears_nothing_has_the_cap():
    assert slab(weight=[0.0, 0.0]).value == CAP


def pressed(needed, *, force=6.0, factor=1.5):
    return pressing_margin(
        force, area=0.006, needed=np.array(needed), axial=0.1, instants=WHEN, factor=factor
    )


def test_a_slab_is_held_as_long_as_its_pressing_beats_its_inertia():
    needed = lift_off_pressure(1030.0, acceleration=np.array([50.0, -400.0]), thickness=0.005)
    one = pressed(needed, force=15.0)
    assert one.value == pytest.approx(2500.0 / (1.5 * 2060.0) - 1)
    assert (one.time, one.seconds) == ("snatch", 20.0)


def test_no_force_holds_nothing_against_a_push():
    assert pressed([100.0, 0.0], force=0.0).value == -1.0
    assert pressed([0.0, 0.0]).value == CAP


def contact(gap, *, travel=3e-3):
    return contact_margin(
        np.array(gap), time=np.array([0.0, 15.0, 30.0]), travel=travel, axial=0.1, factor=1.5
    )


def test_a_slab_that_shrinks_further_than_its_pressing_follows_lets_go():
    assert contact([0.0, 1e-3, 0.5e-3]).value == pytest.approx(3 / 1.5 - 1)
    assert contact([0.0, 1e-3, 0.5e-3]).seconds == 15.0
    assert contact([0.0, 1e-3, 4e-3]).value < 0.0
    assert contact([0.0, 1e-3, 4e-3], travel=0.0).value == -1.0


def test_a_slab_that_swells_or_keeps_its_size_stays_on_the_wall():
    assert contact([0.0, -1e-3, 0.0], travel=0.0).value == CAP


def test_a_ring_that_shortens_draws_itself_in():
    # its inner length 2 pi r falls by a fifth, and so does r
    assert float(shrink_gap(0.2, size=0.025)) == pytest.approx(0.025 - 0.8 * 2 * np.pi * 0.025 / (2 * np.pi))
