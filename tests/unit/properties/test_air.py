"""Air: the tables agree with each other, and nothing leaves them quietly."""

import time

import numpy as np
import pytest

from optitip.errors import OutOfRange
from optitip.properties.air import AIR, CALORIC_AIR

GASES = pytest.mark.parametrize("gas", [AIR, CALORIC_AIR], ids=lambda gas: gas.name)
WIDE = np.linspace(1.0, 3999.0, 7001)


@GASES
def test_enthalpy_and_temperature_undo_each_other(gas):
    assert gas.temperature(gas.enthalpy(WIDE)) == pytest.approx(WIDE, abs=1e-3)


@GASES
def test_enthalpy_is_the_integral_of_the_specific_heat_from_absolute_zero(gas):
    T = np.linspace(0.0, 2000.0, 200_001)
    h = np.trapezoid(gas.specific_heat(T), T)
    assert float(gas.enthalpy(0.0)) == 0.0
    assert float(gas.enthalpy(2000.0)) == pytest.approx(h, rel=1e-9)


@GASES
def test_enthalpy_rises_with_temperature_everywhere(gas):
    assert np.all(np.diff(gas.enthalpy(WIDE)) > 0.0)


def test_the_specific_heat_has_no_jump_where_the_fits_meet():
    cp = AIR.specific_heat(np.array([199.0, 201.0, 999.0, 1001.0]))
    assert cp[1] - cp[0] == pytest.approx(0.0, abs=0.1)
    assert cp[3] - cp[2] == pytest.approx(0.4, abs=0.2)  # 2 K at the slope of 0.2 J/(kg K2)


def test_constant_specific_heat_air_has_gamma_of_seven_fifths_at_any_temperature():
    assert CALORIC_AIR.gamma(WIDE) == pytest.approx(1.4, rel=1e-12)


def test_gamma_falls_as_vibration_wakes():
    gamma = AIR.gamma(np.array([300.0, 600.0, 1000.0, 2000.0]))
    assert np.all(np.diff(gamma) < 0.0)
    assert gamma[0] == pytest.approx(1.4, abs=1e-3)


@GASES
def test_conductivity_keeps_the_prandtl_number(gas):
    T = np.linspace(200.0, 1500.0, 50)
    pr = gas.viscosity(T) * gas.specific_heat(T) / gas.conductivity(T)
    assert pr == pytest.approx(0.71, rel=1e-12)


@pytest.mark.parametrize("shape", [(), (3,), (2, 5), (0,)])
def test_any_shape_comes_back_as_it_went_in(shape):
    T = np.full(shape, 400.0)
    for property_of in (AIR.enthalpy, AIR.specific_heat, AIR.gamma, AIR.viscosity, AIR.conductivity):
        assert property_of(T).shape == shape


@pytest.mark.parametrize("temperature", [-1.0, 4000.5, np.nan, np.inf, [300.0, -0.1]])
def test_a_temperature_off_the_tables_is_loud(temperature):
    for property_of in (AIR.enthalpy, AIR.specific_heat, AIR.gamma, AIR.sound_speed, AIR.conductivity):
        with pytest.raises(OutOfRange, match=r"air\.temperature"):
            property_of(temperature)


@pytest.mark.parametrize("enthalpy", [-1.0, 1e7, np.nan])
def test_an_enthalpy_off_the_tables_is_loud(enthalpy):
    with pytest.raises(OutOfRange, match=r"air\.enthalpy.*J/kg"):
        AIR.temperature(enthalpy)


def test_the_message_names_the_value_that_lies_outside():
    with pytest.raises(OutOfRange, match="5000 K lies outside 0 to 4000 K"):
        AIR.enthalpy([300.0, 5000.0])


def test_fifty_thousand_points_cost_a_few_milliseconds():
    T = np.random.default_rng(1).uniform(200.0, 1500.0, 50_000)
    AIR.enthalpy(T)
    start = time.process_time()
    for _ in range(10):
        AIR.temperature(AIR.enthalpy(T))
    assert (time.process_time() - start) / 10 < 0.02
