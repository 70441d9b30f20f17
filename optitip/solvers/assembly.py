"""Axisymmetric conduction assembled: a constant symmetric banded matrix and a lumped volume for each node.

The fast assembly of the march; what it returns is held to scikit-fem's in the tests.
"""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from optitip.arrays import FloatArray, IntArray, read_only
from optitip.errors import DesignFailure, Outcome
from optitip.solvers import banded
from optitip.solvers.body import ColdSide, Enclosure, HeatBody
from optitip.solvers.enthalpy import EnthalpyTable, NodeTables, enthalpy_table, node_tables
from optitip.solvers.joints import JointTable, joint_table
from optitip.solvers.layout import layout_of
from optitip.solvers.sums import summed

_GAUSS = np.array([-1.0, 1.0]) / np.sqrt(3.0)
_XI, _ETA = (axis.ravel()[:, None] for axis in np.meshgrid(_GAUSS, _GAUSS, indexing="ij"))
_SIGN_XI, _SIGN_ETA = np.array([[-1.0, 1.0, 1.0, -1.0], [-1.0, -1.0, 1.0, 1.0]])
_SHAPE = 0.25 * (1.0 + _XI * _SIGN_XI) * (1.0 + _ETA * _SIGN_ETA)
_SHAPE_XI = 0.25 * _SIGN_XI * (1.0 + _ETA * _SIGN_ETA)
_SHAPE_ETA = 0.25 * _SIGN_ETA * (1.0 + _XI * _SIGN_XI)
_AT_POINTS = np.concatenate([_SHAPE_XI, _SHAPE_ETA, _SHAPE])


def _products(first: FloatArray, second: FloatArray) -> FloatArray:
    """Return the products of all pairs of shape functions' slopes, (16, 4 points)."""
    return (first[:, :, None] * second[:, None, :]).reshape(4, 16).T


# what one cell's metric at each point adds to its stiffness: the same for every cell there is
_METRIC_SHARES = np.concatenate(
    [
        _products(_SHAPE_XI, _SHAPE_XI),
        _products(_SHAPE_ETA, _SHAPE_ETA),
        _products(_SHAPE_XI, _SHAPE_ETA) + _products(_SHAPE_ETA, _SHAPE_XI),
    ],
    axis=1,
)


class Elements(NamedTuple):
    """Integrals over each cell: ``stiffness (16, m)`` [m] and ``volume (4, m)`` [m3], both with 2 pi r."""

    stiffness: FloatArray
    volume: FloatArray


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


def assemble(body: HeatBody, *, elements: Elements | None = None) -> HeatModel:
    """Return the body assembled: K_ij = sum over cells of w k_ref integral grad N_i . grad N_j 2 pi r dA.

    Conduction is written in tau (Kirchhoff), so that K is a constant of the design; the volume of node i is
    integral w N_i 2 pi r dA, with w the share of the circumference.

    elements: what ``integrate`` gives for the body's points and cells, where that is known already.
    Valid for cells of positive area (else DesignFailure, the mesh folds) and any r >= 0: the axis is natural.

    Source: Carslaw & Jaeger 1959, section 1.6 (Kirchhoff's transformation), from memory.
    """
    nodes = body.points.shape[0]
    layout = layout_of(body)
    tables = tuple(enthalpy_table(material) for material in body.materials)
    if elements is None:
        elements = integrate(body.points, cells=body.cells)
    k_ref = np.array([table.conductivity_reference for table in tables])
    stiffness = elements.stiffness * (body.cell_weight * k_ref[body.cell_material])
    entries = stiffness.ravel().take(layout.entries)
    band = summed(entries, index=layout.targets, size=(layout.width + 1) * nodes)
    band = band.reshape((layout.width + 1, nodes), order="F")
    _balance_rows(band)
    volume = (elements.volume * body.cell_weight).ravel()
    region_volume = summed(volume, index=layout.region_corners, size=layout.region_mean.size)
    return HeatModel(
        stiffness=read_only(band),
        volume=read_only(summed(volume, index=layout.corners, size=nodes)),
        node_material=layout.node_material,
        tables=tables,
        node_tables=node_tables(tables, layout.node_material),
        joints=joint_table(body, layout=layout),
        regions=layout.regions,
        region_volume=read_only(region_volume.reshape(-1, nodes)),
        region_mean=layout.region_mean,
        enclosure=body.enclosure,
        cold_side=body.cold_side,
    )


def _balance_rows(band: FloatArray) -> None:
    """Make the rows sum to zero to the last bit: what round-off leaves there is heat out of nothing.

    All entries become whole multiples of 2^-50 of the largest, so that their sums are exact in any order.
    """
    grain = 2.0 ** (np.ceil(np.log2(band.max())) - 50.0)
    np.rint(band / grain, out=band)
    band *= grain
    band[-1] = 0.0
    band[-1] = -banded.multiply(band, np.ones(band.shape[1]))


def integrate(points: FloatArray, *, cells: IntArray) -> Elements:
    """Return integral grad N_i . grad N_j 2 pi r dA and integral N_i 2 pi r dA over each cell.

    points ``(n_nodes, 2)`` [m] columns r, z; cells ``(m, 4)`` counter-clockwise. 2 x 2 Gauss points.

    A square of side 1 with its axis on r = 0 has the volume pi:

    >>> square = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    >>> float(integrate(square, cells=np.array([[0, 1, 2, 3]])).volume.sum().round(12)) == round(np.pi, 12)
    True
    """
    corner = points.T.take(cells.T.ravel(), axis=1).reshape(2, 4, -1)
    (r_xi, r_eta, r), (z_xi, z_eta, _) = (_AT_POINTS @ corner).reshape(2, 3, 4, -1)
    jacobian = r_xi * z_eta - r_eta * z_xi
    if jacobian.min() <= 0.0:
        cell = int(jacobian.min(axis=0).argmin())
        raise DesignFailure(Outcome.MESH_FOLDED, place="tip", detail=f"cell {cell} has no positive area")
    ring = 2.0 * np.pi * r
    weight = ring / jacobian
    metric = np.empty((3, *jacobian.shape))
    metric[0] = (r_eta * r_eta + z_eta * z_eta) * weight
    metric[1] = (r_xi * r_xi + z_xi * z_xi) * weight
    metric[2] = (r_xi * r_eta + z_xi * z_eta) * -weight
    return Elements(_METRIC_SHARES @ metric.reshape(12, -1), _SHAPE.T @ (ring * jacobian))
