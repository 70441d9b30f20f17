"""The nodes and the heat of melting on a material's grid."""

import numpy as np
import pytest

from optitip.properties.phases import (
    EDGE,
    Melting,
    even_melting,
    freezing_nodes,
    melting_nodes,
    with_nodes,
)

GRID = np.arange(250.0, 300.0)


def test_new_nodes_stand_where_they_are_wanted_and_push_out_those_that_coincide():
    nodes = with_nodes(GRID, np.array([260.0 + 1e-9, 270.5]))
    assert np.all(np.diff(nodes) > EDGE)
    assert {260.0 + 1e-9, 270.5} <= set(nodes)
    assert 260.0 not in nodes
    assert nodes.size == GRID.size + 1


@pytest.mark.parametrize(("low", "high"), [(270.0, 280.0), (270.3, 270.31), (259.95, 260.05)])
def test_the_heat_of_melting_is_all_there_wherever_its_ends_fall(low, high):
    melting = Melting(low=low, high=high, latent_heat=3e8)
    at = with_nodes(GRID, melting_nodes(low, high))
    added = even_melting(at, melting)
    assert (0.5 * (added[1:] + added[:-1])) @ np.diff(at) == pytest.approx(3e8, rel=1e-9)
    outside = (at <= low) | (at >= high)
    assert not added[outside].any()


def test_the_nodes_of_freezing_begin_above_the_freezing_point_and_grow_with_the_distance_from_0_degrees():
    nodes = np.sort(freezing_nodes(233.15, 272.55))
    assert nodes[-1] == 272.55 + EDGE
    assert nodes[[0, -2]] == pytest.approx([233.15, 272.55])
    depth = 273.15 - nodes[:-1]
    assert np.all(-np.diff(depth) < 0.0101 * depth[:-1])
