import numpy as np
import pytest

from optitip.solvers.elastic import Restraint, StressLoads, solve_stress


@pytest.fixture
def thin_tube(tube_lattice):
    return tube_lattice(0.0245, 0.0255, length=0.06, strips=24, across=2)


def test_outside_pressure_presses_the_band_together(solve_lattice, elastic, thin_tube):
    tube = solve_lattice(thin_tube, elastic=elastic(), outline_pressure=1e5)
    hoop = tube.fields.primary[0, 6, :, 2]
    np.testing.assert_allclose(hoop, -1e5 * 0.0255 / 0.001, rtol=0.03)


def test_pocket_pressure_pulls_the_band_apart(solve_lattice, elastic, thin_tube):
    tube = solve_lattice(thin_tube, elastic=elastic(), inner_pressure=1e5)
    hoop = tube.fields.primary[0, 6, :, 2]
    np.testing.assert_allclose(hoop, 1e5 * 0.0245 / 0.001, rtol=0.03)


def test_a_push_fore_presses_the_aft_end(solve_lattice, elastic, thin_tube):
    tube = solve_lattice(thin_tube, elastic=elastic(), acceleration=100.0)
    assert tube.fields.primary[0, -1, :, 1].max() < 0.0


def test_a_wall_held_at_both_ends_is_pressed_when_warmed(solve_lattice, elastic, thin_tube):
    tube = solve_lattice(
        thin_tube,
        elastic=elastic(),
        restraint=Restraint.BOTH_FACES,
        temperature=np.full(thin_tube.shape[:2], 400.0),
    )
    np.testing.assert_allclose(tube.fields.total[0, ..., 1], -70e9 * 23.6e-6 * 100.0, rtol=1e-9)
    assert not tube.fields.primary.any()


def test_a_softer_wall_moves_more_under_the_same_pressure(solve_lattice, elastic, thin_tube):
    material = elastic(np.array([70e9, 35e9]), temperature=(300.0, 500.0))
    pressed = [
        solve_lattice(
            thin_tube,
            elastic=material,
            temperature=np.full(thin_tube.shape[:2], temperature),
            outline_pressure=1e5,
        ).fields.primary_movement
        for temperature in (300.0, 500.0)
    ]
    np.testing.assert_allclose(pressed[1], 2.0 * pressed[0], rtol=1e-8, atol=1e-16)


def test_instants_are_solved_apart_from_each_other(solve_lattice, elastic, thin_tube):
    hot = np.full(thin_tube.shape[:2], 350.0)
    one = solve_lattice(
        thin_tube, elastic=elastic(), temperature=hot, outline_pressure=2e5, acceleration=50.0
    )
    two = solve_stress(
        one.body,
        loads=StressLoads(
            temperature=np.concatenate((np.full((1, hot.size), 500.0), one.loads.temperature)),
            start_temperature=300.0,
            acceleration=np.array([0.0, 50.0]),
            outline_pressure=np.concatenate((np.zeros((1, 25)), one.loads.outline_pressure)),
            inner_pressure=np.zeros((2, 25)),
        ),
    )
    np.testing.assert_allclose(two.total[1], one.fields.total[0], rtol=1e-9, atol=1e-3)


def test_each_node_has_its_own_stress_free_temperature(solve_lattice, elastic, thin_tube):
    warm = 300.0 + 1e3 * thin_tube[..., 1]
    start = warm.ravel()
    tube = solve_lattice(thin_tube, elastic=elastic(), temperature=warm)
    loads = StressLoads(
        temperature=tube.loads.temperature,
        start_temperature=start,
        acceleration=np.zeros(1),
        outline_pressure=np.zeros((1, 25)),
        inner_pressure=np.zeros((1, 25)),
    )
    assert np.abs(tube.fields.total).max() > 1e6
    assert np.abs(solve_stress(tube.body, loads=loads).total).max() < 1e-3


@pytest.mark.parametrize(("restraint", "flat"), [(Restraint.AFT_FACE, True), (Restraint.FREE, False)])
def test_a_held_end_stays_flat_and_a_free_one_does_not(solve_lattice, elastic, tube_lattice, restraint, flat):
    lattice = tube_lattice(0.02, 0.03, length=0.06, strips=12, across=4)
    heat = 300.0 + 1e4 * (0.03 - lattice[..., 0])
    tube = solve_lattice(lattice, elastic=elastic(), restraint=restraint, temperature=heat)
    end = tube.fields.total_movement[0][tube.cells.rows[-1], 1]
    assert (np.ptp(end) == 0.0) == flat
