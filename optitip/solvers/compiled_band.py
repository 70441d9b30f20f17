"""The linear algebra of eight lanes: symmetric skyline matrices factorised and solved, columns two by two.

Upper columns from each pair's first row down to the diagonal: two columns share a first row, rows go in pairs
too. A = U' D U with a unit upper U; ``inverse`` holds 1/D. A lane whose matrix has no such factor with a
positive D says so in its smallest pivot and leaves the others alone.
"""

from optitip.arrays import FloatArray, IntArray
from optitip.solvers.compiled_layout import Places
from optitip.solvers.lanes import choose, compiled, load, spread, store


@compiled
def assemble(rows: FloatArray, index: IntArray, at: Places, pair: int) -> None:
    """Write two columns of M/(g h) - J: conduction in x, the joints' pairs, the diagonal."""
    begin, end = index[at.start + pair], index[at.start + pair + 1]
    nothing, one = spread(0.0), spread(1.0)
    for place in range(at.matrix + begin, at.matrix + end):
        store(rows, place, nothing)
    for entry in range(index[at.entry_start + pair], index[at.entry_start + pair + 1]):
        tau_per_x = load(rows, at.scale + index[at.entry_material + entry])
        place = at.matrix + index[at.entry_place + entry]
        store(rows, place, load(rows, at.stiffness + entry) * tau_per_x)
    for turn in range(index[at.joint_start + pair], index[at.joint_start + pair + 1]):
        place = at.matrix + index[at.joint_place + turn]
        slope = load(rows, at.joint_slope + index[at.joint_order + turn])
        store(rows, place, load(rows, place) - slope)
    per_time = one / (spread(0.5) * load(rows, at.length))
    for side in range(2):
        node = 2 * pair + side
        place = at.matrix + end - 4 + 3 * side
        if node < at.nodes:
            held = load(rows, at.volume + node) * load(rows, at.enthalpy_per_x + node) * per_time
            store(rows, place, load(rows, place) + held + load(rows, at.diagonal + node))
        else:
            store(rows, place, one)


@compiled
def eliminate(rows: FloatArray, index: IntArray, at: Places, pair: int) -> None:
    """Take all earlier rows out of two columns, two rows at a time: the columns of D U above the diagonal."""
    first = index[at.first + pair]
    here = at.matrix + index[at.start + pair]
    for other in range(first // 2, pair):
        other_first = index[at.first + other]
        there = at.matrix + index[at.start + other]
        begin = max(first, other_first)
        left = there + 2 * (begin - other_first)
        right = here + 2 * (begin - first)
        target = here + 2 * (2 * other - first)
        s00, s01 = load(rows, target), load(rows, target + 1)
        s10, s11 = load(rows, target + 2), load(rows, target + 3)
        t00 = t01 = t10 = t11 = spread(0.0)
        for _ in range(begin, 2 * other, 2):
            u0, u1 = load(rows, left), load(rows, left + 1)
            w0, w1 = load(rows, right), load(rows, right + 1)
            s00, s01 = s00 - u0 * w0, s01 - u0 * w1
            s10, s11 = s10 - u1 * w0, s11 - u1 * w1
            u0, u1 = load(rows, left + 2), load(rows, left + 3)
            w0, w1 = load(rows, right + 2), load(rows, right + 3)
            t00, t01 = t00 - u0 * w0, t01 - u0 * w1
            t10, t11 = t10 - u1 * w0, t11 - u1 * w1
            left += 4
            right += 4
        s00, s01 = s00 + t00, s01 + t01
        between = load(rows, left + 1)
        store(rows, target, s00)
        store(rows, target + 1, s01)
        store(rows, target + 2, s10 + t10 - between * s00)
        store(rows, target + 3, s11 + t11 - between * s01)


@compiled
def close(rows: FloatArray, index: IntArray, at: Places, pair: int) -> None:
    """Divide two columns by the pivots, finish their own 2 x 2 block, and take the first forward step."""
    first = index[at.first + pair]
    place = at.matrix + index[at.start + pair]
    node = 2 * pair
    diagonal = place + 2 * (node - first)
    d00, d01, d11 = load(rows, diagonal), load(rows, diagonal + 1), load(rows, diagonal + 3)
    y0, y1 = load(rows, at.right + node), load(rows, at.right + node + 1)
    for row in range(first, node):
        inverse, y = load(rows, at.inverse + row), load(rows, at.right + row)
        w0, w1 = load(rows, place), load(rows, place + 1)
        u0, u1 = w0 * inverse, w1 * inverse
        d00, d01, d11 = d00 - u0 * w0, d01 - u0 * w1, d11 - u1 * w1
        y0, y1 = y0 - u0 * y, y1 - u1 * y
        store(rows, place, u0)
        store(rows, place + 1, u1)
        place += 2
    inverse = spread(1.0) / d00
    between = d01 * inverse
    d11 = d11 - between * d01
    store(rows, place + 1, between)
    _finish(rows, at, node, y0, inverse)
    _finish(rows, at, node + 1, y1 - between * y0, spread(1.0) / d11)
    smallest = load(rows, at.pivot)
    smallest = choose(d00 < smallest, d00, smallest)
    store(rows, at.pivot, choose(d11 < smallest, d11, smallest))


@compiled
def _finish(rows: FloatArray, at: Places, node: int, y: FloatArray, inverse: FloatArray) -> None:
    store(rows, at.inverse + node, inverse)
    store(rows, at.right + node, y)
    store(rows, at.solved + node, y * inverse)


@compiled
def factorise(rows: FloatArray, index: IntArray, at: Places) -> None:
    """Assemble and factorise, and take ``right`` forward on the way: a backward pass solves it."""
    store(rows, at.pivot, spread(1.0))
    for pair in range(at.column_pairs):
        assemble(rows, index, at, pair)
        eliminate(rows, index, at, pair)
        close(rows, index, at, pair)


@compiled
def forward(rows: FloatArray, index: IntArray, at: Places) -> None:
    """Solve U' y = right, y over ``right``, y/D into ``solved``."""
    for pair in range(at.column_pairs):
        node, row = 2 * pair, index[at.first + pair]
        place = at.matrix + index[at.start + pair]
        y0, y1 = load(rows, at.right + node), load(rows, at.right + node + 1)
        z0 = z1 = spread(0.0)
        for other in range(at.right + row, at.right + node, 2):
            y = load(rows, other)
            z0, z1 = z0 - load(rows, place) * y, z1 - load(rows, place + 1) * y
            y = load(rows, other + 1)
            y0, y1 = y0 - load(rows, place + 2) * y, y1 - load(rows, place + 3) * y
            place += 4
        y0 = y0 + z0
        y1 = y1 + z1 - load(rows, place + 1) * y0
        store(rows, at.right + node, y0)
        store(rows, at.right + node + 1, y1)
        store(rows, at.solved + node, y0 * load(rows, at.inverse + node))
        store(rows, at.solved + node + 1, y1 * load(rows, at.inverse + node + 1))


@compiled
def backward(rows: FloatArray, index: IntArray, at: Places) -> None:
    """Solve U x = solved in place."""
    for pair in range(at.column_pairs - 1, -1, -1):
        node, first = 2 * pair, index[at.first + pair]
        place = at.matrix + index[at.start + pair]
        x1 = load(rows, at.solved + node + 1)
        x0 = load(rows, at.solved + node) - load(rows, place + 2 * (node - first) + 1) * x1
        store(rows, at.solved + node, x0)
        for row in range(at.solved + first, at.solved + node):
            x = load(rows, row)
            store(rows, row, x - load(rows, place) * x0 - load(rows, place + 1) * x1)
            place += 2
