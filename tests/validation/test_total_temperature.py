"""Total temperature at Mach 4 and 20 km with a specific heat that rises, and with a constant one.

Source: US Standard Atmosphere 1976 (216.65 K) and the energy equation with cp(T) of air, recomputed: 882.1 K;
909.9 K with constant cp.
Tolerance: 0.1 K, the last digit; through the whole chain 0.5 % (its Mach number is by the air's own speed of
sound). Mach 2 to 5 against CoolProp's air (Lemmon et al. 2000) at 100 Pa, where it is ideal: 0.2 K.
"""

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI

from optitip.flight.trajectory import Flight, Phase
from optitip.heating.chain import heat
from optitip.heating.stream import stream_of
from optitip.heating.transition import BRACKET
from optitip.inputs.study_tables import Attitude
from optitip.properties.air import AIR, CALORIC_AIR


@pytest.mark.parametrize(("gas", "expected"), [(AIR, 882.1), (CALORIC_AIR, 909.9)])
def test_the_total_temperature_is_the_published_one(gas, expected):
    speed = 4.0 * CALORIC_AIR.sound_speed([216.65])
    stream = stream_of(speed=speed, temperature=[216.65], pressure=[5529.31], gas=gas)
    assert float(gas.temperature(stream.total_enthalpy)[0]) == pytest.approx(expected, abs=0.1)


@pytest.mark.parametrize("state", BRACKET, ids=lambda state: state.name)
def test_the_stagnation_point_recovers_it_through_the_whole_chain(state):
    two = np.ones(2)
    flight = Flight(
        time=[0.0, 1.0],
        altitude=20_000.0 * two,
        speed=4.0 * float(AIR.sound_speed(216.65)) * two,
        temperature=216.65 * two,
        pressure=5529.31 * two,
        density=0.0889099 * two,
        axial_acceleration=0.0 * two,
        phase=[Phase.COAST] * 2,
        events={},
        kinks=(),
        attitude=Attitude.ACROSS,
        warnings=(),
    )
    angle = np.linspace(0.0, 1.4, 15)
    sphere = {"arc_length": 0.003 * angle, "radius": 0.003 * np.sin(angle), "slope": 0.5 * np.pi - angle}
    heating = heat(flight, **sphere, tip_radius=0.003, state=state)
    assert heating.recovery[:, 0] == pytest.approx(882.1, rel=5e-3)
    assert (np.diff(heating.recovery, axis=1) < 0.0).all()


@pytest.mark.parametrize("mach", [2.0, 3.0, 4.0, 4.999])
def test_an_independent_equation_of_state_has_the_same_total_temperature(mach):
    speed = mach * AIR.sound_speed([216.65])
    stream = stream_of(speed=speed, temperature=[216.65], pressure=[5529.31], gas=AIR)
    still = PropsSI("H", "T", 216.65, "P", 100.0, "Air")
    expected = PropsSI("T", "H", still + 0.5 * float(speed[0]) ** 2, "P", 100.0, "Air")
    assert np.asarray(AIR.temperature(stream.total_enthalpy))[0] == pytest.approx(expected, abs=0.2)
