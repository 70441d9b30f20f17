"""Every material that comes with the package is sourced, sane and readable."""

import numpy as np
import pytest

from optitip.inputs.material_files import material_files, material_folder, read_material
from optitip.properties.materials import Family, load_material, material_names

EACH = pytest.mark.parametrize("name", material_names())

EXPECTED = (
    *("6061-T6", "7075-T6", "304", "Ti-6Al-4V", "C110", "C360", "epoxy-room-cure", "epoxy-heat-cure"),
    *("glass-phenolic", "PTFE", "PMMA", "still-air", "egg-white", "potato", "lean-beef", "agar-gel"),
    "paraffin-wax",
)
SANE = {  # density kg/m3, conductivity W/(m K), specific heat J/(kg K) at 20 degC
    Family.METAL: ((2500, 20000), (5, 450), (100, 1000)),
    Family.POLYMER: ((800, 2500), (0.1, 1.0), (800, 2500)),
    Family.FOOD: ((900, 1200), (0.3, 0.7), (2500, 4300)),
    Family.GAS: ((0.1, 10), (0.01, 0.1), (900, 1100)),
}


def test_the_promised_materials_are_there():
    assert set(EXPECTED) <= set(material_names())


def test_the_folder_holds_materials_and_nothing_else():
    assert {path.suffix for path in material_folder().iterdir()} == {".toml"}
    assert len(material_files()) == len(list(material_folder().iterdir()))


@EACH
def test_every_property_names_its_source(name):
    _, record = read_material(name)
    told = {property_name for property_name, _ in load_material(name).sources}
    apart = {"title", "family", "cautions", "elastic", "turning"}
    given = {key for key in record.model_fields_set if key not in apart}
    if record.elastic is not None:
        given |= {f"elastic.{key}" for key in ("poisson", "modulus", "expansion", "yield_strength")}
    if record.turning is not None:
        given |= {f"turning.{key}" for key in record.turning.model_fields_set}
    assert told == given


@EACH
def test_the_values_at_room_temperature_are_of_their_family(name):
    material = load_material(name)
    cp = float(material.heat_capacity_at(293.15)) / material.density
    found = (material.density, float(material.conductivity_at(293.15)), cp)
    for value, (low, high) in zip(found, SANE[material.family], strict=True):
        assert low < value < high


@EACH
def test_the_tables_are_positive_and_their_integrals_rise(name):
    material = load_material(name)
    for table in (material.conductivity, material.heat_capacity):
        assert np.all(np.isfinite(table))
        assert np.all(table > 0.0)
    assert np.all(np.diff(material.enthalpy) > 0.0)
    assert np.all(np.diff(material.kirchhoff) > 0.0)


@EACH
def test_a_room_lies_in_the_valid_range_and_the_range_is_wide(name):
    material = load_material(name)
    assert material.in_valid_range([283.15, 313.15]).all()
    assert material.valid[1] - material.valid[0] > 100.0


@EACH
def test_the_service_limit_lies_in_the_valid_range_and_has_a_reason(name):
    material = load_material(name)
    if material.family in {Family.FOOD, Family.GAS} or name == "paraffin-wax":
        assert material.service_limit is None
    else:
        assert material.in_valid_range(material.service_limit)
        assert material.service_limit > 320.0
        assert material.service_reason


@EACH
def test_what_is_elastic_softens_with_temperature(name):
    elastic = load_material(name).elastic
    if elastic is None:
        assert load_material(name).family is not Family.METAL
        return
    assert np.all(np.diff(elastic.modulus) <= 0.0)
    assert np.all(np.diff(elastic.yield_strength) <= 0.0)
    assert np.all(elastic.expansion > 5e-6)
    assert elastic.yield_at(293.15) < 0.05 * elastic.modulus_at(293.15)


@EACH
def test_the_elastic_range_reaches_the_service_limit(name):
    material = load_material(name)
    if material.elastic is not None:
        assert material.elastic.valid[1] >= material.service_limit


@EACH
def test_food_is_never_called_safe_and_boils_by_its_water(name):
    material = load_material(name)
    if material.family is Family.FOOD:
        assert any("never called safe" in caution for caution in material.cautions)
        assert 1.5e9 < material.boiling.latent_heat < 2.25e9
    else:
        assert material.boiling is None


def test_ptfe_warns_of_its_fumes():
    assert any("fumes" in caution and "260" in caution for caution in load_material("PTFE").cautions)


def test_wax_takes_its_heat_of_melting_between_48_and_60_degrees():
    wax = load_material("paraffin wax")
    rise = float(wax.enthalpy_at(333.15) - wax.enthalpy_at(321.15)) / wax.density
    assert rise - 12.0 * 2300.0 == pytest.approx(190e3, rel=1e-3)


@EACH
def test_every_food_freezes_a_little_below_0_degrees_and_is_good_to_minus_40(name):
    material = load_material(name)
    if material.family is Family.FOOD:
        assert 271.0 < material.melting.high < 273.15
        assert material.valid[0] == pytest.approx(233.15)
        assert 150e3 < material.melting.latent_heat / material.density < 333.6e3


@EACH
def test_what_decomposes_does_so_above_its_service_limit_and_is_judged_by_depth(name):
    material = load_material(name)
    if material.decomposition is not None:
        assert material.decomposition.temperature > material.service_limit
        assert material.judged_by_depth
