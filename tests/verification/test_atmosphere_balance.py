"""The air column rests: dp/dz = -rho g and rho = p/(R T), on a standard and on a shifted day."""

import numpy as np
import pytest

from optitip.flight.atmosphere import GAS_CONSTANT, gravity, site_atmosphere

DAYS = {
    "standard": site_atmosphere(),
    "hot and high": site_atmosphere(1400.0, temperature=311.0),
    "cold and low": site_atmosphere(0.0, temperature=250.0, pressure=104_000.0),
}


@pytest.mark.parametrize("day", DAYS.values(), ids=DAYS.keys())
def test_the_weight_of_the_air_carries_the_pressure(day):
    z = np.linspace(-400.0, 70_000.0, 701)
    dz = 1.0
    slope = (day.at(z + dz).pressure - day.at(z - dz).pressure) / (2.0 * dz)
    weight = day.at(z).density * np.array([gravity(height) for height in z])
    # the central difference errs by 5e-9; where it straddles a layer's border, by the bend there
    assert slope == pytest.approx(-weight, rel=1e-5)


@pytest.mark.parametrize("day", DAYS.values(), ids=DAYS.keys())
def test_the_air_is_a_perfect_gas(day):
    air = day.at(np.linspace(0.0, 60_000.0, 61))
    assert air.density * GAS_CONSTANT * air.temperature == pytest.approx(air.pressure, rel=1e-12)
