import numpy as np
import pytest

from optitip.export.pictures.traces import SampleTrace, Section, bracket, part_edges, trace_of, triangles

# two cells of part 0, of which the first is an apex triangle on the axis, and one of part 1 beyond them
POINTS = np.array([[0, 0], [0, 1], [1, 1], [0, 2], [1, 2], [0, 3], [1, 3]], float)
SECTION = Section(
    points=POINTS,
    cells=np.array([[0, 2, 1, 0], [1, 2, 4, 3], [3, 4, 6, 5]]),
    parts=np.array([0, 0, 1]),
    part_names={0: "plug", 1: "base"},
)


def trace(state, time, level):
    values = np.full(len(time), level)
    return SampleTrace(
        state=state,
        time=time,
        coldest=values,
        mean=values + time,
        hottest=values,
        wall=values,
        energy=values,
        peak=level,
    )


def test_edges_of_a_part_are_its_border_and_not_the_axis_nor_its_own_inside():
    edges = {tuple(edge) for edge in part_edges(SECTION).tolist()}
    assert edges == {(0, 2), (2, 4), (3, 4), (4, 6), (5, 6)}


def test_triangles_cover_the_area_of_the_cells_once():
    corners = POINTS[triangles(SECTION)]
    (ax, ay), (bx, by) = (corners[:, 1] - corners[:, 0]).T, (corners[:, 2] - corners[:, 0]).T
    assert len(corners) == 5
    assert np.abs(0.5 * (ax * by - ay * bx)).sum() == pytest.approx(2.5)


def test_a_bracket_is_the_lowest_and_highest_state_at_each_time_whatever_their_own_times():
    fine, coarse = np.linspace(0.0, 10.0, 21), np.array([0.0, 10.0])
    traces = [trace("low", coarse, 300.0), trace("high", fine, 320.0), trace("middle", fine, 310.0)]
    low, high = bracket(traces, fine, "mean")
    assert low == pytest.approx(300.0 + fine)
    assert high == pytest.approx(320.0 + fine)


def test_a_trace_is_found_by_the_name_of_its_state():
    traces = [trace("laminar", np.arange(3.0), 1.0), trace("turbulent", np.arange(3.0), 2.0)]
    assert trace_of(traces, "turbulent") is traces[1]
