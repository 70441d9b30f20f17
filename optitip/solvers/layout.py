"""What of a body is the same for all designs of one topology: where entries go, what belongs to what."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from optitip.arrays import FloatArray, IntArray, frozen, frozen_index
from optitip.solvers import banded
from optitip.solvers.body import HeatBody, HeatJoint

KEPT = 32


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Layout:
    """The topology of a body, of which part is of which material, and of its regions.

    width: half-bandwidth. entries, targets: which of the cells' entries ``(16 m,)`` go where in the flat
    band. corners ``(4 m,)``: the node of each cell's corners, first corners first; region_corners the same in
    a flat ``(n_regions, n_nodes)``. node_material ``(n_nodes,)``. regions ``(n_regions,)``: their numbers;
    region_mean ``(n_regions, n_nodes)``: plain means over the nodes of a region.
    first, second ``(n,)``: the ends of all joints' pairs, behind one another in ``both``. mean_of_ends
    ``(2 n, n_materials)``: plain means over each material's ends; endless ``(n_materials,)``: 1 where it has
    none.
    """

    width: int
    entries: IntArray
    targets: IntArray
    corners: IntArray
    node_material: IntArray
    regions: IntArray
    region_corners: IntArray
    region_mean: FloatArray
    first: IntArray
    second: IntArray
    both: IntArray
    mean_of_ends: FloatArray
    endless: FloatArray


def layout_of(body: HeatBody) -> Layout:
    """Return the body's layout: the same object for the same topology, materials' places and regions."""
    region = body.cell_material if body.cell_region is None else body.cell_region
    return _laid_out(
        body.cells.tobytes(),
        material=body.cell_material.tobytes(),
        region=region.tobytes(),
        ends=joint_ends(body.joints).tobytes(),
        nodes=len(body.points),
        materials=len(body.materials),
    )


def joint_ends(joints: tuple[HeatJoint, ...]) -> IntArray:
    """Return the nodes of all pairs, ``(2, n)``: first ends, second ends."""
    empty = np.empty(0, dtype=np.int64)
    first = np.concatenate([empty, *(joint.first for joint in joints)])
    second = np.concatenate([empty, *(joint.second for joint in joints)])
    return np.stack([first, second])


@lru_cache(maxsize=KEPT)
def _laid_out(
    cells: bytes, *, material: bytes, region: bytes, ends: bytes, nodes: int, materials: int
) -> Layout:
    corner = _integers(cells).reshape(-1, 4)
    first, second = _integers(ends).reshape(2, -1)
    node_material = _node_material(corner, _integers(material), nodes=nodes)
    if np.unique(corner).size != nodes:
        raise ValueError("a node belongs to no cell, or a cell names a node that isn't there")
    if np.unique(np.sort([first, second], axis=0), axis=1).shape != (2, first.size):
        raise ValueError("two joints join the same pair of nodes")
    row = np.repeat(corner.T, 4, axis=0).ravel()
    column = np.tile(corner.T, (4, 1)).ravel()
    width = int(max(np.abs(row - column).max(), np.abs(first - second).max(initial=0)))
    entries = np.flatnonzero(row <= column)
    regions, index = np.unique(_integers(region), return_inverse=True)
    region_corners = (index[:, None] * nodes + corner).T.ravel()
    touched = np.bincount(region_corners, minlength=regions.size * nodes).reshape(-1, nodes) > 0
    both = np.concatenate([first, second])
    of_material = node_material[both][:, None] == np.arange(materials)
    counts = of_material.sum(axis=0)
    return Layout(
        width=width,
        entries=frozen_index(entries),
        targets=frozen_index(banded.positions(row[entries], column[entries], width=width)),
        corners=frozen_index(corner.T.ravel()),
        node_material=node_material,
        regions=frozen_index(regions),
        region_corners=frozen_index(region_corners),
        region_mean=frozen(touched / touched.sum(axis=1, keepdims=True)),
        first=frozen_index(first),
        second=frozen_index(second),
        both=frozen_index(both),
        mean_of_ends=frozen(of_material / np.maximum(counts, 1)),
        endless=frozen(counts == 0),
    )


def _integers(written: bytes) -> IntArray:
    return np.frombuffer(written, dtype=np.int64)


def _node_material(corner: IntArray, material: IntArray, *, nodes: int) -> IntArray:
    node_material = np.zeros(nodes, dtype=np.int64)
    node_material[corner] = material[:, None]
    if (node_material[corner] != material[:, None]).any():
        raise ValueError("two materials share a node: join unlike parts by pairs of nodes")
    return frozen_index(node_material)
