"""No node, edge, face or cell of slab and backing is on the outline, joined to it or heated by the air."""

import itertools
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from random_studies import random_designs
from stream_and_sample import touches

from optitip.errors import DesignFailure, OutOfRange, UserMistakes
from optitip.evaluate.building import build_tip
from optitip.evaluate.conditions import conditions_of
from optitip.evaluate.warming import heat_case, nose_sink, surface_of
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.geometry.topology import choices_of
from optitip.inputs.study import read_study

EGG = read_study(Path(__file__).parents[2] / "studies" / "coastal-egg")
FREE = {key: value for key, value in EGG.raw["tip"].items() if key != "base"}
BARE = replace(EGG, raw=EGG.raw | {"tip": FREE})
COMMON = {"flight.descent.base": "open", "tip.base.conductance": "1 W/K"}
INSERT = {"tip.plug.insert": "20 mm", "tip.plug.material": "304"}
BACKING = {"sample.backing.material": "PTFE", "sample.backing.thickness": "1 mm"}
WALLED = {"tip.base.thickness": "1.3 mm"}
BASES = {
    "walled": WALLED,
    "walled, of its own": {**WALLED, "tip.base.separate": True},
    "bored": {"tip.base.solid": True, "tip.base.bore": "36 mm"},
    "bored, of its own": {"tip.base.solid": True, "tip.base.bore": "14 mm", "tip.base.separate": True},
    "closed, of its own": {"tip.base.solid": True, "tip.base.separate": True},
}
YES_NO = (False, True)


def topologies():
    """Yield a design for each topology a study can ask for; a closed base of one piece takes no slab."""
    for base, insert, fillet, fore, aft, backing in itertools.product(BASES.values(), *[YES_NO] * 5):
        yield {
            **COMMON,
            **base,
            **(INSERT if insert else {}),
            "tip.plug.fillet": "1 mm" if fillet else "0.005 mm",
            "sample.pocket.offset": "3 mm" if fore else "0 mm",
            "sample.pocket.length": f"{60 - 3 * fore - 4 * aft} mm",
            **(BACKING if backing else {}),
        }


def built(study, design):
    given = study.with_design(design)
    return given, build_tip(given.tables, folder=given.folder, resolution=DEFAULT_RESOLUTION)


def found(tip, *, exposed, mesh=None):
    fore, aft = tip.cavity.pocket_arc
    wall = float(tip.cavity.wall_thickness(np.linspace(fore, aft, 9)).min())
    return list(touches(mesh or tip.mesh, outline=tip.outline, wall=wall, exposed=exposed))


def exposed_in(case):
    """Return the nodes that anything outside acts on in a march."""
    acting = [*(one.nodes for one in case.surfaces), *(one.nodes for one in case.sinks)]
    return np.concatenate(acting)


@pytest.fixture(scope="module")
def everywhere():
    """Return a tip of each topology, with the nodes its march is heated and cooled at."""
    made = []
    conditions = None
    for design in topologies():
        given, tip = built(BARE, design)
        conditions = conditions or conditions_of(given, tip)
        # every flow state once, then the one that comes next: their nodes are the tip's, not the state's
        heatings = list(conditions.heatings.values())
        heatings = heatings if not made else [heatings[len(made) % len(heatings)]]
        made.append((tip, exposed_in(heat_case(tip, conditions=conditions, heatings=heatings, models={}))))
    return made


def test_in_no_topology_does_the_sample_meet_the_stream(everywhere):
    assert len({choices_of(tip.cavity) for tip, _ in everywhere}) == len(everywhere) == 160
    for tip, exposed in everywhere:
        assert found(tip, exposed=exposed) == []
        # the open base and the rest of the nose are among what acts, and all of the outline is
        assert set(tip.mesh.outer.tolist()) < set(exposed.tolist())


def test_in_no_random_design_does_the_sample_meet_the_stream(tmp_path):
    sound = 0
    for study, design in random_designs(23, folder=tmp_path, flights=("heating table",)):
        try:
            given, tip = built(study, design)
            heatings = conditions_of(given, tip).heatings.values()
        except (DesignFailure, UserMistakes, OutOfRange):
            continue
        exposed = np.concatenate([surface_of(tip, one).nodes for one in heatings])
        exposed = np.concatenate([exposed, nose_sink(tip, start=300.0).nodes])
        assert found(tip, exposed=exposed) == [], design
        sound += 1
        if sound == 500:
            break


def with_row(mesh, name, nodes):
    rows = getattr(mesh, name).copy()
    rows[-1] = nodes
    return replace(mesh, **{name: rows})


@pytest.fixture(scope="module")
def sound(everywhere):
    wanted = {"sample", "backing", "base"}
    return next(pair for pair in everywhere if wanted <= {one.name for one in pair[0].mesh.joints})


@pytest.mark.parametrize("part", ["slab_rows", "backing_rows"])
def test_a_node_of_the_lining_put_on_the_outline_is_caught(sound, part):
    tip, exposed = sound
    node = getattr(tip.mesh, part)[3, -1]
    beside = tip.mesh.outer_edges[-1, 0]
    said = found(tip, exposed=exposed, mesh=with_row(tip.mesh, "outer_edges", [beside, node]))
    assert "a node of the lining is one of the outline" in said
    said = found(tip, exposed=exposed, mesh=with_row(tip.mesh, "inner_edges", [beside, node]))
    assert said == ["a node of the lining is one of the cavity's wall"]
    said = found(tip, exposed=exposed, mesh=with_row(tip.mesh, "aft_edges", [beside, node]))
    assert said == ["a node of the lining is one of the aft face"]
    points = tip.mesh.points.copy()
    points[node] = points[tip.mesh.outer[20]]
    said = found(tip, exposed=exposed, mesh=replace(tip.mesh, points=points))
    assert "a lining's node is nearer to the outline than half its wall" in said
    assert found(tip, exposed=np.append(exposed, node)) == ["the heating acts on a node of the lining"]


def test_a_lining_pushed_through_the_wall_is_caught(sound):
    tip, exposed = sound
    points = tip.mesh.points.copy()
    lining = np.concatenate([tip.mesh.slab_rows.ravel(), tip.mesh.backing_rows.ravel()])
    points[lining, 0] += 0.02
    said = found(tip, exposed=exposed, mesh=replace(tip.mesh, points=points))
    assert {"a lining's node lies outside", "a lining's edge lies outside"} <= set(said)


def test_a_cell_that_ties_the_lining_to_the_outline_is_caught(sound):
    tip, exposed = sound
    first = int(np.flatnonzero(np.isin(tip.mesh.cells, tip.mesh.slab_rows).all(axis=1))[0])
    cells = tip.mesh.cells.copy()
    cells[first, :2] = tip.mesh.outer_edges[40]
    said = set(found(tip, exposed=exposed, mesh=replace(tip.mesh, cells=cells)))
    assert "a face of the lining lies in the outline" in said
    assert "a cell of the lining holds a node of the outline" in said
    shell = tip.mesh.cells.copy()
    shell[0, 2] = tip.mesh.slab_rows[0, 0]
    said = set(found(tip, exposed=exposed, mesh=replace(tip.mesh, cells=shell)))
    assert said == {"a cell of the shell holds a node of the lining"}


def test_a_joint_that_reaches_the_outline_is_caught(sound):
    tip, exposed = sound
    joints = {one.name: one for one in tip.mesh.joints}
    outer = tip.mesh.outer[: joints["sample"].first.size]
    through = {**joints, "sample": replace(joints["sample"], first=outer)}
    said = found(tip, exposed=exposed, mesh=replace(tip.mesh, joints=tuple(through.values())))
    assert said == ["the lining is joined to a node of the outline"]
    slab = tip.mesh.slab_rows[: joints["base"].second.size, 2]
    tied = {**joints, "base": replace(joints["base"], second=slab)}
    said = found(tip, exposed=exposed, mesh=replace(tip.mesh, joints=tuple(tied.values())))
    assert said == ["the joint base joins the lining with the rest"]
