"""Ice in foods: its properties, how much of it there is, and the heat it takes, against what was measured.

Sources: ice's own density, conductivity and specific heat against the coefficients that CoolProp carries from
Choi & Okos 1986, tolerance 1e-9. Enthalpies over -40 degC of lean beef (74.5 % water) and egg white (86.5 %
water) as measured by Riedel 1957 and reprinted in the ASHRAE Handbook, Refrigeration, from memory; the
compositions beside the water are our own, and fusion at the freezing point as Riedel's tables show it.
Tolerance: 2 % on the whole way from -40 to 0 degC, 5 % on the way from -18 degC.
The handbook's worked example, a beef carcass of 58 % water and 17.5 % protein that freezes from -1.7 degC,
has 0.52 of ice at -20 degC, from memory; it takes the fit of Tchigeov 1979,
1.105 x_w/(1 + 0.7138/ln(t_f - t + 1)), which counts bound water as ice. Ours must give 0.47, and lie within a
tenth of the fit once bound water is added.
"""

import numpy as np
import pytest
from CoolProp.CoolProp import PropsSI

from optitip.properties.food import (
    conductivity,
    density,
    heat_of_melting,
    ice_fraction,
    specific_heat,
)

NEARLY_ALL_ICE = 273.15 - 1e-12  # the initial freezing point of water as pure as can be
BEEF = ({"water": 0.745, "protein": 0.215, "fat": 0.03, "ash": 0.01}, 272.15)
EGG = ({"water": 0.865, "protein": 0.118, "carbohydrate": 0.01, "ash": 0.007}, 272.55)


@pytest.mark.parametrize("temperature", [233.15, 253.15, 268.15])
def test_ice_is_the_tables_own(temperature):
    state = ("T", temperature, "P", 1e6, "INCOMP::FoodIce")
    at = {"temperature": temperature, "freezing": NEARLY_ALL_ICE}
    assert float(density({"water": 1.0}, **at)) == pytest.approx(PropsSI("D", *state), rel=1e-9)
    assert float(conductivity({"water": 1.0}, **at)) == pytest.approx(PropsSI("L", *state), rel=1e-9)
    assert float(specific_heat({"water": 1.0}, **at)) == pytest.approx(PropsSI("C", *state), rel=1e-9)


def _enthalpy(food, freezing, low):
    """Return the heat from ``low`` [degC] to 0 degC [kJ/kg]."""
    t = np.unique(np.concatenate([np.linspace(low, 0.0, 100_001) + 273.15, [freezing, freezing + 1e-9]]))
    at = {"temperature": t, "freezing": freezing}
    capacity = specific_heat(food, **at) + heat_of_melting(food, **at, latent_heat=333.6e3)
    return float(np.trapezoid(capacity, t)) / 1e3


@pytest.mark.parametrize(
    ("food", "low", "measured", "within"),
    [
        (BEEF, -40.0, 304.0, 0.02),
        (EGG, -40.0, 352.0, 0.02),
        (BEEF, -18.0, 304.0 - 47.0, 0.05),
        (EGG, -18.0, 352.0 - 43.0, 0.05),
    ],
)
def test_frozen_food_takes_as_much_heat_as_was_measured(food, low, measured, within):
    assert _enthalpy(*food, low) == pytest.approx(measured, rel=within)


def test_a_beef_carcass_holds_the_ice_of_the_worked_example_but_for_its_bound_water():
    carcass = {"water": 0.58, "protein": 0.175, "fat": 0.235, "ash": 0.01}
    ours = float(ice_fraction(carcass, temperature=253.15, freezing=271.45))
    assert ours == pytest.approx((0.58 - 0.4 * 0.175) * (1.0 - 1.7 / 20.0), rel=1e-9)
    assert ours == pytest.approx(0.47, abs=0.005)
    fitted = 1.105 * 0.58 / (1.0 + 0.7138 / np.log(-1.7 + 20.0 + 1.0))
    assert fitted == pytest.approx(0.52, abs=0.005)
    assert ours + 0.4 * 0.175 * (1.0 - 1.7 / 20.0) == pytest.approx(fitted, rel=0.1)
