"""Stress through the wall, row by row: membrane and bending parts, at the wall's two faces."""

from dataclasses import dataclass

import numpy as np

from optitip.arrays import FloatArray, IntArray, frozen, frozen_index
from optitip.solvers.elastic import StressBody, StressFields, StressLoads
from optitip.solvers.elastic_cells import NineNodeCells
from optitip.solvers.elastic_shape import LINE_CARRY, LINE_REDUCED, line_shape

SHARP_TURN = np.radians(30.0)
CLEARANCE = 0.5e-3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WallStress:
    """Linearised stress on the shell's rows; the faces are outline and inner, in this order.

    Args:
        axial: z of the row's outline end (n_l,) [m].
        zone: zone the row ends, that aft of it at a joint's aft side (n_l,).
        material: index of its material (n_l,).
        thickness: length of the row (n_l,) [m]; in solid parts it reaches the axis.
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
    """Return membrane plus bending stress [Pa] at both faces of the wall, row by row.

    Membrane sigma_m = (1/t) int sigma dx, bending sigma_b = (6/t^2) int sigma (t/2 - x) dx at the outline;
    the faces carry sigma_m + sigma_b and sigma_m - sigma_b. The integrals run along the two lines through
    each block row's reduced points (exact for a cubic through each cell); the faces' stress is carried from
    there to the rows, which take the mean of the blocks on their two sides.

    Args:
        body: the shell.
        loads: what acted on it; gives the faces their temperature.
        fields: its stress.
        clearance: rows that end nearer than this to a sharp cut are left out [m]: the stress there has
            no limit on finer grids.

    Valid for thin and moderately thick walls; in a solid part the row runs from the outline to the axis. The
    apex, a row of no length, is left out.
    Source: stress linearisation of pressure-vessel practice (ASME BPVC VIII-2, annex 5-A, from memory).

    A tube of radii 20 and 40 mm under 10 MPa inside: its mean hoop stress balances p a/(b - a) = 10 MPa.

    >>> from optitip.properties.materials import Elastic
    >>> from optitip.solvers.elastic import Restraint, solve_stress, stress_body
    >>> from optitip.solvers.elastic_cells import nine_node_cells
    >>> r, z = np.linspace(0.04, 0.02, 17), np.linspace(0.0, 0.01, 3)
    >>> points = np.stack(np.broadcast_arrays(r, z[:, None]), axis=-1).reshape(-1, 2)
    >>> cells = nine_node_cells(np.arange(51).reshape(3, 17), strip_zone=np.zeros(2, dtype=int))
    >>> metal = Elastic(temperature=np.array([0.0, 1e3]), modulus=np.full(2, 70e9), poisson=0.33,
    ...     expansion=np.full(2, 2.36e-5), reference_temperature=293.15, yield_strength=np.full(2, 240e6),
    ...     valid=(0.0, 1e3))
    >>> body = stress_body(points, cells=cells, materials=(metal,), cell_material=0 * cells.zone,
    ...     density=np.array([2700.0]), restraint=Restraint.BOTH_FACES)
    >>> loads = StressLoads(temperature=np.full((1, 51), 300.0), start_temperature=300.0,
    ...     acceleration=np.zeros(1), outline_pressure=np.zeros((1, 3)), inner_pressure=np.full((1, 3), 1e7))
    >>> wall = wall_stress(body, loads=loads, fields=solve_stress(body, loads=loads))
    >>> (wall.primary[0, 1, :, 2].mean() / 1e6).round(2).item()  # the mean of the faces is the membrane's
    10.0
    """
    cells = body.cells
    faces = cells.rows[:, [0, -1]]
    place = np.asarray(body.points)[faces]
    thickness = np.linalg.norm(place[:, 1] - place[:, 0], axis=1)
    far = _cut_distance(body.points, cells, place[:, 1]) >= clearance
    kept = np.flatnonzero(far & (thickness > 0.0))
    block = np.clip(np.searchsorted(cells.fore_row, kept) - 1, 0, None)
    block += cells.fore_row[block] + 2 < kept
    to_faces = _face_weights(body)
    start = np.broadcast_to(loads.start_temperature, np.shape(loads.temperature)[1:])
    return WallStress(
        axial=frozen(place[kept, 0, 1]),
        zone=frozen_index(cells.zone[block * cells.columns]),
        material=frozen_index(body.cell_material[block * cells.columns]),
        thickness=frozen(thickness[kept]),
        start_temperature=frozen(start[faces][kept]),
        temperature=frozen(np.asarray(loads.temperature)[:, faces[kept]]),
        primary=frozen(_on_rows(cells, to_faces @ _on_lines(cells, fields.primary))[:, kept]),
        total=frozen(_on_rows(cells, to_faces @ _on_lines(cells, fields.total))[:, kept]),
    )


def von_mises(stress: FloatArray) -> FloatArray:
    """Return the von Mises stress [Pa] of axisymmetric stress (..., 4): r, z, theta, rz.

    sqrt(((s_r - s_z)^2 + (s_z - s_theta)^2 + (s_theta - s_r)^2) / 2 + 3 tau^2).

    Never negative. Valid for any stress; as a measure of yielding, for ductile metals of no grain direction.
    Source: von Mises 1913, from memory.

    >>> von_mises(np.array([[0.0, 3.0, 0.0, 0.0], [0.0, 0.0, 0.0, 1.0]])).round(4).tolist()  # 3, sqrt(3)
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


def _on_lines(cells: NineNodeCells, at_points: FloatArray) -> FloatArray:
    """Return stress (n_i, n_lines, 2 columns, 4), outline to inner, from that at the reduced points."""
    instants = at_points.shape[0]
    by_block = at_points.reshape(instants, -1, cells.columns, 2, 2, 4)
    return by_block.transpose(0, 1, 3, 2, 4, 5).reshape(instants, -1, 2 * cells.columns, 4)


def _on_rows(cells: NineNodeCells, at_lines: FloatArray) -> FloatArray:
    """Return stress (n_i, n_rows, 2, 4) from that of each block row's two lines (n_i, n_lines, 2, 4)."""
    instants, rows = at_lines.shape[0], cells.rows.shape[0]
    carried = np.tensordot(LINE_CARRY, at_lines.reshape(instants, -1, 2, 8), axes=(1, 2))
    total = np.zeros((instants, rows, 8))
    share = np.zeros(rows)
    for place, values in enumerate(carried):
        total[:, cells.fore_row + place] += values
        share[cells.fore_row + place] += 1.0
    return (total / np.maximum(share, 1.0)[:, None]).reshape(instants, rows, 2, 4)


def _face_weights(body: StressBody) -> FloatArray:
    """Return what turns the stress at a line's points into that at its faces (n_lines, 2, 2 columns)."""
    columns = body.cells.columns
    value, slope = line_shape(LINE_REDUCED)
    lattice = np.asarray(body.points)[body.cells.nodes].reshape(-1, 1, columns, 3, 6)
    curve = (value[:, None, None] @ lattice).reshape(-1, columns, 3, 2)
    ends = np.stack((curve[:, 0, 0], curve[:, -1, 2]), axis=1)
    place = (value @ curve).reshape(len(curve), -1, 2)
    weight = np.linalg.norm((slope @ curve).reshape(len(curve), -1, 2), axis=-1)
    weight /= weight.sum(axis=1, keepdims=True)
    x = np.linalg.norm(place - ends[:, :1], axis=-1)
    thickness = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=-1)[:, None]
    middle = (weight * x).sum(axis=1, keepdims=True)
    lever = weight * (x - middle)
    lever /= (lever * (x - middle)).sum(axis=1, keepdims=True)
    return np.stack((weight - middle * lever, weight + (thickness - middle) * lever), axis=1)


def _cut_distance(points: FloatArray, cells: NineNodeCells, places: FloatArray) -> FloatArray:
    """Return how far each place (n, 2) is from the nearest sharp cut [m], infinite without one."""
    cuts = sharp_cuts(points, cells=cells)
    apart = np.linalg.norm(places[:, None] - cuts[None], axis=-1)
    return np.asarray(apart.min(axis=1, initial=np.inf))
