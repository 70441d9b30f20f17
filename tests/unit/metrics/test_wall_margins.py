from dataclasses import replace

import numpy as np
import pytest

from optitip.metrics.instants import Instant
from optitip.metrics.margins import CAP
from optitip.metrics.wall_margins import (
    Judging,
    shakedown_margin,
    standing,
    strain_margin,
    stress_ranges,
    yield_margin,
)
from optitip.solvers.elastic_lines import WallStress, von_mises

PARTS = {0: "plug", 5: "band", 9: "base"}


def wall(primary, *, total=None, temperature=300.0, assembled=None):
    """Return three lines whose axial stress is given (n_i, 3, 2), one in each part."""
    primary = np.array(primary, dtype=float)
    tensors = []
    for axial in (primary, primary if total is None else np.array(total, dtype=float)):
        tensors.append(np.zeros((*primary.shape, 4)))
        tensors[-1][..., 1] = axial
    return WallStress(
        axial=np.array([0.01, 0.05, 0.09]),
        place=np.array([[[0.02, z], [0.019, z]] for z in (0.01, 0.05, 0.09)]),
        zone=np.array([0, 5, 9]),
        material=np.array([0, 0, 1]),
        thickness=np.full(3, 1e-3),
        start_temperature=np.full((3, 2), 300.0),
        temperature=np.broadcast_to(temperature, primary.shape).copy(),
        primary=tensors[0],
        total=tensors[1],
        assembled=np.zeros((3, 2, 4)) if assembled is None else assembled,
    )


@pytest.fixture
def metals(elastic):
    soft = elastic(yield_strength=np.array([240e6, 120e6]), temperature=(300.0, 500.0))
    return (soft, elastic(yield_strength=480e6))


def judged(margin, stress, metals, *, factor=1.5, instants=("burnout", "hottest metal")):
    stands = standing(stress, materials=metals)
    given = stands if margin is yield_margin else stress_ranges(stress, stands)
    return margin(stress, given, about=about(*instants, factor=factor))


def about(*instants, factor):
    return Judging(parts=PARTS, instants=named(*instants), factor=factor)


def named(*names):
    return tuple(Instant(time=float(number), names=(name,)) for number, name in enumerate(names, start=3))


def test_yield_is_nearest_where_stress_over_strength_is_largest(metals):
    stress = wall([[[10e6, 10e6], [80e6, 20e6], [90e6, 90e6]], [[1e6] * 2] * 3])
    margin = judged(yield_margin, stress, metals)
    assert margin.value == pytest.approx(240 / (1.5 * 80) - 1)
    assert (margin.part, margin.axial, margin.time, margin.seconds) == ("band", 0.05, "burnout", 3.0)
    assert "outline face: 80 MPa" in margin.said()


def test_yield_is_taken_at_the_temperature_of_the_place(metals):
    heat = np.full((2, 3, 2), 300.0)
    heat[1, 0, 1] = 400.0
    stress = wall([[[60e6] * 2] * 3] * 2, temperature=heat)
    margin = judged(yield_margin, stress, metals)
    assert margin.value == pytest.approx(180 / 90 - 1)
    assert (margin.part, margin.time) == ("plug", "hottest metal")
    assert "inner face" in margin.detail


def test_stress_of_temperature_alone_leaves_the_yield_margin_and_sets_the_shakedown_margin(metals):
    stress = wall(np.zeros((1, 3, 2)), total=[[[0.0, 0.0], [0.0, -400e6], [0.0, 0.0]]])
    assert judged(yield_margin, stress, metals, instants=("burnout",)).value == CAP
    margin = judged(shakedown_margin, stress, metals, instants=("burnout",))
    assert margin.value == pytest.approx(480 / 600 - 1)
    assert (margin.part, margin.time) == ("band", "start to burnout")


def test_the_range_spans_two_instants_of_opposite_stress(metals):
    total = np.zeros((2, 3, 2))
    total[:, 1, 0] = (100e6, -140e6)
    margin = judged(shakedown_margin, wall(np.zeros((2, 3, 2)), total=total), metals, factor=1.0)
    assert margin.value == pytest.approx(480 / 240 - 1)
    assert (margin.time, margin.seconds) == ("burnout to hottest metal", 4.0)


def test_the_range_is_judged_by_the_mean_yield_of_its_two_ends(metals):
    total = np.zeros((1, 3, 2))
    total[0, 1, 0] = 300e6
    stress = wall(np.zeros((1, 3, 2)), total=total, temperature=500.0)
    margin = judged(shakedown_margin, stress, metals, factor=1.0, instants=("burnout",))
    assert margin.value == pytest.approx((240 + 120) / 300 - 1)


def test_no_stress_gives_the_cap_and_no_strength_minus_one(metals, elastic):
    still = wall(np.zeros((1, 3, 2)))
    assert judged(yield_margin, still, metals, instants=("burnout",)).value == CAP
    gone = (elastic(yield_strength=0.0),) * 2
    assert judged(yield_margin, still, gone, instants=("burnout",)).value == -1.0


def test_a_margin_at_the_cap_still_names_the_place_of_most_stress(metals):
    margin = judged(yield_margin, wall([[[1e6, 1e6], [1e6, 3e6], [1e6, 1e6]]]), metals, instants=("burnout",))
    assert (margin.value, margin.part) == (CAP, "band")


def test_a_safety_factor_divides_the_strength(metals):
    stress = wall([[[80e6] * 2] * 3])
    values = [judged(yield_margin, stress, metals, factor=f, instants=("a",)).value + 1 for f in (1.0, 2.0)]
    assert values[0] == pytest.approx(2 * values[1])


def test_bending_adds_to_the_stress_along_the_axis_on_its_worse_side(metals):
    stress = wall([[[80e6, 80e6], [10e6, 10e6], [0.0, 0.0]], [[-80e6, 0.0], [10e6, 10e6], [0.0, 0.0]]])
    bending = np.zeros((2, 3, 2))
    bending[1, 0, 0] = 30e6
    stands = standing(stress, materials=metals)
    margin = yield_margin(stress, stands, about=about("pull", "press", factor=1.0), bending=bending)
    assert margin.value == pytest.approx(240 / 110 - 1)  # 80 pressing and 30 more where bending presses
    assert (margin.part, margin.time) == ("plug", "press")


def test_strain_is_the_whole_range_over_the_mean_modulus(elastic):
    soft = elastic(modulus=np.array([70e9, 50e9]), temperature=(300.0, 500.0))
    total = np.zeros((2, 3, 2))
    total[:, 1, 0] = (300e6, -240e6)
    heat = np.full((2, 3, 2), 300.0)
    heat[0, 1] = 500.0
    stress = wall(np.zeros((2, 3, 2)), total=total, temperature=heat)
    ranges = stress_ranges(stress, standing(stress, materials=(soft, soft)))
    margin = strain_margin(stress, ranges, about=about("a", "b", factor=1.5), allowed=0.02)
    assert margin.value == pytest.approx(0.02 / (1.5 * 540e6 / 60e9) - 1)
    assert (margin.part, margin.time) == ("band", "a to b")
    assert "0.9 % to and fro" in margin.detail


def test_stress_of_temperature_far_beyond_yield_is_no_matter_of_strain_for_one_flight(metals):
    stress = wall(np.zeros((1, 3, 2)), total=[[[0.0, 0.0], [600e6, 0.0], [0.0, 0.0]]])
    given = about("burnout", factor=1.5)
    ranges = stress_ranges(stress, standing(stress, materials=metals))
    assert shakedown_margin(stress, ranges, about=given).value < 0.0
    assert strain_margin(stress, ranges, about=given, allowed=0.02).value > 0.0


@pytest.mark.parametrize("seed", range(20))
def test_no_range_that_is_left_out_is_the_largest(metals, seed):
    """Every pair at every place, one by one, against the few that are kept."""
    random, shape = np.random.default_rng(seed), (5, 3, 2)
    total = random.normal(size=(*shape, 4)) * random.uniform(0.0, 200e6, size=(3, 2, 1))
    stress = replace(
        wall(np.zeros(shape), temperature=random.uniform(300.0, 500.0, size=shape)),
        total=total,
        assembled=random.normal(size=(3, 2, 4)) * random.choice([0.0, 50e6]),
    )
    states = np.concatenate((0.0 * stress.assembled[None], stress.assembled[None], total))
    cold = stress.start_temperature[None]
    temperature = np.concatenate((cold, cold, stress.temperature))
    stands = [[metals[m].yield_at(T[i]) for i, m in enumerate(stress.material)] for T in temperature]
    stiff = [[metals[m].modulus_at(T[i]) for i, m in enumerate(stress.material)] for T in temperature]
    pairs = [(a, b) for a in range(7) for b in range(a)]
    size = [von_mises(states[a] - states[b]) for a, b in pairs]
    used, strain = (
        max((s / (np.array(of[a]) + of[b])).max() for s, (a, b) in zip(size, pairs, strict=True))
        for of in (stands, stiff)
    )
    ranges = stress_ranges(stress, standing(stress, materials=metals))
    assert (ranges.load / ranges.twice_yield).max() == pytest.approx(used, rel=1e-12)
    assert (ranges.load / ranges.modulus).max() == pytest.approx(2.0 * strain, rel=1e-12)


def test_a_range_starts_from_what_pressing_parts_together_has_left(metals):
    pressed = np.zeros((3, 2, 4))
    pressed[1, 0, 1] = -100e6
    stress = wall(np.zeros((1, 3, 2)), total=[[[0.0, 0.0], [140e6, 0.0], [0.0, 0.0]]], assembled=pressed)
    margin = judged(shakedown_margin, stress, metals, factor=1.0, instants=("burnout",))
    assert margin.value == pytest.approx(480 / 240 - 1)
    assert margin.time == "start to burnout"


def test_parts_that_press_on_each_other_were_apart_before(metals):
    """300 MPa of an interference are a range of their own, though nothing changes after; E is 70 GPa."""
    pressed = np.zeros((3, 2, 4))
    pressed[1, 0, 1] = -300e6
    stress = wall(np.zeros((1, 3, 2)), total=[[[0.0, 0.0], [-300e6, 0.0], [0.0, 0.0]]], assembled=pressed)
    margin = judged(shakedown_margin, stress, metals, factor=1.0, instants=("burnout",))
    assert margin.value == pytest.approx(480 / 300 - 1)
    assert margin.time in {"parts apart to start", "parts apart to burnout"}
    eased = wall(np.zeros((1, 3, 2)), total=[[[0.0, 0.0], [-100e6, 0.0], [0.0, 0.0]]], assembled=pressed)
    margin = judged(shakedown_margin, eased, metals, factor=1.0, instants=("burnout",))
    assert (margin.value, margin.time) == (pytest.approx(480 / 300 - 1), "parts apart to start")
    assert margin.seconds == 3.0
