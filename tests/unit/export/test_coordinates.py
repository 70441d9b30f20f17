import csv
import math

import pytest

from optitip.export.coordinates import HEADER, coordinate_rows, write_coordinates
from optitip.export.parts.arcs import Segment

QUARTER = math.tan(math.pi / 8.0)
OUTER = (
    Segment(start=(0.0, 0.0), end=(0.01, 0.01), bulge=-QUARTER),
    Segment(start=(0.01, 0.01), end=(0.04, 0.013)),
)
INNER = (
    Segment(start=(0.02, 0.0), end=(0.02, 0.006)),
    Segment(start=(0.02, 0.006), end=(0.022, 0.008), bulge=-QUARTER),
    Segment(start=(0.022, 0.008), end=(0.04, 0.0085)),
)


def test_every_end_of_an_arc_or_line_has_a_row_and_the_face_has_two():
    rows = coordinate_rows(OUTER, INNER)
    assert [row[0] for row in rows] == pytest.approx([0.0, 10.0, 20.0, 20.0, 22.0, 40.0])
    assert [row[2] for row in rows] == pytest.approx([0.0, 20.0, 22.0, 22.0, 22.4, 26.0])
    assert [row[3] for row in rows] == pytest.approx([0.0, 0.0, 0.0, 12.0, 16.0, 17.0])


def test_a_row_names_the_arc_that_leads_to_it_and_none_for_a_line():
    rows = coordinate_rows(OUTER, INNER)
    assert rows[1][4] == pytest.approx(10.0)
    assert [row[4] for row in rows[2:]] == [None] * 4
    assert [row[5] is None for row in rows] == [True, True, True, True, False, True]
    assert rows[4][5] == pytest.approx(2.0)


def test_an_arc_that_bulges_towards_the_axis_has_a_negative_radius():
    hollow = (OUTER[0], Segment(start=(0.01, 0.01), end=(0.02, 0.02), bulge=QUARTER))
    inner = (Segment(start=(0.018, 0.0), end=(0.02, 0.001)),)
    assert coordinate_rows(hollow, inner)[-1][4] == pytest.approx(-10.0)


def test_the_two_data_sum_to_the_length_in_every_row():
    for row in coordinate_rows(OUTER, INNER, step=0.003):
        assert row[0] + row[1] == pytest.approx(40.0, abs=1e-12)


def test_fixed_steps_keep_the_faces_and_the_end_and_follow_the_circle():
    rows = coordinate_rows(OUTER, INNER, step=0.004)
    stations = [row[0] for row in rows]
    assert stations == pytest.approx([0, 4, 8, 12, 16, 20, 20, 24, 28, 32, 36, 40])
    assert rows[1][2] == pytest.approx(2.0 * math.sqrt(10.0**2 - 6.0**2), rel=1e-9)
    assert rows[1][4] == pytest.approx(10.0)
    assert rows[7][3] == pytest.approx(2.0 * (8.0 + 0.5 * 2.0 / 18.0), rel=1e-9)


def test_a_solid_base_closes_the_bore_behind_its_face():
    closed = (
        *INNER[:2],
        Segment(start=(0.022, 0.008), end=(0.03, 0.008)),
        Segment(start=(0.03, 0.008), end=(0.03, 0.0)),
    )
    rows = coordinate_rows(OUTER, closed)
    at_the_face = [row[3] for row in rows if row[0] == pytest.approx(30.0)]
    assert at_the_face == pytest.approx([16.0, 0.0])
    assert rows[-1][3] == 0.0


def test_the_file_has_units_in_its_header_and_an_empty_field_for_a_line(tmp_path):
    path = write_coordinates(OUTER, INNER, folder=tmp_path)
    with path.open(newline="") as file:
        table = list(csv.reader(file))
    assert tuple(table[0]) == HEADER
    assert all(name.endswith("[mm]") for name in table[0])
    assert table[2] == ["10.0000", "30.0000", "20.0000", "0.0000", "10.0000", ""]
    assert "-0.0000" not in path.read_text()


def test_a_step_of_nothing_is_refused():
    with pytest.raises(ValueError, match="above zero"):
        coordinate_rows(OUTER, INNER, step=0.0)


def test_ends_that_no_lathe_can_tell_apart_share_a_row_and_a_face_keeps_its_own():
    near = (
        OUTER[0],
        Segment(start=(0.01, 0.01), end=(0.0199995, 0.011)),
        Segment(start=(0.0199995, 0.011), end=(0.04, 0.013)),
    )
    assert [row[0] for row in coordinate_rows(near, INNER)] == pytest.approx(
        [0, 10, 20, 20, 22, 40], abs=1e-9
    )


def test_a_face_behind_an_arc_is_reached_by_no_arc():
    rounded = (*INNER[:2], Segment(start=(0.022, 0.008), end=(0.022, 0.005)))
    at_the_face = [row for row in coordinate_rows(OUTER, rounded) if row[0] == pytest.approx(22.0)]
    assert [row[3] for row in at_the_face] == pytest.approx([16.0, 10.0])
    assert at_the_face[0][5] == pytest.approx(2.0)
    assert at_the_face[1][5] is None
