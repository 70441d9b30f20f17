import numpy as np
import pytest

from optitip.geometry.sides import cell_volumes, edge_areas, row_areas, row_edges, smallest_jacobians


def test_the_shares_of_a_cone_add_up_to_its_lateral_area():
    points = np.array([[0.0, 0.0], [1.0, 1.0], [3.0, 3.0]])
    areas = edge_areas(points, np.array([[0, 1], [1, 2]]))
    assert areas.sum() == pytest.approx(np.pi * 3 * 3 * np.sqrt(2))
    # the apex carries pi L r_b / 3 of its edge
    assert areas[0] == pytest.approx(np.pi * np.sqrt(2) / 3)


def test_a_row_has_the_shares_of_its_edges_though_a_point_stands_twice():
    points = np.array([[0.0, 0.0], [1.0, 1.0], [1.0, 1.0], [3.0, 2.0]])
    nodes = np.arange(4)
    assert row_areas(points) == pytest.approx(edge_areas(points, row_edges(nodes)))
    assert row_areas(points).sum() == pytest.approx(np.pi * (np.sqrt(2) + 4 * np.sqrt(5)))


def test_nodes_off_the_edges_have_no_area():
    points = np.array([[1.0, 0.0], [1.0, 1.0], [5.0, 5.0]])
    assert edge_areas(points, np.array([[0, 1]]))[2] == 0


def test_a_collapsed_cell_has_the_volume_of_its_triangle():
    points = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]])
    # a cone of radius 1 and height 1
    assert cell_volumes(points, np.array([[0, 1, 2, 0]]))[0] == pytest.approx(np.pi / 3)


def test_the_scaled_jacobian_is_the_sine_of_the_worst_corner():
    points = np.array([[0.0, 0.0], [2.0, 0.0], [3.0, 1.0], [1.0, 1.0]])
    assert smallest_jacobians(points, np.array([[0, 1, 2, 3]]))[0] == pytest.approx(np.sin(np.pi / 4))


def test_a_cell_turned_inside_out_has_a_negative_jacobian():
    points = np.array([[0.0, 0.0], [1.0, 0.0], [0.2, 0.2], [0.0, 1.0]])
    assert smallest_jacobians(points, np.array([[0, 1, 2, 3]]))[0] < 0


def test_a_collapsed_cell_is_judged_by_its_three_corners():
    points = np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]])
    assert smallest_jacobians(points, np.array([[0, 1, 2, 0]]))[0] == pytest.approx(np.sqrt(0.5))
    assert smallest_jacobians(points, np.array([[0, 2, 1, 0]]))[0] < 0
