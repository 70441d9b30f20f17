"""Sunlight on a body of revolution."""

import numpy as np
import pytest

from optitip.heating.chain import heat
from optitip.heating.sunlight import sunlight_absorbed
from optitip.heating.transition import EXPECTED


def test_a_cone_takes_up_what_its_shadow_covers():
    half_angle = np.radians(25.0)
    side, foot = 0.3, 0.3 * np.sin(half_angle)
    flux = sunlight_absorbed(1.0, slope=[half_angle])[0]
    shadow = foot * side * np.cos(half_angle)  # the triangle of the axial section
    assert flux * np.pi * foot * side == pytest.approx(shadow)


def test_a_sphere_takes_up_what_its_shadow_covers():
    slope = np.linspace(-0.5 * np.pi, 0.5 * np.pi, 20001)
    ring = 2.0 * np.pi * np.cos(slope)
    assert np.trapezoid(sunlight_absorbed(1.0, slope=slope) * ring, slope) == pytest.approx(np.pi, rel=1e-6)


def test_the_sun_shines_on_the_ground_alone_and_at_once(make_flight, sphere_cone):
    dark, lit = (heat(make_flight(), **sphere_cone(), state=EXPECTED, sun=sun) for sun in (0.0, 240.0))
    assert not dark.absorbed.any()
    side = 240.0 * np.cos(np.radians(10.0)) / np.pi
    on_ground = (lit.time < -5e-4) | (lit.time >= 120.0)
    assert lit.absorbed[on_ground, -1] == pytest.approx(side)
    assert not lit.absorbed[~on_ground].any()
    for change in (0.0, 120.0):
        assert np.abs(lit.time - (change - 1e-3)).min() < 1e-6
    assert np.array_equal(dark.film[:, -1], lit.film[np.isin(lit.time, dark.time), -1])
