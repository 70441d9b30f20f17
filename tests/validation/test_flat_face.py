"""A flat face against a hemisphere of the same radius: heating at the stagnation point.

Source: Stoney 1958, NACA RM L58E05a, measured: about half the hemisphere's.
Tolerance: 0.06 of the hemisphere's, for "about".
"""

from dataclasses import replace

import numpy as np
import pytest

from optitip.heating.edge import edge_state
from optitip.heating.pressure import flat_face_gradient_factor
from optitip.heating.stagnation import stagnation_film
from optitip.heating.stream import stations_of, stream_of
from optitip.properties.air import AIR

RADIUS = 0.02


@pytest.mark.parametrize("mach", [1.5, 2.0, 3.0])
def test_a_flat_face_takes_up_about_half_of_a_hemispheres_heat(mach):
    speed = mach * AIR.sound_speed([288.15])
    air = stream_of(speed=speed, temperature=[288.15], pressure=[101325.0], gas=AIR)
    tip = stations_of(arc_length=[0.0], radius=[0.0], slope=[0.5 * np.pi], tip_radius=RADIUS)
    round_edge = edge_state(air, stations=tip, gas=AIR)
    gradient = flat_face_gradient_factor(air.mach) * air.speed / RADIUS
    flat_edge = replace(round_edge, velocity_gradient=gradient)
    flat, round_ = (stagnation_film(air, edge=one, wall=[350.0], gas=AIR) for one in (flat_edge, round_edge))
    assert (flat / round_)[0, 0] == pytest.approx(0.5, abs=0.06)


def test_the_faces_gradient_is_smooth_in_mach():
    mach = np.linspace(0.0, 5.0, 5001)
    factor = flat_face_gradient_factor(mach)
    assert np.abs(np.diff(factor)).max() < 1.5e-3
    assert (factor > 0.0).all()
