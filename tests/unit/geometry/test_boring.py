import math

import numpy as np
import pytest

from optitip.geometry.boring import boring_bar
from optitip.inputs.tip_tables import BoringBar


def bar(axial, radius, kind=BoringBar.DAMPED):
    return boring_bar(np.array(axial), radius=np.array(radius), kind=kind)


def test_a_straight_hole_takes_a_bar_of_seven_tenths():
    found = bar([0.0, 0.05, 0.1], [0.02, 0.02, 0.02])
    assert (found.fore, found.aft, found.reach, found.undercut) == pytest.approx((0.028, 0.028, 0.1, 0.0))
    assert found.overhang == pytest.approx(0.1 / 0.028, rel=1e-12)


@pytest.mark.parametrize(
    ("kind", "limit"),
    [
        (BoringBar.STEEL, 4.0),
        (BoringBar.HEAVY_METAL, 5.5),
        (BoringBar.CARBIDE, 6.0),
        (BoringBar.DAMPED, 10.0),
    ],
)
def test_each_kind_has_its_limit(kind, limit):
    # common practice: makers' selection guides give 4, 5 to 6, 6 and 10 diameters
    assert bar([0.0, 0.1], [0.02, 0.02], kind).limit == limit


def test_a_cone_takes_a_tapered_bar():
    # the integral of dz / (1.4 r) from 5 to 25 mm over 80 mm: 80 / (1.4 * 20) ln 5
    found = bar([0.0, 0.08], [0.005, 0.025])
    assert found.overhang == pytest.approx(0.08 / (1.4 * 0.02) * math.log(5.0), rel=1e-12)
    assert (found.fore, found.aft) == pytest.approx((0.007, 0.035))
    finely = np.linspace(0.0, 1.0, 400)
    assert bar(0.08 * finely, 0.005 + 0.02 * finely).overhang == pytest.approx(found.overhang, rel=1e-9)


def test_a_stepped_hole_takes_a_stepped_bar_whose_ratios_add_up():
    found = bar([0.0, 0.02, 0.02, 0.1], [0.005, 0.005, 0.02, 0.02])
    assert found.overhang == pytest.approx(0.02 / 0.007 + 0.08 / 0.028, rel=1e-12)


def test_behind_a_neck_the_bar_is_no_thicker_than_the_neck_lets_it():
    found = bar([0.0, 0.05, 0.05, 0.1], [0.022, 0.022, 0.02, 0.02])
    assert found.undercut == pytest.approx(0.002)
    assert (found.fore, found.aft) == pytest.approx((0.028, 0.028))


def test_a_deep_undercut_needs_a_thin_bar():
    # through 20 mm out to 22: a head of 0.5 d + f <= 40 from 20 - 0.5 d reaches 60 - d
    shallow, deep = (bar([0.0, 0.05, 0.05, 0.1], [r, r, 0.02, 0.02]) for r in (0.03, 0.05))
    assert shallow.aft == pytest.approx(0.028)
    assert deep.aft == pytest.approx(0.01)
    assert deep.overhang == pytest.approx(10.0)


@pytest.mark.parametrize(("wide", "neck"), [(0.0601, 0.02), (0.02, 0.0)])
def test_what_no_head_can_reach_has_an_infinite_overhang(wide, neck):
    found = bar([0.0, 0.05, 0.05, 0.1], [wide, wide, neck, neck])
    assert found.overhang == math.inf
    assert found.aft == 0.0


@pytest.mark.parametrize("thickness", [0.0101, 0.02, 0.035])
def test_a_head_on_the_bar_that_is_told_passes_the_neck_and_reaches_the_wall(thickness):
    """Draw the bar in the neck: its head, from the far side, must pass, and from the near side reach."""
    neck = 0.02
    reached = 3 * neck - thickness
    head = reached - (neck - 0.5 * thickness)  # from the bar's axis to its edge
    assert 0.5 * thickness + head == pytest.approx(2 * neck)
    found = bar([0.0, 0.05, 0.05, 0.1], [reached, reached, neck, neck])
    assert found.aft == pytest.approx(min(thickness, 1.4 * neck))
