"""Laminar heating round a hemisphere against Lees's closed form, as a share of the stagnation point's.

Source: Lees 1956, Jet Propulsion 26, 259 (the closed form from memory): with Newton's pressure and the
velocity growing in proportion to the angle t, k = 1 - 1/(gamma M^2),
q/q(0) = 2 t sin t (k cos^2 t + 1 - k)/sqrt(D),
D = k (t^2 - t sin(4 t)/2 + (1 - cos 4t)/8) + 4 (1 - k) (t^2 - t sin 2t + (1 - cos 2t)/2).
Tolerance: 1.5 % to 60 degrees at Mach 3 and 4.5 (3.5 % at Mach 2), where the velocity grows so; further round
the floor holds, as local similarity reads up to 25 % low at a shoulder (Kemp, Rose & Detra 1959).
"""

import numpy as np
import pytest

from optitip.heating.edge import edge_state
from optitip.heating.stagnation import laminar_film, round_the_tip
from optitip.heating.stream import stations_of, stream_of
from optitip.properties.air import CALORIC_AIR as GAS

RADIUS = 0.01
ANGLE = np.radians(np.linspace(0.0, 90.0, 181))


def lees(angle, mach):
    """Return the closed form."""
    k = 1.0 - 1.0 / (1.4 * mach**2)
    D = k * (angle**2 - 0.5 * angle * np.sin(4 * angle) + (1.0 - np.cos(4 * angle)) / 8.0)
    D += 4.0 * (1.0 - k) * (angle**2 - angle * np.sin(2 * angle) + 0.5 * (1.0 - np.cos(2 * angle)))
    return 2.0 * angle * np.sin(angle) * (k * np.cos(angle) ** 2 + 1.0 - k) / np.sqrt(D)


@pytest.mark.parametrize(("mach", "tolerance"), [(2.0, 0.035), (3.0, 0.015), (4.5, 0.015)])
def test_round_a_hemisphere_the_film_falls_as_the_closed_form(mach, tolerance):
    hemisphere = stations_of(
        arc_length=RADIUS * ANGLE, radius=RADIUS * np.sin(ANGLE), slope=0.5 * np.pi - ANGLE, tip_radius=RADIUS
    )
    air = stream_of(
        speed=mach * GAS.sound_speed([223.252]), temperature=[223.252], pressure=[26499.9], gas=GAS
    )
    edge = edge_state(air, stations=hemisphere, gas=GAS)
    upto = slice(1, 121)
    shape = round_the_tip(edge, stations=hemisphere)[0]
    assert shape[upto] == pytest.approx(lees(ANGLE[upto], mach), rel=tolerance)
    film = laminar_film(air, edge=edge, stations=hemisphere, wall=np.array([300.0]), gas=GAS)[0, :, 0]
    assert film[upto] / film[0] == pytest.approx(shape[upto], rel=1e-9)
    assert (film[-20:] > 1.02 * film[0] * shape[-20:]).all()
