"""Stress where the shell is judged: membrane and bending of walls, surface and axis of solid parts."""

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from optitip.arrays import FloatArray, IntArray, frozen, frozen_index
from optitip.properties.materials import Elastic
from optitip.solvers.elastic import StressBody, StressFields, StressLoads
from optitip.solvers.elastic_places import CLEAR_OF_EDGE, CLEAR_SHARE, Places, judged_places, solid_blocks
from optitip.solvers.elastic_shape import LINE_REDUCED, line_shape

_VALUE, _SLOPE = line_shape(LINE_REDUCED)
# stress has no slope across the axis: a + b x^2 through the innermost cell's two points
_TO_AXIS = (LINE_REDUCED - 1.0)[::-1] ** 2 * [-1.0, 1.0]
_TO_AXIS /= _TO_AXIS.sum()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WallStress:
    """Stress at the shell's judged places; their faces are outline and inner, in this order.

    Args:
        axial: z of the place on the outline (n_l,) [m].
        place: r and z of both faces (n_l, 2, 2) [m]; in solid parts the inner one lies on the axis.
        zone: zone the place lies in; between two zones, there is one place for each (n_l,).
        material: index of its material (n_l,).
        thickness: from face to face (n_l,) [m].
        start_temperature: stress-free temperature at the faces (n_l, 2) [K].
        temperature: at the faces (n_i, n_l, 2) [K].
        primary: stress at the faces from the loads alone (n_i, n_l, 2, 4) [Pa]: r, z, theta, rz.
        total: the same with the thermal strain.
        assembled: the same of the shell put together, cold and without loads (n_l, 2, 4): nought without an
            interference. Ranges of stress start from it.
    """

    axial: FloatArray
    place: FloatArray
    zone: IntArray
    material: IntArray
    thickness: FloatArray
    start_temperature: FloatArray
    temperature: FloatArray
    primary: FloatArray
    total: FloatArray
    assembled: FloatArray


def wall_stress(
    body: StressBody,
    *,
    loads: StressLoads,
    fields: StressFields,
    clear: float = CLEAR_OF_EDGE,
    clear_share: float = CLEAR_SHARE,
) -> WallStress:
    """Return the stress [Pa] that is judged at both faces of the shell, place by place.

    Through a wall: membrane sigma_m = (1/t) int sigma dx and bending sigma_b = (6/t^2) int sigma (t/2 - x) dx
    at the outline; the faces carry sigma_m + sigma_b and sigma_m - sigma_b, bending in the hoop and along
    the wall only. In solid parts, whose rows reach the axis: the stress itself, at the outline from the
    strains along the surface and the pressure on it, on the axis carried there from the points inside.

    Both are found on the two lines through each block row's reduced points (the integrals exact for a cubic
    through each cell) and read at the places of ``judged_places``.

    Args:
        body: the shell.
        loads: what acted on it; gives the faces their temperature.
        fields: its stress.
        clear: places nearer than this [m] to a sharp cut or to an end of a joint are left out, and so are
        clear_share: places nearer than this share of the wall there.

    Valid for thin and moderately thick walls. Parts are bonded over joints. The apex, a row of no length, is
    left out.
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
    judging = _judging(body, clear, clear_share)
    spots, faces = judging.spots, body.cells.rows[:, [0, -1]]
    hot = np.moveaxis(np.asarray(loads.temperature)[:, faces], 0, 1)
    start = np.broadcast_to(loads.start_temperature, np.shape(loads.temperature)[1:])
    primary, total = _at_places(body, judging, loads=loads, fields=fields)
    return WallStress(
        axial=judging.axial,
        place=judging.place,
        zone=judging.zone,
        material=judging.material,
        thickness=judging.thickness,
        start_temperature=frozen(spots.between_rows(start[faces])),
        temperature=frozen(np.moveaxis(spots.between_rows(hot), 0, 1)),
        primary=frozen(primary),
        total=frozen(total),
        assembled=frozen(_assembled(body, judging, loads=loads, fields=fields)),
    )


def _at_places(
    body: StressBody, judging: "_Judging", *, loads: StressLoads, fields: StressFields
) -> tuple[FloatArray, FloatArray]:
    """Return primary and total stress at the judged places (n_i, n_l, 2, 4)."""
    both = _on_lines(body.cells.columns, np.concatenate((fields.primary, fields.total)))
    stress = judging.linear.at_faces(both)
    _put_solid(body, loads=loads, fields=fields, inside=both, stress=stress)
    primary, total = np.split(judging.spots.between_lines(stress), 2)
    return primary, total


def _assembled(
    body: StressBody, judging: "_Judging", *, loads: StressLoads, fields: StressFields
) -> FloatArray:
    """Return the stress (n_l, 2, 4) of the shell put together, at its start temperature."""
    if body.contact is None:
        return np.zeros((judging.axial.size, 2, 4))
    start = np.broadcast_to(loads.start_temperature, np.shape(loads.temperature)[1:])[None]
    none = np.zeros((1, np.shape(loads.outline_pressure)[1]))
    cold = replace(
        loads, temperature=start, acceleration=np.zeros(1), outline_pressure=none, inner_pressure=none
    )
    stress, moved = fields.assembled[None], fields.assembled_movement[None]
    alone = replace(fields, primary=stress, total=stress, primary_movement=moved, total_movement=moved)
    return np.asarray(_at_places(body, judging, loads=cold, fields=alone)[1][0])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Judging:
    """What of a shell's judgement its geometry alone decides."""

    spots: Places
    linear: "_Linearising"
    axial: FloatArray
    place: FloatArray
    zone: IntArray
    material: IntArray
    thickness: FloatArray


@lru_cache(maxsize=4)  # a body is judged once in every flow state
def _judging(body: StressBody, clear: float, clear_share: float) -> _Judging:
    cells, points = body.cells, np.asarray(body.points)
    material = body.cell_material[:: cells.columns]
    spots = judged_places(points, cells=cells, material=material, least=clear, share=clear_share)
    place = spots.between_rows(points[cells.rows[:, [0, -1]]])
    return _Judging(
        spots=spots,
        linear=_linearising(body),
        axial=frozen(place[:, 0, 1]),
        place=frozen(place),
        zone=frozen_index(cells.zone[spots.block * cells.columns]),
        material=frozen_index(material[spots.block]),
        thickness=frozen(np.linalg.norm(place[:, 1] - place[:, 0], axis=1)),
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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Linearising:
    """What turns stress at a line's points into that at its faces: the membrane's part, and bending's.

    membrane (n_lines, 2 columns); bending (n_lines, 2 faces, 2 columns); bent (n_lines, 4, 4) keeps of a
    stress what bending carries, the hoop's and that along the wall.
    """

    membrane: FloatArray
    bending: FloatArray
    bent: FloatArray

    def at_faces(self, stress: FloatArray) -> FloatArray:
        """Return stress (n_i, n_lines, 2, 4) at the faces, of that at the points (.., 2 columns, 4)."""
        bending = (self.bending @ stress) @ self.bent
        return np.asarray(self.membrane[:, None] @ stress + bending)


def _linearising(body: StressBody) -> _Linearising:
    columns = body.cells.columns
    lattice = np.asarray(body.points)[body.cells.nodes].reshape(-1, 1, columns, 3, 6)
    curve = (_VALUE[:, None, None] @ lattice).reshape(-1, columns, 3, 2)
    ends = np.stack((curve[:, 0, 0], curve[:, -1, 2]), axis=1)
    place = (_VALUE @ curve).reshape(len(curve), -1, 2)
    weight = np.linalg.norm((_SLOPE @ curve).reshape(len(curve), -1, 2), axis=-1)
    weight /= weight.sum(axis=1, keepdims=True)
    x = np.linalg.norm(place - ends[:, :1], axis=-1)
    thickness = np.linalg.norm(ends[:, 1] - ends[:, 0], axis=-1)[:, None]
    middle = (weight * x).sum(axis=1, keepdims=True)
    lever = weight * (x - middle)
    lever /= (lever * (x - middle)).sum(axis=1, keepdims=True)
    return _Linearising(
        membrane=weight,
        bending=np.stack((-middle * lever, (thickness - middle) * lever), axis=1),
        bent=_bent((ends[:, 1] - ends[:, 0]) / thickness),
    )


def _bent(through: FloatArray) -> FloatArray:
    """Return the matrix (n, 4, 4), from the right, that keeps hoop and along of a stress; ``through`` (n, 2).

    With m = (-n_z, n_r) along the wall: sigma_m = m_r^2 sigma_r + m_z^2 sigma_z + 2 m_r m_z tau, and back.
    """
    m_r, m_z = -through[:, 1], through[:, 0]
    back = np.stack((m_r**2, m_z**2, 0.0 * m_r, m_r * m_z), axis=-1)
    matrix = (back * [1.0, 1.0, 1.0, 2.0])[:, :, None] * back[:, None, :]
    matrix[:, 2, 2] = 1.0
    return np.asarray(matrix)


def _on_lines(columns: int, at_points: FloatArray) -> FloatArray:
    """Return stress (n_i, n_lines, 2 columns, 4), outline to inner, from that at the reduced points."""
    instants = at_points.shape[0]
    by_block = at_points.reshape(instants, -1, columns, 2, 2, 4)
    return by_block.transpose(0, 1, 3, 2, 4, 5).reshape(instants, -1, 2 * columns, 4)


def _put_solid(
    body: StressBody, *, loads: StressLoads, fields: StressFields, inside: FloatArray, stress: FloatArray
) -> None:
    """Put the solid parts' stress, at outline and axis, into that of the lines (2 n_i, n_lines, 2, 4)."""
    solid = np.flatnonzero(solid_blocks(body.points, cells=body.cells))
    if solid.size:
        lines = (2 * solid[:, None] + np.arange(2)).ravel()
        surface = _surface(body, loads=loads, blocks=solid)
        stress[:, lines, 0] = surface.stress(np.stack((fields.primary_movement, fields.total_movement)))
        stress[:, lines, 1] = np.einsum("l,nilc->nic", _TO_AXIS, inside[:, lines, -2:])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Surface:
    """The outline of some block rows: nodes (n_blocks, 3); the rest at both lines of each (.., n_blocks, 2).

    along (.., 2) the tangent, length and all; radius; modulus, thermal (n_i, ..) and pressure (n_i, ..).
    """

    nodes: IntArray
    along: FloatArray
    radius: FloatArray
    modulus: FloatArray
    poisson: FloatArray
    thermal: FloatArray
    pressure: FloatArray

    def stress(self, movement: FloatArray) -> FloatArray:
        """Return the stress (2 n_i, 2 n_blocks, 4) of a surface that moved so (2, n_i, n_nodes, 2).

        Along the surface and round it E/(1 - nu^2) (e_1 + nu e_2) - nu/(1 - nu) p, across it -p; the
        thermal strain is taken off the second movement.
        """
        moved = movement[:, :, self.nodes]
        length = np.linalg.norm(self.along, axis=-1)
        e_1 = ((_SLOPE @ moved) * (self.along / length[..., None] ** 2)).sum(axis=-1)
        e_2 = moved[..., 0] @ _VALUE.T / self.radius
        e_1[1] -= self.thermal
        e_2[1] -= self.thermal
        nu, p = self.poisson, self.pressure
        stiff, across = self.modulus / (1.0 - nu**2), nu / (1.0 - nu) * p
        s_1 = stiff * (e_1 + nu * e_2) - across
        r, z = np.moveaxis(self.along / length[..., None], -1, 0)
        stress = np.empty((*s_1.shape, 4))
        stress[..., 0] = s_1 * r**2 - p * z**2
        stress[..., 1] = s_1 * z**2 - p * r**2
        stress[..., 2] = stiff * (e_2 + nu * e_1) - across
        stress[..., 3] = (s_1 + p) * r * z
        return stress.reshape(2 * movement.shape[1], -1, 4)


def _surface(body: StressBody, *, loads: StressLoads, blocks: IntArray) -> _Surface:
    rows = body.cells.face_rows()[blocks]
    nodes = body.cells.rows[rows, 0]
    points = np.asarray(body.points)[nodes]
    hot = np.asarray(loads.temperature)[:, nodes] @ _VALUE.T
    start = np.broadcast_to(loads.start_temperature, np.shape(loads.temperature)[1:])[nodes] @ _VALUE.T
    modulus, thermal, poisson = np.empty_like(hot), np.empty_like(hot), np.empty(len(blocks))
    material = body.cell_material[blocks * body.cells.columns]
    for index, one in enumerate(body.materials):
        own = material == index
        modulus[:, own], poisson[own] = one.modulus_at(hot[:, own]), one.poisson
        thermal[:, own] = _free_strain(one, hot[:, own]) - _free_strain(one, start[own])
    return _Surface(
        nodes=nodes,
        along=_SLOPE @ points,
        radius=points[..., 0] @ _VALUE.T,
        modulus=modulus,
        poisson=poisson[:, None],
        thermal=thermal,
        pressure=np.asarray(loads.outline_pressure)[:, rows] @ _VALUE.T,
    )


def _free_strain(material: Elastic, temperature: FloatArray) -> FloatArray:
    return material.expansion_at(temperature) * (temperature - material.reference_temperature)
