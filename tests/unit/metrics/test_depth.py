"""Depths along rows of nodes: interpolated, from the outline, the deepest place counts."""

import numpy as np
import pytest

from optitip.metrics.depth import arc_along, depth_of_share, depth_over

ARC = np.array([[0.0, 1.0, 3.0, 4.0]])


def deep(*values, limit=500.0):
    return float(depth_over(ARC, np.array([values]), limit=limit)[0])


def test_the_depth_is_interpolated_between_nodes_that_are_not_evenly_apart():
    assert deep(700.0, 600.0, 400.0, 300.0) == pytest.approx(2.0)
    assert deep(600.0, 400.0, 300.0, 300.0) == pytest.approx(0.5)


def test_a_row_that_keeps_its_limit_has_no_depth_and_one_at_it_has_none_either():
    assert deep(499.0, 400.0, 300.0, 300.0) == 0.0
    assert deep(500.0, 400.0, 300.0, 300.0) == 0.0


def test_a_row_that_is_over_to_its_end_is_over_along_all_of_it():
    assert deep(700.0, 700.0, 700.0, 700.0) == 4.0
    assert deep(700.0, 600.0, 550.0, 501.0) == 4.0


def test_what_is_too_hot_from_within_counts_as_deep_as_it_lies():
    assert deep(400.0, 400.0, 400.0, 600.0) == 4.0
    assert deep(700.0, 400.0, 600.0, 400.0) == pytest.approx(3.5)


def test_each_row_has_its_own_depth():
    values = np.array([[700.0, 600.0, 400.0, 300.0], [400.0] * 4])
    assert depth_over(np.repeat(ARC, 2, axis=0), values, limit=500.0).tolist() == [2.0, 0.0]


def test_a_row_of_one_point_has_no_depth():
    apex = arc_along(np.zeros((1, 4, 2)))
    assert depth_over(apex, np.full((1, 4), 900.0), limit=500.0).tolist() == [0.0]


def test_what_has_decomposed_adds_up_to_a_depth():
    assert depth_of_share(ARC, np.array([[1.0, 1.0, 0.0, 0.0]])).tolist() == [2.0]
    assert depth_of_share(ARC, np.array([[1.0, 1.0, 1.0, 1.0]])).tolist() == [4.0]
    assert depth_of_share(ARC, np.array([[0.2, 0.0, 0.0, 0.0]])).tolist() == pytest.approx([0.1])
