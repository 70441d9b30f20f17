import numpy as np
import pytest

from optitip.metrics.exposure import coupler_margin, exposure_margin, life_share, radial_growth
from optitip.metrics.margins import CAP
from optitip.properties.endurance import Exposure

RULE = Exposure(temperature=473.15, time=7200.0, constant=20.0)


def test_a_constant_temperature_uses_its_time_over_the_time_allowed():
    time = np.linspace(0.0, 720.0, 7)
    for T in (450.0, 473.15, 500.0):
        share = life_share(time, allowed=RULE.time_at(np.full(7, T)))
        assert float(share) == pytest.approx(720.0 / float(RULE.time_at(T)), rel=1e-12)


def test_a_steep_rise_is_integrated_between_few_times():
    fine = np.linspace(0.0, 60.0, 6001)
    T = 300.0 + 4.0 * fine
    exact = life_share(fine, allowed=RULE.time_at(T))
    coarse = life_share(fine[::600], allowed=RULE.time_at(T[::600]))
    assert float(coarse) == pytest.approx(float(exact), rel=0.02)
    plain = np.trapezoid(1.0 / RULE.time_at(T[::600]), fine[::600])
    assert abs(plain / float(exact) - 1.0) > 0.04  # what straight lines would give


def test_every_place_has_its_own_share_and_cold_takes_none():
    time = np.array([0.0, 3600.0])
    share = life_share(time, allowed=RULE.time_at(np.array([[473.15, 100.0], [473.15, 100.0]])))
    assert share.tolist() == pytest.approx([0.5, 0.0], abs=1e-12)


def test_shares_do_not_depend_on_the_order_of_heats():
    T = np.array([400.0, 480.0, 300.0, 500.0, 350.0])
    time = np.arange(5.0) * 60.0
    there, back = (life_share(time, allowed=RULE.time_at(one)) for one in (T, T[::-1]))
    assert float(there) == pytest.approx(float(back), rel=1e-12)


def exposed(share, flights, *, factor=1.0):
    return exposure_margin(
        share, flights=flights, allowed=(7200.0, 473.15), part="plug", axial=0.01, factor=factor
    )


def test_every_flight_takes_its_share():
    assert exposed(0.05, 10).value == pytest.approx(1.0)
    assert exposed(0.05, 40).value == pytest.approx(-0.5)
    assert exposed(0.05, 10, factor=2.0).value == pytest.approx(0.0)
    assert exposed(0.0, 10).value == CAP
    assert exposed(0.5, 1).said() == "one flight is as 3600 s at 200 degC, where 7200 s take its temper"


def test_growth_is_free_expansion_from_the_temperature_it_was_measured_at(elastic):
    metal = elastic()
    alpha = float(metal.expansion_at(400.0))
    grown = radial_growth(metal, radius=0.025, temperature=np.array([300.0, 400.0, 250.0]), start=300.0)
    assert grown[0] == 0.0
    assert grown[1] == pytest.approx(0.025 * alpha * 100.0)
    assert grown[2] < 0.0


def coupled(growth, *, clearance=0.1e-3, factor=1.0):
    return coupler_margin(
        np.array(growth), time=np.array([0.0, 60.0, 90.0]), clearance=clearance, axial=0.2, factor=factor
    )


def test_a_base_that_outgrows_its_clearance_jams():
    one = coupled([0.0, 50e-6, 40e-6])
    assert (one.value, one.part, one.time, one.seconds) == (pytest.approx(1.0), "base", "60.0 s", 60.0)
    assert coupled([0.0, 50e-6, 200e-6]).value == pytest.approx(-0.5)
    assert coupled([0.0, 50e-6, 0.0], factor=2.0).value == pytest.approx(0.0)
    assert coupled([0.0, -50e-6, -1e-6]).value == CAP
    assert coupled([0.0, -50e-6, -1e-6], clearance=0.0).value == CAP
    assert coupled([0.0, 50e-6, 0.0], clearance=0.0).value == -1.0
