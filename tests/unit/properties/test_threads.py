import math

import pytest

from optitip.properties.threads import COARSE, UNC, UNF, Family, thread_of
from optitip.units import UnitError


@pytest.mark.parametrize(
    ("text", "major", "pitch"),
    [
        ("M6", 6.0, 1.0),
        ("m 6", 6.0, 1.0),
        ("M30x1.5", 30.0, 1.5),
        ("M30X1,5 - 6g", 30.0, 1.5),
        ("M 30 × 1.5-6H/6g", 30.0, 1.5),
        ("1/4-20 UNC", 6.35, 1.27),
        ('1/4"-20 UNC-2A', 6.35, 1.27),
        (".25-20unc", 6.35, 1.27),
        ("1/4 UNC", 6.35, 1.27),
        ("1/4-28 UNF", 6.35, 25.4 / 28),
        ("#10-32 UNF", 4.826, 25.4 / 32),
        ("10-32 UNF", 4.826, 25.4 / 32),
        ("No. 8-32 UNC", 4.1656, 25.4 / 32),
        ("1 1/8-12 UNF", 28.575, 25.4 / 12),
        ("1-1/8-12 UNF", 28.575, 25.4 / 12),
        ("1-8 UNC", 25.4, 25.4 / 8),
        ("2.5-16 UN", 63.5, 25.4 / 16),
        ("2-12 UN", 50.8, 25.4 / 12),
    ],
)
def test_a_designation_is_read(text, major, pitch):
    thread = thread_of(text)
    assert (thread.major * 1e3, thread.pitch * 1e3) == pytest.approx((major, pitch), rel=1e-9)
    assert thread.family is (Family.METRIC if text[0] in "Mm" else Family.UNIFIED)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "no thread"),
        ("6", "no thread"),
        ("M", "no thread"),
        ("1/4", "no thread"),
        ("30x1.5", "no thread"),
        ("M29", "'M29x1.5'"),
        ("M6x3", "too coarse"),
        ("M6x0", "no size"),
        ("M900x2", "no size"),
        ("1/4-24 UNC", "'1/4-20 UNC'"),
        ("2.5-16 UNC", "as UN"),
        ("3/16 UNF", "as UN"),
        ("2.5 UN", "no pitch"),
        ("1/0-20 UN", "no size"),
        ("1-0 UN", "no threads"),
    ],
)
def test_what_is_no_thread_is_told_with_a_remedy(text, says):
    with pytest.raises(UnitError) as told:
        thread_of(text)
    assert says in str(told.value)
    assert "like '" in told.value.remedy or "Write '" in told.value.remedy


def test_every_listed_thread_can_be_read_and_cut():
    written = [f"M{size:g}" for size in COARSE]
    written += [
        f"{size}-{count} {name}"
        for name, table in (("UNC", UNC), ("UNF", UNF))
        for size, count in table.items()
    ]
    for text in written:
        thread = thread_of(text)
        assert 0.7 < thread.root / thread.major < thread.minor / thread.major < 0.95


def test_a_fine_thread_is_finer_than_the_coarse_one_of_its_size():
    assert all(UNF[size] > UNC[size] for size in UNC)


def test_the_areas_that_strip_are_those_of_a_profile_of_sixty_degrees_less_tolerances():
    # basic sizes: at the bore the external thread is 3/4 P thick, at the crests the internal one 7/8 P
    for text, low, high in (("M3", 0.64, 0.7), ("M6", 0.73, 0.77), ("M30", 0.82, 0.86), ("M64", 0.85, 0.89)):
        thread = thread_of(text)
        external = thread.external_shear_area(0.01) / (0.75 * math.pi * thread.minor * 0.01)
        internal = thread.internal_shear_area(0.01) / (0.875 * math.pi * thread.major * 0.01)
        assert low < external < high
        assert low < internal < high


def test_the_areas_that_strip_grow_with_the_length():
    thread = thread_of("M6")
    assert thread.external_shear_area(0.012) == pytest.approx(2 * thread.external_shear_area(0.006))
    assert thread.internal_shear_area(0.012) == pytest.approx(2 * thread.internal_shear_area(0.006))


@pytest.mark.parametrize(
    ("text", "external", "internal"),
    [("M5", 35.366, 49.994), ("M6", 51.875, 73.145), ("M30", 1549.2, 2086.5)],
)
def test_the_areas_that_strip_are_the_published_ones(text, external, internal):
    # 6g in 6H, a diameter engaged; Bickford, Design and Behavior of Bolted Joints (quoted on the web)
    thread = thread_of(text)
    assert thread.external_shear_area(thread.major) * 1e6 == pytest.approx(external, rel=8e-3)
    assert thread.internal_shear_area(thread.major) * 1e6 == pytest.approx(internal, rel=8e-3)


@pytest.mark.parametrize(
    ("text", "area"), [("M6", 20.1), ("M8", 36.6), ("M30", 561.0), ("1/4-20 UNC", 0.0318 * 645.16)]
)
def test_the_area_that_tears_is_the_published_one(text, area):
    assert thread_of(text).tensile_area * 1e6 == pytest.approx(area, rel=3e-3)  # ISO 898-1; ASME B1.1
