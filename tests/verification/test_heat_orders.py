"""The march's expected orders: two in space, three in time."""

import numpy as np
import pytest
from scipy.optimize import brentq
from scipy.special import j0, j1

from optitip.solvers import rodas
from optitip.solvers.assembly import assemble
from optitip.solvers.body import Sink, Surface
from optitip.solvers.enthalpy import start_enthalpy
from optitip.solvers.linearised import LinearisedHeat
from optitip.solvers.march import march
from optitip.solvers.system import HeatSystem


def _slopes(errors):
    return np.log2(np.array(errors[:-1]) / np.array(errors[1:]))


def _smoothly_heated(column, solid):
    """Return a system whose heating starts from nothing, so that its solution is smooth from the start."""
    plate = column((np.linspace(0.0, 20e-3, 4), solid(10.0, heat_capacity=2e6)))
    film = np.zeros((2, 2, 2))
    film[1] = [900.0, 500.0]  # grows with time, falls with the wall's own temperature
    heated = Surface(
        nodes=plate.near,
        area=plate.area,
        time=[0.0, 20.0],
        wall=[200.0, 1200.0],
        film=film,
        recovery=[[400.0, 400.0], [900.0, 900.0]],
        emissivity=[0.8, 0.8],
        surroundings=[300.0, 700.0],
    )
    sink = Sink(nodes=plate.far, conductance=300.0 * plate.area, temperature=300.0)
    start = np.full(plate.model.volume.size, 300.0)
    enthalpy, evaporated = start_enthalpy(
        start, tables=plate.model.tables, node_material=plate.model.node_material
    )
    system = HeatSystem((plate.model,), surfaces=(heated,), sinks=[sink], evaporated=evaporated[None])
    return system, system.begin(enthalpy, pocket=0.0)


def _run(system, *, state, steps, end):
    for number in range(steps):
        here = LinearisedHeat(system, time=number * end / steps, state=state)
        state = rodas.step(system, start=here, length=end / steps).state
    return state


def test_the_step_is_of_order_three_in_time_for_temperatures_and_for_the_heat_that_crossed(column, solid):
    system, start = _smoothly_heated(column, solid)
    end, nodes = 8.0, system.nodes
    exact = _run(system, state=start, steps=1280, end=end)
    states = [_run(system, state=start, steps=steps, end=end) for steps in (20, 40, 80, 160)]
    nodal = [np.abs(state[:, :nodes] - exact[:, :nodes]).max() for state in states]
    crossed = [np.abs(state[:, nodes:] - exact[:, nodes:]).max() for state in states]
    assert _slopes(nodal)[-1] == pytest.approx(3.0, abs=0.15)
    assert _slopes(crossed)[-1] == pytest.approx(3.0, abs=0.15)


def test_the_embedded_error_of_one_step_falls_with_the_third_power_of_its_length(column, solid):
    system, start = _smoothly_heated(column, solid)
    state = _run(system, state=start, steps=40, end=4.0)
    here = LinearisedHeat(system, time=4.0, state=state)
    lengths = 0.2 / 2.0 ** np.arange(4)
    errors = [
        np.abs(rodas.step(system, start=here, length=h).error[:, : system.nodes]).max() for h in lengths
    ]
    assert _slopes(errors)[-1] == pytest.approx(3.0, abs=0.2)


def test_the_slope_a_step_hands_on_is_the_rate_at_its_end(column, solid):
    system, start = _smoothly_heated(column, solid)
    here = LinearisedHeat(system, time=4.0, state=_run(system, state=start, steps=40, end=4.0))
    done = rodas.step(system, start=here, length=0.05)
    rate = system.rate(4.05, done.state) / system.mass
    assert done.slope[:, : system.nodes] == pytest.approx(rate[:, : system.nodes], rel=1e-3)


def test_a_plate_cooling_in_its_first_mode_is_of_order_two_in_space(column, solid, surface):
    k, c, half, film = 2.0, 2e6, 0.01, 400.0
    root = brentq(lambda zeta: zeta * np.tan(zeta) - film * half / k, 1e-6, 1.57)
    end, errors = 20.0, []
    for cells in (4, 8, 16, 32):
        z = np.linspace(0.0, half, cells + 1)
        plate = column((z, solid(k, heat_capacity=c)))
        cooled = surface(plate.far, area=plate.area, film=film, recovery=300.0)
        start = np.repeat(300.0 + 100.0 * np.cos(root * z / half), 2)
        history = march(plate.model, surface=cooled, start=start, end_time=end, tolerance=3e-5)
        decay = np.exp(-(root**2) * k / c / half**2 * end)
        errors.append(abs(history.temperature[-1, 0] - 300.0 - 100.0 * decay))
    assert _slopes(errors) == pytest.approx([2.0, 2.0, 2.0], abs=0.15)


def test_a_rod_cooling_in_its_first_mode_is_of_order_two_in_space(solid, surface, lattice_body, edge_areas):
    k, c, radius, film = 2.0, 2e6, 0.01, 400.0
    root = brentq(lambda zeta: zeta * j1(zeta) - film * radius / k * j0(zeta), 1e-6, 2.4)
    end, errors = 10.0, []
    for cells in (4, 8, 16):
        r = np.linspace(0.0, radius, cells + 1)
        lattice = np.stack(np.broadcast_arrays(r[None, :], np.array([0.0, 0.002])[:, None]), axis=-1)
        body, node = lattice_body(lattice, material=solid(k, heat_capacity=c))
        outer = node[:, -1]
        cooled = surface(outer, area=edge_areas(body.points, nodes=outer), film=film, recovery=300.0)
        start = 300.0 + 100.0 * j0(root * body.points[:, 0] / radius)
        model = assemble(body)
        history = march(model, surface=cooled, start=start, end_time=end, tolerance=3e-5)
        decay = np.exp(-(root**2) * k / c / radius**2 * end)
        exact = 300.0 + (start - 300.0) * decay
        # by volume: on the axis itself a lumped node errs by h2 log h
        volume = model.volume
        errors.append(np.sqrt(volume @ (history.temperature[-1] - exact) ** 2 / volume.sum()))
    assert _slopes(errors) == pytest.approx([2.0, 2.0], abs=0.15)
