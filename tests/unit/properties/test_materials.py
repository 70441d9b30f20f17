"""Materials on the grid: integrals, ends, and what a file turns into."""

import numpy as np
import pytest

from optitip.errors import UserMistakes
from optitip.properties import food
from optitip.properties.materials import Family, load_material, material_names
from optitip.properties.phases import Melting, SpentHeat

SIMPLE = """
title = "Invented"
family = "metal"
density = { value = "2 g/cm3", source = "invented here" }
[conductivity]
"temperature [degC]" = [0, 100]
"value [W/(m K)]" = [10, 30]
source = "invented here"
[specific_heat]
value = "0.5 J/(g K)"
valid = ["-50 degC", "212 degF"]
source = "invented here"
"""


@pytest.fixture
def invented(tmp_path):
    (tmp_path / "made-up.toml").write_text(SIMPLE)
    return load_material("made up", folder=tmp_path)


def test_a_file_becomes_si(invented):
    assert (invented.name, invented.family) == ("made-up", Family.METAL)
    assert invented.density == pytest.approx(2000.0)
    assert float(invented.conductivity_at(323.15)) == pytest.approx(20.0)
    assert float(invented.heat_capacity_at(300.0)) == pytest.approx(1e6)
    assert invented.valid == pytest.approx((273.15, 373.15))
    assert (invented.boiling, invented.elastic, invented.service_limit) == (None, None, None)


def test_the_end_values_are_held_outside_the_valid_range(invented):
    assert invented.conductivity_at([100.0, 273.15]) == pytest.approx([10.0, 10.0])
    assert invented.conductivity_at([373.15, 2400.0]) == pytest.approx([30.0, 30.0])


def test_the_valid_range_includes_its_ends(invented):
    inside = invented.in_valid_range([273.14, 273.15, 373.15, 373.16])
    assert inside.tolist() == [False, True, True, False]


def test_the_grid_is_uniform_and_whole_degrees_are_nodes(invented):
    assert np.diff(invented.temperature) == pytest.approx(1.0, abs=1e-9)
    assert np.min(np.abs(invented.temperature - 273.15)) < 1e-9
    assert invented.temperature[0] < 100.0
    assert invented.temperature[-1] > 2400.0


def test_enthalpy_is_the_integral_of_heat_capacity(invented):
    assert invented.enthalpy[0] == 0.0
    assert float(invented.enthalpy_at(400.0) - invented.enthalpy_at(300.0)) == pytest.approx(1e8)


def test_the_kirchhoff_temperature_is_the_integral_of_relative_conductivity(invented):
    k_ref = invented.conductivity_reference
    assert k_ref == pytest.approx(14.0)  # 10 + 20 x 20/100
    at = np.interp([273.15, 293.15, 373.15], invented.temperature, invented.kirchhoff)
    # mean k 12 over the 20 K below the reference, 22 over the 80 K above it
    assert at == pytest.approx([293.15 - 20.0 * 12.0 / 14.0, 293.15, 293.15 + 80.0 * 22.0 / 14.0])


def test_arrays_are_read_only(invented):
    for array in (invented.temperature, invented.conductivity, invented.enthalpy, invented.kirchhoff):
        assert not array.flags.writeable


def test_a_food_boils_with_the_water_of_a_volume_of_it():
    egg = load_material("egg white")
    assert egg.family is Family.FOOD
    assert egg.boiling.temperature == pytest.approx(373.12)
    assert egg.boiling.latent_heat == pytest.approx(0.8781 * 1030.19 * 2256.5e3, rel=1e-4)


def test_a_composition_that_does_not_add_up_is_scaled_to_the_whole():
    beef = load_material("lean-beef")
    water = 0.7170 / (0.7170 + 0.2124 + 0.0440 + 0.0108)
    assert beef.boiling.latent_heat == pytest.approx(water * beef.density * 2256.5e3)


def test_food_is_valid_frozen_as_far_as_its_ice_is_known():
    assert load_material("potato").in_valid_range([232.0, 234.0, 280.0]).tolist() == [False, True, True]


def test_a_frozen_food_holds_the_heat_of_its_ice_in_its_enthalpy():
    egg = load_material("egg white")
    fractions = {"water": 0.8781, "protein": 0.1052, "carbohydrate": 0.0103, "ash": 0.0064}
    t = np.linspace(255.15, 272.55, 400_001)
    cold = {"temperature": t, "freezing": 272.55}
    capacity = food.specific_heat(fractions, **cold)
    capacity += food.heat_of_melting(fractions, **cold, latent_heat=333.6e3)
    rise = float(egg.enthalpy_at(272.55) - egg.enthalpy_at(255.15))
    assert rise == pytest.approx(egg.density * np.trapezoid(capacity, t), rel=1e-4)
    assert egg.melting.high == pytest.approx(272.55)
    # 270 kJ/kg of the 309 that egg white takes from -18 to 0 degC
    assert egg.melting.latent_heat / egg.density == pytest.approx(270e3, rel=5e-3)
    assert float(egg.conductivity_at(255.15)) > 3.0 * float(egg.conductivity_at(275.15))


def test_a_melting_material_takes_its_latent_heat_once_in_its_range(tmp_path):
    melts = '[melting]\nfrom = "40 degC"\nto = "40.5 degC"\nlatent_heat = "200 J/g"\nsource = "invented"\n'
    (tmp_path / "wax.toml").write_text(SIMPLE + melts)
    wax, plain = (load_material(name, folder=tmp_path) for name in ("wax", "paraffin wax"))
    assert wax.melting == Melting(low=313.15, high=313.65, latent_heat=pytest.approx(4e8))
    below, low, high, above = wax.enthalpy_at([303.15, 313.15, 313.65, 323.15])
    assert (low - below, above - high) == (pytest.approx(1e7), pytest.approx(9.5e6))
    assert high - low == pytest.approx(4e8 + 0.5e6, rel=1e-6)
    assert plain.melting.latent_heat == pytest.approx(880.0 * 190e3)


def test_what_decomposes_spends_its_heat_for_good_and_keeps_it_out_of_the_enthalpy(tmp_path):
    chars = '[decomposition]\ntemperature = "80 degC"\nheat = "50 J/g"\nsource = "invented here"\n'
    (tmp_path / "resin.toml").write_text(SIMPLE + chars)
    resin = load_material("resin", folder=tmp_path)
    assert resin.decomposition == SpentHeat(temperature=pytest.approx(353.15), latent_heat=pytest.approx(1e8))
    assert resin.spent_heat is resin.decomposition
    assert float(resin.enthalpy_at(363.15) - resin.enthalpy_at(343.15)) == pytest.approx(2e7)
    egg = load_material("egg white")
    assert egg.spent_heat is egg.boiling


def test_only_the_plugs_insulators_are_judged_by_depth():
    judged = {name for name in material_names() if load_material(name).judged_by_depth}
    assert judged == {"PTFE", "glass-phenolic"}


def test_strength_falls_with_temperature_as_the_factors_say():
    elastic = load_material("6061-T6").elastic
    at = np.array([20.0, 100.0, 150.0, 200.0, 250.0, 300.0, 350.0]) + 273.15
    factors = np.array([1.00, 0.95, 0.91, 0.79, 0.55, 0.31, 0.10])
    assert elastic.yield_at(at) == pytest.approx(240e6 * factors)
    assert float(elastic.yield_at(498.15)) == pytest.approx(240e6 * 0.67)  # half way from .79 to .55
    assert float(elastic.modulus_at(473.15)) == pytest.approx(60.2e9)
    assert elastic.valid == pytest.approx((293.15, 623.15))


def test_expansion_is_the_secant_from_the_reference_temperature():
    elastic = load_material("6061-T6").elastic
    T = np.array([100.0, 200.0, 300.0])
    strain = 0.1e-7 * (T**2 - 20.0**2) + 22.5e-6 * (T - 20.0)
    assert elastic.expansion_at(T + 273.15) * (T - 20.0) == pytest.approx(strain, rel=1e-9)


def test_each_property_of_a_material_comes_with_its_source(invented):
    assert invented.sources == (
        ("density", "invented here"),
        ("conductivity", "invented here"),
        ("specific_heat", "invented here"),
    )
    names = [name for name, _ in load_material("6061-T6").sources]
    assert "elastic.yield_strength" in names
    assert "service_limit" in names


def test_a_folder_of_the_users_own_adds_and_hides(tmp_path):
    (tmp_path / "made-up.toml").write_text(SIMPLE)
    (tmp_path / "PTFE.toml").write_text(SIMPLE)
    assert set(material_names(tmp_path)) == {*material_names(), "made-up"}
    assert load_material("ptfe", folder=tmp_path).title == "Invented"
    assert load_material("ptfe").title != "Invented"


def test_an_unknown_material_is_the_users_mistake():
    with pytest.raises(UserMistakes):
        load_material("unobtainium")
