"""Where everything stands in the memory of the compiled stress: eight cells a row, then eight states.

``cells`` holds what one design's geometry gives, eight cells a row; ``rows`` what eight states make of it,
one a lane: instants, or the shell put together; ``index`` what the topology alone decides. A place is the
first row, or the first entry, of its kind.
"""

from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from optitip.arrays import FloatArray, IntArray, read_only
from optitip.solvers.compiled_band import GROUP
from optitip.solvers.compiled_layout import on_lines
from optitip.solvers.elastic_assembly import BandPlan
from optitip.solvers.elastic_cells import NineNodeCells
from optitip.solvers.elastic_shape import (
    FULL_WEIGHT,
    LINE_EDGE,
    LINE_EDGE_WEIGHT,
    POINTS,
    POINTS_SLOPE,
    line_shape,
)
from optitip.solvers.lanes import WIDTH

GAUSS, REDUCED_POINTS, LOWER = 9, 4, 171
# rows of a group of eight cells: r and z of nine nodes and four elastic numbers, then the tables
CORNERS, NUMBERS = 0, 18
STIFFNESS = NUMBERS + 4
SPREAD = STIFFNESS + GAUSS * LOWER
MASS = SPREAD + GAUSS * 18
SLOPES = MASS + 9
TABLE_ROWS = SLOPES + REDUCED_POINTS * 27
# shared numbers: shape functions and slopes at the points, weights, then those of an edge
VALUE, SLOPE_ALONG, SLOPE_ACROSS, WEIGHT = 0, 13 * 9, 26 * 9, 39 * 9
EDGE_VALUE = WEIGHT + 9
EDGE_SLOPE, EDGE_WEIGHT = EDGE_VALUE + 12, EDGE_VALUE + 24


class StressPlaces(NamedTuple):
    """Counts, then first rows in ``rows``, then first entries in ``index``."""

    # counts
    column_groups: int
    cell_count: int
    cells_across: int
    block_rows: int
    node_count: int
    row_count: int
    free_count: int
    pushes: int
    # rows of states
    temperature: int
    cold: int
    outline: int
    inner: int
    acceleration: int
    matrix: int
    past_matrix: int
    bench: int
    inverse: int
    pivot: int
    right: int
    solved: int
    pressing: int
    local: int
    modulus: int
    strain: int
    ahead: int
    stress: int
    movement: int
    # index
    first: int
    start: int
    place: int
    freedom: int
    nodes: int
    fore_row: int
    edge: int
    number: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StressLanes:
    """The places of one topology, its index, and the numbers of the shape functions.

    sides: rows that one right side takes, one for what is held at the end.
    """

    at: StressPlaces
    record: StressPlaces
    index: IntArray
    shared: FloatArray
    sides: int
    row_total: int


@lru_cache(maxsize=16)
def stress_lanes(plan: BandPlan, *, cells: NineNodeCells, pushes: int) -> StressLanes:
    """Return the places for a plan of the stiffness; ``pushes`` places of contact add as many right sides."""
    groups = -(-plan.free_count // GROUP)
    size = GROUP * groups
    first, start, place = _skyline(plan, groups=groups)
    rows = np.asarray(cells.rows)
    edge = rows[cells.face_rows()][..., [0, -1]]
    number = np.full((cells.moving_of.size, 2), size)
    shell = cells.moving_of >= 0
    number[shell] = _held_last(plan.number, plan)[cells.moving_of[shell]]
    parts = {
        "first": first,
        "start": start,
        "place": place,
        "freedom": _held_last(plan.freedom, plan),
        "nodes": cells.nodes,
        "fore_row": cells.fore_row,
        "edge": edge,
        "number": number,
    }
    counts = {
        "column_groups": groups,
        "cell_count": len(cells.nodes),
        "cells_across": cells.columns,
        "block_rows": cells.fore_row.size,
        "node_count": cells.moving_of.size,
        "row_count": len(rows),
        "free_count": plan.free_count,
        "pushes": pushes,
    }
    sizes = _row_sizes(counts, matrix=int(start[-1]), bench=int(np.diff(start).max()), sides=size + 1)
    found = counts | _ends(sizes) | _ends({name: part.size for name, part in parts.items()})
    at = StressPlaces(**found)
    kind = np.dtype([(name, np.int64) for name in StressPlaces._fields])
    record: StressPlaces = np.array([tuple(at)], dtype=kind)[0]
    return StressLanes(
        at=at,
        record=record,
        index=read_only(
            np.concatenate([np.asarray(part, dtype=np.int64).ravel() for part in parts.values()])
        ),
        shared=_shared(),
        sides=size + 1,
        row_total=sum(sizes.values()),
    )


def _row_sizes(counts: dict[str, int], *, matrix: int, bench: int, sides: int) -> dict[str, int]:
    nodes, right = counts["node_count"], (2 + counts["pushes"]) * sides
    return {
        "temperature": nodes,
        "cold": nodes,
        "outline": counts["row_count"],
        "inner": counts["row_count"],
        "acceleration": 1,
        "matrix": matrix,
        "past_matrix": 1,
        "bench": bench,
        "inverse": sides,
        "pivot": 1,
        "right": right,
        "solved": right,
        "pressing": 2 * counts["pushes"],
        "local": 18 + GAUSS,
        "modulus": REDUCED_POINTS * counts["cell_count"],
        "strain": REDUCED_POINTS * counts["cell_count"],
        "ahead": counts["block_rows"] + 1,
        "stress": 2 * 16 * counts["cell_count"],
        "movement": 2 * 2 * nodes,
    }


def _ends(sizes: dict[str, int]) -> dict[str, int]:
    """Return the first place of each kind, one behind the other."""
    ends = np.cumsum(list(sizes.values()))
    return dict(zip(sizes, (ends - list(sizes.values())).tolist(), strict=True))


def _held_last(number: IntArray, plan: BandPlan) -> IntArray:
    """Return the numbers of movements with the held ones behind whole groups of columns."""
    size = GROUP * -(-plan.free_count // GROUP)
    return np.where(number == plan.free_count, size, number)


def _skyline(plan: BandPlan, *, groups: int) -> tuple[IntArray, IntArray, IntArray]:
    """Return each group of columns' first row and start, and the place of each cell's lower triangle."""
    flat = np.asarray(plan.place).reshape(-1, LOWER)
    kept = flat < plan.free_count * (plan.width + 1)
    column = flat // (plan.width + 1)
    row = flat % (plan.width + 1) - plan.width + column
    first = GROUP * np.arange(groups)
    np.minimum.at(first, column[kept] // GROUP, row[kept])
    first -= first % 2
    start = np.concatenate([[0], np.cumsum(GROUP * (GROUP * np.arange(1, groups + 1) - first))])
    group = np.where(kept, column // GROUP, 0)
    place = start[group] + GROUP * (row - first[group]) + column % GROUP
    return first, start, np.where(kept, place, start[-1])


@lru_cache(maxsize=1)
def _shared() -> FloatArray:
    value, slope = line_shape(LINE_EDGE)
    parts = (POINTS, POINTS_SLOPE[:, 0], POINTS_SLOPE[:, 1], FULL_WEIGHT, value, slope, LINE_EDGE_WEIGHT)
    return read_only(np.concatenate([np.asarray(part).ravel() for part in parts]))


def table_room(cell_count: int) -> FloatArray:
    """Return room for the tables of so many cells (groups * TABLE_ROWS, WIDTH)."""
    return on_lines(-(-cell_count // WIDTH) * TABLE_ROWS, width=WIDTH)
