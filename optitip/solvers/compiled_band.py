"""The linear algebra of eight lanes: symmetric skyline matrices factorised and solved, columns four by four.

Upper columns from each group's first row down to the diagonal: four columns share a first row, rows are taken
in pairs. A = U' D U with a unit upper U; ``inverse`` holds 1/D. A lane whose matrix has no such factor with a
positive D says so in its smallest pivot and leaves the others alone.
"""

from typing import Protocol

from optitip.arrays import FloatArray, IntArray
from optitip.solvers.compiled_layout import Places
from optitip.solvers.lanes import choose, compiled, entry, load, spread, store

GROUP = 4


class Skyline(Protocol):
    """The places a factorisation needs."""

    @property
    def first(self) -> int:
        """Groups' first rows."""

    @property
    def start(self) -> int:
        """Where groups begin."""

    @property
    def matrix(self) -> int:
        """The factor."""

    @property
    def bench(self) -> int:
        """Room for one group."""

    @property
    def inverse(self) -> int:
        """The inverse of D."""

    @property
    def pivot(self) -> int:
        """The least of D."""


@compiled
def assemble(rows: FloatArray, index: IntArray, at: Places, group: int) -> None:
    """Write four columns of M/(g h) - J on the bench: conduction in x, the joints' pairs, the diagonal."""
    begin, end = entry(index, at.start + group), entry(index, at.start + group + 1)
    nothing, one, here = spread(0.0), spread(1.0), at.bench - begin
    for place in range(here + begin, here + end):
        store(rows, place, nothing)
    for turn in range(entry(index, at.entry_start + group), entry(index, at.entry_start + group + 1)):
        tau_per_x = load(rows, at.scale + entry(index, at.entry_material + turn))
        place = here + entry(index, at.entry_place + turn)
        store(rows, place, load(rows, at.stiffness + turn) * tau_per_x)
    for turn in range(entry(index, at.joint_start + group), entry(index, at.joint_start + group + 1)):
        place = here + entry(index, at.joint_place + turn)
        slope = load(rows, at.joint_slope + entry(index, at.joint_order + turn))
        store(rows, place, load(rows, place) - slope)
    per_time = one / (spread(0.5) * load(rows, at.length))
    for side in range(GROUP):
        node = GROUP * group + side
        place = here + end - GROUP * GROUP + (GROUP + 1) * side
        if node < at.nodes:
            held = load(rows, at.volume + node) * load(rows, at.enthalpy_per_x + node) * per_time
            store(rows, place, load(rows, place) + held + load(rows, at.diagonal + node))
        else:
            store(rows, place, one)


@compiled
def eliminate(rows: FloatArray, index: IntArray, at: Skyline, group: int) -> None:
    """Take all earlier rows out of the four columns on the bench, two rows at a time: they become D U."""
    first, here = entry(index, at.first + group), at.bench
    for low in range(first, GROUP * group, 2):
        other = low // GROUP
        other_first = entry(index, at.first + other)
        begin = max(first, other_first)
        left = at.matrix + entry(index, at.start + other) + GROUP * (begin - other_first) + low % GROUP
        right = here + GROUP * (begin - first)
        target = here + GROUP * (low - first)
        s00, s01 = load(rows, target), load(rows, target + 1)
        s02, s03 = load(rows, target + 2), load(rows, target + 3)
        s10, s11 = load(rows, target + 4), load(rows, target + 5)
        s12, s13 = load(rows, target + 6), load(rows, target + 7)
        for _ in range(begin, low):
            u0, u1 = load(rows, left), load(rows, left + 1)
            w0, w1 = load(rows, right), load(rows, right + 1)
            w2, w3 = load(rows, right + 2), load(rows, right + 3)
            s00, s01, s02, s03 = s00 - u0 * w0, s01 - u0 * w1, s02 - u0 * w2, s03 - u0 * w3
            s10, s11, s12, s13 = s10 - u1 * w0, s11 - u1 * w1, s12 - u1 * w2, s13 - u1 * w3
            left += GROUP
            right += GROUP
        between = load(rows, left + 1)
        store(rows, target, s00)
        store(rows, target + 1, s01)
        store(rows, target + 2, s02)
        store(rows, target + 3, s03)
        store(rows, target + 4, s10 - between * s00)
        store(rows, target + 5, s11 - between * s01)
        store(rows, target + 6, s12 - between * s02)
        store(rows, target + 7, s13 - between * s03)


@compiled
def close(rows: FloatArray, index: IntArray, at: Skyline, group: int) -> None:
    """Divide the four columns on the bench by the pivots into the matrix, and finish their own block."""
    place, bench = at.matrix + entry(index, at.start + group), at.bench
    node = GROUP * group
    size = GROUP * (node - entry(index, at.first + group))
    diagonal = place + size
    d00, d01, d02, d03 = _four(rows, bench + size)
    _, d11, d12, d13 = _four(rows, bench + size + 4)
    _, _, d22, d23 = _four(rows, bench + size + 8)
    d33 = load(rows, bench + size + 15)
    for row in range(entry(index, at.first + group), node):
        inverse = load(rows, at.inverse + row)
        w0, w1, w2, w3 = _four(rows, bench)
        u0, u1, u2, u3 = w0 * inverse, w1 * inverse, w2 * inverse, w3 * inverse
        d00, d01, d02, d03 = d00 - u0 * w0, d01 - u0 * w1, d02 - u0 * w2, d03 - u0 * w3
        d11, d12, d13 = d11 - u1 * w1, d12 - u1 * w2, d13 - u1 * w3
        d22, d23, d33 = d22 - u2 * w2, d23 - u2 * w3, d33 - u3 * w3
        _put_four(rows, place, u0, u1, u2, u3)
        place += GROUP
        bench += GROUP
    one = spread(1.0)
    i0 = one / d00
    u01, u02, u03 = d01 * i0, d02 * i0, d03 * i0
    d11, d12, d13 = d11 - u01 * d01, d12 - u01 * d02, d13 - u01 * d03
    i1 = one / d11
    u12, u13 = d12 * i1, d13 * i1
    d22, d23 = d22 - u02 * d02 - u12 * d12, d23 - u02 * d03 - u12 * d13
    i2 = one / d22
    u23 = d23 * i2
    d33 = d33 - u03 * d03 - u13 * d13 - u23 * d23
    _put_four(rows, diagonal, d00, u01, u02, u03)
    _put_four(rows, diagonal + 4, d00, d11, u12, u13)
    _put_four(rows, diagonal + 8, d00, d00, d22, u23)
    _put_four(rows, at.inverse + node, i0, i1, i2, one / d33)
    smallest = load(rows, at.pivot)
    smallest = choose(d00 < smallest, d00, smallest)
    smallest = choose(d11 < smallest, d11, smallest)
    smallest = choose(d22 < smallest, d22, smallest)
    store(rows, at.pivot, choose(d33 < smallest, d33, smallest))


@compiled
def _four(rows: FloatArray, place: int) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    return load(rows, place), load(rows, place + 1), load(rows, place + 2), load(rows, place + 3)


@compiled
def _put_four(
    rows: FloatArray, place: int, v0: FloatArray, v1: FloatArray, v2: FloatArray, v3: FloatArray
) -> None:
    store(rows, place, v0)
    store(rows, place + 1, v1)
    store(rows, place + 2, v2)
    store(rows, place + 3, v3)


@compiled
def factorise(rows: FloatArray, index: IntArray, at: Places, bordered: bool) -> None:
    """Assemble and factorise, and solve for ``right``; where the matrix is bordered, for ``column`` as well.

    The answers stand in ``solved`` and ``pocket_gain``. Both sides go through each group while it is at hand.
    """
    store(rows, at.pivot, spread(1.0))
    for group in range(at.column_groups):
        assemble(rows, index, at, group)
        eliminate(rows, index, at, group)
        close(rows, index, at, group)
        forward(rows, index, at, group, at.right, at.solved)
        if bordered:
            forward(rows, index, at, group, at.column, at.pocket_gain)
    for group in range(at.column_groups - 1, -1, -1):
        backward(rows, index, at, group, at.solved)
        if bordered:
            backward(rows, index, at, group, at.pocket_gain)


@compiled
def solve(rows: FloatArray, index: IntArray, at: Places) -> None:
    """Solve for ``right``, which is used up; the answer stands in ``solved``."""
    for group in range(at.column_groups):
        forward(rows, index, at, group, at.right, at.solved)
    for group in range(at.column_groups - 1, -1, -1):
        backward(rows, index, at, group, at.solved)


@compiled
def forward(rows: FloatArray, index: IntArray, at: Skyline, group: int, right: int, solved: int) -> None:
    """Take U' y = right through one group, y over ``right``, y/D into ``solved``."""
    node, row = GROUP * group, entry(index, at.first + group)
    place = at.matrix + entry(index, at.start + group)
    y0, y1, y2, y3 = _four(rows, right + node)
    for other in range(right + row, right + node):
        y = load(rows, other)
        u0, u1, u2, u3 = _four(rows, place)
        y0, y1, y2, y3 = y0 - u0 * y, y1 - u1 * y, y2 - u2 * y, y3 - u3 * y
        place += GROUP
    y1 = y1 - load(rows, place + 1) * y0
    y2 = y2 - load(rows, place + 2) * y0 - load(rows, place + 6) * y1
    y3 = y3 - load(rows, place + 3) * y0 - load(rows, place + 7) * y1 - load(rows, place + 11) * y2
    i0, i1, i2, i3 = _four(rows, at.inverse + node)
    _put_four(rows, right + node, y0, y1, y2, y3)
    _put_four(rows, solved + node, y0 * i0, y1 * i1, y2 * i2, y3 * i3)


@compiled
def backward(rows: FloatArray, index: IntArray, at: Skyline, group: int, solved: int) -> None:
    """Take U x = solved through one group, in place."""
    node, first = GROUP * group, entry(index, at.first + group)
    place = at.matrix + entry(index, at.start + group)
    diagonal = place + GROUP * (node - first)
    x0, x1, x2, x3 = _four(rows, solved + node)
    x2 = x2 - load(rows, diagonal + 11) * x3
    x1 = x1 - load(rows, diagonal + 6) * x2 - load(rows, diagonal + 7) * x3
    x0 = x0 - load(rows, diagonal + 1) * x1 - load(rows, diagonal + 2) * x2 - load(rows, diagonal + 3) * x3
    _put_four(rows, solved + node, x0, x1, x2, x3)
    for row in range(solved + first, solved + node):
        u0, u1, u2, u3 = _four(rows, place)
        store(rows, row, (load(rows, row) - u0 * x0 - u1 * x1) - (u2 * x2 + u3 * x3))
        place += GROUP
