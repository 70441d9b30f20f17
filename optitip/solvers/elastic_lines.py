"""Stress along lines through the wall: membrane and bending parts, at the wall's two faces."""

from dataclasses import dataclass

import numpy as np

from optitip.arrays import FloatArray, IntArray, frozen, frozen_index
from optitip.solvers.elastic import StressBody, StressFields, StressLoads
from optitip.solvers.elastic_cells import NineNodeCells
from optitip.solvers.elastic_shape import LINE_REDUCED, line_shape

SHARP_TURN = np.radians(30.0)
CLEARANCE = 0.5e-3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WallStress:
    """Linearised stress on lines through the wall; the faces are outline and inner, in this order.

    Args:
        axial: z of the line's outline end (n_l,) [m].
        zone: zone the line lies in (n_l,).
        material: index of its material (n_l,).
        thickness: length of the line (n_l,) [m]; in solid parts it reaches the axis.
        start_temperature: stress-free temperature at the faces (n_l, 2) [K].
        temperature: at the faces (n_i, n_l, 2) [K].
        primary: stress at the faces from the loads alone (n_i, n_l, 2, 4) [Pa]: r, z, theta, rz.
        total: the same with the thermal strain.
    """

    axial: FloatArray
    zone: IntArray
    material: IntArray
    thickness: FloatArray
    start_temperature: FloatArray
    temperature: FloatArray
    primary: FloatArray
    total: FloatArray


def wall_stress(
    body: StressBody, *, loads: StressLoads, fields: StressFields, clearance: float = CLEARANCE
) -> WallStress:
    """Return membrane plus bending stress at both faces of lines through the wall.

    Membrane sigma_m = (1/t) int sigma dx, bending sigma_b = (6/t^2) int sigma (t/2 - x) dx at the outline;
    the faces carry sigma_m + sigma_b and sigma_m - sigma_b. Each block row gives two lines, through its
    reduced points, whose Gauss rule is exact for a cubic through each cell.

    Args:
        body: the shell.
        loads: what acted on it; gives the faces their temperature.
        fields: its stress.
        clearance: lines that end nearer than this to a sharp cut are left out [m]: the stress there has
            no limit on finer grids.

    Valid for thin and moderately thick walls; in a solid part the line runs from the outline to the axis.
    Source: stress linearisation of pressure-vessel practice (ASME BPVC VIII-2, annex 5-A, from memory).
    """
    cells = body.cells
    along, _ = line_shape(LINE_REDUCED)
    rows = cells.face_rows()
    ends = _at_lines(np.asarray(body.points)[cells.rows[rows]][:, :, [0, -1]], along)
    to_faces = _face_weights(body, ends)
    kept = _clear_of_cuts(body.points, cells, inner_end=ends[:, 1], clearance=clearance)
    faces = cells.rows[rows][:, :, [0, -1]]
    hot = np.stack([_at_lines(one[faces], along) for one in np.asarray(loads.temperature)])
    start = np.broadcast_to(loads.start_temperature, np.shape(loads.temperature)[1:])
    return WallStress(
        axial=frozen(ends[kept, 0, 1]),
        zone=frozen_index(np.repeat(cells.zone[:: cells.columns], 2)[kept]),
        material=frozen_index(np.repeat(body.cell_material[:: cells.columns], 2)[kept]),
        thickness=frozen(np.linalg.norm(ends[:, 1] - ends[:, 0], axis=1)[kept]),
        start_temperature=frozen(_at_lines(start[faces], along)[kept]),
        temperature=frozen(hot[:, kept]),
        primary=frozen((to_faces @ _on_lines(cells, fields.primary))[:, kept]),
        total=frozen((to_faces @ _on_lines(cells, fields.total))[:, kept]),
    )


def von_mises(stress: FloatArray) -> FloatArray:
    """Return the von Mises stress [Pa] of axisymmetric stress (..., 4): r, z, theta, rz.

    sqrt(((s_r - s_z)^2 + (s_z - s_theta)^2 + (s_theta - s_r)^2) / 2 + 3 tau^2).

    >>> von_mises(np.array([[0.0, 3.0, 0.0, 0.0], [0.0, 0.0, 0.0, 1.0]])).round(4).tolist()
    [3.0, 1.7321]
    """
    r, z, theta, shear = np.moveaxis(np.asarray(stress), -1, 0)
    squares = (r - z) ** 2 + (z - theta) ** 2 + (theta - r) ** 2
    return np.asarray(np.sqrt(0.5 * squares + 3.0 * shear**2))


def sharp_cuts(points: FloatArray, *, cells: NineNodeCells, turn: float = SHARP_TURN) -> FloatArray:
    """Return r and z (n, 2) of the cavity's sharp cuts: inner corners that turn into the metal at once.

    A corner counts where the inner curve, run fore to aft, turns by more than ``turn`` [rad] with the metal
    on its far side (re-entrant). A fillet of several strips turns less at each and doesn't count.
    """
    inner = np.asarray(points)[cells.rows[:, -1]]
    step = np.linalg.norm(np.diff(inner, axis=0), axis=1)
    inner = inner[np.concatenate(([True], step > 1e-9))]
    tangent = np.diff(inner, axis=0)
    before, after = tangent[:-1], tangent[1:]
    cross = before[:, 1] * after[:, 0] - before[:, 0] * after[:, 1]
    angle = np.arctan2(cross, np.einsum("ni,ni->n", before, after))
    return np.asarray(inner[1:-1][angle < -turn])


def _at_lines(at_rows: FloatArray, along: FloatArray) -> FloatArray:
    """Return values (n_lines, ...) on the lines from those on the rows (n_block_rows, 3, ...)."""
    return np.moveaxis(np.tensordot(along, at_rows, axes=(1, 1)), 0, 1).reshape(-1, *at_rows.shape[2:])


def _on_lines(cells: NineNodeCells, at_points: FloatArray) -> FloatArray:
    """Return stress (n_i, n_lines, 2 columns, 4), outline to inner, from that at the reduced points."""
    instants = at_points.shape[0]
    by_block = at_points.reshape(instants, -1, cells.columns, 2, 2, 4)
    return by_block.transpose(0, 1, 3, 2, 4, 5).reshape(instants, -1, 2 * cells.columns, 4)


def _face_weights(body: StressBody, ends: FloatArray) -> FloatArray:
    """Return what turns the stress at a line's points into that at its faces (n_lines, 2, 2 columns)."""
    cells = body.cells
    along, _ = line_shape(LINE_REDUCED)
    across, slope = line_shape(LINE_REDUCED)
    lattice = np.asarray(body.points)[cells.nodes].reshape(-1, cells.columns, 3, 3, 2)
    curve = np.einsum("sa,bcaji->bscji", along, lattice, optimize=True)
    place = np.einsum("qj,bscji->bscqi", across, curve).reshape(len(ends), -1, 2)
    tangent = np.einsum("qj,bscji->bscqi", slope, curve).reshape(len(ends), -1, 2)
    weight = np.linalg.norm(tangent, axis=-1)
    weight /= weight.sum(axis=1, keepdims=True)
    x = np.linalg.norm(place - ends[:, :1], axis=-1)
    thickness = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=-1)[:, None]
    middle = (weight * x).sum(axis=1, keepdims=True)
    lever = weight * (x - middle)
    lever /= (lever * (x - middle)).sum(axis=1, keepdims=True)
    return np.stack((weight - middle * lever, weight + (thickness - middle) * lever), axis=1)


def _clear_of_cuts(
    points: FloatArray, cells: NineNodeCells, *, inner_end: FloatArray, clearance: float
) -> IntArray:
    """Return the lines that end on the inner side no nearer than the clearance to a sharp cut."""
    cuts = sharp_cuts(points, cells=cells)
    if not len(cuts):
        return np.arange(len(inner_end))
    distance = np.linalg.norm(inner_end[:, None] - cuts[None], axis=-1).min(axis=1)
    return np.flatnonzero(distance >= clearance)
