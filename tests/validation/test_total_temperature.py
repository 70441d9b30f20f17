"""Total temperature at Mach 4 and 20 km with a specific heat that rises, and with a constant one.

Source: US Standard Atmosphere 1976 (216.65 K) and the energy equation with cp(T) of air, recomputed: 882.1 K;
909.9 K with constant cp.
Tolerance: 1.5 K, the spread between published cp(T) of air; 0.1 K with constant cp. Mach 2 to 5 against
CoolProp's air (Lemmon et al. 2000) at 100 Pa, where it is ideal: 0.2 K.
"""

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI

from optitip.heating.stream import stream_of
from optitip.properties.air import AIR, CALORIC_AIR


@pytest.mark.parametrize(("gas", "expected", "tolerance"), [(AIR, 882.1, 1.5), (CALORIC_AIR, 909.9, 0.1)])
def test_the_total_temperature_is_the_published_one(gas, expected, tolerance):
    speed = 4.0 * CALORIC_AIR.sound_speed([216.65])
    stream = stream_of(speed=speed, temperature=[216.65], pressure=[5529.31], gas=gas)
    assert float(gas.temperature(stream.total_enthalpy)[0]) == pytest.approx(expected, abs=tolerance)


@pytest.mark.parametrize("mach", [2.0, 3.0, 4.0, 4.999])
def test_an_independent_equation_of_state_has_the_same_total_temperature(mach):
    speed = mach * AIR.sound_speed([216.65])
    stream = stream_of(speed=speed, temperature=[216.65], pressure=[5529.31], gas=AIR)
    still = PropsSI("H", "T", 216.65, "P", 100.0, "Air")
    expected = PropsSI("T", "H", still + 0.5 * float(speed[0]) ** 2, "P", 100.0, "Air")
    assert np.asarray(AIR.temperature(stream.total_enthalpy))[0] == pytest.approx(expected, abs=0.2)
