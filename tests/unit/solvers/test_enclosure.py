from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from optitip.solvers.assembly import assemble
from optitip.solvers.body import Enclosure
from optitip.solvers.enclosure import PocketFlux
from optitip.solvers.linearised import LinearisedHeat
from optitip.solvers.march import march
from optitip.solvers.surface import STEFAN_BOLTZMANN
from optitip.solvers.system import HeatSystem

FAR = 2.0  # m: two plates that only the pocket joins


@pytest.fixture
def plates(column, solid):
    """Return two thin plates of metal whose inner faces see one pocket."""
    z = np.linspace(0.0, 1e-3, 3)
    pair = column((z, solid(200.0, heat_capacity=2e6)), (FAR + z, solid(200.0, heat_capacity=3e6)))

    def made(*, film, emissivity, heat_capacity):
        faces = np.concatenate([pair.layers[0][-1] + [0, 1], pair.layers[1][0] + [0, 1]])
        pocket = Enclosure(
            nodes=faces,
            area=np.tile(pair.area, 2),
            film=film,
            emissivity=np.repeat(emissivity, 2),
            heat_capacity=heat_capacity,
        )
        return pair, assemble(replace(pair.body, enclosure=pocket))

    return made


def _start(pair, hot, cold):
    start = np.empty(pair.model.volume.size)
    start[: pair.layers[1][0]], start[pair.layers[1][0] :] = hot, cold
    return start


def test_two_plates_even_out_through_still_air_as_two_lumps_do(plates):
    pair, model = plates(film=8.0, emissivity=[0.0, 0.0], heat_capacity=1e-3)
    history = march(model, start=_start(pair, 400.0, 300.0), end_time=400.0, tolerance=1e-3)
    # half the film between them: d(T1 - T2)/dt = -(h/2)(1/C1 + 1/C2)(T1 - T2)
    apart = history.temperature[:, 0] - history.temperature[:, -1]
    expected = 100.0 * np.exp(-4.0 * (1.0 / 2e3 + 1.0 / 3e3) * history.time)
    assert apart == pytest.approx(expected, rel=2e-3)


def test_plates_and_air_radiate_as_the_three_lumps_of_a_general_solver(plates):
    pair, model = plates(film=5.0, emissivity=[0.3, 0.8], heat_capacity=300.0)
    history = march(model, start=_start(pair, 800.0, 300.0), end_time=120.0, tolerance=1e-3)

    def rates(_time, y):
        q = 5.0 * (y[2] - y[:2]) + np.array([0.3, 0.8]) * STEFAN_BOLTZMANN * (y[2] ** 4 - y[:2] ** 4)
        return [q[0] / 2e3, q[1] / 3e3, -q.sum() / 300.0]

    exact = solve_ivp(rates, (0.0, 120.0), [800.0, 300.0, 550.0], rtol=1e-10, atol=1e-8, t_eval=history.time)
    assert history.temperature[:, 0] == pytest.approx(exact.y[0], abs=0.05)
    assert history.temperature[:, -1] == pytest.approx(exact.y[1], abs=0.05)
    assert history.pocket == pytest.approx(exact.y[2], abs=0.05)


def test_what_one_face_loses_the_others_and_the_air_gain(plates):
    pair, model = plates(film=5.0, emissivity=[0.3, 0.8], heat_capacity=40.0)
    history = march(model, start=_start(pair, 800.0, 300.0), end_time=50.0)
    stored = history.sensible[-1].sum() + 40.0 * (history.pocket[-1] - history.pocket[0])
    assert stored == pytest.approx(0.0, abs=1e-10 * history.sensible[-1].max())


def test_no_air_and_no_radiation_leave_the_plates_as_they_are(plates):
    pair, model = plates(film=0.0, emissivity=[0.0, 0.0], heat_capacity=1.0)
    history = march(model, start=_start(pair, 800.0, 300.0), end_time=50.0)
    assert history.temperature[-1] == pytest.approx(history.temperature[0], abs=1e-7)


def test_the_bordered_solver_inverts_mass_over_length_less_the_jacobian(plates, surface):
    pair, model = plates(film=5.0, emissivity=[0.3, 0.8], heat_capacity=0.05)
    heated = surface(pair.near, area=pair.area, film=300.0, recovery=700.0, emissivity=0.4)
    still = np.zeros((1, model.volume.size))
    system = HeatSystem((model,), surfaces=(heated,), sinks=(), evaporated=still)
    temperature = _start(pair, 700.0, 320.0)
    enthalpy = np.concatenate(
        [
            table.enthalpy(temperature[np.flatnonzero(model.node_material == i)])
            for i, table in enumerate(model.tables)
        ]
    )
    state = system.begin(enthalpy, pocket=500.0)
    length = 0.05
    right = np.random.default_rng(5).normal(size=state.shape) * 1e3
    right[:, system.nodes] = 0.3
    gain = LinearisedHeat(system, time=0.0, state=state).solver(length)(right)
    share = 1e-3
    change = system.rate(0.0, state + share * gain) - system.rate(0.0, state - share * gain)
    left = system.mass / length * gain - change / (2.0 * share)
    assert left == pytest.approx(right, rel=1e-5, abs=1e-5 * np.abs(right).max())
    assert left[0, system.nodes] == pytest.approx(0.3, rel=1e-4)


def test_the_slopes_of_the_faces_are_the_heats_own():
    pocket = PocketFlux(
        [Enclosure(nodes=[0, 1], area=[2.0, 3.0], film=4.0, emissivity=[0.2, 0.9], heat_capacity=1.0)]
    )
    faces, air, step = np.array([[400.0, 900.0]]), np.array([[600.0]]), 1e-3
    facing = pocket.facing(faces, pocket=air)
    more_air = pocket.heat(faces, pocket=air + step) - pocket.heat(faces, pocket=air - step)
    hotter = pocket.heat(faces + step, pocket=air) - pocket.heat(faces - step, pocket=air)
    assert facing.by_pocket == pytest.approx(more_air / (2 * step), rel=1e-6)
    assert facing.by_face == pytest.approx(-hotter / (2 * step), rel=1e-6)
    assert (facing.heat > 0.0).tolist() == [[True, False]]
