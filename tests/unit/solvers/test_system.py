import numpy as np
import pytest

from optitip.solvers.body import Sink, Surface
from optitip.solvers.enthalpy import start_enthalpy
from optitip.solvers.linearised import LinearisedHeat
from optitip.solvers.system import PLATEAU, HeatSystem


def _system(body, *, start, film=((500.0, 400.0), (700.0, 300.0)), sinks=()):
    heated = Surface(
        nodes=body.near,
        area=body.area,
        time=[0.0, 10.0],
        wall=[250.0, 950.0],
        film=np.repeat(np.array(film)[:, None, :], 2, axis=1),
        recovery=[[600.0, 650.0], [900.0, 850.0]],
        emissivity=[0.5, 0.5],
        surroundings=[280.0, 320.0],
    )
    model = body.model
    enthalpy, evaporated = start_enthalpy(start, tables=model.tables, node_material=model.node_material)
    system = HeatSystem((model,), surfaces=(heated,), sinks=sinks, evaporated=evaporated[None])
    return system, system.begin(enthalpy, pocket=0.0)


@pytest.fixture
def layers(column, solid):
    z = np.linspace(0.0, 1e-3, 4)
    return column(
        (z, solid(20.0, heat_capacity=2e6)), (1e-3 + z, solid(0.5, heat_capacity=4e6)), joints=[300.0]
    )


@pytest.fixture
def joined(layers):
    start = np.linspace(500.0, 300.0, 16)
    return _system(
        layers, start=start, sinks=[Sink(nodes=layers.far, conductance=[3.0, 5.0], temperature=290.0)]
    )


def test_the_solver_inverts_mass_over_length_less_the_jacobian(joined):
    system, state = joined
    length, time = 0.05, 4.0
    right = np.random.default_rng(5).normal(size=state.shape) * 1e4
    gain = LinearisedHeat(system, time=time, state=state).solver(length)(right)
    # the rate is followed along the gain, small enough to stay on one piece of every table
    share = 1e-3
    change = (system.rate(time, state + share * gain) - system.rate(time, state - share * gain)) / (
        2.0 * share
    )
    assert system.mass / length * gain - change == pytest.approx(
        right, rel=1e-5, abs=1e-5 * np.abs(right).max()
    )


def test_the_slope_in_time_is_the_rates_own(joined):
    system, state = joined
    rise = (system.rate(4.0 + 1e-4, state) - system.rate(4.0 - 1e-4, state)) / 2e-4
    assert LinearisedHeat(system, time=4.0, state=state).rate_slope == pytest.approx(rise, rel=1e-5, abs=1e-3)


def test_the_border_sums_are_what_the_nodes_gain(joined):
    system, state = joined
    rate = system.rate(4.0, state)
    assert rate[0, : system.nodes].sum() == pytest.approx(rate[0, system.nodes :].sum(), rel=1e-10)


def test_two_sinks_are_summed_apart(layers):
    sinks = [
        Sink(nodes=layers.far, conductance=[3.0, 5.0], temperature=290.0),
        Sink(nodes=layers.near[:1], conductance=[2.0], temperature=450.0),
    ]
    system, state = _system(layers, start=np.full(16, 300.0), sinks=sinks)
    assert system.rate(0.0, state)[0, -2:] == pytest.approx([-80.0, 300.0])


@pytest.fixture
def boiling(column, solid):
    wet = solid(0.5, heat_capacity=4e6, boiling=373.15, latent_heat=1.6e9)
    return column((np.linspace(0.0, 1e-3, 3), wet))


def test_a_node_at_boiling_holds_its_temperature_while_it_is_heated_and_cools_at_once(boiling):
    system, state = _system(boiling, start=np.full(6, 373.15))
    full = np.ones(state.shape)
    assert (system.boiling(state, rate=full) == PLATEAU).all()
    assert (system.boiling(state, rate=-full) == 1.0).all()
    assert (system.boiling(state - 1e3, rate=full) == 1.0).all()


def test_what_has_evaporated_stays_evaporated_when_the_node_cools(boiling):
    system, state = _system(boiling, start=np.full(6, 373.15))
    wetter = state.copy()
    wetter[:, : system.nodes] += 4e8
    system.settle(wetter)
    cooled = wetter.copy()
    cooled[:, : system.nodes] -= 4e7
    system.settle(cooled)
    assert system.evaporated == pytest.approx(4e8)
    assert system.thermal(cooled).temperature == pytest.approx(363.15, abs=1e-6)
    # warmed again it boils where it left off
    assert system.thermal(wetter + 1e8).temperature == pytest.approx(373.15, abs=1e-6)
    assert (system.boiling(cooled, rate=np.ones(state.shape)) == 1.0).all()


def test_a_settled_record_is_not_changed_by_the_next(boiling):
    system, state = _system(boiling, start=np.full(6, 373.15))
    kept = system.evaporated
    state[:, : system.nodes] += 1e8
    system.settle(state)
    assert not kept.any()
