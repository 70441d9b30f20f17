from dataclasses import replace

import numpy as np
import pytest

from optitip.solvers.elastic_lines import sharp_cuts, von_mises, wall_stress
from optitip.solvers.elastic_shape import REDUCED


@pytest.fixture
def tube(solve_lattice, elastic, tube_lattice):
    return solve_lattice(tube_lattice(0.02, 0.03, length=0.04, strips=8, across=4), elastic=elastic())


def with_hoop(tube, hoop):
    """Return fields whose hoop stress is a function of the depth from the outline."""
    depth = 0.03 - tube.points[..., 0].ravel()[tube.cells.nodes] @ REDUCED.T
    stress = np.zeros((1, *depth.shape, 4))
    stress[0, ..., 2] = hoop(depth)
    return replace(tube.fields, primary=stress, total=3 * stress)


def test_a_linear_stress_keeps_its_values_at_both_faces(tube):
    fields = with_hoop(tube, lambda depth: 5e6 + 1e9 * depth)
    wall = wall_stress(tube.body, loads=tube.loads, fields=fields)
    np.testing.assert_allclose(wall.primary[0, :, 0, 2], 5e6)
    np.testing.assert_allclose(wall.primary[0, :, 1, 2], 15e6)
    np.testing.assert_allclose(wall.total, 3 * wall.primary)


def test_a_square_stress_is_cut_to_membrane_and_bending(tube):
    # x^2 over t: membrane t^2/3, bending (6/t^2) int x^2 (t/2 - x) dx = -t^2/2
    fields = with_hoop(tube, lambda depth: 1e12 * depth**2)
    hoop = wall_stress(tube.body, loads=tube.loads, fields=fields).primary[0, :, :, 2]
    np.testing.assert_allclose(hoop[:, 0], 1e12 * 0.01**2 * (1 / 3 - 1 / 2), rtol=1e-9)
    np.testing.assert_allclose(hoop[:, 1], 1e12 * 0.01**2 * (1 / 3 + 1 / 2), rtol=1e-9)


def test_rows_know_their_place_thickness_and_temperature(solve_lattice, elastic, tube_lattice):
    lattice = tube_lattice(0.02, 0.03, length=0.04, strips=8, across=4)
    heat = 300.0 + 1e3 * lattice[..., 1] + 1e4 * lattice[..., 0]
    tube = solve_lattice(lattice, elastic=elastic(), temperature=heat, strip_zone=[4] * 6 + [7] * 2)
    wall = wall_stress(tube.body, loads=tube.loads, fields=tube.fields)
    assert wall.zone.tolist() == [4] * 7 + [7] * 2
    np.testing.assert_allclose(wall.axial, np.linspace(0.0, 0.04, 9), atol=1e-15)
    np.testing.assert_allclose(wall.thickness, 0.01)
    np.testing.assert_allclose(wall.temperature[0, :, 0], 300.0 + 1e3 * wall.axial + 300.0)
    np.testing.assert_allclose(wall.temperature[0, :, 1], 300.0 + 1e3 * wall.axial + 200.0)
    np.testing.assert_allclose(wall.start_temperature, 300.0)


def in_three(*ends):
    """Return 13 values, four even steps between each two of four ends."""
    return np.interp(np.arange(13), [0, 4, 8, 12], ends)


def stepped_tube(tube_lattice):
    """Return a tube whose bore narrows from 20 to 17 mm radius at once, 4 mm from its fore end."""
    lattice = tube_lattice(0.02, 0.03, length=0.008, strips=12, across=2).copy()
    lattice[:, 0, 1] = 1e-3 * in_three(0.0, 5.0, 6.5, 8.0)
    lattice[:, 2, 1] = 1e-3 * in_three(0.0, 4.0, 4.0, 8.0)
    lattice[:, 2, 0] = 1e-3 * in_three(20.0, 20.0, 17.0, 17.0)
    lattice[:, 1] = 0.5 * (lattice[:, 0] + lattice[:, 2])
    return lattice


def test_only_a_cut_into_the_metal_counts_as_sharp(solve_lattice, elastic, tube_lattice):
    tube = solve_lattice(stepped_tube(tube_lattice), elastic=elastic())
    points = tube.points.reshape(-1, 2)
    np.testing.assert_allclose(sharp_cuts(points, cells=tube.cells), [[0.02, 0.004]])


def test_rows_near_a_sharp_cut_are_left_out(solve_lattice, elastic, tube_lattice):
    tube = solve_lattice(stepped_tube(tube_lattice), elastic=elastic())
    every = wall_stress(tube.body, loads=tube.loads, fields=tube.fields, clearance=0.0)
    clear = wall_stress(tube.body, loads=tube.loads, fields=tube.fields, clearance=0.9e-3)
    assert len(every.axial) == 13
    # rows end at the cut, 1 mm fore of it, and 0.75 mm down the step
    np.testing.assert_allclose(np.setdiff1d(every.axial, clear.axial), every.axial[[4, 5]])


def test_the_two_sides_of_a_joint_keep_their_own_zone_and_stress(solve_lattice, elastic, tube_lattice):
    lattice = np.insert(tube_lattice(0.02, 0.03, length=0.04, strips=8, across=4), 4, np.nan, axis=0)
    lattice[4] = lattice[5]
    heat = np.full(lattice.shape[:2], 400.0)
    heat[5:] = 300.0
    tube = solve_lattice(lattice, elastic=elastic(), temperature=heat, strip_zone=[1] * 4 + [-1] + [2] * 4)
    wall = wall_stress(tube.body, loads=tube.loads, fields=tube.fields)
    assert wall.zone.tolist() == [1] * 5 + [2] * 5
    hoop = wall.total[0, :, 0, 2]
    assert hoop[4] < -10e6 < 10e6 < hoop[5]


def test_the_apex_has_no_wall(solve_lattice, elastic, ball_lattice):
    lattice = ball_lattice(0.0, 0.03, strips=4, across=2)
    lattice[:, :, 1] = np.linspace(0.0, 1.0, 5)[:, None] * 0.03
    lattice[:, :, 0] *= np.linspace(1.0, 0.0, 3)
    lattice[0] = 0.0
    tip = solve_lattice(lattice, elastic=elastic(), outline_pressure=1e5, apex=True)
    wall = wall_stress(tip.body, loads=tip.loads, fields=tip.fields)
    np.testing.assert_allclose(wall.axial, lattice[1:, 0, 1])


def test_a_smooth_bore_has_no_sharp_cut(tube):
    assert not len(sharp_cuts(tube.points.reshape(-1, 2), cells=tube.cells))


def test_equal_stress_all_round_has_no_von_mises_stress():
    assert von_mises(np.array([7e6, 7e6, 7e6, 0.0])) == 0.0
