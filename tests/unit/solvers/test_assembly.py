from dataclasses import replace

import numpy as np
import pytest

from optitip.errors import DesignFailure, Outcome
from optitip.solvers import banded
from optitip.solvers.assembly import assemble, band_scatter


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


def test_the_scatter_of_a_topology_is_built_once(column, solid):
    _two_layers(column, solid)
    met = band_scatter.cache_info()
    _two_layers(column, solid)
    assert band_scatter.cache_info().hits == met.hits + 1
    assert band_scatter.cache_info().misses == met.misses


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
