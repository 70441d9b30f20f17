"""A shell for stress, what acts on it, and what that does to it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum
from typing import TYPE_CHECKING, NamedTuple

from optitip.arrays import FloatArray, IntArray
from optitip.properties.materials import Elastic
from optitip.solvers.elastic_assembly import BandPlan, CellTables
from optitip.solvers.elastic_cells import NineNodeCells
from optitip.solvers.elastic_joints import Contact

if TYPE_CHECKING:
    from optitip.solvers.compiled_stress import ShellLanes


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
        tables: what the geometry gives; none where the compiled kernels hold it.
        lanes: the design in the compiled kernels, none where the plain way is taken.
        plan: where the stiffness goes.
        contact: where fitted joints may touch, none without any.
        restraint: what keeps it from moving along the axis.
    """

    points: FloatArray
    cells: NineNodeCells
    materials: tuple[Elastic, ...]
    cell_material: IntArray
    density: FloatArray
    tables: CellTables | None
    lanes: ShellLanes | None
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

    def at(self, some: slice) -> StressFields:
        """Return the fields of some of the instants."""
        return replace(
            self,
            primary=self.primary[some],
            total=self.total[some],
            primary_movement=self.primary_movement[some],
            total_movement=self.total_movement[some],
            contact_force=self.contact_force[some],
            joint_force=self.joint_force[some],
            aft_force=self.aft_force[some],
        )


class Solved(NamedTuple):
    """What either way of solving finds; states are the instants and, with fits, the shell put together.

    stress (2, n_s, m, 4, 4) [Pa], its states last in memory, and movement (2, n_s, n_nodes, 2) [m], the
    loads' case first; contact (n_s, n_joints) [N]; ahead: axial force of the loads ahead of each joint and
    of the aft face (n_i, n_joints + 1) [N].
    """

    stress: FloatArray
    movement: FloatArray
    contact: FloatArray
    ahead: FloatArray
