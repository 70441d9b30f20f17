import dataclasses

import numpy as np
import pytest

from optitip.solvers.elastic import Restraint
from optitip.solvers.elastic_lines import von_mises, wall_stress
from optitip.solvers.elastic_shape import REDUCED


@pytest.fixture
def tube(solve_lattice, elastic, tube_lattice):
    return solve_lattice(tube_lattice(0.02, 0.03, length=0.04, strips=8, across=4), elastic=elastic())


def judged(shell, **how):
    return wall_stress(shell.body, loads=shell.loads, fields=shell.fields, **how)


def with_stress(tube, **components):
    """Return fields whose stress components r, z, theta, rz are functions of depth and of z."""
    points = tube.points.reshape(-1, 2)[tube.cells.nodes]
    depth, axial = 0.03 - points[..., 0] @ REDUCED.T, points[..., 1] @ REDUCED.T
    stress = np.zeros((1, *depth.shape, 4))
    for place, name in enumerate(("r", "z", "theta", "rz")):
        if name in components:
            stress[0, ..., place] = components[name](depth, axial)
    return dataclasses.replace(tube.fields, primary=stress, total=3 * stress)


def of(tube, **components):
    return wall_stress(tube.body, loads=tube.loads, fields=with_stress(tube, **components))


def test_a_linear_stress_keeps_its_values_at_both_faces(tube):
    wall = of(tube, theta=lambda depth, _: 5e6 + 1e9 * depth)
    np.testing.assert_allclose(wall.primary[0, :, 0, 2], 5e6)
    np.testing.assert_allclose(wall.primary[0, :, 1, 2], 15e6)
    np.testing.assert_allclose(wall.total, 3 * wall.primary)


def test_a_square_stress_is_cut_to_membrane_and_bending(tube):
    # x^2 over t: membrane t^2/3, bending (6/t^2) int x^2 (t/2 - x) dx = -t^2/2
    hoop = of(tube, theta=lambda depth, _: 1e12 * depth**2).primary[0, :, :, 2]
    np.testing.assert_allclose(hoop[:, 0], 1e12 * 0.01**2 * (1 / 3 - 1 / 2), rtol=1e-9)
    np.testing.assert_allclose(hoop[:, 1], 1e12 * 0.01**2 * (1 / 3 + 1 / 2), rtol=1e-9)


def test_bending_is_of_the_hoop_and_along_the_wall_only(tube):
    # through a straight tube r is across the wall and z along it
    linear = {name: lambda depth, _: 1e9 * depth for name in ("r", "z", "theta", "rz")}
    wall = of(tube, **linear).primary[0]
    np.testing.assert_allclose(wall[:, 0, [1, 2]], 0.0, atol=1.0)
    np.testing.assert_allclose(wall[:, 1, [1, 2]], 1e7)
    np.testing.assert_allclose(wall[:, :, [0, 3]], 0.5e7)


def test_bending_turns_with_the_wall(solve_lattice, elastic, tube_lattice):
    # a flat ring, outline fore: r runs along the wall there and z across it
    lattice = tube_lattice(0.02, 0.03, length=0.04, strips=8, across=4)
    lattice = np.stack((0.01 + lattice[..., 1], 0.05 - lattice[..., 0]), axis=-1)
    ring = solve_lattice(lattice, elastic=elastic())
    points = ring.points.reshape(-1, 2)[ring.cells.nodes]
    depth = points[..., 1] @ REDUCED.T - ring.points[0, 0, 1]
    stress = np.zeros((1, *depth.shape, 4))
    stress[0] = 1e9 * depth[..., None]
    fields = dataclasses.replace(ring.fields, primary=stress)
    wall = wall_stress(ring.body, loads=ring.loads, fields=fields).primary[0]
    bend = np.ptp(wall, axis=1)
    np.testing.assert_allclose(bend[:, [0, 2]], 1e7)
    np.testing.assert_allclose(bend[:, [1, 3]], 0.0, atol=1.0)


def test_a_cubic_along_the_shell_is_read_exactly(tube):
    wall = of(tube, theta=lambda _, axial: 1e12 * (axial - 0.01) ** 3)
    inside = (wall.axial > 0.003) & (wall.axial < 0.037)
    expected = 1e12 * (wall.axial - 0.01) ** 3
    np.testing.assert_allclose(wall.primary[0, inside, 0, 2], expected[inside], atol=1e-3)
    assert np.abs(wall.primary[0, :, 0, 2] - expected).max() > 1e-3


def test_places_know_where_they_are_how_thick_and_how_hot(solve_lattice, elastic, tube_lattice):
    lattice = tube_lattice(0.02, 0.03, length=0.04, strips=8, across=4)
    heat = 300.0 + 1e3 * lattice[..., 1] + 1e4 * lattice[..., 0]
    wall = judged(solve_lattice(lattice, elastic=elastic(), temperature=heat, strip_zone=[4] * 6 + [7] * 2))
    # the row between two blocks once for each
    expected = np.concatenate([0.01 * block + np.linspace(0.0, 0.01, 3) for block in range(4)])
    np.testing.assert_allclose(wall.axial, expected, atol=1e-15)
    assert wall.zone.tolist() == [4] * 9 + [7] * 3
    np.testing.assert_allclose(wall.place[:, 0], np.stack((np.full(12, 0.03), expected), axis=-1), atol=1e-15)
    np.testing.assert_allclose(wall.place[:, 1], np.stack((np.full(12, 0.02), expected), axis=-1), atol=1e-15)
    np.testing.assert_allclose(wall.thickness, 0.01)
    np.testing.assert_allclose(wall.temperature[0, :, 0], 300.0 + 1e3 * wall.axial + 300.0)
    np.testing.assert_allclose(wall.temperature[0, :, 1], 300.0 + 1e3 * wall.axial + 200.0)
    np.testing.assert_allclose(wall.start_temperature, 300.0)


def test_the_two_sides_of_a_joint_keep_their_own_zone_and_stress(solve_lattice, elastic, tube_lattice):
    lattice = np.insert(tube_lattice(0.02, 0.03, length=0.04, strips=8, across=4), 4, np.nan, axis=0)
    lattice[4] = lattice[5]
    heat = np.full(lattice.shape[:2], 400.0)
    heat[5:] = 300.0
    tube = solve_lattice(lattice, elastic=elastic(), temperature=heat, strip_zone=[1] * 4 + [-1] + [2] * 4)
    wall = judged(tube, clear=0.0, clear_share=0.0)
    fore, aft = np.flatnonzero(np.isclose(wall.axial, 0.02))[[0, -1]]
    assert (wall.zone[fore], wall.zone[aft]) == (1, 2)
    hoop = wall.total[0, :, 0, 2]
    assert hoop[fore] < -10e6 < 10e6 < hoop[aft]


def test_the_apex_has_no_wall(solve_lattice, elastic, ball_lattice):
    wall = judged(solid_tip(solve_lattice, elastic, ball_lattice))
    assert wall.axial.min() > 0.0
    assert wall.thickness.min() > 0.0


def solid_tip(solve_lattice, elastic, ball_lattice, **loads):
    """Return a solid half ball of 30 mm, fore to aft, its apex one node."""
    lattice = ball_lattice(0.0, 0.03, strips=24, across=8)
    lattice[..., 1] += 0.03
    axis = np.stack((np.zeros(25), np.linspace(0.0, 0.03, 25)), axis=-1)
    share = np.linspace(0.0, 1.0, 9)[None, :, None]
    lattice = lattice[:, :1] * (1 - share) + axis[:, None] * share
    lattice[0] = 0.0
    options = {"outline_pressure": 1e5, "restraint": Restraint.AFT_FACE} | loads
    return solve_lattice(lattice, elastic=elastic(), apex=True, **options)


def test_a_solid_ball_under_pressure_carries_it_alike_on_surface_and_axis(
    solve_lattice, elastic, ball_lattice
):
    ball = judged(solid_tip(solve_lattice, elastic, ball_lattice))
    assert ball.place[:, 1, 0].max() == 0.0
    np.testing.assert_allclose(ball.primary[0, ..., :3], -1e5, rtol=2e-3)
    np.testing.assert_allclose(ball.primary[0, ..., 3], 0.0, atol=200.0)


def test_a_solid_ball_hot_outside_is_pressed_at_its_surface_and_pulled_inside(
    solve_lattice, elastic, ball_lattice
):
    # T = 100 K (r/b)^2: round the surface alpha E/(1 - nu) (3/b^3 int T r^2 dr - T) = -40 K, at the centre
    # 2/3 of the mean's 60 K = 40 K (Timoshenko & Goodier, Theory of Elasticity: the solid sphere)
    tip = solid_tip(solve_lattice, elastic, ball_lattice)
    square = (tip.points[..., 0] ** 2 + (tip.points[..., 1] - 0.03) ** 2) / 0.03**2
    heat = 300.0 + 100.0 * square
    ball = judged(solid_tip(solve_lattice, elastic, ball_lattice, temperature=heat, outline_pressure=0.0))
    per_kelvin = 70e9 * 23.6e-6 / (1 - 0.33)
    np.testing.assert_allclose(ball.total[0, 4:, 0, 2], -40.0 * per_kelvin, rtol=0.02)
    np.testing.assert_allclose(ball.total[0, -1, 1, :3], 40.0 * per_kelvin, rtol=0.05)


def test_what_grows_with_the_square_of_the_radius_is_nought_on_the_axis(solve_lattice, elastic, tube_lattice):
    rod = solve_lattice(tube_lattice(0.0, 0.03, length=0.04, strips=8, across=4), elastic=elastic())
    radius = rod.points.reshape(-1, 2)[rod.cells.nodes][..., 0] @ REDUCED.T
    stress = np.broadcast_to(1e12 * radius[..., None] ** 2, (1, *radius.shape, 4))
    wall = judged(dataclasses.replace(rod, fields=dataclasses.replace(rod.fields, total=stress)))
    np.testing.assert_allclose(wall.total[0, :, 1], 0.0, atol=1e-3)


def test_equal_stress_all_round_has_no_von_mises_stress():
    assert von_mises(np.array([7e6, 7e6, 7e6, 0.0])) == 0.0
