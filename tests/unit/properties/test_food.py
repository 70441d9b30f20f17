"""Food from its composition: the rules of mixing hold whatever the numbers are."""

import numpy as np
import pytest

from optitip.properties.food import COMPONENTS, Structure, conductivity, density, specific_heat

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
