"""The tables of eight nine-node cells at once: what the geometry gives, each cell in a lane of its own."""

import numpy as np

from optitip.arrays import FloatArray
from optitip.solvers.compiled_stress_layout import (
    GAUSS,
    LOWER,
    MASS,
    NUMBERS,
    REDUCED_POINTS,
    SLOPE_ACROSS,
    SLOPE_ALONG,
    SLOPES,
    SPREAD,
    STIFFNESS,
    TABLE_ROWS,
    VALUE,
    WEIGHT,
)
from optitip.solvers.lanes import anywhere, compiled, load, number, spread, store

_TURN = 2.0 * np.pi


@compiled
def _slopes(cells: FloatArray, shared: FloatArray, group: int, point: int, bench: FloatArray) -> FloatArray:
    """Write dN/dr, dN/dz and N/r of the nine nodes, then the radius, on the bench; return the area."""
    zero = spread(0.0)
    r_along, r_across, z_along, z_across, radius = zero, zero, zero, zero, zero
    for node in range(9):
        r, z = load(cells, group + 2 * node), load(cells, group + 2 * node + 1)
        along = spread(number(shared, SLOPE_ALONG + 9 * point + node))
        across = spread(number(shared, SLOPE_ACROSS + 9 * point + node))
        r_along, z_along = r_along + along * r, z_along + along * z
        r_across, z_across = r_across + across * r, z_across + across * z
        radius = radius + spread(number(shared, VALUE + 9 * point + node)) * r
    area = r_along * z_across - z_along * r_across
    per_area, per_radius = spread(1.0) / area, spread(1.0) / radius
    for node in range(9):
        along = spread(number(shared, SLOPE_ALONG + 9 * point + node)) * per_area
        across = spread(number(shared, SLOPE_ACROSS + 9 * point + node)) * per_area
        store(bench, node, z_across * along - z_along * across)
        store(bench, 9 + node, r_along * across - r_across * along)
        store(bench, 18 + node, spread(number(shared, VALUE + 9 * point + node)) * per_radius)
    store(bench, 27, radius)
    return area


@compiled
def _stiffen(cells: FloatArray, group: int, point: int, bench: FloatArray, volume: FloatArray) -> None:
    """Write the lower triangle of the stiffness per modulus at a Gauss point, and the force of its strain."""
    direct, side = load(cells, group + NUMBERS) * volume, load(cells, group + NUMBERS + 1) * volume
    shear, bulk = load(cells, group + NUMBERS + 2) * volume, load(cells, group + NUMBERS + 3) * volume
    place = group + STIFFNESS + LOWER * point
    for i in range(9):
        r, z, h = load(bench, i), load(bench, 9 + i), load(bench, 18 + i)
        by_r, by_h, by_z = direct * r + side * h, direct * h + side * r, shear * z
        for j in range(i):
            store(
                cells, place, by_r * load(bench, j) + by_h * load(bench, 18 + j) + by_z * load(bench, 9 + j)
            )
            store(cells, place + 1, side * (r + h) * load(bench, 9 + j) + by_z * load(bench, j))
            place += 2
        store(cells, place, by_r * r + by_h * h + by_z * z)
        place += 1
        across, along, shearing = side * z, direct * z, shear * r
        for j in range(i):
            r_j, z_j = load(bench, j), load(bench, 9 + j)
            store(cells, place, across * (r_j + load(bench, 18 + j)) + shearing * z_j)
            store(cells, place + 1, along * z_j + shearing * r_j)
            place += 2
        store(cells, place, across * (r + h) + shearing * z)
        store(cells, place + 1, along * z + shearing * r)
        place += 2
        push = group + SPREAD + 18 * point + 2 * i
        store(cells, push, bulk * (r + h))
        store(cells, push + 1, bulk * z)


@compiled
def tabulate(cells: FloatArray, shared: FloatArray, groups: int, bench: FloatArray) -> bool:
    """Fill the tables of all groups of cells; False where a cell's area isn't positive at a point."""
    zero = spread(0.0)
    for number_of_group in range(groups):
        group = TABLE_ROWS * number_of_group
        for node in range(9):
            store(cells, group + MASS + node, zero)
        for point in range(GAUSS):
            area = _slopes(cells, shared, group, point, bench)
            if anywhere(area <= zero):
                return False
            volume = spread(_TURN * number(shared, WEIGHT + point)) * load(bench, 27) * area
            _stiffen(cells, group, point, bench, volume)
            for node in range(9):
                share = spread(number(shared, VALUE + 9 * point + node)) * volume
                store(cells, group + MASS + node, load(cells, group + MASS + node) + share)
        for point in range(REDUCED_POINTS):
            area = _slopes(cells, shared, group, GAUSS + point, bench)
            if anywhere(area <= zero):
                return False
            for kind in range(27):
                store(cells, group + SLOPES + 27 * point + kind, load(bench, kind))
    return True
