import itertools
import math

import pytest

from optitip.export.parts.arcs import Segment
from optitip.export.parts.part import TurnedPart
from optitip.export.parts.step_off import _refined, frusta_volume, step_rows


def lines(*points):
    return tuple(Segment(start=a, end=b) for a, b in itertools.pairwise(points))


# a bush 61.3 long: 40 across, from 50 mm on 30; bored 20
BUSH = TurnedPart(
    name="bush",
    material="304",
    outer=lines((0.0, 0.02), (0.05, 0.02), (0.05, 0.015), (0.0613, 0.015)),
    inner=lines((0.0, 0.01), (0.0613, 0.01)),
    nose_radius=4e-4,
)


def test_rows_stand_at_whole_even_steps_from_datum_a_and_at_every_corner():
    rows = step_rows(BUSH)
    from_aft = [round(1e3 * row.from_aft, 6) for row in rows]
    assert from_aft == sorted(from_aft, reverse=True)
    assert {61.3, 11.3, 0.0} <= {*from_aft}
    assert all(z % 2.0 == 0.0 for z in from_aft if z not in {61.3, 11.3, 0.0})
    assert all(row.from_aft + row.from_fore == pytest.approx(0.0613) for row in rows)


def test_a_face_has_a_row_on_either_side():
    at_face = [row for row in step_rows(BUSH) if row.from_fore == pytest.approx(0.05)]
    assert [row.outside for row in at_face] == pytest.approx([0.04, 0.03])
    assert [row.metal for row in at_face] == pytest.approx([0.01, 0.005])


def test_frusta_of_cylinders_have_their_volume():
    # pi (20^2 - 10^2) 50 + pi (15^2 - 10^2) 11.3 mm3
    by_hand = math.pi * (300.0 * 50.0 + 125.0 * 11.3) * 1e-9
    assert frusta_volume(step_rows(BUSH)) == pytest.approx(by_hand, rel=1e-12)


def test_rows_are_no_more_than_a_page_holds():
    assert len(step_rows(BUSH, most=12)) <= 12


def test_a_ball_nose_is_followed_closely():
    nose = Segment(start=(0.0, 0.0), end=(0.02, 0.02), bulge=-math.tan(math.pi / 8.0))
    part = TurnedPart(
        name="ball",
        material="304",
        outer=(nose, *lines((0.02, 0.02), (0.05, 0.02))),
        inner=lines((0.0, 0.0), (0.05, 0.0)),
        nose_radius=4e-4,
    )
    # half a ball and a cylinder: 2/3 pi R^3 + pi R^2 L
    by_hand = math.pi * (2.0 / 3.0 * 0.02**3 + 0.02**2 * 0.03)
    assert frusta_volume(step_rows(part)) == pytest.approx(by_hand, rel=2e-3)


def test_a_joint_that_slants_belongs_to_the_part_on_its_shorter_side():
    # a ring between a cone's face fore and a square one aft: outer from z 4 on, inner from z 0 on
    ring = TurnedPart(
        name="base",
        material="304",
        outer=lines((0.004, 0.02), (0.03, 0.02)),
        inner=lines((0.0, 0.016), (0.03, 0.016)),
        nose_radius=4e-4,
    )
    rows = step_rows(ring)
    assert rows[0].outside == pytest.approx(0.032)
    assert rows[0].metal == pytest.approx(0.0)
    # frustum 16 to 20 over 4 mm, then a cylinder; the bore off
    by_hand = math.pi / 3.0 * 0.004 * (0.016**2 + 0.016 * 0.02 + 0.02**2) + math.pi * 0.02**2 * 0.026
    by_hand -= math.pi * 0.016**2 * 0.03
    assert frusta_volume(rows) == pytest.approx(by_hand, rel=1e-9)


def test_in_a_small_part_the_tools_rounds_count():
    # a stud of 4 mm with a corner of 0.8 mm that is 4 % of it
    quarter = math.tan(math.pi / 8.0)
    outer = (
        *lines((0.0, 0.004), (0.001, 0.004), (0.001, 0.0028)),
        Segment(start=(0.001, 0.0028), end=(0.0018, 0.002), bulge=quarter),
        *lines((0.0018, 0.002), (0.004, 0.002)),
    )
    part = TurnedPart(
        name="insert", material="304", outer=outer, inner=lines((0.0, 0.0), (0.004, 0.0)), nose_radius=8e-4
    )
    sharp = math.pi * (0.004**2 * 0.001 + 0.002**2 * 0.003)
    found = frusta_volume(step_rows(part))
    # area (1 - pi/4) R^2 about a centroid 0.223 R off both sides (from memory), turned by Pappus
    corner = 2.0 * math.pi * (0.002 + 0.2234 * 8e-4) * (1.0 - math.pi / 4.0) * 8e-4**2
    assert found == pytest.approx(sharp + corner, rel=3e-3)
    assert found > 1.01 * sharp


def test_a_volume_that_no_station_brings_nearer_ends_the_search():
    # straight lines leave nothing to put between them, whatever volume is asked for
    curves = BUSH.outer, BUSH.inner
    rows = _refined(BUSH, curves, (0.0, 0.05, 0.0613), volume=1.0, most=45)
    assert len(rows) == 4
