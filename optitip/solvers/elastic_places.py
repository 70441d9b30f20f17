"""Where along the shell its stress is judged: clear of sharp cuts and of the ends of joints."""

from dataclasses import dataclass

import numpy as np

from optitip.arrays import BoolArray, FloatArray, IntArray
from optitip.solvers.elastic_cells import NineNodeCells
from optitip.solvers.elastic_shape import LINE_REDUCED, line_shape

SHARP_TURN = np.radians(15.0)  # a fillet's strips turn by less
PARTING_TURN = np.radians(30.0)  # over milder ones stress is read as if smooth
CLEAR_OF_EDGE = 0.5e-3
CLEAR_SHARE = 0.4
THROUGH = 4  # lines that a place's stress is read from: a cubic


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
        """Return values (n_i, n_lines, 2, 4) carried from the lines to the places (n_i, n_p, 2, 4)."""
        read: FloatArray = np.einsum("pl,iplfc->ipfc", self.weight, values[:, self.lines])
        return read


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
    faces = np.asarray(points)[cells.rows[:, [0, -1]]]
    arc = np.concatenate(([0.0], np.cumsum(np.linalg.norm(np.diff(faces, axis=0), axis=-1).mean(axis=1))))
    cuts = _cut_rows(faces[:, 1], turn=SHARP_TURN)
    block, fore, along = _strips(cells, room=_room(faces, cells, cuts=cuts, least=least, share=share))
    thickness = np.linalg.norm(faces[:, 1] - faces[:, 0], axis=1)
    there = (1.0 - along) * thickness[fore] + along * thickness[fore + 1] > 0.0
    block, fore, along = block[there], fore[there], along[there]
    lines, weight = _cubics(
        (arc[cells.face_rows()] @ line_shape(LINE_REDUCED)[0].T).ravel(),
        section=_sections(
            cells,
            cuts=_cut_rows(faces[:, 1], turn=PARTING_TURN),
            material=material,
            solid=solid_blocks(points, cells=cells),
        ),
        block=block,
        place=(1.0 - along) * arc[fore] + along * arc[fore + 1],
    )
    return Places(block=block, fore=fore, share=along, lines=lines, weight=weight)


def sharp_cuts(points: FloatArray, *, cells: NineNodeCells, turn: float = SHARP_TURN) -> FloatArray:
    """Return r and z (n, 2) of the cavity's sharp cuts: inner corners that turn into the metal at once.

    A corner counts where the inner curve, run fore to aft, turns by more than ``turn`` [rad] with the metal
    on its far side (re-entrant). A fillet of several strips turns less at each and doesn't count.
    """
    inner = np.asarray(points)[cells.rows[:, -1]]
    return np.asarray(inner[_cut_rows(inner, turn=turn)])


def solid_blocks(points: FloatArray, *, cells: NineNodeCells) -> BoolArray:
    """Return which block rows (n_blocks,) reach the axis: solid metal, no wall."""
    radius = np.asarray(points)[:, 0]
    on_axis = radius[cells.rows[cells.face_rows(), -1]] <= 1e-9 * radius.max()
    return np.asarray(on_axis.all(axis=1))


def _cut_rows(inner: FloatArray, *, turn: float) -> IntArray:
    """Return the rows that end at a sharp cut of the inner curve (n_rows, 2); a joint's fore row for both."""
    step = np.linalg.norm(np.diff(inner, axis=0), axis=1)
    row = np.flatnonzero(np.concatenate(([True], step > 1e-9)))
    tangent = np.diff(inner[row], axis=0)
    before, after = tangent[:-1], tangent[1:]
    cross = before[:, 1] * after[:, 0] - before[:, 0] * after[:, 1]
    angle = np.arctan2(cross, np.einsum("ni,ni->n", before, after))
    return np.asarray(row[1:-1][angle < -turn])


def _joint_rows(cells: NineNodeCells) -> IntArray:
    """Return the row on the aft side of each joint between parts."""
    return np.asarray(cells.fore_row[1:][np.diff(cells.fore_row) != 2])


def _room(
    faces: FloatArray, cells: NineNodeCells, *, cuts: IntArray, least: float, share: float
) -> FloatArray:
    """Return by how much each row (n_rows,) is farther from all cuts and joints than it must be [m]."""
    joints = _joint_rows(cells)
    inside = joints[faces[joints, 1, 0] > 1e-9 * faces[..., 0].max()]
    edges = [(row, 1) for row in (*cuts, *inside)] + [(row, 0) for row in joints]
    room = np.ones(len(faces))
    for row, face in edges:
        wall = float(np.linalg.norm(faces[row, 1] - faces[row, 0]))
        apart = np.linalg.norm(faces[:, face] - faces[row, face], axis=-1)
        room = np.minimum(room, apart - max(least, share * wall))
    return room


def _strips(cells: NineNodeCells, *, room: FloatArray) -> tuple[IntArray, IntArray, FloatArray]:
    """Return block row, fore row and share of every place with room enough, fore to aft."""
    fore = (cells.fore_row[:, None] + np.arange(2)).ravel()
    before, after = room[fore], room[fore + 1]
    crossed = (before < 0.0) != (after < 0.0)
    share = np.zeros((fore.size, 3))
    share[:, 1] = 1.0
    share[crossed, 2] = before[crossed] / (before - after)[crossed]
    kept = np.column_stack((before >= 0.0, after >= 0.0, crossed))
    kept[::2, 1] = False  # the next strip of the block row begins there
    strip, which = np.nonzero(kept)
    order = np.lexsort((share[strip, which], strip))
    strip, which = strip[order], which[order]
    return strip // 2, fore[strip], share[strip, which]


def _sections(cells: NineNodeCells, *, cuts: IntArray, material: IntArray, solid: BoolArray) -> IntArray:
    """Return the section of each block row, numbered fore to aft."""
    parted = np.diff(cells.fore_row) != 2
    parted |= np.isin(cells.fore_row[1:], cuts) | (np.diff(material) != 0) | (np.diff(solid) != 0)
    return np.concatenate(([0], np.cumsum(parted)))


def _cubics(
    line_arc: FloatArray, *, section: IntArray, block: IntArray, place: FloatArray
) -> tuple[IntArray, FloatArray]:
    """Return the lines each place reads and their Lagrange weights (n_p, 4), nought for lines left out."""
    of_line = np.repeat(section, 2)
    first = np.searchsorted(of_line, section[block])
    last = np.searchsorted(of_line, section[block], side="right")
    aft = np.searchsorted(line_arc, place)
    beyond = (aft <= first) | (aft >= last)
    size = np.minimum(np.where(beyond, THROUGH - 1, THROUGH), last - first)
    start = np.minimum(np.maximum(aft - THROUGH // 2, first), last - size)
    lines = np.minimum(start[:, None] + np.arange(THROUGH), last[:, None] - 1)
    read = np.arange(THROUGH) < size[:, None]
    arc = line_arc[lines]
    weight = np.where(read, 1.0, 0.0)
    for one in range(THROUGH):
        for other in range(THROUGH):
            pair = read[:, one] & read[:, other]
            if one != other:
                gap = np.where(pair, arc[:, one] - arc[:, other], 1.0)
                weight[:, one] *= np.where(pair, (place - arc[:, other]) / gap, 1.0)
    return lines, weight
