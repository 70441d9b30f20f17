"""Heat is neither made nor lost: closed bodies, joints of any conductance, drying, and the two balances."""

from dataclasses import replace

import numpy as np
import pytest

from optitip.solvers.body import Sink
from optitip.solvers.march import march


def _metal(solid):
    return solid(lambda t: 14.6 + 0.0127 * (t - 273.15), heat_capacity=lambda t: 3.5e6 + 2e3 * (t - 273.15))


def _light_metal(solid):
    return solid(lambda t: 167.0 + 0.07 * (t - 293.15), heat_capacity=lambda t: 2.4e6 + 1.1e3 * (t - 293.15))


@pytest.mark.parametrize("conductance", [50.0, 1e3, 1e5, 1e8])
def test_a_closed_body_of_two_metals_keeps_its_heat_at_any_joint(column, solid, conductance):
    z = np.linspace(0.0, 2e-3, 9)
    body = column((z, _light_metal(solid)), (2e-3 + z, _metal(solid)), joints=[conductance])
    start = np.where(np.arange(body.model.volume.size) < 18, 600.0, 300.0)
    history = march(body.model, start=start, end_time=30.0)
    moved = abs(history.sensible[-1, 0])
    assert moved > 1e5
    assert abs(history.sensible[-1].sum()) < 1e-10 * moved
    assert history.steps < 100


def test_a_closed_bodys_metals_end_at_the_one_temperature_their_heat_allows(column, solid):
    z = np.linspace(0.0, 2e-3, 5)
    body = column(
        (z, solid(167.0, heat_capacity=2.4e6)), (2e-3 + z, solid(0.5, heat_capacity=3.6e6)), joints=[400.0]
    )
    start = np.where(np.arange(body.model.volume.size) < 10, 500.0, 300.0)
    history = march(body.model, start=start, end_time=1000.0, tolerance=0.01)
    assert history.temperature[-1] == pytest.approx((2.4 * 500.0 + 3.6 * 300.0) / 6.0, abs=0.01)


def test_a_joint_of_zero_conductance_passes_no_heat(column, solid, surface):
    z = np.linspace(0.0, 2e-3, 5)
    body = column((z, _light_metal(solid)), (2e-3 + z, _metal(solid)), joints=[0.0])
    hot = surface(body.near, area=body.area, film=800.0, recovery=700.0)
    history = march(body.model, surface=hot, start=300.0, end_time=20.0)
    assert history.sensible[-1, 0] > 1e5
    assert np.abs(history.sensible[:, 1]).max() < 1e-9 * history.sensible[-1, 0]


def test_a_wall_split_into_two_bonded_layers_is_the_whole_wall(column, solid, surface):
    metal = _light_metal(solid)
    whole = column((np.linspace(0.0, 4e-3, 17), metal))
    split = column((np.linspace(0.0, 2e-3, 9), metal), (np.linspace(2e-3, 4e-3, 9), metal), joints=[1e8])
    ends = []
    for wall in (whole, split):
        hot = surface(wall.near, area=wall.area, film=2000.0, recovery=800.0)
        history = march(wall.model, surface=hot, start=300.0, end_time=5.0, tolerance=1e-3)
        ends.append(history.temperature[-1, [*wall.near, *wall.far]])
    assert ends[0] == pytest.approx(ends[1], abs=2e-3)


def test_two_bonded_metals_pass_the_heat_that_their_resistances_in_series_pass(column, solid):
    z = np.linspace(0.0, 2e-3, 5)
    body = column(
        (z, solid(167.0, heat_capacity=2.4e6)), (2e-3 + z, solid(16.0, heat_capacity=4e6)), joints=[1e8]
    )
    sinks = [
        Sink(nodes=nodes, conductance=2000.0 * body.area, temperature=temperature)
        for nodes, temperature in ((body.near, 500.0), (body.far, 300.0))
    ]
    history = march(body.model, sinks=sinks, start=400.0, end_time=500.0, tolerance=1e-3)
    flux = 200.0 / (2.0 / 2000.0 + 2e-3 / 167.0 + 2e-3 / 16.0 + 1e-8)
    assert 2000.0 * (500.0 - history.temperature[-1, 0]) == pytest.approx(flux, rel=1e-4)


def test_a_captive_joint_passes_what_its_gap_in_series_lets_pass(column, solid):
    z = np.linspace(0.0, 2e-3, 5)
    metal, food = solid(167.0, heat_capacity=2.4e6), solid(0.5, heat_capacity=3.6e6)
    body = column((z, metal), (2e-3 + z, food), joints=[800.0], gap_rate=3e-7, gap_reference=293.15)
    sinks = [
        Sink(nodes=nodes, conductance=1e6 * body.area, temperature=temperature)
        for nodes, temperature in ((body.near, 500.0), (body.far, 300.0))
    ]
    history = march(body.model, sinks=sinks, start=300.0, end_time=300.0, tolerance=1e-3)
    outer, inner = history.temperature[-1, [body.layers[0][-1], body.layers[1][0]]]
    gap = 3e-7 * (outer - 293.15)
    flux = 0.5 * (inner - 300.0) / 2e-3
    assert gap > 5e-5
    assert flux == pytest.approx((outer - inner) / (1.0 / 800.0 + gap / 0.026), rel=1e-3)


def test_a_captive_joint_colder_than_its_reference_stays_pressed(column, solid):
    z = np.linspace(0.0, 2e-3, 5)
    metal, food = solid(167.0, heat_capacity=2.4e6), solid(0.5, heat_capacity=3.6e6)
    ends = []
    for options in ({}, {"gap_rate": 3e-7, "gap_reference": 400.0}):
        body = column((z, metal), (2e-3 + z, food), joints=[800.0], **options)
        start = np.where(np.arange(body.model.volume.size) < 10, 390.0, 300.0)
        ends.append(march(body.model, start=start, end_time=10.0).temperature[-1])
    assert np.array_equal(*ends)


def _wet(solid):
    return solid(
        lambda t: np.where(t > 373.15, 0.15, 0.6),
        heat_capacity=lambda t: np.where(t > 373.15, 1.2e6, 4e6),
        boiling=373.15,
        latent_heat=1.6e9,
    )


def test_drying_never_gives_heat_back(column, solid, surface):
    slab = column((np.linspace(0.0, 3e-3, 21), _wet(solid)))
    air = surface(
        slab.near,
        area=slab.area,
        film=1000.0,
        recovery=[700.0, 700.0, 300.0, 300.0, 700.0, 700.0],
        time=[0.0, 60.0, 61.0, 4000.0, 4001.0, 5000.0],
    )
    history = march(slab.model, surface=air, start=300.0, end_time=4060.0, kinks=[60.0, 61.0, 4000.0, 4001.0])
    dried = history.evaporated
    cooled = np.searchsorted(history.time, 4000.0)
    assert (np.diff(dried, axis=0) >= 0.0).all()
    assert dried.max() == pytest.approx(1.6e9)
    # cooled to the start, the sensible heat is all given back and the latent heat not at all
    assert history.temperature[cooled] == pytest.approx(300.0, abs=0.2)
    assert history.latent[cooled, 0] > 1e5
    assert abs(history.sensible[cooled, 0]) < 0.01 * history.latent[cooled, 0]
    assert history.convected[cooled] == pytest.approx(history.latent[cooled, 0], rel=0.01)
    assert abs(history.closure) < 1e-11


def test_what_has_dried_passes_boiling_without_a_second_latent_heat(column, solid, surface):
    thin = column((np.linspace(0.0, 1e-4, 3), _wet(solid)))
    hot = surface(thin.near, area=thin.area, film=500.0, recovery=500.0)
    dried = march(thin.model, surface=hot, start=400.0, end_time=60.0, tolerance=0.01)
    assert dried.evaporated[0] == pytest.approx(1.6e9)
    assert dried.latent[-1, 0] == 0.0
    assert dried.temperature[-1] == pytest.approx(500.0, abs=0.05)


def test_a_boiling_slab_holds_its_temperature_until_its_water_has_left(column, solid):
    thin = column(
        (np.linspace(0.0, 1e-3, 3), solid(500.0, heat_capacity=4e6, boiling=373.15, latent_heat=1.6e9))
    )
    source = Sink(
        nodes=thin.near, conductance=1e-3 * thin.area, temperature=1e8
    )  # 1e5 W/m2, near enough constant
    history = march(thin.model, sinks=[source], start=353.15, end_time=17.0, tolerance=0.01)
    # 20 K of 4 MJ/(m3 K) over 1 mm at 1e5 W/m2 take 0.8 s, the water 16 s
    at = history.temperature_at(np.array([0.4, 1.5, 8.0, 16.0]), nodes=thin.far)
    assert at[:, 0] == pytest.approx([363.15, 373.15, 373.15, 373.15], abs=0.2)
    assert history.temperature[-1] == pytest.approx(378.15, abs=0.3)
    assert history.latent[-1, 0] == pytest.approx(1.6e6, rel=1e-12)


def test_both_balances_close_on_a_heated_and_radiating_body(column, solid, surface):
    z = np.linspace(0.0, 2e-3, 9)
    body = column((z, _light_metal(solid)), (2e-3 + z, _metal(solid)), joints=[500.0])
    hot = surface(
        body.near,
        area=body.area,
        film=[0.0, 900.0, 60.0],
        recovery=[300.0, 700.0, 280.0],
        time=[0.0, 5.0, 60.0],
        emissivity=0.8,
        surroundings=[290.0, 250.0, 290.0],
    )
    base = Sink(nodes=body.far, conductance=40.0 * body.area, temperature=293.15)
    history = march(body.model, surface=hot, sinks=[base], start=300.0, end_time=60.0, kinks=[5.0])
    assert abs(history.closure) < 1e-12
    assert 0.0 < abs(history.balance) < 1e-3
    assert history.heat_in[-1] == pytest.approx(history.sensible[-1].sum(), rel=1e-10)
    assert history.radiated[-1] < 0.0
    assert history.sunk[-1, 0] < 0.0


@pytest.mark.parametrize("emissivity", [0.0, 0.8])
def test_both_balances_close_on_a_body_in_the_sun(column, solid, surface, emissivity):
    body = column((np.linspace(0.0, 2e-3, 9), _light_metal(solid)))
    air = surface(
        body.near,
        area=body.area,
        film=[8.0, 8.0],
        time=[0.0, 40.0],
        emissivity=emissivity,
        surroundings=280.0,
    )
    lit = replace(air, absorbed=[[0.0, 0.0], [6000.0, 6000.0]])
    history = march(body.model, surface=lit, start=300.0, end_time=60.0, kinks=[40.0])
    assert history.temperature[-1].min() > 340.0
    assert abs(history.closure) < 1e-12
    assert 0.0 < abs(history.balance) < 1e-3
    if emissivity == 0.0:  # then it is all that counts as radiated, half of it while it rises
        assert history.radiated[-1] == pytest.approx(6000.0 * (20.0 + 20.0), rel=1e-9)


def test_the_independent_balance_shrinks_with_the_tolerance(column, solid, surface):
    body = column((np.linspace(0.0, 2e-3, 9), _light_metal(solid)))
    residuals = []
    for tolerance in (1.0, 0.01):
        hot = surface(body.near, area=body.area, film=[0.0, 900.0], recovery=[300.0, 700.0], time=[0.0, 5.0])
        history = march(body.model, surface=hot, start=300.0, end_time=30.0, kinks=[5.0], tolerance=tolerance)
        residuals.append(abs(history.balance))
    assert residuals[1] < 0.1 * residuals[0]
