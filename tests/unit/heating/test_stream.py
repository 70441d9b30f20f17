"""Where the tip ends and the side begins."""

import numpy as np
import pytest

from optitip.errors import UserMistakes
from optitip.heating.stream import stations_of


@pytest.mark.parametrize("count", [40, 80, 400])
@pytest.mark.parametrize("tip_radius", [0.001, 0.003, 0.008])
def test_the_joint_is_found_between_the_stations(sphere_cone, count, tip_radius):
    stations = stations_of(**sphere_cone(tip_radius=tip_radius, count=count))
    assert stations.joint_arc == pytest.approx(tip_radius * np.radians(80.0), rel=1e-9)
    assert stations.joint_slope == pytest.approx(np.radians(10.0), abs=1e-9)


def test_a_bare_hemisphere_is_tip_all_over():
    angle = np.linspace(0.0, 1.5, 30)
    stations = stations_of(
        arc_length=0.01 * angle, radius=0.01 * np.sin(angle), slope=0.5 * np.pi - angle, tip_radius=0.01
    )
    assert stations.joint_arc == pytest.approx(0.015)


def test_a_round_nose_that_is_no_sphere_ends_at_forty_degrees():
    t = np.linspace(
        0.0, 0.5 * np.pi, 2001
    )  # an ellipse of 40 by 20 mm: radius of curvature 10 mm at its nose
    z, r = 0.04 * (1.0 - np.cos(t)), 0.02 * np.sin(t)
    s = np.append(0.0, np.cumsum(np.hypot(np.diff(z), np.diff(r))))
    slope = np.arctan2(0.02 * np.cos(t), 0.04 * np.sin(t))
    stations = stations_of(arc_length=s, radius=r, slope=slope, tip_radius=0.01)
    assert np.degrees(stations.joint_slope) == pytest.approx(40.0)
    assert np.interp(stations.joint_arc, s, slope) == pytest.approx(np.radians(40.0), abs=1e-6)


def test_a_sharp_tip_is_refused(sphere_cone):
    body = sphere_cone()
    with pytest.raises(UserMistakes, match=r"outline\.tip_radius"):
        stations_of(**{**body, "tip_radius": 0.0})


def test_a_side_that_curves_is_drawn_on_to_the_joint():
    joint = 0.003 * np.radians(65.0)
    s = 0.1 * np.linspace(0.0, 1.0, 60) ** 2
    side = np.radians(25.0) - 8.0 * (s - joint)  # turns by 8 rad a metre
    slope = np.where(s < joint, 0.5 * np.pi - s / 0.003, side)
    stations = stations_of(arc_length=s, radius=s, slope=slope, tip_radius=0.003)
    assert stations.joint_arc == pytest.approx(joint, rel=1e-9)
