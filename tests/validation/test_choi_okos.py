"""Food properties against Choi & Okos 1986.

Source: Choi, Y. & Okos, M. R. 1986, Effects of temperature and composition on the thermal properties of
foods, as reprinted in the ASHRAE Handbook, Refrigeration; each component against the coefficients that
CoolProp carries (tolerance 1e-9, water's specific heat apart), and egg white of 87.81 % water, 10.52 %
protein, 1.03 % carbohydrate and .64 % ash against values recomputed by hand from the tables
(tolerance: half of the last digit given). Water's specific heat is compared with IAPWS-95 as CoolProp has
it, tolerance 0.5 %: the handbook's reprint of its first coefficient (4128.9) lies 1 % low and must fail.
"""

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI

from optitip.properties.food import COMPONENTS, Structure, conductivity, density, specific_heat

EGG_WHITE = {"water": 0.8781, "protein": 0.1052, "carbohydrate": 0.0103, "ash": 0.0064}
AT = np.array([20.0, 60.0, 95.0]) + 273.15
ORACLE = {
    "water": "FoodWater",
    "protein": "FoodProtein",
    "fat": "FoodFat",
    "carbohydrate": "FoodCarbohydrate",
    "fibre": "FoodFiber",
    "ash": "FoodAsh",
}


@pytest.mark.parametrize("component", COMPONENTS)
@pytest.mark.parametrize("temperature", [274.0, 333.15, 372.0, 420.0])
def test_each_component_is_the_tables_own(component, temperature):
    state = ("T", temperature, "P", 1e6, f"INCOMP::{ORACLE[component]}")
    alone = {component: 1.0}
    rho, k = density(alone, temperature=temperature), conductivity(alone, temperature=temperature)
    assert float(rho) == pytest.approx(PropsSI("D", *state), rel=1e-9)
    assert float(k) == pytest.approx(PropsSI("L", *state), rel=1e-9)
    if component != "water":
        cp = specific_heat(alone, temperature=temperature)
        assert float(cp) == pytest.approx(PropsSI("C", *state), rel=1e-9)


@pytest.mark.parametrize("temperature", [283.15, 313.15, 353.15, 371.0])
def test_the_specific_heat_of_water_is_waters_own(temperature):
    own = PropsSI("C", "T", temperature, "P", 101325.0, "Water")
    assert float(specific_heat({"water": 1.0}, temperature=temperature)) == pytest.approx(own, rel=5e-3)


def test_egg_white_conducts_as_computed_by_hand():
    parallel = conductivity(EGG_WHITE, temperature=AT, structure=Structure.PARALLEL)
    series = conductivity(EGG_WHITE, temperature=AT, structure=Structure.SERIES)
    assert parallel == pytest.approx([0.5675, 0.6155, 0.6413], abs=5e-5)
    assert series == pytest.approx([0.5130, 0.5665, 0.5971], abs=5e-5)


def test_egg_white_weighs_and_stores_as_computed_by_hand():
    assert density(EGG_WHITE, temperature=AT) == pytest.approx([1030.0, 1018.0, 997.0], abs=0.5)
    assert specific_heat(EGG_WHITE, temperature=AT) == pytest.approx([3905.0, 3923.0, 3950.0], abs=0.5)
