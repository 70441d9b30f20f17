"""Stress where the shell is judged: membrane and bending of walls, surface and axis of solid parts."""

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from optitip.arrays import BoolArray, ComplexArray, FloatArray, IntArray, frozen, frozen_index, read_only
from optitip.properties.materials import Elastic
from optitip.solvers.elastic import StressBody, StressFields, StressLoads
from optitip.solvers.elastic_cells import NineNodeCells
from optitip.solvers.elastic_places import (
    CLEAR_OF_EDGE,
    CLEAR_SHARE,
    Places,
    as_complex,
    judged_places,
    solid_blocks,
)
from optitip.solvers.elastic_shape import LINE_REDUCED, line_shape

_VALUE, _SLOPE = line_shape(LINE_REDUCED)
_HALF_ROOT = np.sqrt(0.75)
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

    def at(self, some: slice) -> "WallStress":
        """Return the stress of some of the instants."""
        return replace(
            self, temperature=self.temperature[some], primary=self.primary[some], total=self.total[some]
        )


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
    count, spots = len(fields.primary), judging.spots
    # all instants of a place stand together: (n_p, 4, 2, columns), primary, total, then put together
    stress = read_only(spots.between_lines(_at_lines(body, judging, loads=loads, fields=fields)))
    by_instant = stress.transpose(3, 0, 2, 1)
    hot = spots.between_rows(np.asarray(loads.temperature).T[judging.ends])
    start = np.asarray(loads.start_temperature, dtype=np.float64)
    start = np.full(hot.shape[:2], start) if start.ndim == 0 else spots.between_rows(start[judging.ends])
    fitted = body.contact is not None
    return WallStress(
        axial=judging.axial,
        place=judging.place,
        zone=judging.zone,
        material=judging.material,
        thickness=judging.thickness,
        start_temperature=read_only(start),
        temperature=read_only(hot).transpose(2, 0, 1),
        primary=by_instant[:count],
        total=by_instant[count : 2 * count],
        assembled=by_instant[-1] if fitted else read_only(np.zeros((*start.shape, 4))),
    )


def _at_lines(
    body: StressBody, judging: "_Judging", *, loads: StressLoads, fields: StressFields
) -> FloatArray:
    """Return stress at the faces of all lines (n_lines, 4, 2, columns): primary, total, then put together."""
    stress, moved = [fields.primary, fields.total], [fields.primary_movement, fields.total_movement]
    if body.contact is not None:
        stress, moved = [*stress, fields.assembled[None]], [*moved, fields.assembled_movement[None]]
    columns, blocks = sum(map(len, stress)), body.cells.fore_row.size
    # outline to inner on either line of a block row
    at_points = np.empty((blocks, 2, body.cells.columns, 2, 4, columns))
    done = 0
    for one in stress:
        by_cell = one.transpose(1, 2, 3, 0).reshape(blocks, -1, 2, 2, 4, len(one))
        at_points[..., done : done + len(one)] = by_cell.transpose(0, 2, 1, 3, 4, 5)
        done += len(one)
    found = (judging.linear @ at_points.reshape(2 * blocks, -1, columns)).reshape(-1, 4, 2, columns)
    if judging.surface is not None:
        judging.surface.put(found, movement=moved, loads=loads)
    return found


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Judging:
    """What of a shell's judgement its geometry alone decides.

    ends: nodes at both ends of each row (n_rows, 2). linear: from ``_linearising``. surface: that of the
    solid parts, if there are any; the rest as ``WallStress`` has it.
    """

    spots: Places
    ends: IntArray
    linear: FloatArray
    surface: "_Surface | None"
    axial: FloatArray
    place: FloatArray
    zone: IntArray
    material: IntArray
    thickness: FloatArray


def _judging(body: StressBody, clear: float, clear_share: float) -> _Judging:
    cells, points = body.cells, np.asarray(body.points)
    material = body.cell_material[:: cells.columns]
    spots = judged_places(points, cells=cells, material=material, least=clear, share=clear_share)
    ends = cells.rows[:, [0, -1]]
    place = spots.between_rows(points[ends])
    through = place[:, 1] - place[:, 0]
    solid = solid_blocks(points, cells=cells)
    return _Judging(
        spots=spots,
        ends=ends,
        linear=_linearising(body, solid=solid),
        surface=_surface(body, blocks=np.flatnonzero(solid)) if solid.any() else None,
        axial=frozen(place[:, 0, 1]),
        place=read_only(place),
        zone=frozen_index(cells.zone[spots.block * cells.columns]),
        material=frozen_index(material[spots.block]),
        thickness=read_only(np.hypot(through[:, 0], through[:, 1])),
    )


def von_mises(stress: FloatArray) -> FloatArray:
    """Return the von Mises stress [Pa] of axisymmetric stress (..., 4): r, z, theta, rz.

    sqrt(((s_r - s_z)^2 + (s_z - s_theta)^2 + (s_theta - s_r)^2) / 2 + 3 tau^2).

    Never negative. Valid for any stress; as a measure of yielding, for ductile metals of no grain direction.
    Source: von Mises 1913, from memory.

    >>> von_mises(np.array([[0.0, 3.0, 0.0, 0.0], [0.0, 0.0, 0.0, 1.0]])).round(4).tolist()  # 3, sqrt(3)
    [3.0, 1.7321]
    """
    parts = deviator(stress)
    return np.asarray(np.sqrt((parts**2).sum(axis=0)))


def deviator(stress: FloatArray) -> FloatArray:
    """Return three parts (3, ...) [Pa] of stress (..., 4) whose squares make that of the von Mises stress.

    sqrt(3)/2 (s_r - s_z), s_theta - (s_r + s_z)/2, sqrt(3) tau: straight in the stress, so that the parts of
    a difference are the difference of the parts.

    Valid for any axisymmetric stress.
    Source: von Mises 1913, from memory: the squares add up to those of ``von_mises``.

    >>> deviator(np.array([0.0, 2.0, 0.0, 0.0])).round(4).tolist()  # 3 + 1 = 2^2
    [-1.7321, -1.0, 0.0]
    """
    given = np.asarray(stress)
    r, z, theta, shear = given[..., 0], given[..., 1], given[..., 2], given[..., 3]
    return np.stack((_HALF_ROOT * (r - z), theta - 0.5 * (r + z), 2.0 * _HALF_ROOT * shear))


def _linearising(body: StressBody, *, solid: BoolArray) -> FloatArray:
    """Return what turns stress at the reduced points of a line into that at its two faces.

    (n_lines, 4 * 2, 2 columns * 4): each component's two faces, of the points outline to inner with all
    their components. In solid parts the outline's is the axis' too, until ``_Surface`` puts its own.
    """
    columns = body.cells.columns
    lattice = as_complex(body.points)[_along_rows(body.cells)]
    curve = (_VALUE @ lattice).reshape(-1, 3)
    weight = np.abs(curve @ _SLOPE.T).reshape(-1, 2 * columns)
    weight /= weight.sum(axis=1, keepdims=True)
    fore = curve[::columns, 0]
    through = curve[columns - 1 :: columns, 2] - fore
    x = np.abs((curve @ _VALUE.T).reshape(weight.shape) - fore[:, None])
    thickness = np.abs(through)[:, None]
    middle = (weight * x).sum(axis=1, keepdims=True)
    lever = weight * (x - middle)
    lever /= (lever * (x - middle)).sum(axis=1, keepdims=True)
    inside = solid.repeat(2)
    weight[inside] = lever[inside] = 0.0
    weight[inside, -2:] = _TO_AXIS
    bending = np.stack((-middle * lever, (thickness - middle) * lever))
    # component, face, point, its component; the lines last, as short rows cost a loop each
    bent = _bent(through / thickness[:, 0])[:, None, None]
    faces = bent * np.ascontiguousarray(bending.transpose(0, 2, 1))[:, :, None]
    membrane = weight.T.copy()
    for component in range(4):
        faces[component, :, :, component] += membrane
    return read_only(np.ascontiguousarray(faces.reshape(8, -1, len(weight)).transpose(2, 0, 1)))


@lru_cache(maxsize=16)
def _along_rows(cells: NineNodeCells) -> IntArray:
    """Return the nodes of each block row (n_blocks, 3, columns * 3), row after row."""
    by_cell = cells.nodes.reshape(-1, cells.columns, 3, 3)
    return frozen_index(by_cell.transpose(0, 2, 1, 3).reshape(len(by_cell), 3, -1))


def _bent(through: ComplexArray) -> FloatArray:
    """Return the matrix (4, 4, n) that keeps hoop and along of a stress; ``through`` (n,), n_r + i n_z.

    With m = (-n_z, n_r) along the wall: sigma_m = m_r^2 sigma_r + m_z^2 sigma_z + 2 m_r m_z tau, and back.
    """
    m_r, m_z = -through.imag, through.real
    back = np.stack((m_r**2, m_z**2, 0.0 * m_r, m_r * m_z))
    matrix = back[:, None] * (back * [[1.0], [1.0], [1.0], [2.0]])
    matrix[2, 2] = 1.0
    return np.asarray(matrix)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Surface:
    """The outline of the solid block rows: what its stress needs, at both lines of each (2 n_blocks,).

    Args:
        body: the shell.
        nodes: on the outline, fore to aft (n_blocks, 3).
        rows: the rows that end there (n_blocks, 3).
        lines: numbers of the lines.
        strain: along the surface at both lines, then round it, per movement (n_blocks, 4, 6).
        along: unit tangent, r + i z.
        material: index of each line's.
        poisson: of each line.
    """

    body: StressBody
    nodes: IntArray
    rows: IntArray
    lines: IntArray
    strain: FloatArray
    along: ComplexArray
    material: IntArray
    poisson: FloatArray

    def put(self, stress: FloatArray, *, movement: list[FloatArray], loads: StressLoads) -> None:
        """Put the surface's stress into that of all lines (n_lines, 4, 2, columns).

        Along the surface and round it E/(1 - nu^2) (e_1 + nu e_2) - nu/(1 - nu) p, across it -p; the
        thermal strain is taken off the second movement.
        """
        moved = np.concatenate([one[:, self.nodes] for one in movement])
        by_line = self.strain @ moved.reshape(len(moved), len(self.nodes), 6).transpose(1, 2, 0)
        e_1, e_2 = by_line.reshape(-1, 2, 2, len(moved)).swapaxes(0, 1).reshape(2, -1, len(moved))
        modulus, thermal, p = self._acting(loads, columns=len(moved))
        e_1 -= thermal
        e_2 -= thermal
        nu = self.poisson[:, None]
        stiff, across = modulus / (1.0 - nu**2), nu / (1.0 - nu) * p
        s_1 = stiff * (e_1 + nu * e_2) - across
        r, z = self.along.real[:, None], self.along.imag[:, None]
        stress[self.lines, 0, 0] = s_1 * r**2 - p * z**2
        stress[self.lines, 1, 0] = s_1 * z**2 - p * r**2
        stress[self.lines, 2, 0] = stiff * (e_2 + nu * e_1) - across
        stress[self.lines, 3, 0] = (s_1 + p) * (r * z)

    def _acting(self, loads: StressLoads, *, columns: int) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return modulus, thermal strain and pressure (2 n_blocks, columns) as the stress' columns go."""
        temperature = np.asarray(loads.temperature)
        n = len(temperature)
        start = np.broadcast_to(loads.start_temperature, temperature.shape[1:])
        every = np.concatenate((temperature[:, self.nodes], start[self.nodes][None]))
        hot = (every @ _VALUE.T).reshape(n + 1, -1).T
        modulus, strain = np.empty_like(hot), np.empty_like(hot)
        for index, one in enumerate(self.body.materials):
            own = self.material == index
            modulus[own], strain[own] = one.modulus_at(hot[own]), _free_strain(one, hot[own])
        pressed = (np.asarray(loads.outline_pressure)[:, self.rows] @ _VALUE.T).reshape(n, -1).T
        thermal, p = np.zeros((len(hot), columns)), np.zeros((len(hot), columns))
        thermal[:, n : 2 * n] = strain[:, :n] - strain[:, n:]
        p[:, :n] = p[:, n : 2 * n] = pressed
        # the columns: twice the instants, then the shell put together where there is one
        return np.concatenate((modulus[:, :n], modulus), axis=1)[:, :columns], thermal, p


def _surface(body: StressBody, *, blocks: IntArray) -> _Surface:
    rows = body.cells.face_rows()[blocks]
    nodes = body.cells.rows[rows, 0]
    points = as_complex(body.points)[nodes]
    tangent, radius = points @ _SLOPE.T, points.real @ _VALUE.T
    length = np.abs(tangent)
    strain = np.zeros((len(blocks), 4, 3, 2))
    per_length = tangent / length**2
    strain[:, :2, :, 0] = per_length.real[..., None] * _SLOPE
    strain[:, :2, :, 1] = per_length.imag[..., None] * _SLOPE
    strain[:, 2:, :, 0] = _VALUE / radius[..., None]
    material = body.cell_material[blocks * body.cells.columns].repeat(2)
    return _Surface(
        body=body,
        nodes=nodes,
        rows=rows,
        lines=(2 * blocks[:, None] + np.arange(2)).ravel(),
        strain=read_only(strain.reshape(-1, 4, 6)),
        along=(tangent / length).ravel(),
        material=material,
        poisson=np.array([one.poisson for one in body.materials])[material],
    )


def _free_strain(material: Elastic, temperature: FloatArray) -> FloatArray:
    return material.expansion_at(temperature) * (temperature - material.reference_temperature)
