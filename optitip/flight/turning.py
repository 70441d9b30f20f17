"""The path of a vehicle that leaves its rail and turns over by gravity alone."""

import math

import numpy as np

from optitip.arrays import FloatArray
from optitip.flight.atmosphere import STANDARD_GRAVITY
from optitip.flight.nodes import summed

RAIL_ANGLE = math.radians(86.0)  # that the path is taken to leave the pad at, where nothing is said
_STEEPEST = math.radians(89.4)  # nothing leaves straight up; there q would be without end
RAIL = 3.0  # [m] after which a vehicle begins to turn over
SLOW = 10.0  # [m/s]: where it turns slower still, the turn is not reckoned but closed
CLOSED = 3.0  # [s] before the apogee in which the drag is nothing beside gravity


def turn_of(rail_angle: float) -> float:
    """Return q = artanh(sin g), dimensionless, by which a path turns evenly in time.

    ``rail_angle`` g [rad] above the horizon. Valid up to 89.4 degrees, at which steeper ones are taken.

    Source: the substitution that makes dg/dt = -(g0/V) cos g linear in time.

    >>> round(math.degrees(math.asin(math.tanh(turn_of(RAIL_ANGLE)))), 6)
    86.0
    """
    return math.atanh(math.sin(min(rail_angle, _STEEPEST)))


def steepness(time: FloatArray, *, speed: FloatArray, apogee: float, turn: float) -> FloatArray:
    """Return the sine of the path's angle above the horizon (m,), dimensionless, as gravity turns it over.

    tan(g) = sinh(q), q = ``turn`` - int g0/V dt from the rail's end on, while thrust and drag act along the
    path; in the last three seconds before the ``apogee`` [s] the speed across is constant and the rate of
    climb g0 (t_a - t). ``time`` (m,) [s] from lift-off and ``speed`` (m,) [m/s]; ``turn`` as of ``turn_of``.

    Valid without lift or wind; never under 0.02.

    Source: Newton's second law across the path, integrated.

    >>> t = np.linspace(0.0, 40.0, 401)
    >>> straight = steepness(t, speed=np.full(401, 1e9), apogee=40.0, turn=turn_of(RAIL_ANGLE))
    >>> round(float(np.degrees(np.arcsin(straight[100]))), 3)
    86.0
    """
    free = summed(time, speed) > RAIL
    turning = np.where(free, STANDARD_GRAVITY / np.maximum(speed, SLOW), 0.0)
    sine = np.tanh(np.maximum(turn - summed(time, turning), 0.05))
    first = min(int(np.searchsorted(time, apogee - CLOSED)), time.size - 1)
    across = max(float(speed[first]) * math.sqrt(1.0 - float(sine[first]) ** 2), 1.0)
    climb = STANDARD_GRAVITY * np.maximum(apogee - time[first:], 0.0)
    sine[first:] = climb / np.sqrt(climb**2 + across**2)
    return np.asarray(np.maximum(sine, 0.02), dtype=np.float64)
