"""How the compiled march finds a wall temperature's column."""

from dataclasses import replace

import numpy as np
import pytest

from optitip.solvers.compiled_lane import wall_grid

GRIDS = {
    "even": np.linspace(250.0, 900.0, 10),
    "two": np.array([300.0, 700.0]),
    "one": np.array([300.0]),
    "closer by a thousand at one end": 250.0 + np.geomspace(0.01, 2000.0, 40),
    "so close that buckets hold many": np.sort(
        np.concatenate([300.0 + 1e-4 * np.arange(30), [250.0, 900.0]])
    ),
}


@pytest.mark.parametrize("name", GRIDS)
def test_a_bucket_and_a_few_steps_find_the_column_a_search_finds(name, surface):
    wall = GRIDS[name]
    made = surface([0], area=[1.0])
    grid = wall_grid(_with_walls(made, wall))
    span = wall[-1] - wall[0]
    beyond = np.linspace(wall[0] - 50.0, wall[-1] + 50.0 + span, 5001)
    sought = np.concatenate([wall, np.nextafter(wall, -np.inf), beyond])
    bucket = np.clip((sought - wall[0]) * grid.scale, 0.0, grid.buckets.size - 1.0).astype(int)
    column = grid.buckets[bucket].astype(int)
    for _ in range(grid.steps):
        column += sought >= grid.cells[column, 2]
    assert np.array_equal(column, np.searchsorted(wall[1:-1], sought, side="right"))
    within = (sought >= grid.cells[column, 3]) & (sought < grid.cells[column, 2])
    assert within.all()


def _with_walls(made, wall):
    return replace(made, wall=wall, film=np.zeros((1, 1, wall.size)))
