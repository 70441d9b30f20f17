import numpy as np
import pytest

from optitip.solvers.elastic_cells import nine_node_cells, nodal_average
from optitip.solvers.elastic_shape import REDUCED


def lattice_rows(n_rows, n_across):
    return np.arange(n_rows * (n_across + 1)).reshape(n_rows, n_across + 1)


def test_cells_run_along_the_shell_then_across_in_lattice_order():
    cells = nine_node_cells(lattice_rows(5, 4), strip_zone=np.array([3, 3, 4, 4]))
    assert cells.nodes.shape == (4, 9)
    assert cells.nodes[1].tolist() == [2, 3, 4, 7, 8, 9, 12, 13, 14]
    assert cells.zone.tolist() == [3, 3, 4, 4]
    assert cells.columns == 2


def test_a_joint_makes_no_cell_and_ties_its_two_sides():
    cells = nine_node_cells(lattice_rows(6, 2), strip_zone=np.array([1, 1, -1, 2, 2]))
    assert cells.nodes.shape == (2, 9)
    np.testing.assert_array_equal(cells.moving[0, 6:], cells.moving[1, :3])
    assert not np.intersect1d(cells.nodes[0], cells.nodes[1]).size
    assert cells.moving_count == 15


def test_three_rows_of_one_place_move_as_one():
    zones = np.array([1, 1, -1, -1, 2, 2])
    cells = nine_node_cells(lattice_rows(7, 2), strip_zone=zones)
    np.testing.assert_array_equal(cells.moving_of[cells.rows[2]], cells.moving_of[cells.rows[4]])


def test_moving_nodes_are_numbered_across_the_wall_first_whatever_the_mesh_numbers():
    rows = lattice_rows(5, 2)[::-1] * 7 + 3
    cells = nine_node_cells(rows, strip_zone=np.zeros(4, dtype=int))
    assert cells.moving_of[rows.ravel()].tolist() == list(range(15))
    assert np.count_nonzero(cells.moving_of >= 0) == 15


@pytest.mark.parametrize(
    ("rows", "zones"),
    [(lattice_rows(4, 2), [1, 1, 1]), (lattice_rows(5, 3), [1] * 4), (lattice_rows(6, 2), [1, -1, 1, 1, 1])],
    ids=["odd strips", "odd across", "odd before a joint"],
)
def test_odd_counts_are_refused(rows, zones):
    with pytest.raises(ValueError, match=r"odd|make no nine-node cells"):
        nine_node_cells(rows, strip_zone=np.array(zones))


def test_a_linear_field_is_carried_to_the_nodes_exactly():
    rows = lattice_rows(5, 4)
    cells = nine_node_cells(rows, strip_zone=np.zeros(4, dtype=int), node_count=27)
    i, j = np.meshgrid(np.arange(5.0), np.arange(5.0), indexing="ij")
    field = np.zeros(27)
    field[:25] = (2.0 * i - 3.0 * j).ravel()
    at_points = field[cells.nodes] @ REDUCED.T
    nodal = nodal_average(cells, at_reduced_points=np.stack((at_points, 2 * at_points), axis=-1)[None])
    np.testing.assert_allclose(nodal[0, :, 0], field, atol=1e-12)
    np.testing.assert_allclose(nodal[0, :, 1], 2 * field, atol=1e-12)
