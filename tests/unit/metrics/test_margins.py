import dataclasses

import numpy as np
import pytest

from optitip.metrics.buckling import BandShape
from optitip.metrics.margins import (
    CAP,
    ServicePeak,
    buckling_margin,
    service_margin,
    shakedown_margin,
    smallest_margin,
    yield_margin,
)
from optitip.solvers.elastic_lines import WallStress

PARTS = {0: "plug", 5: "band", 9: "base"}


def wall(primary, *, total=None, temperature=300.0):
    """Return three lines whose axial stress is given (n_i, 3, 2), one in each part."""
    primary = np.array(primary, dtype=float)
    tensors = []
    for axial in (primary, primary if total is None else np.array(total, dtype=float)):
        tensors.append(np.zeros((*primary.shape, 4)))
        tensors[-1][..., 1] = axial
    return WallStress(
        axial=np.array([0.01, 0.05, 0.09]),
        zone=np.array([0, 5, 9]),
        material=np.array([0, 0, 1]),
        thickness=np.full(3, 1e-3),
        start_temperature=np.full((3, 2), 300.0),
        temperature=np.broadcast_to(temperature, primary.shape).copy(),
        primary=tensors[0],
        total=tensors[1],
    )


@pytest.fixture
def metals(elastic):
    soft = elastic(yield_strength=np.array([240e6, 120e6]), temperature=(300.0, 500.0))
    return (soft, elastic(yield_strength=480e6))


def judged(margin, stress, metals, *, factor=1.5, instants=("burnout", "hottest metal")):
    return margin(stress, materials=metals, parts=PARTS, instants=instants, factor=factor)


def test_yield_is_nearest_where_stress_over_strength_is_largest(metals):
    stress = wall([[[10e6, 10e6], [80e6, 20e6], [90e6, 90e6]], [[1e6] * 2] * 3])
    margin = judged(yield_margin, stress, metals)
    assert margin.value == pytest.approx(240 / (1.5 * 80) - 1)
    assert (margin.part, margin.axial, margin.time) == ("band", 0.05, "burnout")
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
    assert margin.time == "burnout to hottest metal"


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


def service(part, *, limit=350.0, start=300.0, peak=340.0):
    return ServicePeak(part=part, limit=limit, start=start, peak=peak, axial=0.1, time="landing")


def test_the_part_nearest_to_its_limit_sets_the_temperature_margin():
    peaks = [service("plug", peak=320.0), service("base", peak=355.0), service("band", peak=345.0)]
    margin = service_margin("margin.temperature", peaks=peaks)
    assert (margin.name, margin.part) == ("margin.temperature", "base")
    assert margin.value == pytest.approx(-0.1)


def test_a_part_that_never_warms_has_a_margin_of_one():
    assert service_margin("margin.joint", peaks=[service("sample", peak=300.0)]).value == 1.0


@pytest.mark.parametrize(("start", "peak"), [(350.0, 350.0), (360.0, 365.0)])
def test_a_start_at_or_above_the_limit_is_no_room_and_no_crash(start, peak):
    margin = service_margin("margin.joint", peaks=[service("sample", start=start, peak=peak)])
    assert margin.value == pytest.approx(350.0 - peak)


def test_without_a_limit_the_margin_is_the_cap():
    margin = service_margin("margin.temperature", peaks=[])
    assert (margin.value, margin.axial, margin.part) == (CAP, None, "")


def test_the_smallest_margin_tells_which_it_is():
    peaks = [service("base")]
    one = service_margin("margin.joint", peaks=peaks)
    two = dataclasses.replace(service_margin("margin.temperature", peaks=peaks), value=-0.3)
    smallest = smallest_margin([one, two])
    assert (smallest.name, smallest.value) == ("margin.smallest", -0.3)
    assert smallest.detail.startswith("margin.temperature: ")


def test_the_bands_margin_against_collapse_names_the_worst_instant(elastic):
    band = BandShape(fore_radius=0.027, aft_radius=0.027, axial_length=0.06, thickness=1e-3, axial=0.12)
    margin = buckling_margin(
        band,
        material=elastic(),
        temperature=np.array([300.0, 300.0]),
        pressure=np.array([0.0, -1e5]),
        axial_force=np.array([2e3, 4e3]),
        instants=("burnout", "apogee"),
        factor=1.5,
    )
    # yield, 240 MPa over 2 pi r t, is far below the 1189 MPa of elastic buckling
    assert margin.value == pytest.approx(240e6 * 2 * np.pi * 0.027 * 1e-3 / (1.5 * 4e3) - 1)
    assert (margin.part, margin.axial, margin.time) == ("band", 0.12, "apogee")
