"""The compiled kernels find the stress that numpy and LAPACK find, whatever the topology, fits and metals."""

from dataclasses import fields

import numpy as np
import pytest
from ogive_tip import tip_mesh

from optitip.errors import DesignFailure, Outcome
from optitip.solvers.elastic import Restraint, StressLoads, solve_stress, stress_body
from optitip.solvers.elastic_cells import nine_node_cells
from optitip.solvers.elastic_joints import JointFit, Spigot

CHOICES = {
    "plain": {},
    "both joints": {"plug_insert": 0.02, "base_separate": True},
    "fillet and solid base": {"plug_fillet": 0.002, "base_thickness": None, "base_separate": True},
    "bored base": {"base_thickness": None, "base_bore": 0.01},
    "lined": {"slab_thickness": 0.004, "slab_soft": True, "backing_thickness": 0.002},
}


def loads_of(mesh, *, instants, uneven_start):
    r, z = mesh.points.T
    step = np.arange(instants)[:, None]
    start = 290.0 + (400.0 * r if uneven_start else 0.0)
    rows = np.linspace(0.0, 1.0, len(mesh.rows))
    return StressLoads(
        temperature=start + 30.0 * step * np.exp(-(((z - 0.02 * step) / 0.03) ** 2)) + 2000.0 * r,
        start_temperature=start,
        acceleration=np.linspace(-80.0, 250.0, instants),
        outline_pressure=2e5 * np.cos(step + 3.0 * rows),
        inner_pressure=np.full((instants, len(mesh.rows)), 4e4) * (1.0 + step),
    )


@pytest.fixture
def both_ways(elastic):
    """Return what solves a mesh plainly and compiled, of two metals, the aft one from the middle on."""
    metals = (
        elastic(np.array([75e9, 70e9, 45e9]), expansion=22e-6, temperature=(250.0, 310.0, 450.0)),
        elastic(np.array([200e9, 150e9]), poisson=0.29, expansion=12e-6, temperature=(250.0, 650.0)),
    )

    def solved(mesh, *, loads, fits=None, restraint=Restraint.AFT_FACE):
        cells = nine_node_cells(mesh.rows, strip_zone=mesh.strip_zone, node_count=len(mesh.points))
        bodies = [
            stress_body(
                mesh.points,
                cells=cells,
                materials=metals,
                cell_material=(np.arange(len(cells.zone)) > 40).astype(np.int64),
                density=np.array([2700.0, 7900.0]),
                restraint=restraint,
                fits=fits or {},
                compiled=compiled,
            )
            for compiled in (False, True)
        ]
        assert bodies[0].lanes is None
        assert bodies[1].lanes is not None or restraint is Restraint.BOTH_FACES
        return [solve_stress(body, loads=loads) for body in bodies]

    return solved


def held_alike(plain, compiled):
    """To 1e-10 of the largest; the shell put together, which may have no stress, by that of the instants."""
    for one in fields(plain):
        ours, theirs = getattr(plain, one.name), getattr(compiled, one.name)
        beside = {"assembled": plain.total, "assembled_movement": plain.total_movement}.get(one.name, ours)
        assert ours.shape == theirs.shape, one.name
        assert np.abs(ours - theirs).max(initial=0.0) <= 1e-10 * np.abs(beside).max(initial=0.0), one.name


@pytest.mark.parametrize("instants", [1, 3, 8, 11])
@pytest.mark.parametrize("name", CHOICES)
def test_the_compiled_stress_is_the_plain_one(both_ways, name, instants):
    mesh = tip_mesh(**CHOICES[name])
    held_alike(*both_ways(mesh, loads=loads_of(mesh, instants=instants, uneven_start=instants == 3)))


@pytest.mark.parametrize("offset", [1e-5, -5e-6, -1e-3])
@pytest.mark.parametrize("instants", [1, 8])
def test_with_fits_too_at_each_instant_and_put_together(both_ways, offset, instants):
    mesh = tip_mesh(**CHOICES["both joints"])
    fits = {0: JointFit(offset=offset, spigot=Spigot.FORE), 1: JointFit(offset=0.5 * offset)}
    plain, compiled = both_ways(mesh, loads=loads_of(mesh, instants=instants, uneven_start=True), fits=fits)
    held_alike(plain, compiled)
    assert bool(plain.assembled_contact.any()) == (offset > 0.0)


@pytest.mark.parametrize("restraint", [Restraint.FREE, Restraint.BOTH_FACES])
def test_whatever_holds_it(both_ways, restraint):
    mesh = tip_mesh()
    held_alike(*both_ways(mesh, loads=loads_of(mesh, instants=2, uneven_start=False), restraint=restraint))


def test_a_mesh_that_folds_is_the_same_outcome(both_ways):
    mesh = tip_mesh()
    points = mesh.points.copy()
    points[mesh.rows[40, 2], 1] += 0.01
    folded = type(mesh)(**{one.name: getattr(mesh, one.name) for one in fields(mesh)} | {"points": points})
    with pytest.raises(DesignFailure) as failure:
        both_ways(folded, loads=loads_of(mesh, instants=1, uneven_start=False))
    assert failure.value.outcome is Outcome.MESH_FOLDED


def test_a_metal_that_went_soft_to_nothing_is_an_outcome(elastic):
    mesh = tip_mesh()
    cells = nine_node_cells(mesh.rows, strip_zone=mesh.strip_zone, node_count=len(mesh.points))
    body = stress_body(
        mesh.points,
        cells=cells,
        materials=(elastic(np.array([70e9, -70e9]), temperature=(290.0, 400.0)),),
        cell_material=np.zeros(len(cells.zone), dtype=np.int64),
        density=np.array([2700.0]),
        compiled=True,
    )
    with pytest.raises(DesignFailure, match="stiffness"):
        solve_stress(body, loads=loads_of(mesh, instants=5, uneven_start=False))


def test_what_one_shell_found_stays_when_another_is_solved(both_ways):
    mesh, other = tip_mesh(**CHOICES["both joints"]), tip_mesh(thickness_aft=0.002)
    _, first = both_ways(mesh, loads=loads_of(mesh, instants=9, uneven_start=False))
    kept = {one.name: getattr(first, one.name).copy() for one in fields(first)}
    both_ways(other, loads=loads_of(other, instants=4, uneven_start=True))
    for name, values in kept.items():
        np.testing.assert_array_equal(getattr(first, name), values)
