import numpy as np
import pytest

from optitip.metrics.sample import (
    LETHALITY_REFERENCE,
    MOST_REDUCTION,
    SETTING_TEMPERATURE,
    log_reduction,
    sample_metrics,
    set_fraction,
    time_above,
    trace_sample,
)
from optitip.properties.materials import load_material

EGG = load_material("egg white")
TIME = np.array([0.0, 10.0, 20.0, 40.0])


def trace(temperature, evaporated=0.0, lift_off=0.0, slope=None):
    temperature = np.asarray(temperature, dtype=float)
    return trace_sample(
        TIME,
        temperature,
        slope=np.gradient(temperature, TIME, axis=0) if slope is None else np.asarray(slope, dtype=float),
        volume=np.array([1e-6, 3e-6]),
        material=EGG,
        evaporated=np.full_like(temperature, evaporated) * (TIME[:, None] > lift_off),
        lift_off=lift_off,
    )


def test_energy_counts_from_the_start_and_is_positive_when_warmer():
    one = trace([[300, 300], [310, 300], [310, 310], [295, 295]])
    expected = 10.0 * float(EGG.heat_capacity_at(305.0)) * 4e-6
    assert one.energy[0] == 0.0
    assert one.energy[2] == pytest.approx(expected, rel=1e-3)
    assert one.energy[3] < 0.0


def test_heat_taken_up_on_the_pad_is_none_of_the_flights_own():
    one = trace([[280, 280], [300, 300], [310, 310], [295, 295]], evaporated=1e8, lift_off=10.0)
    assert one.energy[0] < one.energy[3] < one.energy[1] == 0.0 < one.energy[2]
    assert one.latent.tolist() == [0.0, 0.0, 400.0, 400.0]
    given = {"landing": 40.0, "contact_area": 0.01, "mass": 0.01, "warm_above": 295.0, "setting": 0.0}
    metrics = sample_metrics(one, material=EGG, **given)
    assert metrics["sample.temperature_mean_lift_off"] == pytest.approx(300.0)
    assert metrics["sample.energy_peak"] == pytest.approx(one.energy[2], rel=0.2)
    assert metrics["sample.time_above"] > 30.0


def test_a_sample_that_cools_on_the_pad_holds_no_more_than_at_lift_off():
    one = trace([[320, 320], [300, 300], [299, 299], [298, 298]], lift_off=10.0)
    given = {"landing": 40.0, "contact_area": 0.01, "mass": 0.01, "warm_above": 295.0, "setting": 0.0}
    metrics = sample_metrics(one, material=EGG, **given)
    assert metrics["sample.energy_peak"] == 0.0
    assert metrics["sample.temperature_mean_peak"] == pytest.approx(320.0)


def test_latent_heat_stands_apart_from_sensible_heat():
    dry, wet = trace([[300, 300]] * 4), trace([[300, 300]] * 4, evaporated=1e8)
    assert np.array_equal(dry.energy, wet.energy)
    assert wet.latent[-1] == pytest.approx(1e8 * 4e-6)


def test_the_mean_is_weighted_by_volume():
    assert trace([[300, 340]] * 4).mean[0] == pytest.approx(330.0)


def figures(one, **changed):
    given = {"landing": 40.0, "contact_area": 0.01, "mass": 0.01, "warm_above": 305.0, "setting": 0.0}
    return sample_metrics(one, material=EGG, **given | changed)


def test_peaks_between_the_times_are_those_of_the_cubic_through_values_and_slopes():
    """The most of 300 + 8 t (40 - t)/400 is 308 K, at 20 s: no time but a step's middle."""
    middle = [[300.0 + 8.0 * t * (40.0 - t) / 400.0] * 2 for t in (0.0, 10.0, 30.0, 40.0)]
    slope = [[8.0 * (40.0 - 2.0 * t) / 400.0] * 2 for t in (0.0, 10.0, 30.0, 40.0)]
    one = trace_sample(
        np.array([0.0, 10.0, 30.0, 40.0]),
        np.array(middle),
        slope=np.array(slope),
        volume=np.array([1e-6, 3e-6]),
        material=EGG,
        evaporated=np.zeros((4, 2)),
        lift_off=0.0,
    )
    found = figures(one)
    for name in ("coldest", "mean", "hottest"):
        assert found[f"sample.temperature_{name}_peak"] == pytest.approx(308.0, abs=1e-9), name
    held = float(EGG.enthalpy_at(308.0) - EGG.enthalpy_at(300.0)) * 4e-6
    assert found["sample.energy_peak"] == pytest.approx(held, rel=1e-4)
    # over 305 K from 20 - 20 sqrt(3/8) to 20 + 20 sqrt(3/8)
    assert found["sample.time_above"] == pytest.approx(40.0 * np.sqrt(3.0 / 8.0), rel=5e-3)


def test_a_peak_before_one_long_step_is_not_made_up_beyond_it():
    """A parabola through three points 0.2 and 3,600 s apart would have made 35 of 21."""
    time = np.array([0.0, 400.0, 400.2, 4000.0])
    temperature = np.array([300.0, 305.0, 305.001, 302.0])
    one = trace_sample(
        time,
        np.stack([temperature, temperature], axis=1),
        slope=np.array([[0.02, 0.02], [0.005, 0.005], [1e-4, 1e-4], [-1e-4, -1e-4]]),
        volume=np.array([1e-6, 3e-6]),
        material=EGG,
        evaporated=np.zeros((4, 2)),
        lift_off=0.0,
    )
    assert figures(one)["sample.temperature_mean_peak"] == pytest.approx(305.0, abs=0.1)


def test_a_slope_leads_the_energy_as_it_leads_the_temperature():
    """Between equal values whose slopes point up and down the cubic rises by a quarter of slope by time."""
    one = trace([[300, 300], [300, 300], [300, 300], [300, 300]], slope=[[0, 0], [1, 1], [-1, -1], [0, 0]])
    assert figures(one)["sample.temperature_mean_peak"] == pytest.approx(302.5)
    c = float(EGG.heat_capacity_at(300.0))
    assert figures(one)["sample.energy_peak"] == pytest.approx(2.5 * c * 4e-6)


@pytest.mark.parametrize("values", [[303, 302, 301, 301], [301, 302, 303, 304], [301, 301, 301, 301]])
def test_a_peak_at_an_end_is_that_end(values):
    found = figures(trace([[value, value] for value in values]))
    assert found["sample.temperature_mean_peak"] == pytest.approx(max(values), abs=1e-9)


def test_time_above_starts_and_ends_where_the_line_crosses():
    assert time_above(TIME, np.array([0.0, 0.0, 10.0, 10.0]), 5.0) == pytest.approx(25.0)
    assert time_above(TIME, np.array([0.0, 1.0, 2.0, 1.0]), 5.0) == 0.0
    assert time_above(TIME, np.array([9.0, 9.0, 9.0, 9.0]), 5.0) == pytest.approx(40.0)


@pytest.mark.parametrize(
    ("celsius", "seconds"), [(57.2, 36 * 60), (60.0, 12 * 60), (62.2, 5 * 60), (65.0, 85), (67.2, 34)]
)
def test_holding_times_of_the_table_give_about_six_and_a_half_logs(celsius, seconds):
    """USDA FSIS Appendix A (1999), 6.5-log; the fit behind the function is within 20 % of the table."""
    held = log_reduction(np.array([0.0, seconds]), np.full(2, celsius + 273.15))
    assert held == pytest.approx(6.5, rel=0.2)


def test_a_ramp_is_integrated_exactly():
    fine = np.linspace(0.0, 60.0, 20001)
    ramp = LETHALITY_REFERENCE - 5.0 + fine / 10.0
    assert log_reduction(fine[[0, -1]], ramp[[0, -1]]) == pytest.approx(log_reduction(fine, ramp), rel=1e-6)


def test_no_reduction_is_given_beyond_the_cap():
    assert log_reduction(np.array([0.0, 1e5]), np.full(2, 373.15)) == MOST_REDUCTION


def test_the_set_share_counts_volume_that_has_been_hot_enough():
    hot, cold = SETTING_TEMPERATURE + 1.0, SETTING_TEMPERATURE - 1.0
    history = np.array([[300.0, 300.0], [hot, cold], [300.0, 300.0]])
    assert set_fraction(history, np.array([1.0, 3.0])) == 0.25


def test_metrics_of_food_are_left_out_for_a_coupon():
    given = {"landing": 20.0, "contact_area": 0.01, "mass": 0.01, "warm_above": 320.0, "setting": 0.5}
    one = trace([[300, 300], [310, 300], [310, 310], [295, 295]])
    food = sample_metrics(one, material=EGG, **given)
    coupon = sample_metrics(one, material=load_material("PMMA"), **given)
    assert set(food) - set(coupon) == {"sample.set_fraction", "sample.log_reduction"}
    assert food["sample.energy_landing"] == pytest.approx(one.energy[2])
    assert food["sample.energy_peak_per_area"] == pytest.approx(food["sample.energy_peak"] / 0.01)
