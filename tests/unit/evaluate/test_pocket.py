from pathlib import Path

import numpy as np
import pytest

from optitip.evaluate.building import build_tip
from optitip.evaluate.pocket import cold_side_of, enclosure_of
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.inputs.study import read_study

EGG = read_study(Path(__file__).parents[3] / "studies" / "coastal-egg")


def _pocket(filled=1.0, **design):
    study = EGG.with_design({key.replace("__", "."): value for key, value in design.items()})
    tip = build_tip(study.tables, folder=study.folder, resolution=DEFAULT_RESOLUTION)
    emissivity = np.full(len(tip.mesh.points), 0.5)
    return tip, enclosure_of(tip, filled=filled, emissivity=emissivity)


def test_a_full_ring_hides_the_wall_behind_it_and_shows_its_back():
    tip, pocket = _pocket()
    back, contact = tip.mesh.slab_rows[:, -1], tip.mesh.rows[:, -1]
    assert set(back) <= set(pocket.nodes)
    hidden = set(contact) & set(tip.mesh.joints[0].first) - set(tip.mesh.joints[0].first[[0, -1]])
    assert not hidden & set(pocket.nodes)
    assert not set(tip.mesh.outer) & set(pocket.nodes)


def test_the_faces_of_the_pocket_are_as_large_as_the_surfaces_they_stand_for():
    tip, pocket = _pocket()
    r, z = tip.mesh.points[tip.mesh.slab_rows[:, -1]].T
    length = np.concatenate([[0.0], np.cumsum(np.hypot(np.diff(r), np.diff(z)))])
    back = np.isin(pocket.nodes, tip.mesh.slab_rows[:, -1])
    # Pappus: the length of the curve times the way of its middle
    assert pocket.area[back].sum() == pytest.approx(np.trapezoid(2.0 * np.pi * r, length), rel=1e-9)


def test_a_strip_leaves_the_wall_beside_it_bare():
    _, ring = _pocket()
    tip, strip = _pocket(filled=0.25, sample__slab__share="0.25")
    contact = next(pairs for pairs in tip.mesh.joints if pairs.name == "sample")
    behind = np.isin(strip.nodes, contact.first[1:-1])
    assert strip.area[behind].sum() == pytest.approx(0.75 * contact.area[1:-1].sum())
    assert strip.heat_capacity > ring.heat_capacity


def test_the_air_is_what_the_cavity_holds_less_the_slab():
    tip, pocket = _pocket()
    thicker, less = _pocket(sample__slab__thickness="5 mm")
    grown = thicker.cell_volume[thicker.cells_of("slab")].sum() - tip.cell_volume[tip.cells_of("slab")].sum()
    assert pocket.heat_capacity - less.heat_capacity == pytest.approx(1206.0 * grown, rel=1e-6)
    assert 1e-6 < pocket.heat_capacity / 1206.0 < 1e-3


def test_vapour_condenses_on_the_slabs_back_but_for_a_backing():
    tip, _ = _pocket()
    side = cold_side_of(tip, filled=0.5)
    assert side.nodes.tolist() == tip.mesh.slab_rows[:, -1].tolist()
    assert (side.area > 0.0).all()
    backed, _ = _pocket(sample__backing__material="still-air", sample__backing__thickness="2 mm")
    assert cold_side_of(backed, filled=1.0).nodes.size == 0
