import numpy as np
import pytest

from optitip.errors import OutOfRange
from optitip.solvers.enthalpy import TAU_ZERO, enthalpy_table, evaporated_part, node_tables, start_enthalpy


def _growing(solid):
    return solid(lambda t: 10.0 + 0.02 * (t - 273.15), heat_capacity=lambda t: 3e6 + 2e3 * (t - 273.15))


def test_temperature_comes_back_from_its_own_enthalpy(solid):
    table = enthalpy_table(_growing(solid))
    temperature = np.linspace(120.0, 2400.0, 777)
    nodes = node_tables((table,), np.zeros(777, dtype=int))
    assert nodes.look_up(table.enthalpy(temperature)).temperature == pytest.approx(temperature, abs=1e-9)


def test_enthalpy_is_the_integral_of_the_heat_capacity(solid):
    table = enthalpy_table(_growing(solid))
    low, high = table.enthalpy(np.array([300.0, 700.0]))
    exact = 3e6 * 400.0 + 1e3 * ((700.0 - 273.15) ** 2 - (300.0 - 273.15) ** 2)
    assert high - low == pytest.approx(exact, rel=1e-6)


def test_tau_is_the_integral_of_the_conductivity_over_its_reference(solid):
    table = enthalpy_table(_growing(solid))
    nodes = node_tables((table,), np.zeros(2, dtype=int))
    tau = nodes.look_up(table.enthalpy(np.array([TAU_ZERO, 700.0]))).tau
    exact = 10.0 * (700.0 - TAU_ZERO) + 0.01 * ((700.0 - 273.15) ** 2 - (TAU_ZERO - 273.15) ** 2)
    assert table.conductivity_reference == pytest.approx(10.4)
    assert tau == pytest.approx([0.0, exact / 10.4], abs=2e-4)


def test_the_slopes_are_those_of_the_look_up(solid):
    table = enthalpy_table(_growing(solid))
    nodes = node_tables((table,), np.zeros(3, dtype=int))
    enthalpy = table.lowest + table.spacing * np.array([10.5, 800.5, 2000.5])
    step = 1e-3 * table.spacing
    here, there = nodes.look_up(enthalpy), nodes.look_up(enthalpy + step)
    assert (there.temperature - here.temperature) / step == pytest.approx(here.temperature_slope, rel=1e-6)
    assert (there.tau - here.tau) / step == pytest.approx(here.tau_slope, rel=1e-6)


def test_between_the_points_of_a_coarse_material_the_integrals_are_of_straight_lines(solid):
    coarse = solid(
        lambda t: 10.0 + 0.02 * (t - 100.0),
        heat_capacity=lambda t: 3e6 + 4e3 * (t - 100.0),
        grid=np.linspace(100.0, 2500.0, 13),
    )
    table = enthalpy_table(coarse)
    low, high = table.enthalpy(np.array([320.0, 380.0]))
    assert high - low == pytest.approx(3e6 * 60.0 + 2e3 * (280.0**2 - 220.0**2), rel=1e-5)
    nodes = node_tables((table,), np.zeros(2, dtype=int))
    tau = nodes.look_up(np.array([low, high])).tau
    mean = 10.0 + 0.02 * (350.0 - 100.0)
    assert (tau[1] - tau[0]) * table.conductivity_reference == pytest.approx(60.0 * mean, rel=1e-5)


def test_beyond_its_table_a_material_goes_on_straight(solid):
    table = enthalpy_table(solid(10.0, heat_capacity=2e6))
    nodes = node_tables((table,), np.zeros(2, dtype=int))
    last = table.lowest + table.spacing * (table.temperature.size - 1)
    outside = nodes.look_up(np.array([table.lowest - 2e7, last + 2e7])).temperature
    assert outside == pytest.approx([table.temperature[0] - 10.0, table.temperature[-1] + 10.0], abs=1e-6)


def test_each_node_reads_its_own_materials_table(solid):
    tables = tuple(enthalpy_table(solid(10.0, heat_capacity=c)) for c in (2e6, 4e6))
    owner = np.array([0, 1, 0, 1])
    temperature = np.array([300.0, 400.0, 500.0, 600.0])
    enthalpy, evaporated = start_enthalpy(temperature, tables=tables, node_material=owner)
    assert node_tables(tables, owner).look_up(enthalpy).temperature == pytest.approx(temperature, abs=1e-9)
    assert not evaporated.any()


def test_what_starts_above_boiling_starts_dry(solid):
    wet = enthalpy_table(solid(0.5, heat_capacity=4e6, boiling=373.15, latent_heat=1.6e9))
    start = np.array([350.0, 390.0])
    enthalpy, evaporated = start_enthalpy(start, tables=(wet,), node_material=np.zeros(2, dtype=int))
    assert evaporated.tolist() == [0.0, 1.6e9]
    assert enthalpy[1] - enthalpy[0] == pytest.approx(40.0 * 4e6 + 1.6e9, rel=1e-9)


def test_a_start_outside_the_tables_is_out_of_range(solid):
    table = enthalpy_table(solid(0.5, heat_capacity=4e6))
    with pytest.raises(OutOfRange, match="3000"):
        start_enthalpy(np.array([3000.0]), tables=(table,), node_material=np.zeros(1, dtype=int))


def test_the_evaporated_part_never_falls_and_never_passes_the_latent_heat():
    before = 0.0
    for enthalpy in (50.0, 150.0, 120.0, 90.0, 140.0, 190.0, 500.0, 0.0):
        after = evaporated_part(
            np.array([enthalpy]),
            before=np.array([before]),
            saturated=np.array([100.0]),
            latent=np.array([80.0]),
        )[0]
        assert before <= after <= 80.0
        before = after
    assert before == 80.0


@pytest.mark.parametrize(("low", "high"), [(260.0, 272.553), (330.0, 330.1), (400.0, 400.013)])
def test_melting_ends_on_an_entry_of_the_table_so_that_its_corner_is_not_cut(low, high, solid):
    table = enthalpy_table(solid(0.5, heat_capacity=3e6, melting=(low, high), latent_heat=2.5e8))
    assert np.abs(table.temperature - high).min() < 1e-9
    assert np.abs(table.temperature - low).min() < 1e-6
    begin, end = table.enthalpy(np.array([low, high]))
    assert end - begin == pytest.approx(2.5e8 + 3e6 * (high - low), rel=1e-6)
    assert table.temperature[-1] > 2300.0


def test_a_small_heat_of_melting_does_not_shrink_the_table(solid):
    table = enthalpy_table(solid(0.5, heat_capacity=3e6, melting=(330.0, 330.1), latent_heat=2e6))
    assert np.abs(table.temperature - 330.1).min() < 1e-9
    assert table.temperature[-1] > 2400.0


def test_an_error_counts_where_ice_melts_as_it_does_beside_it(solid):
    melting = enthalpy_table(solid(0.5, heat_capacity=4e6, melting=(330.0, 330.1), latent_heat=2e8))
    plain = enthalpy_table(solid(0.5, heat_capacity=4e6))
    assert melting.least_slope == pytest.approx(1.0 / 4e6)
    tables = node_tables((melting, plain), np.array([1, 0]))
    assert tables.melts
    assert tables.least_slope == pytest.approx([0.0, 1.0 / 4e6])
    assert not node_tables((plain,), np.array([0])).melts


def test_decomposition_is_spent_like_boiling(solid):
    boils = enthalpy_table(solid(0.5, heat_capacity=4e6, boiling=500.0, latent_heat=2e8))
    chars = enthalpy_table(solid(0.5, heat_capacity=4e6, decomposition=500.0, latent_heat=2e8))
    assert (chars.saturated, chars.latent) == (boils.saturated, boils.latent)
    assert chars.temperature == pytest.approx(boils.temperature)


def test_a_step_across_the_end_of_melting_is_solved_with_the_steeper_slope(solid):
    table = enthalpy_table(solid(0.5, heat_capacity=3e6, melting=(330.0, 331.0), latent_heat=2.5e8))
    end = float(table.enthalpy(np.array([331.0]))[0])
    # in the last cell of the melt, in one well inside it, in the first one beyond, and that of another kind
    sensible = np.array([end - 0.5 * table.spacing, end - 9.5 * table.spacing, end + 0.5 * table.spacing])
    tables = node_tables((table,), np.zeros(3, dtype=int))
    melting, beyond = tables.look_up(sensible).tau_slope[1:]
    assert beyond > 50.0 * melting
    warming, cooling = (tables.slope_ahead(sensible, rate=np.full(3, sign)) for sign in (1.0, -1.0))
    assert warming == pytest.approx([beyond, melting, beyond], rel=0.02)
    assert cooling == pytest.approx([melting, melting, beyond], rel=0.02)


def test_where_the_law_is_smooth_the_sign_of_a_rate_decides_nothing(solid):
    smooth = solid(
        0.5, heat_capacity=lambda t: 3e6 + 2e3 * (t - 273.15), melting=(330.0, 340.0), latent_heat=1e7
    )
    tables = node_tables((enthalpy_table(smooth),), np.zeros(50, dtype=int))
    sensible = enthalpy_table(smooth).enthalpy(np.linspace(280.0, 380.0, 50))
    ahead, behind = (tables.slope_ahead(sensible, rate=np.full(50, sign)) for sign in (1.0, -1.0))
    assert np.array_equal(ahead, behind)
    assert np.array_equal(ahead, tables.look_up(sensible).tau_slope)
