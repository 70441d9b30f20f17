"""Stress of the shell from temperature, pressure and acceleration, at a few instants."""

from collections.abc import Mapping
from types import MappingProxyType

import numpy as np

from optitip.arrays import FloatArray, IntArray, frozen, frozen_index, read_only
from optitip.properties.materials import Elastic
from optitip.solvers.elastic_assembly import band_plan, cell_tables
from optitip.solvers.elastic_body import Restraint, StressBody, StressFields, StressLoads
from optitip.solvers.elastic_cells import NineNodeCells, set_apart
from optitip.solvers.elastic_joints import JointFit, contact_of, fitted_joints
from optitip.solvers.elastic_lanes import compiled_shell, solve_in_lanes
from optitip.solvers.elastic_plain import solve_plainly

__all__ = ["Restraint", "StressBody", "StressFields", "StressLoads", "solve_stress", "stress_body"]

_BONDED: Mapping[int, JointFit] = MappingProxyType({})


def stress_body(
    points: FloatArray,
    *,
    cells: NineNodeCells,
    materials: tuple[Elastic, ...],
    cell_material: IntArray,
    density: FloatArray,
    restraint: Restraint = Restraint.AFT_FACE,
    fits: Mapping[int, JointFit] = _BONDED,
    compiled: bool = False,
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
        compiled: whether it is solved by the compiled kernels, where numba is installed; they cost a second
            to load and agree with the plain way to round-off.
    """
    apart = fitted_joints(fits)
    cells = set_apart(cells, joints=apart) if apart else cells
    plan = band_plan(cells, held=_held(points, cells, restraint))
    cell_material = np.asarray(cell_material)
    contact = contact_of(points, cells=cells, plan=plan, fits=fits)
    densities = np.asarray(density)[cell_material]
    lanes = None
    if compiled and restraint is not Restraint.BOTH_FACES and (made := compiled_shell()) is not None:
        lanes = made(
            points,
            cells=cells,
            plan=plan,
            pushes=0 if contact is None else contact.joint.size,
            materials=materials,
            cell_material=cell_material,
            density=densities,
        )
    poisson = np.array([material.poisson for material in materials])[cell_material]
    return StressBody(
        points=frozen(points),
        cells=cells,
        materials=materials,
        cell_material=frozen_index(cell_material),
        density=frozen(densities),
        # a mesh that folds has no lanes: the plain tables say where
        tables=cell_tables(points, cells=cells, poisson=poisson, plan=plan) if lanes is None else None,
        lanes=lanes,
        plan=plan,
        contact=contact,
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
    if body.lanes is not None:
        found = solve_in_lanes(body, body.lanes, loads=loads)
    else:
        assert body.tables is not None  # one of the two is there
        found = solve_plainly(body, body.tables, loads=loads)
    (primary, total), (by_loads, by_all) = found.stress, found.movement
    return StressFields(
        primary=read_only(primary[:n]),
        total=read_only(total[:n]),
        primary_movement=read_only(by_loads[:n]),
        total_movement=read_only(by_all[:n]),
        assembled=read_only(total[n:].sum(axis=0)),
        assembled_movement=read_only(by_all[n:].sum(axis=0)),
        contact_force=read_only(found.contact[:n]),
        assembled_contact=read_only(found.contact[n:].sum(axis=0)),
        joint_force=frozen(-found.ahead[:, :-1]),
        aft_force=frozen(-found.ahead[:, -1]),
    )
