"""Food from its composition: the rules of mixing hold whatever the numbers are."""

import numpy as np
import pytest

from optitip.properties.food import (
    COMPONENTS,
    Structure,
    conductivity,
    density,
    heat_of_melting,
    ice_fraction,
    specific_heat,
)

EGG_WHITE = {"water": 0.8781, "protein": 0.1052, "carbohydrate": 0.0103, "ash": 0.0064}
T = np.linspace(273.15, 423.15, 16)


@pytest.mark.parametrize("component", COMPONENTS)
def test_one_component_conducts_alike_in_both_structures(component):
    alone = {component: 1.0}
    parallel = conductivity(alone, temperature=T, structure=Structure.PARALLEL)
    assert conductivity(alone, temperature=T, structure=Structure.SERIES) == pytest.approx(parallel)


def test_series_never_conducts_better_than_parallel():
    series = conductivity(EGG_WHITE, temperature=T, structure=Structure.SERIES)
    assert np.all(series < conductivity(EGG_WHITE, temperature=T))


def test_two_equal_masses_mix_by_volume_in_density_and_by_mass_in_specific_heat():
    mix = {"water": 0.5, "fat": 0.5}
    rho = [float(density({name: 1.0}, temperature=293.15)) for name in mix]
    cp = [float(specific_heat({name: 1.0}, temperature=293.15)) for name in mix]
    assert float(density(mix, temperature=293.15)) == pytest.approx(2.0 / (1 / rho[0] + 1 / rho[1]))
    assert float(specific_heat(mix, temperature=293.15)) == pytest.approx(0.5 * (cp[0] + cp[1]))


def test_only_the_proportions_of_a_composition_count():
    doubled = {name: 2.0 * share for name, share in EGG_WHITE.items()} | {"fat": 0.0}
    for of in (density, specific_heat, conductivity):
        assert of(doubled, temperature=T) == pytest.approx(of(EGG_WHITE, temperature=T))


FROZEN = np.linspace(233.15, 272.5, 16)
POINT = 272.55


def test_ice_grows_from_nothing_at_the_freezing_point_towards_the_water_that_is_not_bound():
    ice = ice_fraction(EGG_WHITE, temperature=[300.0, POINT, *FROZEN[::-1]], freezing=POINT)
    assert ice[:2].tolist() == [0.0, 0.0]
    assert np.all(np.diff(ice[1:]) > 0.0)
    whole = sum(EGG_WHITE.values())
    unbound = (EGG_WHITE["water"] - 0.4 * EGG_WHITE["protein"]) / whole
    assert ice[-1] == pytest.approx(unbound * (1.0 - 0.6 / 40.0))


def test_protein_that_binds_all_water_lets_none_freeze():
    dried = {"water": 0.1, "protein": 0.9}
    assert not ice_fraction(dried, temperature=FROZEN, freezing=POINT).any()
    assert not heat_of_melting(dried, temperature=FROZEN, freezing=POINT, latent_heat=333.6e3).any()


def test_above_the_freezing_point_a_food_is_as_if_it_never_froze():
    for of in (density, specific_heat, conductivity):
        assert of(EGG_WHITE, temperature=T, freezing=POINT) == pytest.approx(of(EGG_WHITE, temperature=T))


def test_ice_conducts_better_weighs_less_and_stores_less_than_the_water_it_was():
    frozen, liquid = ({"temperature": FROZEN, "freezing": point} for point in (POINT, None))
    assert np.all(conductivity(EGG_WHITE, **frozen)[:-1] > 1.2 * conductivity(EGG_WHITE, **liquid)[:-1])
    assert np.all(density(EGG_WHITE, **frozen)[:-1] < density(EGG_WHITE, **liquid)[:-1])
    assert np.all(specific_heat(EGG_WHITE, **frozen)[:-1] < specific_heat(EGG_WHITE, **liquid)[:-1])


def test_the_heat_to_thaw_does_not_depend_on_whether_ice_melts_first_or_warms_first():
    t = np.linspace(263.15, POINT, 200_001)
    frozen = {"temperature": t, "freezing": POINT}
    capacity = specific_heat(EGG_WHITE, **frozen)
    capacity += heat_of_melting(EGG_WHITE, **frozen, latent_heat=333.6e3)
    ice = float(ice_fraction(EGG_WHITE, temperature=263.15, freezing=POINT))
    # the other way: all ice warmed to 0 degC as ice and melted there, its water cooled to the freezing point
    rest = specific_heat(EGG_WHITE, temperature=t) - specific_heat({"water": 1.0}, temperature=t) * ice
    melt = np.linspace(263.15, 273.15, 2001)
    warm = np.trapezoid(2062.3 + 6.0769 * (melt - 273.15), melt)
    back = np.linspace(POINT, 273.15, 2001)
    cool = np.trapezoid(specific_heat({"water": 1.0}, temperature=back), back)
    other = np.trapezoid(rest, t) + ice * (warm + 333.6e3 - cool)
    assert np.trapezoid(capacity, t) == pytest.approx(other, rel=1e-6)
