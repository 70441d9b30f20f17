import numpy as np
import pytest

from optitip.solvers.body import HeatBody, Sink, Surface


def _square(**changes):
    given = {
        "points": [[0.01, 0.0], [0.02, 0.0], [0.02, 0.01], [0.01, 0.01]],
        "cells": [[0, 1, 2, 3]],
        "cell_material": [0],
        "cell_weight": [1.0],
        "materials": (),
    }
    return HeatBody(**{**given, **changes})


def _heated(**changes):
    given = {
        "nodes": [0, 3],
        "area": [1.0, 1.0],
        "time": [0.0, 1.0],
        "wall": [300.0, 600.0],
        "film": np.ones((2, 2, 2)),
        "recovery": np.full((2, 2), 500.0),
        "emissivity": [0.0, 0.0],
        "surroundings": [300.0, 300.0],
    }
    return Surface(**{**given, **changes})


def test_arrays_are_copied_and_made_read_only():
    points = np.array([[0.01, 0.0], [0.02, 0.0], [0.02, 0.01], [0.01, 0.01]])
    body = _square(points=points)
    points[0, 0] = 5.0
    assert body.points[0, 0] == 0.01
    with pytest.raises(ValueError, match="read-only"):
        body.points[0, 0] = 1.0


@pytest.mark.parametrize("key", ["cell_material", "cell_weight", "cell_region"])
def test_an_array_that_does_not_fit_the_cells_is_refused_by_name(key):
    with pytest.raises(ValueError, match=key):
        _square(**{key: [0, 0]})


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("area", [1.0]),
        ("film", np.ones((2, 2, 1))),
        ("film", np.full((2, 2, 2), np.nan)),
        ("recovery", np.full((2, 2), np.inf)),
        ("recovery", np.ones((1, 2))),
        ("surroundings", [300.0]),
        ("emissivity", [0.1]),
        ("time", [1.0, 0.0]),
        ("wall", [300.0, 300.0]),
        ("nodes", [3, 3]),
    ],
)
def test_a_surface_array_that_disagrees_is_refused_by_name(key, value):
    with pytest.raises(ValueError, match=key):
        _heated(**{key: value})


def test_a_sink_has_a_conductance_for_each_node():
    with pytest.raises(ValueError, match="conductance"):
        Sink(nodes=[0, 1], conductance=[1.0], temperature=300.0)


def test_a_joint_has_a_partner_for_each_node(joint):
    with pytest.raises(ValueError, match="second"):
        joint([0, 1], second=[2], area=1.0, conductance=10.0)
