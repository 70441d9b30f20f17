from pathlib import Path

import numpy as np
import pytest

from optitip.evaluate.building import build_tip
from optitip.evaluate.parts import PART_NAMES, PARTS
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.geometry.topology import Zone
from optitip.inputs.study import read_study

STUDY = Path(__file__).parents[3] / "studies" / "coastal-egg"
MIXED = {
    "tip.plug.insert": "20 mm",
    "tip.plug.material": "glass-phenolic",
    "tip.base.material": "C360",
    "sample.backing.material": "PTFE",
    "sample.backing.thickness": "1 mm",
}


def built(design):
    study = read_study(STUDY).with_design(design)
    return build_tip(study.tables, folder=study.folder, resolution=DEFAULT_RESOLUTION)


@pytest.fixture(scope="module")
def mixed():
    return built(MIXED)


def zones(tip, part):
    return [zone for zone in Zone if PARTS[zone] == part and zone in tip.mesh.cell_zone]


def test_each_part_has_the_cells_of_its_zones_and_their_nodes(mixed):
    for part in PART_NAMES:
        cells = np.flatnonzero(np.isin(mixed.mesh.cell_zone, zones(mixed, part)))
        assert mixed.cells_of(part).tolist() == cells.tolist()
        assert mixed.nodes_of(part).tolist() == sorted(set(mixed.mesh.cells[cells].ravel().tolist()))
        assert set(mixed.parts.cell_part[cells]) == {PART_NAMES.index(part)}


def test_each_cell_is_of_the_material_that_the_study_gives_its_zone(mixed):
    named = {
        Zone.NOSE: "glass-phenolic",
        Zone.BASE: "C360",
        Zone.SLAB: "egg-white",
        Zone.BACKING: "PTFE",
    }
    for zone, material in zip(mixed.mesh.cell_zone, mixed.cell_material, strict=True):
        assert mixed.materials[material].name == named.get(Zone(int(zone)), "6061-T6")


def test_the_pieces_are_the_parts_apart_by_material_fore_to_aft(mixed):
    pieces = [(piece.part, mixed.materials[piece.material].name) for piece in mixed.parts.pieces]
    assert pieces == [
        ("plug", "glass-phenolic"),
        ("plug", "6061-T6"),
        ("band", "6061-T6"),
        ("base", "C360"),
        ("slab", "egg-white"),
        ("backing", "PTFE"),
    ]
    for piece in mixed.parts.pieces:
        of_material = mixed.parts.node_material[mixed.nodes_of(piece.part)] == piece.material
        assert piece.nodes.tolist() == mixed.nodes_of(piece.part)[of_material].tolist()
    nodes = np.concatenate([piece.nodes for piece in mixed.parts.pieces])
    assert set(nodes.tolist()) == set(range(len(mixed.mesh.points)))


def test_the_outer_nodes_and_the_cells_for_the_stress_know_their_material(mixed):
    names = [mixed.materials[index].name for index in mixed.parts.outer_material]
    assert names[0] == "glass-phenolic"
    assert names[-1] == "C360"
    zone, material = mixed.parts.nine_node.zone, mixed.parts.nine_node_material
    assert {(Zone(int(z)), mixed.materials[m].name) for z, m in zip(zone, material, strict=True)} >= {
        (Zone.NOSE, "glass-phenolic"),
        (Zone.PLUG, "6061-T6"),
        (Zone.BASE, "C360"),
    }


def test_designs_of_one_topology_and_choice_of_materials_share_their_parts(mixed):
    assert built({**MIXED, "tip.band.thickness": "2 mm"}).parts is mixed.parts
    assert built({**MIXED, "tip.base.material": "6061-T6"}).parts is not mixed.parts
    assert built({}).parts is not mixed.parts


def test_the_cells_volumes_are_those_of_their_corners(mixed):
    assert mixed.cell_volume == pytest.approx(mixed.corner_volume.sum(axis=0), rel=1e-15)
