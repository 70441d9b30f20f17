"""Random tips as turned: curves join and never lead fore, parts go together and have their metal."""

import csv
import itertools
import math

import numpy as np
import pytest
from curves_by_formula import distances
from turned_tips import random_tips

from optitip.evaluate.laps import laps_of
from optitip.export.arcs import wrapped
from optitip.export.coordinates import write_part_coordinates
from optitip.export.turned import turned_parts
from optitip.geometry.lap import LapKind

COUNT = 120
SHARE = np.linspace(0.0, 1.0, 33)


@pytest.fixture(scope="module")
def tips():
    return [(tip, turned_parts(tip)) for tip in itertools.islice(random_tips(3), COUNT)]


def dense(one):
    """Return how many points a segment gets, so that they stand some 20 um apart."""
    return 20 + int(one.chord / 2e-5)


def curves(tips):
    """Yield every part, each of its curves, and on which side of it the tool is: 1 left, -1 right."""
    for _, parts in tips:
        for part in parts:
            yield part, part.outer, 1.0
            yield part, part.inner, -1.0


def test_the_random_tips_are_of_every_kind(tips):
    kinds = {(lap.joint, lap.kind, tip.cavity.design.solid_base) for tip, _ in tips for lap in laps_of(tip)}
    assert {("base", kind, solid) for kind in LapKind for solid in (True, False)} <= kinds
    assert any(joint == "plug" for joint, _, _ in kinds)
    assert {len(parts) for _, parts in tips} == {1, 2, 3}


def test_curves_are_unbroken_and_never_lead_fore(tips):
    for part, curve, _ in curves(tips):
        for before, after in itertools.pairwise(curve):
            assert math.dist(before.end, after.start) < 1e-12, part.name
        z = np.concatenate([one.points(SHARE)[:, 0] for one in curve])
        assert np.diff(z).min() > -1e-12


def test_an_inside_corner_has_the_tools_radius_or_is_named(tips):
    """Drilled and tapped holes on the axis are no turning tool's."""
    found = 0
    for part, curve, side in curves(tips):
        for before, after in itertools.pairwise(curve):
            turn = side * wrapped(after.start_direction - before.end_direction)
            drilled = before.start[1] == 0.0 and before.start[0] == before.end[0]
            assert turn < 2e-3 or before.end in part.sharp or drilled, (part.name, before, after)
        for one in curve:
            if side * one.bulge > 0.0 and one.start not in part.sharp:
                assert one.radius >= part.nose_radius * (1.0 - 1e-9)
                found += abs(one.radius / part.nose_radius - 1.0) < 1e-9
    assert found > 2 * COUNT


def test_the_table_of_a_part_is_its_curves_from_both_ends(tips, tmp_path):
    for _, parts in tips[:30]:
        for part in parts:
            with write_part_coordinates(part, folder=tmp_path, step=None).open(newline="") as file:
                rows = [[float(cell or "nan") for cell in row] for row in list(csv.reader(file))[1:]]
            fore, aft, outside, bore, _, _, station = np.array(rows).T
            length = 1e3 * (part.end - part.start)
            assert fore + aft == pytest.approx(np.full(len(fore), length), abs=2e-4)
            assert (fore[0], aft[-1]) == pytest.approx((0.0, 0.0), abs=1e-4)
            assert station - fore == pytest.approx(np.full(len(fore), 1e3 * part.start), abs=2e-4)
            assert np.all(outside >= bore)
            for radius, curve in ((outside, part.outer), (bore, part.inner)):
                points = 1e3 * np.vstack([one.points(np.linspace(0.0, 1.0, dense(one))) for one in curve])
                inside = (station > points[0, 0] + 0.01) & (station < points[-1, 0] - 0.01)
                rows_on = np.column_stack([station[inside], 0.5 * radius[inside]])
                kept = points[np.hypot(*np.diff(points, axis=0, prepend=-1.0).T) > 0.0]
                if len(rows_on) and len(kept) > 1:
                    assert distances(rows_on, kept).max() < 5e-4, part.name
