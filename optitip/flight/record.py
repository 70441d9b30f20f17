"""A recorded flight given as plain arrays: time, altitude and a speed or a Mach number."""

import numpy as np
from numpy.typing import ArrayLike

from optitip.arrays import FloatArray
from optitip.errors import UserMistakes
from optitip.flight.atmosphere import Atmosphere
from optitip.flight.descent import DescentPlan
from optitip.flight.reading import read_flight
from optitip.flight.trajectory import Flight
from optitip.inputs.recording import Channel, Quantity
from optitip.inputs.study_tables import AltitudeAbove

FEWEST_ROWS = 10


def from_record(
    time: ArrayLike,
    *,
    altitude: ArrayLike,
    speed: ArrayLike | None = None,
    mach: ArrayLike | None = None,
    altitude_above: AltitudeAbove = AltitudeAbove.GROUND,
    atmosphere: Atmosphere,
    smoothing: float = 0.3,
    descent: DescentPlan | None = None,
    pad: float = 0.0,
    soak: float = 600.0,
    place: str = "flight.record",
) -> Flight:
    """Return the flight in a record from lift-off to the end of the soak, lift-off at time 0.

    ``time`` (n,) [s] of any origin; ``altitude`` (n,) [m] above the site or the sea; either ``speed`` (n,)
    [m/s] through the air, its sign left aside, or ``mach`` (n,), taken with the day's speed of sound. Noise
    is smoothed with the time constant ``smoothing`` [s] (``smooth``) between the kinks at lift-off, burnout,
    apogee, main and landing. Up to the apogee the altitude is kept from falling, as a barometer does near
    Mach 1. The axial acceleration is dV/dt + g dz/dt / V on the way up and, on the way down, -g for a tip
    that points forward and zero otherwise. A record that ends in the air is carried on by ``descent``, which
    also tells the attitude. Rows without a speed (NaN) or with a ``wild`` one are left out, altitudes missing
    or wild interpolated. ``pad`` and ``soak`` [s] of waiting before and after.

    Valid to Mach 5 and from 100 m below the sea to 80 km; outside, ``OutOfRange``. Times that don't rise,
    fewer than 10 rows, no speed above 30 m/s, an end while still climbing, and a gap above Mach 0.5 that
    ``read_flight`` doesn't bridge are mistakes under ``place``. Source: common practice, no source.

    >>> from optitip.flight.atmosphere import site_atmosphere
    >>> t = np.linspace(0.0, 12.0, 241)  # two seconds at 50 m/s2, ten at -10: rising 100 + 500 m
    >>> speed = np.where(t < 2.0, 50.0 * t, 120.0 - 10.0 * t)
    >>> rise = np.where(t < 2.0, 25.0 * t**2, 600.0 - speed**2 / 20.0)
    >>> flight = from_record(t, altitude=rise, speed=speed, atmosphere=site_atmosphere())
    >>> round(flight.events["burnout"], 1), round(flight.events["apogee"], 1), round(flight.altitude.max())
    (2.0, 12.0, 600)
    """
    if (speed is None) == (mach is None):
        raise UserMistakes.one(place, "it needs either the speed or the Mach number", "Give one of the two")
    t = np.asarray(time, dtype=np.float64)
    given = [(Quantity.ALTITUDE, altitude), (Quantity.SPEED, speed), (Quantity.MACH, mach)]
    columns = {kind: np.asarray(x, dtype=np.float64) for kind, x in given if x is not None}
    sizes = [t.size, *(x.size for x in columns.values())]
    if t.ndim != 1 or len(set(sizes)) > 1 or t.size < FEWEST_ROWS:
        problem = f"it has {sizes[0]} times, {sizes[1]} altitudes and {sizes[2]} speeds"
        raise UserMistakes.one(place, problem, f"Give at least {FEWEST_ROWS} rows of all three")
    return read_flight(
        [_channel(kind, t, values, place) for kind, values in columns.items()],
        altitude_above=altitude_above,
        atmosphere=atmosphere,
        smoothing=smoothing,
        descent=descent,
        pad=pad,
        soak=soak,
        place=place,
    ).flight


def _channel(quantity: Quantity, time: FloatArray, values: FloatArray, place: str) -> Channel:
    known = np.isfinite(time)
    return Channel(
        quantity=quantity, time=time[known], values=values[known], file=place, label=quantity.value
    )
