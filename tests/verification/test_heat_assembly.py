"""The fast assembly is scikit-fem's, and its absolute size is that of a body of revolution."""

from dataclasses import replace

import numpy as np
import pytest
import skfem
from skfem.helpers import dot, grad

from optitip.solvers import banded
from optitip.solvers.assembly import assemble, integrate

CONDUCTIVITY = 20.0


def _dense(model):
    size = model.volume.size
    return np.column_stack([banded.multiply(model.stiffness, unit) for unit in np.eye(size)])


def _reference(mesh, *, element, order):
    basis = skfem.Basis(mesh, element, intorder=order)
    stiffness = skfem.BilinearForm(lambda u, v, w: 2.0 * np.pi * w.x[0] * dot(grad(u), grad(v))).assemble(
        basis
    )
    volume = skfem.LinearForm(lambda v, w: 2.0 * np.pi * w.x[0] * v).assemble(basis)
    return stiffness.toarray(), volume


def _skewed_lattice(rows=7, across=5):
    s, t = np.meshgrid(np.linspace(0.0, 1.0, rows), np.linspace(0.0, 1.0, across), indexing="ij")
    r = 0.05 - 0.03 * t + 0.008 * np.sin(3.0 * s) * (1.0 + t)
    return np.stack([r, 0.2 * s + 0.01 * np.cos(5.0 * t)], axis=-1)


def test_the_fast_assembly_is_scikit_fems_on_skewed_quadrilaterals(solid, lattice_body):
    body, _ = lattice_body(_skewed_lattice(), material=solid(CONDUCTIVITY, heat_capacity=1e6))
    model = assemble(body)
    # order 3 takes the same 2 x 2 points
    mesh = skfem.MeshQuad(body.points.T, body.cells.T)
    stiffness, volume = _reference(mesh, element=skfem.ElementQuad1(), order=3)
    scale = CONDUCTIVITY * np.abs(stiffness).max()
    assert np.abs(_dense(model) - CONDUCTIVITY * stiffness).max() < 1e-12 * scale
    assert np.abs(model.volume - volume).max() < 1e-12 * volume.max()


def test_a_collapsed_quadrilateral_on_the_axis_is_scikit_fems_triangle(solid, lattice_body):
    apex_fan = np.array([[[0.0, 0.0], [0.0, 0.0], [0.0, 0.0]], [[0.03, 0.0], [0.02, 0.02], [0.0, 0.03]]])
    body, _ = lattice_body(apex_fan, material=solid(CONDUCTIVITY, heat_capacity=1e6))
    model = assemble(body)
    triangles = [[corner for i, corner in enumerate(cell) if corner != cell[i - 1]] for cell in body.cells]
    mesh = skfem.MeshTri(body.points.T, np.array(triangles).T)
    stiffness, volume = _reference(mesh, element=skfem.ElementTriP1(), order=4)
    scale = CONDUCTIVITY * np.abs(stiffness).max()
    assert np.abs(_dense(model) - CONDUCTIVITY * stiffness).max() < 1e-12 * scale
    assert np.abs(model.volume - volume).max() < 1e-12 * volume.max()


def test_a_cylinder_shell_conducts_two_pi_k_l_over_the_logarithm_of_its_radii(solid, lattice_body):
    inner, outer, length = 0.02, 0.04, 0.1
    radius = np.linspace(outer, inner, 81)
    lattice = np.stack(np.broadcast_arrays(radius[None, :], np.array([0.0, length])[:, None]), axis=-1)
    body, node = lattice_body(lattice, material=solid(CONDUCTIVITY, heat_capacity=1e6))
    profile = np.zeros(len(body.points))
    profile[node] = np.log(outer / radius) / np.log(outer / inner)
    heat = banded.multiply(assemble(body).stiffness, profile)[node[:, -1]].sum()
    # pi r for 2 pi r halves it; the mesh errs by 1.4e-5
    assert heat == pytest.approx(2.0 * np.pi * CONDUCTIVITY * length / np.log(outer / inner), rel=5e-5)


def test_the_volumes_of_a_ball_of_cells_add_up_to_the_balls_polygon(solid, lattice_body):
    angle = np.linspace(0.0, np.pi, 181)[:, None]
    ray = np.linspace(0.0, 0.05, 6)[None, :]
    lattice = np.stack([ray * np.sin(angle), -ray * np.cos(angle)], axis=-1)
    body, _ = lattice_body(lattice, material=solid(CONDUCTIVITY, heat_capacity=1e6))
    volume = assemble(body).volume
    assert volume.min() > 0.0
    assert volume.sum() == pytest.approx(4.0 / 3.0 * np.pi * 0.05**3, rel=2e-4)


def test_constant_temperature_drives_no_heat(solid, lattice_body):
    body, _ = lattice_body(_skewed_lattice(), material=solid(CONDUCTIVITY, heat_capacity=1e6))
    stiffness = assemble(body).stiffness
    heat = banded.multiply(stiffness, np.ones(len(body.points)))
    assert np.abs(heat).max() < 1e-13 * np.abs(stiffness).max()


def test_a_part_of_a_turn_has_that_part_of_the_volume_and_of_the_conductance(solid, lattice_body):
    body, _ = lattice_body(_skewed_lattice(), material=solid(CONDUCTIVITY, heat_capacity=1e6))
    whole, part = assemble(body), assemble(replace(body, cell_weight=np.full(len(body.cells), 0.3)))
    assert part.volume == pytest.approx(0.3 * whole.volume, rel=1e-14)
    assert _dense(part) == pytest.approx(0.3 * _dense(whole), rel=1e-14)


def test_the_element_integrals_do_not_depend_on_which_corner_comes_first(lattice_body, solid):
    body, _ = lattice_body(_skewed_lattice(), material=solid(CONDUCTIVITY, heat_capacity=1e6))
    first = integrate(body.points, cells=body.cells)
    turned = integrate(body.points, cells=np.roll(body.cells, 1, axis=1))
    assert np.roll(turned.volume, -1, axis=0) == pytest.approx(first.volume, rel=1e-12)
