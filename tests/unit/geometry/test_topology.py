from dataclasses import replace

import numpy as np
import pytest

from optitip.geometry.chain import build_cavity
from optitip.geometry.topology import JOINED, Choices, Resolution, Zone, choices_of, topology

EVERYTHING = Choices(
    insert=True,
    fillet=True,
    fore=True,
    aft=True,
    solid=True,
    bored=True,
    separate=True,
    slab=True,
    backing=True,
)


def test_the_same_choices_share_one_topology():
    first = topology(EVERYTHING, resolution=Resolution())
    assert topology(replace(EVERYTHING), resolution=Resolution()) is first
    assert topology(replace(EVERYTHING, slab=False, backing=False), resolution=Resolution()) is not first


def test_nodes_are_numbered_across_the_thickness_first():
    plan = topology(replace(EVERYTHING, backing=False), resolution=Resolution())
    everywhere = np.concatenate([plan.rows.ravel()[5:], plan.slab_rows.ravel()])
    assert np.array_equal(np.sort(everywhere), np.arange(1, plan.node_count))
    row = np.flatnonzero(plan.rows[:, -1] + 1 == plan.slab_rows[0, 0])
    assert row.size == 1
    assert plan.rows[row[0] + 1, 0] == plan.slab_rows[0, -1] + 1


@pytest.mark.parametrize(("backing", "largest"), [(False, 21), (True, 24)])
def test_the_half_bandwidth_stays_small(backing, largest):
    plan = topology(replace(EVERYTHING, backing=backing), resolution=Resolution())
    assert plan.half_bandwidth == largest
    assert plan.node_count < 1050


def test_strips_between_joints_are_even_in_number():
    plan = topology(EVERYTHING, resolution=Resolution())
    cuts = np.flatnonzero(plan.strip_zone == JOINED)
    assert cuts.size == 2
    sections = np.split(plan.strip_zone, cuts)
    assert [np.sum(section != JOINED) % 2 for section in sections] == [0, 0, 0]
    zones, counts = np.unique(plan.strip_zone[plan.strip_zone != JOINED], return_counts=True)
    assert [getattr(Resolution(), Zone(z).name.lower()) for z in zones] == counts.tolist()


def test_joints_part_the_insert_and_the_base_from_the_shell():
    plan = topology(EVERYTHING, resolution=Resolution())
    for name, fore_zone, aft_zone in (
        ("plug", Zone.NOSE, Zone.PLUG),
        ("base", Zone.AFT_TAPER, Zone.BASE_FACE),
    ):
        joint = next(one for one in plan.joints if one.name == name)
        of = [
            set(plan.cell_zone[np.isin(plan.cells, side).any(axis=1)]) for side in (joint.first, joint.second)
        ]
        assert of == [{fore_zone}, {aft_zone}]


def test_the_inner_edges_leave_out_the_axis(design, outline):
    closed = build_cavity(replace(design, base_thickness=None, base_separate=True), outline=outline)
    plan = topology(choices_of(closed), resolution=Resolution())
    of_base = plan.rows[plan.line_of_row > plan.line_of_row[-1] - Resolution().base, -1]
    assert not np.isin(plan.inner_edges, of_base).any()
    bored = topology(replace(choices_of(closed), bored=True), resolution=Resolution())
    assert np.isin(of_base, bored.inner_edges).all()


def test_a_refined_resolution_cuts_every_cell_in_four():
    coarse, fine = (topology(EVERYTHING, resolution=r) for r in (Resolution(), Resolution().refined(2)))
    assert len(fine.cells) == 4 * len(coarse.cells)


def test_odd_counts_are_a_programmers_slip():
    with pytest.raises(ValueError, match="pocket is 7"):
        Resolution(pocket=7)


def test_a_pocket_as_long_as_the_band_leaves_no_strips_beside_it(design, outline):
    full = build_cavity(
        replace(design, pocket_offset=0.0, pocket_length=0.04, plug_fillet=0.0), outline=outline
    )
    absent = {Zone.FORE, Zone.AFT, Zone.FILLET, Zone.BASE_FACE}
    assert absent.isdisjoint(choices_of(full).zones())
