from dataclasses import replace

import numpy as np
import pytest

from optitip.errors import DesignFailure, Outcome
from optitip.solvers import banded
from optitip.solvers.assembly import assemble, integrate
from optitip.solvers.layout import layout_of


def _two_layers(column, solid):
    z = np.linspace(0.0, 1e-3, 3)
    return column(
        (z, solid(20.0, heat_capacity=2e6)), (1e-3 + z, solid(0.5, heat_capacity=4e6)), joints=[100.0]
    )


def test_a_folded_cell_is_a_failure_of_the_design(column, solid):
    body = _two_layers(column, solid).body
    points = body.points.copy()
    points[3, 1] = 5e-3
    with pytest.raises(DesignFailure) as failure:
        assemble(replace(body, points=points))
    assert failure.value.outcome is Outcome.MESH_FOLDED


def test_two_materials_that_share_a_node_are_refused(column, solid):
    body = _two_layers(column, solid).body
    cells = body.cells.copy()
    cells[2] = [4, 5, 9, 8]
    with pytest.raises(ValueError, match="share a node"):
        assemble(replace(body, cells=cells))


def test_a_node_without_a_cell_is_refused(column, solid):
    body = _two_layers(column, solid).body
    with pytest.raises(ValueError, match="belongs to no cell"):
        assemble(replace(body, points=np.vstack([body.points, [0.0, 1.0]])))


def test_two_joints_of_one_pair_are_refused(column, solid):
    body = _two_layers(column, solid).body
    with pytest.raises(ValueError, match="same pair"):
        assemble(replace(body, joints=body.joints * 2))


def test_bodies_of_one_topology_share_what_does_not_depend_on_their_shape(column, solid):
    first, second = (_two_layers(column, solid) for _ in range(2))
    wider = replace(second.body, points=second.body.points * [2.0, 1.0])
    assert layout_of(wider) is layout_of(first.body)
    model = assemble(replace(wider, materials=first.body.materials))
    assert model.node_tables is first.model.node_tables
    assert model.region_mean is first.model.region_mean
    assert model.volume == pytest.approx(4.0 * first.model.volume)


@pytest.mark.parametrize(
    "change",
    [
        {"cells": [[0, 1, 3, 2], [2, 3, 5, 4], [6, 7, 9, 8], [9, 11, 10, 8]]},
        {"cell_region": np.array([1, 1, 2, 2])},
        {"cell_material": np.array([0, 0, 0, 0])},
        {"joints": ()},
    ],
)
def test_another_topology_has_a_layout_of_its_own(column, solid, change):
    body = _two_layers(column, solid).body
    assert layout_of(replace(body, **change)) is not layout_of(body)


def test_integrals_that_are_known_already_give_the_same_model(column, solid):
    body = _two_layers(column, solid).body
    known, fresh = assemble(body, elements=integrate(body.points, cells=body.cells)), assemble(body)
    assert known.stiffness.tolist() == fresh.stiffness.tolist()
    assert known.region_volume.tolist() == fresh.region_volume.tolist()


def test_the_band_leaves_room_for_the_joints(column, solid, joint):
    body = _two_layers(column, solid).body
    far = joint([0], second=[11], area=1.0, conductance=50.0)
    assert assemble(replace(body, joints=(far,))).stiffness.shape[0] - 1 == 11


def test_the_regions_share_out_the_volume_of_the_nodes_between_them(column, solid):
    body = column((np.linspace(0.0, 3e-3, 4), solid(20.0, heat_capacity=2e6))).body
    model = assemble(replace(body, cell_region=np.array([7, 7, 9])))
    assert model.regions.tolist() == [7, 9]
    assert model.region_volume.sum(axis=1) == pytest.approx([2e-3, 1e-3])
    assert model.region_volume.sum(axis=0) == pytest.approx(model.volume)
    assert model.region_mean @ np.ones(8) == pytest.approx([1.0, 1.0])


def test_conductivity_scales_the_matrix_of_its_own_material_alone(column, solid):
    z = np.linspace(0.0, 1e-3, 3)
    light, heavy = (
        column(
            (z, solid(k, heat_capacity=2e6)), (1e-3 + z, solid(0.5, heat_capacity=4e6)), joints=[1.0]
        ).model
        for k in (20.0, 40.0)
    )
    profile = np.arange(12.0) ** 2
    before, after = (banded.multiply(model.stiffness, profile) for model in (light, heavy))
    assert after[:6] == pytest.approx(2.0 * before[:6])
    assert after[6:] == pytest.approx(before[6:])
