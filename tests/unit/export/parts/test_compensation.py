"""What a nose radius leaves without compensation, against a disc moved along the programmed path."""

import math

import numpy as np
import pytest

from optitip.export.parts.arcs import Segment
from optitip.export.parts.compensation import compensation_note, metal_left, uncompensated
from optitip.export.parts.part import TurnedPart
from optitip.units import System

RHO = 0.4e-3


def part(outer, inner):
    return TurnedPart(name="shell", material="6061-T6", outer=outer, inner=inner, nose_radius=RHO)


def cone(angle, *, length=0.05, fore=0.004):
    return Segment(start=(0.0, fore), end=(length, fore + length * math.tan(angle)))


def swept(path, *, ahead, outwards):
    """Return how far the envelope of a disc stays off a straight path of its imaginary point [m].

    ahead: -1 where the point leads towards +z; outwards: 1 where the disc lies at larger radii.
    """
    centres = path + RHO * np.array([ahead, outwards])
    rim = RHO * np.column_stack([np.cos(t := np.linspace(0.0, 2.0 * np.pi, 3601)), np.sin(t)])
    along = (path[-1] - path[0]) / np.hypot(*(path[-1] - path[0]))
    normal = outwards * np.array([-along[1], along[0]])
    reached = ((centres[:, None] + rim - path[0]) @ normal).min()
    return float(reached)


@pytest.mark.parametrize("degrees", [0.0, 3.0, 10.0, 20.0, 45.0, 80.0, -10.0, -30.0])
def test_a_disc_moved_along_a_cone_leaves_what_the_formula_says(degrees):
    t = math.radians(degrees)
    path = np.linspace(0.0, 0.01, 50)[:, None] * np.array([math.cos(t), math.sin(t)])
    left = metal_left(t, nose_radius=RHO)
    assert swept(path, ahead=-1.0, outwards=1.0) == pytest.approx(left, abs=1e-9)
    # a bore from aft: the point leads towards -z and lies at the largest radius
    assert swept(path, ahead=1.0, outwards=-1.0) == pytest.approx(left, abs=1e-9)


def test_forty_five_degrees_leave_two_fifths_of_the_radius():
    assert metal_left(math.pi / 4.0, nose_radius=1.0) == pytest.approx(math.sqrt(2.0) - 1.0)


def test_a_cylinder_and_a_square_face_are_exact():
    assert metal_left(0.0, nose_radius=RHO) == 0.0
    assert metal_left(math.pi / 2.0, nose_radius=RHO) == pytest.approx(0.0, abs=1e-18)


def test_the_extremes_are_those_of_the_parts_own_surfaces():
    bore = (cone(math.radians(5.0), fore=0.001), Segment(start=(0.05, 0.005374), end=(0.06, 0.005)))
    found = uncompensated(part((cone(math.radians(10.0)),), bore))
    ten, five = math.radians(10.0), math.radians(5.0)
    assert found.outside_left == pytest.approx(RHO * (math.sin(ten) + math.cos(ten) - 1.0))
    assert found.bore_left == pytest.approx(RHO * (math.sin(five) + math.cos(five) - 1.0))
    fall = math.atan2(0.000374, 0.01)
    assert found.bore_deep == pytest.approx(RHO * (1.0 + math.sin(fall) - math.cos(fall)))
    assert found.outside_deep == 0.0


def test_a_nose_that_is_a_sphere_passes_forty_five_degrees():
    quarter = Segment(start=(0.0, 0.0), end=(0.005, 0.005), bulge=-math.tan(math.pi / 8.0))
    solid = (Segment(start=(0.0, 0.0), end=(0.005, 0.0)),)
    assert uncompensated(part((quarter,), solid)).outside_left == pytest.approx(RHO * (math.sqrt(2.0) - 1.0))
    note = compensation_note(part((quarter,), solid))
    assert "up to 0.166 mm outside" in note
    assert "bore from" in note
    assert "in the bore" not in note


def test_the_note_speaks_in_the_units_of_the_sheet():
    note = compensation_note(part((cone(math.radians(10.0)),), (cone(math.radians(5.0)),)), system=System.US)
    assert "a nose radius rho of 0.0157 inch" in note
    assert " mm" not in note
