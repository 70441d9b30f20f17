"""One clean flight to about Mach 2.4, reckoned from its motor, and what sensors would read of it."""

import math
from dataclasses import dataclass
from functools import cache

import numpy as np

from optitip.flight.atmosphere import STANDARD_GRAVITY, Atmosphere, site_atmosphere
from optitip.flight.climb import climb
from optitip.flight.descent import DescentPlan, fall
from optitip.flight.timeline import Path, join
from optitip.flight.vehicle import Vehicle

SITE = 12.0
RAIL = 85.0  # [deg]: not the angle a recorded path is taken to leave at
THRUST = [[0.0, 0.0], [0.05, 2100.0], [1.1, 2240.0], [3.4, 1700.0], [3.5, 0.0]]
DRAG = [[0.0, 0.40], [0.8, 0.42], [1.1, 0.62], [2.0, 0.45], [3.0, 0.36]]
MASSES = {"start_mass": 8.0, "propellant_mass": 2.9}


@dataclass(frozen=True, kw_only=True)
class Clean:
    """The flight on the fine steps it was reckoned in, lift-off at 0."""

    path: Path
    events: dict[str, float]
    air: Atmosphere
    rail: float
    """[deg]"""

    def altitude(self, t):
        """Return the altitude [m above sea level] at ``t`` [s], on the pad and after the landing too."""
        return np.interp(t, self.path.time, self.path.altitude)

    def speed(self, t):
        return np.interp(t, self.path.time, self.path.speed, left=0.0, right=0.0)

    def felt(self, t):
        pad = STANDARD_GRAVITY * math.sin(math.radians(self.rail))
        return np.interp(t, self.path.time, self.path.axial_acceleration, left=pad, right=0.0)

    def pressure(self, t, *, lag=0.0):
        """Return the pressure [Pa] that a barometer with a first-order lag [s] reads."""
        if lag == 0.0:
            return self.air.at(self.altitude(t)).pressure
        fine = np.arange(t[0] - 10.0 * lag, t[-1] + 0.01, 0.005)
        late = self.air.at(self.altitude(fine)).pressure
        share = 1.0 - math.exp(-0.005 / lag)
        for i in range(1, late.size):
            late[i] = late[i - 1] + share * (late[i] - late[i - 1])
        return np.interp(t, fine, late)

    def mach(self, t):
        return self.speed(t) / self.air.at(self.altitude(t)).sound_speed

    def blip(self, t, *, height=200.0):
        """Return what a barometer reads too much [m]: a dip at Mach 1 on the way up to it, a bump back."""
        fine = np.linspace(0.0, self.events["apogee"], 4000)
        fast = np.flatnonzero(self.mach(fine) > 1.0)
        return sum(
            sign * height * np.exp(-(((t - at) / 0.25) ** 4))
            for sign, at in ((-1.0, fine[fast[0]]), (1.0, fine[fast[-1]]))
        )

    def times(self, rate, *, before=20.0, after=10.0):
        return -before + np.arange(int((self.events["landing"] + after + before) * rate)) / rate


def vehicle():
    return Vehicle(
        thrust_time=[row[0] for row in THRUST],
        thrust=[row[1] for row in THRUST],
        diameter=0.084,
        drag_mach=[row[0] for row in DRAG],
        drag_coefficient=[row[1] for row in DRAG],
        **MASSES,
    )


@cache
def clean(rail=RAIL):
    air = site_atmosphere(SITE, temperature=290.15, pressure=101_400.0)
    up = climb(vehicle(), atmosphere=air, rail_angle=math.radians(rail), rail_length=3.0, place="test")
    apogee, (_, z, u, w) = float(up.path.time[-1]), up.state
    down = fall(DescentPlan(), atmosphere=air, time=apogee, altitude=z, velocity=(u, w))
    events = {"burnout": up.burnout, "apogee": apogee, "main": down.main, "landing": down.landing}
    return Clean(path=join([up.path, down.path]), events=events, air=air, rail=rail)
