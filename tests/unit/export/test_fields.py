import xml.etree.ElementTree as ET

import meshio
import numpy as np
import pytest

from optitip.export.fields import Instant, write_fields

# an apex fan of two cells (nodes 0-3), a quadrilateral behind them, and another collapsed on its third side
POINTS = np.array([[0, 0], [0, 1], [1, 1], [2, 1], [1, 2], [2, 2], [3, 2]], float)
CELLS = np.array([[0, 2, 1, 0], [0, 3, 2, 0], [2, 3, 5, 4], [3, 6, 6, 5]])
PARTS = np.array([0, 0, 4, 11])
NAMES = {0: "nose", 4: "fore -- taper", 11: "slab <sample>"}


def instants():
    times = [0.0, 0.25, 12.5]
    return [
        Instant(
            time=time,
            points={"temperature [K]": 300.0 + time * np.arange(7)},
            cells={"stress [Pa]": 1e6 * np.arange(4) + time},
        )
        for time in times
    ]


@pytest.fixture
def index(tmp_path):
    return write_fields(
        POINTS, cells=CELLS, parts=PARTS, part_names=NAMES, instants=instants(), folder=tmp_path
    )


def entries(index):
    return [(float(one.get("timestep")), one.get("file")) for one in ET.parse(index).iter("DataSet")]


def test_the_index_names_a_file_that_is_there_for_every_time(index):
    assert [time for time, _ in entries(index)] == [0.0, 0.25, 12.5]
    assert all((index.parent / file).is_file() for _, file in entries(index))
    assert ET.parse(index).getroot().get("type") == "Collection"


def test_fields_come_back_at_the_nodes_and_in_the_cells_they_were_given_for(index):
    for instant, (_, file) in zip(instants(), entries(index), strict=True):
        mesh = meshio.read(index.parent / file)
        assert mesh.points == pytest.approx(np.column_stack([POINTS, np.zeros(7)]))
        assert mesh.point_data["temperature [K]"] == pytest.approx(instant.points["temperature [K]"])
        assert np.concatenate(mesh.cell_data["stress [Pa]"]) == pytest.approx(
            instant.cells["stress [Pa]"][[2, 0, 1, 3]]
        )
        assert np.concatenate(mesh.cell_data["part"]).tolist() == [4, 0, 0, 11]


def test_collapsed_cells_are_triangles_and_keep_their_corners_in_order(index):
    mesh = meshio.read(index.parent / entries(index)[0][1])
    assert [block.type for block in mesh.cells] == ["quad", "triangle"]
    assert mesh.cells[0].data.tolist() == [[2, 3, 5, 4]]
    corners = [set(one) for one in mesh.cells[1].data.tolist()]
    assert corners == [{0, 2, 1}, {0, 3, 2}, {3, 6, 5}]
    for one in mesh.cells[1].data:
        (ax, ay), (bx, by) = POINTS[one[1]] - POINTS[one[0]], POINTS[one[2]] - POINTS[one[0]]
        original = next(cell for cell in CELLS.tolist() if set(cell) == set(one.tolist()))
        x, y = POINTS[original].T
        area = 0.5 * np.sum(x * np.roll(y, -1) - y * np.roll(x, -1))
        assert 0.5 * (ax * by - ay * bx) == pytest.approx(area)


def test_the_axes_units_and_parts_are_stated_in_the_index(index):
    text = index.read_text()
    assert "x is r [m]" in text
    assert "11 slab" in text


def test_a_shorter_series_leaves_no_files_of_the_longer_one(index):
    write_fields(
        POINTS, cells=CELLS, parts=PARTS, part_names=NAMES, instants=instants()[:1], folder=index.parent
    )
    assert sorted(path.name for path in index.parent.iterdir()) == ["fields-0000.vtu", "fields.pvd"]


def test_a_mesh_of_quadrilaterals_alone_has_no_empty_block(tmp_path):
    one = [Instant(time=0.0)]
    index = write_fields(
        POINTS, cells=CELLS[2:3], parts=PARTS[2:3], part_names=NAMES, instants=one, folder=tmp_path
    )
    assert [block.type for block in meshio.read(index.parent / "fields-0000.vtu").cells] == ["quad"]


def test_a_cell_squeezed_to_a_line_is_a_bug_and_stays_loud(tmp_path):
    flat = np.array([[0, 0, 1, 1]])
    with pytest.raises(ValueError, match="three corners"):
        write_fields(
            POINTS, cells=flat, parts=PARTS[:1], part_names={}, instants=instants()[:1], folder=tmp_path
        )


def test_instants_out_of_order_are_refused(tmp_path):
    with pytest.raises(ValueError, match="follow"):
        write_fields(
            POINTS, cells=CELLS, parts=PARTS, part_names=NAMES, instants=instants()[::-1], folder=tmp_path
        )
