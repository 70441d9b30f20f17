"""Where along the shell its stress is judged: clear of sharp cuts and of the ends of joints."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.sparse import csr_array

from optitip.arrays import BoolArray, ComplexArray, FloatArray, IntArray, frozen_index, read_only
from optitip.solvers.elastic_cells import NineNodeCells
from optitip.solvers.elastic_shape import LINE_REDUCED, line_shape

SHARP_TURN = np.radians(15.0)  # a fillet's strips turn by less
PARTING_TURN = np.radians(30.0)  # over milder ones stress is read as if smooth
CLEAR_OF_EDGE = 0.5e-3
CLEAR_SHARE = 0.4
THROUGH = 4  # lines that a place's stress is read from: a cubic
_NUMBER, _OTHER = np.arange(THROUGH)[:, None], ~np.eye(THROUGH, dtype=bool)[..., None]
_VALUE = line_shape(LINE_REDUCED)[0]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Places:
    """Places along the shell, each between two neighbouring rows, and the lines their stress is read from.

    Every block row has two lines, those of its reduced points; line 2 b + i is the i-th of block row b.

    Args:
        block: block row of each place (n_p,).
        fore: the row fore of it (n_p,).
        share: of the way to the next row (n_p,).
        lines: the lines a place reads (n_p, 4), all of one section.
        weight: of each of them (n_p, 4), 1 together.
    """

    block: IntArray
    fore: IntArray
    share: FloatArray
    lines: IntArray
    weight: FloatArray

    def between_rows(self, values: FloatArray) -> FloatArray:
        """Return values (n_rows, ...) carried straight from the rows to the places (n_p, ...)."""
        share = self.share.reshape(-1, *(1,) * (values.ndim - 1))
        return np.asarray((1.0 - share) * values[self.fore] + share * values[self.fore + 1])

    def between_lines(self, values: FloatArray) -> FloatArray:
        """Return values (n_lines, ...) carried from the lines to the places (n_p, ...)."""
        size, count = self.lines.shape, len(values)
        ends = np.arange(0, self.lines.size + 1, THROUGH)
        read = csr_array((self.weight.ravel(), self.lines.ravel(), ends), shape=(size[0], count))
        found: FloatArray = read @ values.reshape(count, -1)
        return found.reshape(size[0], *values.shape[1:])


def judged_places(
    points: FloatArray,
    *,
    cells: NineNodeCells,
    material: IntArray,
    least: float = CLEAR_OF_EDGE,
    share: float = CLEAR_SHARE,
) -> Places:
    """Return the places of a shell that are judged: its rows, and where the room beside a cut or joint ends.

    The stress at a sharp cut and at an end of a joint between parts grows without limit on finer grids, so
    places nearer to one than ``share`` of the wall there, and ``least``, are left out; the last place on
    either side stands at that distance. Within a section (a run of one material between joints and steep
    cuts, of wall or of solid) stress along the shell is a cubic through the four nearest lines, a parabola
    beyond the outermost ones.

    Args:
        points: r and z of the thermal nodes (n_nodes, 2) [m].
        cells: the nine-node cells.
        material: of each block row (n_blocks,).
        least: shortest distance to a cut or a joint's end [m], about what a boring tool's nose rounds.
        share: the same as a share of the wall's thickness at the cut or the joint.

    Source: 0.4 of the wall is the nearer reading point of the hot-spot stress of a notch (IIW recommendations
    for fatigue design of welded joints, from memory); the tool's nose is common practice, no source.
    """
    lattice = _lattice(cells)
    faces = as_complex(points)[lattice.ends]
    arc = np.append(0.0, np.cumsum(np.abs(np.diff(faces, axis=0)).mean(axis=1)))
    wall = np.abs(faces[:, 1] - faces[:, 0])
    bends = _bends(faces[:, 1])
    room = _room(faces, lattice, wall=wall, cuts=bends.into_metal(SHARP_TURN), least=least, share=share)
    block, fore, along = _strips(lattice, room=room)
    there = (1.0 - along) * wall[fore] + along * wall[fore + 1] > 0.0
    if not there.all():
        block, fore, along = block[there], fore[there], along[there]
    section = _sections(
        lattice,
        fore_row=cells.fore_row,
        cuts=bends.into_metal(PARTING_TURN),
        material=material,
        solid=solid_blocks(points, cells=cells),
    )
    lines, weight = _cubics(
        (arc[lattice.face_rows] @ _VALUE.T).ravel(),
        section=section,
        block=block,
        place=(1.0 - along) * arc[fore] + along * arc[fore + 1],
    )
    return Places(block=block, fore=fore, share=along, lines=lines, weight=weight)


def sharp_cuts(points: FloatArray, *, cells: NineNodeCells, turn: float = SHARP_TURN) -> FloatArray:
    """Return r and z (n, 2) of the cavity's sharp cuts: inner corners that turn into the metal at once.

    A corner counts where the inner curve, run fore to aft, turns by more than ``turn`` [rad] with the metal
    on its far side (re-entrant). A fillet of several strips turns less at each and doesn't count.
    """
    inner = cells.rows[:, -1]
    cuts = _bends(as_complex(points)[inner]).into_metal(turn)
    return np.asarray(np.asarray(points)[inner[cuts]])


def solid_blocks(points: FloatArray, *, cells: NineNodeCells) -> BoolArray:
    """Return which block rows (n_blocks,) reach the axis: solid metal, no wall."""
    radius = np.asarray(points)[:, 0]
    on_axis = radius[_lattice(cells).inner] <= 1e-9 * radius.max()
    return np.asarray(on_axis.all(axis=1))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Lattice:
    """What the topology alone decides.

    Args:
        ends: nodes at the outline and at the inner end of each row (n_rows, 2).
        face_rows: rows of each block row (n_blocks, 3); inner: nodes at their inner ends.
        fore: the row fore of each strip (2 n_blocks,).
        joints: the row on the aft side of each joint between parts (n_joints,).
        joined: whether no joint is between a block row and the next (n_blocks - 1,).
    """

    ends: IntArray
    face_rows: IntArray
    inner: IntArray
    fore: IntArray
    joints: IntArray
    joined: BoolArray


@lru_cache(maxsize=16)
def _lattice(cells: NineNodeCells) -> _Lattice:
    face_rows, joined = cells.face_rows(), np.diff(cells.fore_row) == 2
    return _Lattice(
        ends=frozen_index(cells.rows[:, [0, -1]]),
        face_rows=frozen_index(face_rows),
        inner=frozen_index(cells.rows[face_rows, -1]),
        fore=frozen_index(face_rows[:, :2].ravel()),
        joints=frozen_index(cells.fore_row[1:][~joined]),
        joined=read_only(joined),
    )


def as_complex(points: FloatArray) -> ComplexArray:
    """Return points (n, 2) as r + i z (n,)."""
    return np.ascontiguousarray(points, dtype=np.float64).view(np.complex128)[:, 0]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Bends:
    """The rows (n,) at which the inner curve may bend, and by how much [rad]: above 0 into the metal."""

    row: IntArray
    turn: FloatArray

    def into_metal(self, turn: float) -> IntArray:
        """Return the rows that end at a cut which turns by more."""
        return self.row[self.turn > turn]


def _bends(inner: ComplexArray) -> _Bends:
    """Return the bends of the inner curve (n_rows,), r + i z; a joint's fore row stands for both."""
    step = np.diff(inner)
    moves = np.abs(step) > 1e-9
    tangent = step[moves]
    return _Bends(row=np.flatnonzero(moves)[:-1] + 1, turn=np.angle(tangent[1:] * tangent[:-1].conj()))


def _room(
    faces: ComplexArray, lattice: _Lattice, *, wall: FloatArray, cuts: IntArray, least: float, share: float
) -> FloatArray:
    """Return by how much each row (n_rows,) is farther from all cuts and joints than it must be [m].

    faces: r + i z of outline and inner end of each row (n_rows, 2); wall: between them (n_rows,) [m].
    """
    joints = lattice.joints
    inside = joints[faces[joints, 1].real > 1e-9 * faces.real.max()]
    row = np.concatenate((cuts, inside, joints))
    face = np.zeros(row.size, dtype=np.int64)
    face[: cuts.size + inside.size] = 1
    apart = np.abs(faces.T[face] - faces[row, face][:, None])
    room = apart - np.maximum(least, share * wall[row])[:, None]
    return np.asarray(room.min(axis=0, initial=1.0))


def _strips(lattice: _Lattice, *, room: FloatArray) -> tuple[IntArray, IntArray, FloatArray]:
    """Return block row, fore row and share of every place with room enough, fore to aft."""
    fore = lattice.fore
    before, after = room[fore], room[fore + 1]
    crossed = (before < 0.0) != (after < 0.0)
    share = np.full((fore.size, 3), np.inf)
    share[before >= 0.0, 0] = 0.0
    # the next strip of the block row begins where its first one ends
    share[1::2, 1][after[1::2] >= 0.0] = 1.0
    share[crossed, 2] = before[crossed] / (before - after)[crossed]
    share.sort(axis=1)
    strip, which = np.nonzero(share < np.inf)
    return strip // 2, fore[strip], share[strip, which]


def _sections(
    lattice: _Lattice, *, fore_row: IntArray, cuts: IntArray, material: IntArray, solid: BoolArray
) -> IntArray:
    """Return the section of each block row, numbered fore to aft."""
    joined = lattice.joined & (material[1:] == material[:-1]) & (solid[1:] == solid[:-1])
    joined &= (fore_row[1:, None] != cuts).all(axis=1)
    return np.append(0, np.cumsum(~joined))


def _cubics(
    line_arc: FloatArray, *, section: IntArray, block: IntArray, place: FloatArray
) -> tuple[IntArray, FloatArray]:
    """Return the lines each place reads and their Lagrange weights (n_p, 4), nought for lines left out."""
    of_line = section.repeat(2)
    own = section[block]
    first, last = of_line.searchsorted(own), of_line.searchsorted(own, side="right")
    aft = line_arc.searchsorted(place)
    beyond = (aft <= first) | (aft >= last)
    size = np.minimum(np.where(beyond, THROUGH - 1, THROUGH), last - first)
    start = np.minimum(np.maximum(aft - THROUGH // 2, first), last - size)
    lines = np.minimum(start + _NUMBER, last - 1)
    read = size > _NUMBER
    arc = line_arc[lines]
    other = read[:, None] & read & _OTHER
    gap = np.where(other, arc[:, None] - arc, 1.0)
    weight = (np.where(other, place - arc, 1.0) / gap).prod(axis=1) * read
    return lines.T, weight.T
