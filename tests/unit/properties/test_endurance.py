"""What samples and tempers stand: the records that come with the package, and time in the heat."""

import math

import numpy as np
import pytest

from optitip.properties.endurance import Exposure, Shrinkage
from optitip.properties.materials import Family, load_material, material_names
from optitip.units import quantity

HEAT_TREATED = {"6061-T6", "7075-T6"}
SAMPLES = {"egg-white", "potato", "lean-beef", "agar-gel", "PMMA", "PTFE", "paraffin-wax"}


@pytest.mark.parametrize("name", material_names())
def test_samples_can_be_crushed_foods_may_shrink_and_heat_treated_alloys_alone_wear_out(name):
    material = load_material(name)
    assert (material.strength is not None) == (name in SAMPLES)
    assert (material.exposure is not None) == (name in HEAT_TREATED)
    assert material.shrinkage is None or material.family is Family.FOOD


@pytest.mark.parametrize("name", sorted(SAMPLES))
def test_a_crushing_stress_is_a_range_of_a_soft_or_a_stiff_thing(name):
    strength = load_material(name).strength
    assert 0.0 < strength.low < strength.expected < strength.high
    stiff = load_material(name).family is Family.POLYMER
    assert (strength.low >= 0.4e6) == stiff


def test_what_was_measured_of_6061_is_what_its_pair_allows():
    """Cold yield of 6061-T6 extrusions against its minimum, three temperatures up to 64 h.

    Source: Donovan, Fortune & Trout 2015, California Polytechnic State University, abstract: below the
    minimum after 16 h at 390 degF and 4 h at 425 degF, not in 64 h at 350 degF. The pair must not allow more.
    """
    temper = load_material("6061-T6").exposure
    allowed = {f: float(temper.time_at(quantity(f"{f} degF", "K"))) / 3600.0 for f in (350, 390, 425)}
    assert allowed[390] == pytest.approx(16.0, rel=1e-9)
    assert 2.0 < allowed[425] <= 4.0
    assert allowed[350] >= 64.0


def test_the_tables_strength_at_temperature_holds_longer_than_the_temper_where_both_are_told():
    # EN 1999-1-2, table 1a, holds up to 2 h: at 200 degC the temper outlasts that, at 250 degC it doesn't
    temper = load_material("6061-T6").exposure
    assert float(temper.time_at(473.15)) > 7200.0 > float(temper.time_at(523.15))


def test_7075_loses_its_temper_sooner_than_6061():
    T = np.linspace(400.0, 600.0, 9)
    strong, common = (load_material(name).exposure.time_at(T) for name in ("7075-T6", "6061-T6"))
    assert np.all(strong < common)


def test_time_in_the_heat_is_that_of_the_parameter_worked_by_hand():
    pair = Exposure(temperature=450.0, time=36_000.0, constant=20.0)  # 450 (20 + log10 10 h) = 9450
    assert float(pair.time_at(420.0)) == pytest.approx(3600.0 * 10**2.5, rel=1e-12)
    assert float(pair.time_at(450.0)) == pytest.approx(36_000.0, rel=1e-12)
    assert float(pair.time_at(472.5)) == pytest.approx(3600.0, rel=1e-12)


def test_in_the_cold_time_in_the_heat_stays_a_number():
    pair = Exposure(temperature=450.0, time=36_000.0, constant=20.0)
    assert np.all(np.isfinite(pair.time_at([0.0, 1.0, 50.0, 300.0])))
    assert math.log10(float(pair.time_at(300.0)) / 3600.0) == pytest.approx(11.5)


def test_meat_shrinks_as_far_as_it_was_warm_and_no_further():
    meat = Shrinkage(strain=0.15, low=328.15, high=353.15)
    assert meat.strain_at([293.15, 328.15, 340.65, 353.15, 500.0]).tolist() == pytest.approx(
        [0.0, 0.0, 0.075, 0.15, 0.15]
    )


def test_a_users_own_file_may_say_what_it_stands(tmp_path):
    (tmp_path / "cheese.toml").write_text(
        """
title = "Invented cheese"
family = "food"
[composition]
fractions = { water = 0.4, protein = 0.3, fat = 0.3 }
valid = ["0 degC", "150 degC"]
source = "invented here"
[strength]
low = "10 kPa"
expected = "20 kPa"
high = "40 kPa"
source = "invented here"
[shrinkage]
strain = 0.03
from = "40 degC"
to = "70 degC"
source = "invented here"
"""
    )
    cheese = load_material("cheese", folder=tmp_path)
    assert cheese.strength.expected == pytest.approx(20e3)
    assert cheese.shrinkage.strain_at(400.0) == pytest.approx(0.03)
    assert {"strength", "shrinkage"} <= dict(cheese.sources).keys()
