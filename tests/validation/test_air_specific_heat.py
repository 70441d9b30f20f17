"""Air's specific heat and total temperature against published data.

Sources: cp of dry air as an ideal gas from CoolProp (Lemmon et al. 2000, J. Phys. Chem. Ref. Data 29,
331), 150 to 1900 K, tolerance 0.1 %; viscosity and speed of sound of the US Standard Atmosphere 1976 as
printed (tolerance: half of the last digit of the sound, 0.6 of the viscosity's, since the temperature is
rounded as well; 0.1 % for the sound at cp(T)); total temperature at Mach 4 and 20 km of that atmosphere
(216.65 K, a = 295.070 m/s): 882.1 K with cp(T), 909.9 K with constant cp, recomputed from the definition,
tolerance 0.1 K. Conductivity against CoolProp's air at 1 bar, 220 to 1000 K, tolerance 5 %: 3 % is what a
constant Prandtl number costs, the rest is Sutherland's law.
"""

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI

from optitip.properties.air import AIR, CALORIC_AIR


@pytest.mark.parametrize("temperature", [200, 250, 300, 400, 600, 800, 999, 1001, 1200, 1500, 1900])
def test_specific_heat_is_that_of_dry_air(temperature):
    published = PropsSI("CP0MASS", "T", temperature, "P", 101325.0, "Air")
    assert float(AIR.specific_heat(temperature)) == pytest.approx(published, rel=1e-3)


def test_held_below_the_fits_the_specific_heat_stays_that_of_dry_air():
    published = PropsSI("CP0MASS", "T", 150.0, "P", 1000.0, "Air")
    assert float(AIR.specific_heat(150.0)) == pytest.approx(published, rel=1e-3)


@pytest.mark.parametrize(("gas", "total"), [(AIR, 882.1), (CALORIC_AIR, 909.9)])
def test_total_temperature_at_mach_four_and_twenty_kilometres(gas, total):
    speed = 4.0 * 295.070
    h0 = gas.enthalpy(216.65) + 0.5 * speed**2
    assert float(gas.temperature(h0)) == pytest.approx(total, abs=0.1)


@pytest.mark.parametrize(
    ("temperature", "viscosity", "sound_speed"),
    [
        (288.150, 1.7894e-5, 340.294),
        (255.676, 1.6282e-5, 320.546),
        (223.252, 1.4577e-5, 299.532),
        (216.650, 1.4216e-5, 295.070),
        (226.509, 1.4753e-5, 301.709),
    ],
)
def test_viscosity_and_sound_are_those_of_the_standard_atmosphere(temperature, viscosity, sound_speed):
    assert float(AIR.viscosity(temperature)) == pytest.approx(viscosity, abs=0.6e-9)
    assert float(CALORIC_AIR.sound_speed(temperature)) == pytest.approx(sound_speed, abs=5e-4)
    assert float(AIR.sound_speed(temperature)) == pytest.approx(sound_speed, rel=1e-3)


@pytest.mark.parametrize("temperature", np.linspace(220.0, 1000.0, 9))
def test_conductivity_is_that_of_air_within_what_a_constant_prandtl_number_costs(temperature):
    published = PropsSI("L", "T", temperature, "P", 1e5, "Air")
    assert float(AIR.conductivity(temperature)) == pytest.approx(published, rel=0.05)
