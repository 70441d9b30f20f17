"""Eight states of a shell at once: modulus and heat, stiffness, loads, movement and stress, a lane each."""

import numpy as np

from optitip.arrays import FloatArray, IntArray
from optitip.solvers.compiled_band import GROUP, backward, close, eliminate, forward
from optitip.solvers.compiled_stress_layout import (
    EDGE_SLOPE,
    EDGE_VALUE,
    EDGE_WEIGHT,
    GAUSS,
    LOWER,
    MASS,
    NUMBERS,
    REDUCED_POINTS,
    SLOPES,
    SPREAD,
    STIFFNESS,
    TABLE_ROWS,
    VALUE,
    StressPlaces,
)
from optitip.solvers.compiled_surface import larger, smaller
from optitip.solvers.lanes import WIDTH, compiled, entry, load, number, spread, store

_TURN = 2.0 * np.pi
LAW_ROW = 4
"""numbers of a segment of a material's law: where it begins, how long it is, slopes of E and of expansion"""


@compiled
def _law(laws: FloatArray, law: int, segments: int, temperature: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the modulus and the free strain from the reference temperature, both linear between knots."""
    modulus, expansion = spread(number(laws, law)), spread(number(laws, law + 1))
    nothing = spread(0.0)
    for segment in range(law + 3, law + 3 + LAW_ROW * segments, LAW_ROW):
        past = temperature - spread(number(laws, segment))
        past = smaller(larger(past, nothing), spread(number(laws, segment + 1)))
        modulus = modulus + spread(number(laws, segment + 2)) * past
        expansion = expansion + spread(number(laws, segment + 3)) * past
    return modulus, expansion * (temperature - spread(number(laws, law + 2)))


@compiled
def _at_point(
    rows: FloatArray, index: IntArray, at: StressPlaces, shared: FloatArray, place: int, cell: int, point: int
) -> FloatArray:
    """Return the temperature of ``place`` at a point of a cell."""
    found = spread(0.0)
    for node in range(9):
        here = entry(index, at.nodes + 9 * cell + node)
        found = found + spread(number(shared, VALUE + 9 * point + node)) * load(rows, place + here)
    return found


@compiled
def _heat(
    rows: FloatArray,
    cells: FloatArray,
    index: IntArray,
    at: StressPlaces,
    shared: FloatArray,
    laws: FloatArray,
    law: int,
    segments: int,
    cell: int,
) -> None:
    """Write the modulus at a cell's points; its heat's force on its movements stands in ``local``."""
    table = WIDTH * TABLE_ROWS * (cell // WIDTH) + cell % WIDTH
    for freedom in range(18):
        store(rows, at.local + freedom, spread(0.0))
    for point in range(GAUSS + REDUCED_POINTS):
        hot = _at_point(rows, index, at, shared, at.temperature, cell, point)
        cold = _at_point(rows, index, at, shared, at.cold, cell, point)
        modulus, strain = _law(laws, law, segments, hot)
        _, before = _law(laws, law, segments, cold)
        strain = strain - before
        if point < GAUSS:
            store(rows, at.local + 18 + point, modulus)
            force, push = modulus * strain, table + WIDTH * (SPREAD + 18 * point)
            for freedom in range(18):
                part = spread(number(cells, push + WIDTH * freedom)) * force
                store(rows, at.local + freedom, load(rows, at.local + freedom) + part)
        else:
            here = REDUCED_POINTS * cell + point - GAUSS
            store(rows, at.modulus + here, modulus)
            store(rows, at.strain + here, strain)


@compiled
def _stiffen(rows: FloatArray, cells: FloatArray, index: IntArray, at: StressPlaces, cell: int) -> None:
    """Add a cell's stiffness to the matrix."""
    local = at.local + 18
    e0, e1, e2 = load(rows, local), load(rows, local + 1), load(rows, local + 2)
    e3, e4, e5 = load(rows, local + 3), load(rows, local + 4), load(rows, local + 5)
    e6, e7, e8 = load(rows, local + 6), load(rows, local + 7), load(rows, local + 8)
    table, step = WIDTH * (TABLE_ROWS * (cell // WIDTH) + STIFFNESS) + cell % WIDTH, WIDTH * LOWER
    for turn in range(LOWER):
        here = table + WIDTH * turn
        k0 = e0 * spread(number(cells, here)) + e1 * spread(number(cells, here + step))
        k1 = e2 * spread(number(cells, here + 2 * step)) + e3 * spread(number(cells, here + 3 * step))
        k0 = k0 + e4 * spread(number(cells, here + 4 * step))
        k1 = k1 + e5 * spread(number(cells, here + 5 * step))
        k0 = k0 + e6 * spread(number(cells, here + 6 * step))
        k1 = k1 + e7 * spread(number(cells, here + 7 * step))
        k0 = k0 + e8 * spread(number(cells, here + 8 * step))
        place = at.matrix + entry(index, at.place + LOWER * cell + turn)
        store(rows, place, load(rows, place) + (k0 + k1))


@compiled
def _push(
    rows: FloatArray,
    cells: FloatArray,
    index: IntArray,
    at: StressPlaces,
    sides: int,
    density: float,
    cell: int,
) -> None:
    """Add a cell's inertia and heat to the two right sides, and its axial force to what is ahead."""
    table = WIDTH * (TABLE_ROWS * (cell // WIDTH) + MASS) + cell % WIDTH
    pushed = spread(density) * load(rows, at.acceleration)
    for node in range(9):
        force = pushed * spread(number(cells, table + WIDTH * node))
        place = at.right + entry(index, at.freedom + 18 * cell + 2 * node + 1)
        store(rows, place, load(rows, place) + force)
        ahead = at.ahead + 1 + cell // at.cells_across
        store(rows, ahead, load(rows, ahead) + force)
    for freedom in range(18):
        place = at.right + sides + entry(index, at.freedom + 18 * cell + freedom)
        store(rows, place, load(rows, place) + load(rows, at.local + freedom))


@compiled
def _press(
    rows: FloatArray,
    index: IntArray,
    at: StressPlaces,
    shared: FloatArray,
    points: FloatArray,
    block: int,
    side: int,
) -> None:
    """Add the pressure on one edge of a block row, outline (side 0) or inner, to the loads' right side."""
    sign = 1.0 if side == 0 else -1.0
    pressure = (at.outline if side == 0 else at.inner) + entry(index, at.fore_row + block)
    cell = at.cells_across * block + (0 if side == 0 else at.cells_across - 1)
    for point in range(4):
        r, along_r, along_z, here = 0.0, 0.0, 0.0, spread(0.0)
        for node in range(3):
            own = 2 * entry(index, at.edge + 6 * block + 2 * node + side)
            value, slope = (
                number(shared, EDGE_VALUE + 3 * point + node),
                number(shared, EDGE_SLOPE + 3 * point + node),
            )
            r += value * number(points, own)
            along_r += slope * number(points, own)
            along_z += slope * number(points, own + 1)
            here = here + spread(value) * load(rows, pressure + node)
        here = here * spread(sign * _TURN * r * number(shared, EDGE_WEIGHT + point))
        for node in range(3):
            force = here * spread(number(shared, EDGE_VALUE + 3 * point + node))
            freedom = at.freedom + 18 * cell + 2 * (3 * node + 2 * side)
            place = at.right + entry(index, freedom)
            store(rows, place, load(rows, place) - force * spread(along_z))
            place, axial = at.right + entry(index, freedom + 1), force * spread(along_r)
            store(rows, place, load(rows, place) + axial)
            store(rows, at.ahead + 1 + block, load(rows, at.ahead + 1 + block) + axial)


@compiled
def load_up(
    rows: FloatArray,
    cells: FloatArray,
    index: IntArray,
    at: StressPlaces,
    shared: FloatArray,
    laws: FloatArray,
    segments: int,
    material: IntArray,
    density: FloatArray,
    points: FloatArray,
    sides: int,
) -> None:
    """Write the stiffness and the two right sides of all states."""
    nothing = spread(0.0)
    for place in range(at.matrix, at.past_matrix):
        store(rows, place, nothing)
    for place in range(at.ahead, at.stress):
        store(rows, place, nothing)
    for cell in range(at.cell_count):
        law = (3 + LAW_ROW * segments) * entry(material, cell)
        _heat(rows, cells, index, at, shared, laws, law, segments, cell)
        _stiffen(rows, cells, index, at, cell)
        _push(rows, cells, index, at, sides, number(density, cell), cell)
    for block in range(at.block_rows):
        _press(rows, index, at, shared, points, block, 0)
        _press(rows, index, at, shared, points, block, 1)
    for block in range(at.block_rows):
        here = load(rows, at.ahead + block) + load(rows, at.ahead + block + 1)
        store(rows, at.ahead + block + 1, here)


@compiled
def move(rows: FloatArray, index: IntArray, at: StressPlaces, sides: int) -> None:
    """Factorise the matrix where it stands, solve all sides, and add the loads' movement to the heat's."""
    one, nothing = spread(1.0), spread(0.0)
    store(rows, at.pivot, one)
    for group in range(at.column_groups):
        begin, end = entry(index, at.start + group), entry(index, at.start + group + 1)
        for place in range(end - begin):
            store(rows, at.bench + place, load(rows, at.matrix + begin + place))
        for column in range(max(at.free_count - GROUP * group, 0), GROUP):
            store(rows, at.bench + end - begin - GROUP * GROUP + (GROUP + 1) * column, one)
        eliminate(rows, index, at, group)
        close(rows, index, at, group)
        for side in range(2 + at.pushes):
            forward(rows, index, at, group, at.right + sides * side, at.solved + sides * side)
    for group in range(at.column_groups - 1, -1, -1):
        for side in range(2 + at.pushes):
            backward(rows, index, at, group, at.solved + sides * side)
    for side in range(2 + at.pushes):
        store(rows, at.solved + sides * side + sides - 1, nothing)
    for place in range(at.solved, at.solved + sides):
        store(rows, place + sides, load(rows, place + sides) + load(rows, place))


@compiled
def _touch(rows: FloatArray, at: StressPlaces, sides: int, case: int) -> None:
    """Add to the movements of a case what its forces of contact move."""
    for push in range(at.pushes):
        force = load(rows, at.pressing + at.pushes * case + push)
        by_one = at.solved + sides * (2 + push)
        for place in range(sides):
            moved = at.solved + sides * case + place
            store(rows, moved, load(rows, moved) + force * load(rows, by_one + place))


@compiled
def strain(rows: FloatArray, cells: FloatArray, index: IntArray, at: StressPlaces, sides: int) -> None:
    """Write the stress at the reduced points and the movement of the nodes, the loads' case first."""
    for case in range(2):
        moved = at.solved + sides * case
        _touch(rows, at, sides, case)
        for cell in range(at.cell_count):
            table = WIDTH * TABLE_ROWS * (cell // WIDTH) + cell % WIDTH
            direct = spread(number(cells, table + WIDTH * NUMBERS))
            side = spread(number(cells, table + WIDTH * (NUMBERS + 1)))
            shear = spread(number(cells, table + WIDTH * (NUMBERS + 2)))
            bulk = spread(number(cells, table + WIDTH * (NUMBERS + 3)) * case)
            for point in range(REDUCED_POINTS):
                slopes = table + WIDTH * (SLOPES + 27 * point)
                radial, axial, hoop, sheared = spread(0.0), spread(0.0), spread(0.0), spread(0.0)
                for node in range(9):
                    freedom = at.freedom + 18 * cell + 2 * node
                    u = load(rows, moved + entry(index, freedom))
                    w = load(rows, moved + entry(index, freedom + 1))
                    r = spread(number(cells, slopes + WIDTH * node))
                    z = spread(number(cells, slopes + WIDTH * (9 + node)))
                    radial, axial = radial + r * u, axial + z * w
                    hoop = hoop + spread(number(cells, slopes + WIDTH * (18 + node))) * u
                    sheared = sheared + z * u + r * w
                here = REDUCED_POINTS * cell + point
                modulus = load(rows, at.modulus + here)
                heat = bulk * load(rows, at.strain + here)
                place = at.stress + 16 * at.cell_count * case + 4 * here
                store(rows, place, modulus * (direct * radial + side * (axial + hoop) - heat))
                store(rows, place + 1, modulus * (direct * axial + side * (radial + hoop) - heat))
                store(rows, place + 2, modulus * (direct * hoop + side * (radial + axial) - heat))
                store(rows, place + 3, modulus * shear * sheared)
        for turn in range(2 * at.node_count):
            place = at.movement + 2 * at.node_count * case + turn
            store(rows, place, load(rows, moved + entry(index, at.number + turn)))
