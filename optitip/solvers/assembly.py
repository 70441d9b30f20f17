"""Axisymmetric conduction assembled: a constant symmetric banded matrix and a lumped volume for each node.

The fast assembly of the march; what it returns is held to scikit-fem's in the tests.
"""

from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from optitip.arrays import FloatArray, IntArray, frozen, frozen_index
from optitip.errors import DesignFailure, Outcome
from optitip.solvers import banded
from optitip.solvers.body import ColdSide, Enclosure, HeatBody
from optitip.solvers.enthalpy import EnthalpyTable, NodeTables, enthalpy_table, node_tables
from optitip.solvers.joints import JointTable, joint_ends, joint_table
from optitip.solvers.sums import summed

_GAUSS = np.array([-1.0, 1.0]) / np.sqrt(3.0)
_XI, _ETA = (axis.ravel()[:, None] for axis in np.meshgrid(_GAUSS, _GAUSS, indexing="ij"))
_SIGN_XI, _SIGN_ETA = np.array([[-1.0, 1.0, 1.0, -1.0], [-1.0, -1.0, 1.0, 1.0]])
_SHAPE = 0.25 * (1.0 + _XI * _SIGN_XI) * (1.0 + _ETA * _SIGN_ETA)
_SHAPE_XI = 0.25 * _SIGN_XI * (1.0 + _ETA * _SIGN_ETA)
_SHAPE_ETA = 0.25 * _SIGN_ETA * (1.0 + _XI * _SIGN_XI)


class Elements(NamedTuple):
    """Integrals over each cell: ``stiffness (16, m)`` [m] and ``volume (4, m)`` [m3], both with 2 pi r."""

    stiffness: FloatArray
    volume: FloatArray


class Scatter(NamedTuple):
    """Where the entries of the cells go in the flat band; a function of the topology alone."""

    width: int
    entries: IntArray
    targets: IntArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HeatModel:
    """A body ready to march.

    stiffness: the conduction matrix K in tau, upper band ``(width + 1, n_nodes)`` [W/K], rows sum to zero.
    volume: ``(n_nodes,)`` [m3]. regions: ``(n_regions,)`` their numbers.
    region_volume: ``(n_regions, n_nodes)`` [m3]. region_mean: the same shape, plain means over its nodes.
    """

    stiffness: FloatArray
    volume: FloatArray
    node_material: IntArray
    tables: tuple[EnthalpyTable, ...]
    node_tables: NodeTables
    joints: JointTable
    regions: IntArray
    region_volume: FloatArray
    region_mean: FloatArray
    enclosure: Enclosure | None
    cold_side: ColdSide

    def boiling_temperature(self) -> FloatArray:
        """Return where each node boils ``(n_nodes,)`` [K], infinite where it doesn't."""
        return np.array([table.boiling for table in self.tables])[self.node_material]


def assemble(body: HeatBody) -> HeatModel:
    """Return the body assembled: K_ij = sum over cells of w k_ref integral grad N_i . grad N_j 2 pi r dA.

    Conduction is written in tau (Kirchhoff), so that K is a constant of the design; the volume of node i is
    integral w N_i 2 pi r dA, with w the share of the circumference.

    Valid for cells of positive area (else DesignFailure, the mesh folds) and any r >= 0: the axis is natural.

    Source: Carslaw & Jaeger 1959, section 1.6 (Kirchhoff's transformation), from memory.
    """
    nodes = body.points.shape[0]
    node_material = _node_material(body)
    tables = tuple(enthalpy_table(material) for material in body.materials)
    scatter = band_scatter(body.cells.tobytes(), joint_ends(body.joints).tobytes(), nodes)
    elements = integrate(body.points, cells=body.cells)
    k_ref = np.array([table.conductivity_reference for table in tables])
    stiffness = elements.stiffness * (body.cell_weight * k_ref[body.cell_material])
    entries = stiffness.ravel()[scatter.entries]
    band = summed(entries, index=scatter.targets, size=(scatter.width + 1) * nodes)
    volume = elements.volume * body.cell_weight
    regions, region_volume, region_mean = _regions(body, volume=volume)
    return HeatModel(
        stiffness=_read_only(band.reshape((scatter.width + 1, nodes), order="F")),
        volume=frozen(summed(volume.ravel(), index=body.cells.T.ravel(), size=nodes)),
        node_material=node_material,
        tables=tables,
        node_tables=node_tables(tables, node_material),
        joints=joint_table(body, node_material=node_material),
        regions=regions,
        region_volume=region_volume,
        region_mean=region_mean,
        enclosure=body.enclosure,
        cold_side=body.cold_side,
    )


def integrate(points: FloatArray, *, cells: IntArray) -> Elements:
    """Return integral grad N_i . grad N_j 2 pi r dA and integral N_i 2 pi r dA over each cell.

    points ``(n_nodes, 2)`` [m] columns r, z; cells ``(m, 4)`` counter-clockwise. 2 x 2 Gauss points.

    A square of side 1 with its axis on r = 0 has the volume pi:

    >>> square = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    >>> float(integrate(square, cells=np.array([[0, 1, 2, 3]])).volume.sum().round(12)) == round(np.pi, 12)
    True
    """
    r, z = points[cells, 0].T, points[cells, 1].T
    r_xi, z_xi, r_eta, z_eta = _SHAPE_XI @ r, _SHAPE_XI @ z, _SHAPE_ETA @ r, _SHAPE_ETA @ z
    jacobian = r_xi * z_eta - r_eta * z_xi
    if jacobian.min() <= 0.0:
        cell = int(jacobian.min(axis=0).argmin())
        raise DesignFailure(Outcome.MESH_FOLDED, place="tip", detail=f"cell {cell} has no positive area")
    ring = 2.0 * np.pi * (_SHAPE @ r)
    volume = _SHAPE.T @ (ring * jacobian)
    root = np.sqrt(ring / jacobian)
    gradient = np.empty((8, 4, cells.shape[0]))
    for node in range(4):
        gradient[:4, node] = root * (z_eta * _SHAPE_XI[:, node, None] - z_xi * _SHAPE_ETA[:, node, None])
        gradient[4:, node] = root * (r_xi * _SHAPE_ETA[:, node, None] - r_eta * _SHAPE_XI[:, node, None])
    stiffness = np.empty((4, 4, cells.shape[0]))
    for row in range(4):
        for column in range(row, 4):
            np.einsum("gm,gm->m", gradient[:, row], gradient[:, column], out=stiffness[row, column])
            stiffness[column, row] = stiffness[row, column]
    return Elements(stiffness.reshape(16, -1), volume)


@lru_cache(maxsize=16)
def band_scatter(cells: bytes, joint_ends: bytes, nodes: int) -> Scatter:
    """Return where each entry of the cells goes in the flat band; kept for each topology met."""
    corner = np.frombuffer(cells, dtype=np.int64).reshape(-1, 4).T
    first, second = np.frombuffer(joint_ends, dtype=np.int64).reshape(2, -1)
    if np.unique(corner).size != nodes:
        raise ValueError("a node belongs to no cell, or a cell names a node that isn't there")
    row = np.repeat(corner, 4, axis=0).ravel()
    column = np.tile(corner, (4, 1)).ravel()
    width = int(max(np.abs(row - column).max(), np.abs(first - second).max(initial=0)))
    entries = np.flatnonzero(row <= column)
    targets = banded.positions(row[entries], column[entries], width=width)
    return Scatter(width, frozen_index(entries), frozen_index(targets))


def _node_material(body: HeatBody) -> IntArray:
    node_material = np.zeros(body.points.shape[0], dtype=np.int64)
    node_material[body.cells] = body.cell_material[:, None]
    if (node_material[body.cells] != body.cell_material[:, None]).any():
        raise ValueError("two materials share a node: join unlike parts by pairs of nodes")
    return frozen_index(node_material)


def _regions(body: HeatBody, *, volume: FloatArray) -> tuple[IntArray, FloatArray, FloatArray]:
    nodes = body.points.shape[0]
    cell_region = body.cell_material if body.cell_region is None else body.cell_region
    regions, index = np.unique(cell_region, return_inverse=True)
    target = (index[:, None] * nodes + body.cells).T.ravel()
    share = summed(volume.ravel(), index=target, size=regions.size * nodes).reshape(-1, nodes)
    touched = (share > 0.0).astype(np.float64)
    return frozen_index(regions), frozen(share), frozen(touched / touched.sum(axis=1, keepdims=True))


def _read_only(array: FloatArray) -> FloatArray:
    array.flags.writeable = False
    return array
