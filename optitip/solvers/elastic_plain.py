"""Stress of one shell by numpy and LAPACK: two load cases from one factorisation, an instant at a time."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from optitip.arrays import FloatArray
from optitip.errors import DesignFailure, Outcome
from optitip.properties.materials import Elastic
from optitip.solvers.banded import NotPositiveDefinite, factorise
from optitip.solvers.elastic_assembly import (
    CellTables,
    banded_stiffness,
    cell_forces_of_pressure,
    cell_stiffness,
    gathered,
)
from optitip.solvers.elastic_body import Restraint, Solved, StressBody, StressLoads
from optitip.solvers.elastic_joints import forces_ahead, press
from optitip.solvers.elastic_shape import FULL, POINTS

_GAUSS = len(FULL)
# states whose cells are made at once: all states of a check would leave the cache
_AT_ONCE = 8


def solve_plainly(body: StressBody, tables: CellTables, *, loads: StressLoads) -> Solved:
    """Return movement, stress, contact and axial forces at all instants and, with fits, put together.

    Raises DesignFailure (MESH_FOLDED) where the stiffness isn't positive definite.
    """
    heated = _heated(body, loads)
    forces = _load_forces(body, tables, loads)
    moved, contact = _moved(body, tables, heated=heated, forces=forces)
    ahead = forces_ahead(body.cells, forces=forces)
    if body.restraint is Restraint.BOTH_FACES:
        ahead += _fore_hold(body, tables, moved=moved, modulus=heated.modulus, forces=forces)[:, None]
    return Solved(
        stress=_reduced_stress(body, tables, moved=moved, heated=heated),
        movement=_at_nodes(body, moved),
        contact=contact,
        ahead=ahead,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Heated:
    """What temperature makes of the cells, at the nine Gauss points and then the four reduced ones.

    The states are the instants and, where joints have a fit, the shell put together, cold, as the last.
    """

    modulus: FloatArray  # (n_s, m, 13) [Pa]
    strain: FloatArray  # (n_s, m, 13) thermal


def _heated(body: StressBody, loads: StressLoads) -> _Heated:
    start = np.asarray(loads.start_temperature, dtype=np.float64)
    cold = start.reshape(1, 1, 1) if start.ndim == 0 else (start[body.cells.nodes] @ POINTS.T)[None]
    hot = np.asarray(loads.temperature)[:, body.cells.nodes] @ POINTS.T
    cold = np.broadcast_to(cold, (1, hot.shape[1], cold.shape[2]))
    if body.contact is not None:
        hot = np.concatenate((hot, np.broadcast_to(cold, (1, *hot.shape[1:]))))
    strain = _per_material(body, hot, of=_expansion)
    strain -= _per_material(body, cold, of=_expansion)
    return _Heated(modulus=_per_material(body, hot, of=Elastic.modulus_at), strain=strain)


def _moved(
    body: StressBody, tables: CellTables, *, heated: _Heated, forces: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Return the free movements and a held zero (2, n_s, n + 1), and the contact force (n_s, n_joints)."""
    plan, contact = body.plan, body.contact
    modulus, strain = heated.modulus[..., :_GAUSS], heated.strain[..., :_GAUSS]
    states = len(modulus)
    heat = ((modulus * strain).transpose(1, 0, 2) @ tables.spread).transpose(1, 0, 2)
    right = np.zeros((plan.free_count, 2, states), order="F")
    right[:, 0, : len(forces)] = gathered(plan, forces=forces).T
    right[:, 1] = gathered(plan, forces=heat).T
    push = np.zeros((plan.free_count, 0)) if contact is None else contact.pushes(plan.free_count)
    moved = np.zeros((2 + push.shape[1], states, plan.free_count + 1))
    for i in range(states):
        if i % _AT_ONCE == 0:
            lower = cell_stiffness(tables, modulus=modulus[i : i + _AT_ONCE])
        force = right[..., i] if contact is None else np.hstack((right[..., i], push))
        moved[:, i, :-1] = _solved(banded_stiffness(plan, lower=lower[i % _AT_ONCE]), force).T
    moved[1] += moved[0]
    joints = len(body.cells.joints)
    if contact is None:
        return moved, np.zeros((states, joints))
    by_loads, by_all = press(contact, moved=moved)
    moved[0] += np.einsum("csn,sc->sn", moved[2:], by_loads)
    moved[1] += np.einsum("csn,sc->sn", moved[2:], by_all)
    return moved[:2], contact.by_joint(by_all, joints=joints)


def _fore_hold(
    body: StressBody, tables: CellTables, *, moved: FloatArray, modulus: FloatArray, forces: FloatArray
) -> FloatArray:
    """Return the axial force (n_i,) [N] with which what holds the fore face pushes aft on it."""
    n, cells = len(forces), slice(0, body.cells.columns)
    row, column = np.tril_indices(18)
    lower = cell_stiffness(tables, modulus=modulus[:n, :, :_GAUSS])[:, cells]
    square = np.zeros((*lower.shape[:2], 18, 18))
    square[..., row, column] = square[..., column, row] = lower
    here = moved[0, :n][:, body.plan.freedom[cells], None]
    carried = (square @ here)[..., 0] - forces[:, cells]
    # u_z of the fore row's nodes, each cell's places 0 to 2
    return np.asarray(carried[:, :, [1, 3, 5]].sum(axis=(1, 2)))


def _solved(band: FloatArray, force: FloatArray) -> FloatArray:
    """Return the movements (n, k) under forces (n, k); the band is overwritten."""
    try:
        return factorise(band).solve(force)
    except NotPositiveDefinite as failure:
        raise DesignFailure(Outcome.MESH_FOLDED, place="tip", detail=f"its stiffness: {failure}") from failure


def _expansion(material: Elastic, temperature: FloatArray) -> FloatArray:
    return material.expansion_at(temperature) * (temperature - material.reference_temperature)


def _per_material(
    body: StressBody, temperature: FloatArray, *, of: Callable[[Elastic, FloatArray], FloatArray]
) -> FloatArray:
    """Return a property (n_i, m, n_points) of each cell's own material."""
    result = np.empty_like(temperature)
    for index, material in enumerate(body.materials):
        inside = body.cell_material == index
        result[:, inside] = of(material, temperature[:, inside])
    return result


def _load_forces(body: StressBody, tables: CellTables, loads: StressLoads) -> FloatArray:
    """Return the forces (n_i, m, 18) [N] of pressure and inertia."""
    forces = cell_forces_of_pressure(
        tables,
        cells=body.cells,
        outline=np.asarray(loads.outline_pressure),
        inner=np.asarray(loads.inner_pressure),
    )
    weight = body.density[:, None] * tables.mass
    forces[:, :, 1::2] += np.asarray(loads.acceleration)[:, None, None] * weight
    return forces


def _reduced_stress(
    body: StressBody, tables: CellTables, *, moved: FloatArray, heated: _Heated
) -> FloatArray:
    """Return primary and total stress (2, n_s, m, 4, 4) at the reduced points."""
    states, cell_count = heated.modulus.shape[:2]
    by_place = np.ascontiguousarray(moved.reshape(2 * states, -1).T)
    per_modulus = tables.stress @ by_place[body.plan.freedom]
    stress = per_modulus.reshape(cell_count, 4, 4, 2, states)
    thermal, modulus = (one[..., _GAUSS:].transpose(1, 2, 0) for one in (heated.strain, heated.modulus))
    stress[:, :, :3, 1] -= (thermal * tables.bulk[:, None, None])[:, :, None]
    stress *= modulus[:, :, None, None]
    return stress.transpose(3, 4, 0, 1, 2)


def _at_nodes(body: StressBody, moved: FloatArray) -> FloatArray:
    """Return u_r and u_z (2, n_s, n_nodes, 2) of the thermal nodes in the two cases."""
    shell = np.flatnonzero(body.cells.moving_of >= 0)
    every = np.zeros((*moved.shape[:2], body.cells.moving_of.size, 2))
    every[:, :, shell] = moved[:, :, body.plan.number[body.cells.moving_of[shell]]]
    return every
