"""A body warmed evenly grows by its tables and bears nothing, whatever its parts are of and where it starts.

Source: thermal strain of a free body, alpha(T) (T - T_ref) - alpha(T0) (T0 - T_ref), alpha the secant from
T_ref (the definition of handbooks' mean coefficients, from memory). By hand, of alpha 22e-6 per K at 250 K,
24e-6 at 350 K and 28e-6 at 550 K, from 300 K: at 260 K 22.2e-6 * -40 = -888e-6, at 450 K 26e-6 * 150 =
3900e-6; from 260 to 450 K 4788e-6.
Tolerance: 1e-9 of the growth, 1e-11 of E alpha (T - T0) for the stress (round-off).
"""

import dataclasses

import numpy as np
import pytest

from optitip.solvers.elastic import Restraint
from optitip.solvers.elastic_lines import wall_stress

GROWN = 4788e-6


@pytest.fixture
def body(solve_lattice, elastic, ball_lattice):
    """Return a thick half ball of three metals, one behind another, free and warmed from 260 to 450 K."""

    def solved(*, other=1.0, temperature=450.0):
        alpha = np.array([22e-6, 24e-6, 28e-6])
        metals = [
            dataclasses.replace(
                elastic(modulus, expansion=alpha, temperature=(250.0, 350.0, 550.0)),
                reference_temperature=300.0,
                poisson=poisson,
            )
            for modulus, poisson in ((70e9, 0.33), (200e9, 0.29), (16e9, 0.4))
        ]
        metals[1] = dataclasses.replace(metals[1], expansion=other * alpha)
        lattice = ball_lattice(0.02, 0.03, strips=12, across=4)
        return solve_lattice(
            lattice,
            elastic=tuple(metals),
            restraint=Restraint.FREE,
            temperature=np.full(lattice.shape[:2], temperature),
            start=260.0,
            strip_zone=np.repeat([0, 1, 2], 4),
        )

    return solved


def test_it_grows_by_the_strain_integrated_by_hand(body):
    grown = body()
    moved = grown.fields.total_movement[0].reshape(grown.points.shape)
    np.testing.assert_allclose(moved[..., 0], GROWN * grown.points[..., 0], rtol=1e-9, atol=1e-16)
    axial = moved[..., 1] - moved[-1, 0, 1]
    np.testing.assert_allclose(axial, GROWN * grown.points[..., 1], rtol=1e-9, atol=1e-15)


def test_nothing_is_stressed_but_for_round_off(body):
    grown = body()
    bearable = 1e-11 * 200e9 * GROWN
    assert np.abs(grown.fields.total).max() < bearable
    wall = wall_stress(grown.body, loads=grown.loads, fields=grown.fields)
    assert np.abs(wall.total).max() < bearable


def test_one_metal_that_grows_otherwise_is_felt(body):
    grown = body(other=1.01)
    assert np.abs(grown.fields.total).max() > 1e-3 * 200e9 * GROWN


def test_a_body_at_its_start_temperature_has_not_moved(body):
    assert np.abs(body(temperature=260.0).fields.total_movement).max() < 1e-18
