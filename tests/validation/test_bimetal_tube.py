"""Two tubes of different metals one in the other, bonded, held at their ends and warmed.

Source: Lame's tube with the thermal mismatch as its load (Timoshenko & Goodier, Theory of Elasticity, for one
tube; the pair is derived here). Between radii, sigma_r = A - B/r^2, sigma_theta = A + B/r^2, and in plane
strain u = (1 + nu)/E [(1 - 2 nu) A r + B/r] + (1 + nu) alpha dT r. With q pressed between the two at c, the
inner tube (bore a) has A = -q c^2/(c^2 - a^2), B = A a^2, the outer (outside b) A = q c^2/(b^2 - c^2),
B = A b^2; u is one at c, so with one nu q (S_i + S_o) = (alpha_i - alpha_o) dT, where

    S_i = ((1 - 2 nu) c^2 + a^2)/(E_i (c^2 - a^2)), S_o = ((1 - 2 nu) c^2 + b^2)/(E_o (b^2 - c^2))

By hand, a 20, c 25, b 30 mm, nu 0.3, inner 70 GPa and 23e-6 (aluminium), outer 200 GPa and 12e-6 (steel),
100 K: S_i = (250 + 400)/(70e9 * 225) = 4.1270e-11, S_o = (250 + 900)/(200e9 * 275) = 2.0909e-11 per Pa,
q = 11e-4/6.2179e-11 = 17.691 MPa; hoop in the aluminium at the bore -2 * 17.691 * 625/225 = -98.28 MPa, in
the steel at c 17.691 * 1525/275 = 98.10 MPa.
Tolerance: 0.1 % for the stress at the reduced points, 1e-4 for q by the movement of the outside.
"""

import numpy as np
import pytest

from optitip.solvers.elastic import Restraint, StressLoads, solve_stress, stress_body
from optitip.solvers.elastic_cells import nine_node_cells
from optitip.solvers.elastic_shape import REDUCED

BORE, BETWEEN, OUTSIDE = 0.020, 0.025, 0.030


@pytest.fixture
def tube(elastic):
    radius = np.linspace(OUTSIDE, BORE, 33)
    lattice = np.stack(np.broadcast_arrays(radius[None, :], np.array([0.0, 0.005, 0.01])[:, None]), axis=-1)
    rows = np.arange(3 * 33).reshape(3, 33)
    cells = nine_node_cells(rows, strip_zone=np.zeros(2, dtype=np.int64))
    body = stress_body(
        lattice.reshape(-1, 2),
        cells=cells,
        materials=(elastic(200e9, poisson=0.3, expansion=12e-6), elastic(poisson=0.3, expansion=23e-6)),
        cell_material=np.repeat([0, 1], 8),
        density=np.array([7900.0, 2700.0]),
        restraint=Restraint.BOTH_FACES,
    )
    none = np.zeros((1, 3))
    loads = StressLoads(
        temperature=np.full((1, rows.size), 400.0),
        start_temperature=300.0,
        acceleration=np.zeros(1),
        outline_pressure=none,
        inner_pressure=none,
    )
    place = lattice.reshape(-1, 2)[cells.nodes][..., 0] @ REDUCED.T
    return place, solve_stress(body, loads=loads)


def closed_form(place):
    """Return radial, axial and hoop stress [Pa] at radii, from the q worked out by hand."""
    q = 11e-4 / (650.0 / (70e9 * 225.0) + 1150.0 / (200e9 * 275.0))
    assert q == pytest.approx(17.691e6, rel=1e-4)
    inside = place < BETWEEN
    A = np.where(inside, -q * 625.0 / 225.0, q * 625.0 / 275.0)
    B = A * np.where(inside, BORE, OUTSIDE) ** 2
    free = np.where(inside, 70e9 * 23e-4, 200e9 * 12e-4)
    return A - B / place**2, 0.6 * A - free, A + B / place**2


def test_the_stress_of_both_tubes_is_the_closed_form(tube):
    place, fields = tube
    radial, axial, hoop = closed_form(place)
    found = fields.total[0]
    assert found[..., 2] == pytest.approx(hoop, rel=1e-3)
    assert found[..., 1] == pytest.approx(axial, rel=1e-3)
    assert found[..., 0] == pytest.approx(radial, abs=1e-3 * 17.691e6)


def test_the_closed_form_has_the_stress_worked_out_by_hand():
    _, _, hoop = closed_form(np.array([BORE, BETWEEN]))
    assert hoop / 1e6 == pytest.approx([-98.28, 98.10], rel=1e-3)


def test_the_outside_moves_as_the_pressure_between_them_says(tube):
    _, fields = tube
    q = 17.691e6
    expected = 1.3 * (q * 2 * 625.0 / 275.0 * 0.7 / 200e9 + 12e-4) * OUTSIDE
    assert fields.total_movement[0, 0, 0] == pytest.approx(expected, rel=1e-4)
