"""Stress of the shell from temperature, pressure and acceleration, at a few instants."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import Enum
from types import MappingProxyType

import numpy as np

from optitip.arrays import FloatArray, IntArray, frozen, frozen_index, read_only
from optitip.errors import DesignFailure, Outcome
from optitip.properties.materials import Elastic
from optitip.solvers.banded import NotPositiveDefinite, factorise
from optitip.solvers.elastic_assembly import (
    BandPlan,
    CellTables,
    band_plan,
    banded_stiffness,
    cell_forces_of_pressure,
    cell_stiffness,
    cell_tables,
    gathered,
)
from optitip.solvers.elastic_cells import NineNodeCells, set_apart
from optitip.solvers.elastic_joints import (
    Contact,
    JointFit,
    contact_of,
    fitted_joints,
    forces_ahead,
    press,
)
from optitip.solvers.elastic_shape import FULL, POINTS

_GAUSS = len(FULL)

_BONDED: Mapping[int, JointFit] = MappingProxyType({})


class Restraint(Enum):
    """What keeps the shell from moving along the axis; u_r = 0 on the axis always, r is free elsewhere."""

    AFT_FACE = "the aft end face keeps its axial place: the airframe stands behind it"
    BOTH_FACES = "both end faces keep their axial place"
    FREE = "the ends are free: one node keeps its axial place so that the whole can't drift"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StressBody:
    """One design's shell, ready to be solved at any number of instants.

    Args:
        points: r and z of the thermal nodes (n_nodes, 2) [m].
        cells: the nine-node cells.
        materials: what the cells are made of.
        cell_material: index into ``materials`` of each cell (m,).
        density: density of each cell (m,) [kg/m3].
        tables: what the geometry gives.
        plan: where the stiffness goes.
        contact: where fitted joints may touch, none without any.
        restraint: what keeps it from moving along the axis.
    """

    points: FloatArray
    cells: NineNodeCells
    materials: tuple[Elastic, ...]
    cell_material: IntArray
    density: FloatArray
    tables: CellTables
    plan: BandPlan
    contact: Contact | None
    restraint: Restraint


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StressLoads:
    """What acts on the shell at each instant.

    Args:
        temperature: of the thermal nodes (n_i, n_nodes) [K].
        start_temperature: at which the shell is free of stress, one number or (n_nodes,) [K].
        acceleration: along the axis, positive when the rocket is pushed fore (n_i,) [m/s2].
        outline_pressure: at the outline's end of each row (n_i, n_rows) [Pa].
        inner_pressure: at the inner end of each row (n_i, n_rows) [Pa]; rows that end on the axis ignore it.

    Both pressures are above one reference, that of the air behind the aft face, which bears none here.
    """

    temperature: FloatArray
    start_temperature: float | FloatArray
    acceleration: FloatArray
    outline_pressure: FloatArray
    inner_pressure: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StressFields:
    """Movement and stress at each instant, from the loads alone (primary) and with temperature (total).

    Args:
        primary: stress at the reduced points (n_i, m, 4, 4) [Pa]: r, z, theta, rz; tension positive.
        total: the same with the thermal strain.
        primary_movement: u_r and u_z of the thermal nodes (n_i, n_nodes, 2) [m], zero off the shell.
        total_movement: the same with the thermal strain; counted from the free parts, so that a fit's own
            movement is in it.
        assembled: stress at the reduced points (m, 4, 4) [Pa] of the shell put together, cold and without
            loads: zero without an interference. Stress ranges start from it.
        assembled_movement: u_r and u_z (n_nodes, 2) [m] of the same.
        contact_force: with which the sides of each joint press on each other along r, all round, in the
            total case (n_i, n_joints) [N]; zero where they are bonded.
        assembled_contact: the same in the shell put together (n_joints,) [N].
        joint_force: axial force of the loads carried across each joint (n_i, n_joints) [N], tension positive.
        aft_force: the same across the aft face, so what the airframe holds it by (n_i,) [N].
    """

    primary: FloatArray
    total: FloatArray
    primary_movement: FloatArray
    total_movement: FloatArray
    assembled: FloatArray
    assembled_movement: FloatArray
    contact_force: FloatArray
    assembled_contact: FloatArray
    joint_force: FloatArray
    aft_force: FloatArray


def stress_body(
    points: FloatArray,
    *,
    cells: NineNodeCells,
    materials: tuple[Elastic, ...],
    cell_material: IntArray,
    density: FloatArray,
    restraint: Restraint = Restraint.AFT_FACE,
    fits: Mapping[int, JointFit] = _BONDED,
) -> StressBody:
    """Return a shell ready to be solved.

    Args:
        points: r and z of the thermal nodes (n_nodes, 2) [m].
        cells: from ``nine_node_cells``.
        materials: elastic tables.
        cell_material: index into ``materials`` of each nine-node cell (m,).
        density: of each material (len(materials),) [kg/m3].
        restraint: what keeps it from moving along the axis.
        fits: of joints by their number in ``cells.joints``, fore to aft; the others are bonded.
    """
    apart = fitted_joints(fits)
    cells = set_apart(cells, joints=apart) if apart else cells
    plan = band_plan(cells, held=_held(points, cells, restraint))
    cell_material = np.asarray(cell_material)
    poisson = np.array([material.poisson for material in materials])[cell_material]
    return StressBody(
        points=frozen(points),
        cells=cells,
        materials=materials,
        cell_material=frozen_index(cell_material),
        density=frozen(np.asarray(density)[cell_material]),
        tables=cell_tables(points, cells=cells, poisson=poisson, plan=plan),
        plan=plan,
        contact=contact_of(points, cells=cells, plan=plan, fits=fits),
        restraint=restraint,
    )


def _held(points: FloatArray, cells: NineNodeCells, restraint: Restraint) -> IntArray:
    """Return the movements kept at zero: u_r on the axis, u_z where the restraint says."""
    shell = np.flatnonzero(cells.moving_of >= 0)
    radius = np.asarray(points)[:, 0]
    on_axis = shell[radius[shell] <= 1e-9 * radius.max()]
    ends = {
        Restraint.AFT_FACE: cells.rows[-1],
        Restraint.BOTH_FACES: np.concatenate((cells.rows[0], cells.rows[-1])),
        Restraint.FREE: cells.rows[-1, :1],
    }[restraint]
    return np.concatenate((2 * cells.moving_of[on_axis], 2 * cells.moving_of[ends] + 1))


def solve_stress(body: StressBody, *, loads: StressLoads) -> StressFields:
    """Return movement and stress at each instant: two load cases from one factorisation.

    div sigma + rho a e_z = 0 (a the acceleration: inertia pushes aft, +z), sigma = D(E(T)) (eps - eps_th 1),
    eps_th = alpha(T) (T - T_ref) - alpha(T0) (T0 - T_ref), alpha the secant from T_ref, T0 the stress-free
    temperature; traction -p n on both faces. The primary case leaves eps_th out but keeps E(T).

    Where a joint has a fit its sides share u_z (a thread or screws hold them) and touch along r or don't:
    u_around - u_spigot - offset >= 0, contact presses only, no friction. The total case finds where they
    touch. The primary case, free of heat and of the offset, keeps those places as they are: what is pressed
    together carries the loads to and fro, what is apart carries none.

    Valid for small strains and elastic behaviour; parts are bonded across joints without a fit. E and alpha
    keep their end values outside their tables.
    Raises DesignFailure (MESH_FOLDED) where the stiffness isn't positive definite.
    Source: the principle of virtual work on isoparametric cells (Zienkiewicz & Taylor, The Finite Element
    Method); strains at the reduced points after Barlow, Int. J. Num. Meth. Eng. 10 (1976) 243 (from memory).

    A tube held between two ends and warmed by 100 K is pressed by E alpha 100 K = 165.2 MPa, whatever nu.

    >>> from optitip.solvers.elastic_cells import nine_node_cells
    >>> points = np.array([[r, z] for z in (0.0, 0.01, 0.02) for r in (0.03, 0.0295, 0.029)])
    >>> cells = nine_node_cells(np.arange(9).reshape(3, 3), strip_zone=np.zeros(2, dtype=int))
    >>> metal = Elastic(temperature=np.array([200.0, 600.0]), modulus=np.full(2, 70e9), poisson=0.33,
    ...     expansion=np.full(2, 23.6e-6), reference_temperature=293.15, yield_strength=np.full(2, 240e6),
    ...     valid=(200.0, 600.0))
    >>> body = stress_body(points, cells=cells, materials=(metal,), cell_material=np.zeros(1, dtype=int),
    ...     density=np.array([2700.0]), restraint=Restraint.BOTH_FACES)
    >>> none = np.zeros((1, 3))
    >>> loads = StressLoads(temperature=np.full((1, 9), 400.0), start_temperature=300.0,
    ...     acceleration=np.zeros(1), outline_pressure=none, inner_pressure=none)
    >>> (solve_stress(body, loads=loads).total[0, 0, 0, 1] / 1e6).round(3).item()
    -165.2
    """
    n = np.shape(loads.temperature)[0]
    heated = _heated(body, loads)
    cell_forces = _load_forces(body, loads)
    moved, contact_force = _moved(body, heated=heated, forces=cell_forces)
    primary, total = _reduced_stress(body, moved=moved, heated=heated)
    movement = _at_nodes(body, moved)
    ahead = -forces_ahead(body.cells, forces=cell_forces)
    if body.restraint is Restraint.BOTH_FACES:
        ahead -= _fore_hold(body, moved=moved, modulus=heated.modulus, forces=cell_forces)[:, None]
    return StressFields(
        primary=read_only(primary[:n]),
        total=read_only(total[:n]),
        primary_movement=read_only(movement[0, :n]),
        total_movement=read_only(movement[1, :n]),
        assembled=read_only(total[n:].sum(axis=0)),
        assembled_movement=read_only(movement[1, n:].sum(axis=0)),
        contact_force=read_only(contact_force[:n]),
        assembled_contact=read_only(contact_force[n:].sum(axis=0)),
        joint_force=frozen(ahead[:, :-1]),
        aft_force=frozen(ahead[:, -1]),
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


def _moved(body: StressBody, *, heated: _Heated, forces: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the free movements and a held zero (2, n_s, n + 1), and the contact force (n_s, n_joints)."""
    plan, contact = body.plan, body.contact
    modulus, strain = heated.modulus[..., :_GAUSS], heated.strain[..., :_GAUSS]
    states = len(modulus)
    heat = ((modulus * strain).transpose(1, 0, 2) @ body.tables.spread).transpose(1, 0, 2)
    right = np.zeros((plan.free_count, 2, states), order="F")
    right[:, 0, : len(forces)] = gathered(plan, forces=forces).T
    right[:, 1] = gathered(plan, forces=heat).T
    push = np.zeros((plan.free_count, 0)) if contact is None else contact.pushes(plan.free_count)
    moved = np.zeros((2, states, plan.free_count + 1))
    pressed = np.zeros((states, len(body.cells.joints)))
    for i, lower in enumerate(cell_stiffness(body.tables, modulus=modulus)):
        force = right[..., i] if contact is None else np.hstack((right[..., i], push))
        found = _solved(banded_stiffness(plan, lower=lower), force)
        found[:, 1] += found[:, 0]
        if contact is not None:
            np.add.at(pressed[i], contact.joint, press(contact, moved=found))
        moved[:, i, :-1] = found[:, :2].T
    return moved, pressed


def _fore_hold(body: StressBody, *, moved: FloatArray, modulus: FloatArray, forces: FloatArray) -> FloatArray:
    """Return the axial force (n_i,) [N] with which what holds the fore face pushes aft on it."""
    n, cells = len(forces), slice(0, body.cells.columns)
    row, column = np.tril_indices(18)
    lower = cell_stiffness(body.tables, modulus=modulus[:n, :, :_GAUSS])[:, cells]
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


def _load_forces(body: StressBody, loads: StressLoads) -> FloatArray:
    """Return the forces (n_i, m, 18) [N] of pressure and inertia."""
    forces = cell_forces_of_pressure(
        body.tables,
        cells=body.cells,
        outline=np.asarray(loads.outline_pressure),
        inner=np.asarray(loads.inner_pressure),
    )
    weight = body.density[:, None] * body.tables.mass
    forces[:, :, 1::2] += np.asarray(loads.acceleration)[:, None, None] * weight
    return forces


def _reduced_stress(body: StressBody, *, moved: FloatArray, heated: _Heated) -> tuple[FloatArray, FloatArray]:
    """Return primary and total stress (n_s, m, 4, 4) at the reduced points."""
    states, cell_count = heated.modulus.shape[:2]
    by_place = np.ascontiguousarray(moved.reshape(2 * states, -1).T)
    per_modulus = body.tables.stress @ by_place[body.plan.freedom]
    stress = np.ascontiguousarray(per_modulus.transpose(2, 0, 1)).reshape(2, states, cell_count, 4, 4)
    thermal = heated.strain[..., _GAUSS:] * body.tables.bulk[:, None]
    stress[1, ..., :3] -= thermal[..., None]
    stress *= heated.modulus[..., _GAUSS:, None]
    return stress[0], stress[1]


def _at_nodes(body: StressBody, moved: FloatArray) -> FloatArray:
    """Return u_r and u_z (2, n_s, n_nodes, 2) of the thermal nodes in the two cases."""
    shell = np.flatnonzero(body.cells.moving_of >= 0)
    every = np.zeros((*moved.shape[:2], body.cells.moving_of.size, 2))
    every[:, :, shell] = moved[:, :, body.plan.number[body.cells.moving_of[shell]]]
    return every
