"""Water's saturation line against IAPWS-IF97.

Sources: the check values printed with IAPWS-IF97 (tables 35 and 36), tolerance: half of the last digit
given; boiling at 101325, 70108 and 47181 Pa at 99.97, 89.97 and 79.88 degC, tolerance 0.01 K; the whole
line against IAPWS-95 in CoolProp, tolerance 0.02 K; latent heat at 101325 Pa against the same, 0.05 %.
"""

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI

from optitip.inputs.material_files import read_material
from optitip.properties.water import boiling_temperature, vapour_pressure


def test_the_printed_check_values_come_back():
    assert boiling_temperature([0.1e6, 1e6, 10e6]) == pytest.approx(
        [372.755919, 453.035632, 584.149488], abs=5e-7
    )
    assert vapour_pressure([300.0, 500.0, 600.0]) == pytest.approx(
        [3536.58941, 2.63889776e6, 12.3443146e6], rel=3e-9
    )


def test_water_boils_cooler_where_the_air_is_thin():
    at = boiling_temperature([101325.0, 70108.0, 47181.0]) - 273.15
    assert at == pytest.approx([99.97, 89.97, 79.88], abs=0.01)


@pytest.mark.parametrize("pressure", np.geomspace(700.0, 10e6, 12))
def test_the_whole_line_is_that_of_the_scientific_formulation(pressure):
    published = PropsSI("T", "P", pressure, "Q", 0.0, "Water")
    assert float(boiling_temperature(pressure)) == pytest.approx(published, abs=0.02)


@pytest.mark.parametrize("name", ["agar gel", "egg white", "lean beef", "potato"])
def test_the_latent_heat_of_a_wet_material_is_the_step_in_waters_enthalpy(name):
    vapour, water = (PropsSI("H", "P", 101325.0, "Q", share, "Water") for share in (1.0, 0.0))
    assert read_material(name)[1].boiling.latent_heat == pytest.approx(vapour - water, rel=5e-4)
