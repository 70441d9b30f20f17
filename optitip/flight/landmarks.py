"""Lift-off, burnout, apogee, main and landing, found in a noisy record."""

from dataclasses import dataclass

import numpy as np

from optitip.arrays import FloatArray
from optitip.errors import UserMistakes
from optitip.flight.atmosphere import Atmosphere
from optitip.flight.lift_off import MOVING, SLOWEST_FLIGHT
from optitip.flight.smoothing import kink_near, running_median, smooth

_OPENING = 5.0  # [s] after the apogee in which the vehicle picks up its rate of descent
_FALL_AT_REST = 1.0  # [m/s]: slower than any parachute


@dataclass(frozen=True, slots=True, kw_only=True)
class Landmarks:
    """Times of the record [s]; the main or the landing is None where it doesn't show."""

    lift_off: float
    burnout: float
    apogee: float
    main: float | None
    landing: float | None


def find_landmarks(
    time: FloatArray,
    *,
    altitude: FloatArray,
    speed: FloatArray,
    atmosphere: Atmosphere,
    smoothing: float,
    place: str,
) -> Landmarks:
    """Return where a record (n,) of altitude [m above sea level] and speed [m/s] lifts off and so on.

    Lift-off is the bend in the speed where it first passes 15 m/s; burnout the bend nearest the greatest
    speed, where the acceleration along it turns negative for good; apogee the greatest altitude; the main
    is the one step down in the rate of descent taken to sea level; landing the bend at which the altitude
    comes to rest. ``smoothing`` [s] as in ``smooth``. A record with no flight in it, or one that ends
    while still climbing, is a mistake under ``place``. Source: common practice, no source.
    """
    calm_speed, calm_altitude = running_median(speed), running_median(altitude)
    if calm_speed.max() < SLOWEST_FLIGHT:
        problem = f"there is no flight in it: its greatest speed is {calm_speed.max():.1f} m/s"
        raise UserMistakes.one(place, problem, "Check the speed's unit and that the record holds the flight")
    constant = max(smoothing, 0.1)
    top = int(calm_altitude.argmax())
    fastest = int(calm_speed[: top + 1].argmax())
    moving = int(np.flatnonzero(calm_speed[: fastest + 1] < MOVING)[-1:].sum())
    lift_off = time[0]
    if calm_speed[0] < MOVING:
        lift_off = kink_near(
            time, values=speed, around=float(time[moving]), half=1.2, reach=0.8, from_rest=True
        )
    burnout = _greatest(time, speed, around=float(time[fastest]), constant=constant)
    burnout = kink_near(time, values=speed, around=burnout, half=1.0, reach=0.5)
    apogee = _greatest(time, altitude, around=float(time[top]), constant=3.0 * constant)
    climb = float(smooth(time, values=altitude, at=np.array([apogee]), constant=constant)[1][0])
    if climb > SLOWEST_FLIGHT:
        problem = f"it ends at {time[-1]:.1f} s, still climbing at {climb:.0f} m/s"
        raise UserMistakes.one(place, problem, "Give the record up to the apogee at least")
    landing = _landing(time, altitude, calm_altitude, apogee)
    main = _main(time, altitude, apogee, time[-1] if landing is None else landing, atmosphere)
    lift_off = max(float(time[0]), lift_off)
    return Landmarks(
        lift_off=lift_off,
        burnout=min(max(burnout, lift_off + 0.05), apogee - 0.05),
        apogee=apogee,
        main=main,
        landing=landing,
    )


def _greatest(time: FloatArray, values: FloatArray, *, around: float, constant: float) -> float:
    at = np.linspace(max(around - 2.0, time[0]), min(around + 2.0, time[-1]), 161)
    return float(at[int(smooth(time, values=values, at=at, constant=constant)[0].argmax())])


def _landing(time: FloatArray, altitude: FloatArray, calm: FloatArray, apogee: float) -> float | None:
    """Return the time at which the altitude comes to rest, or None if it is still falling at the end."""
    tail = (time >= time[-1] - 3.0) | (np.arange(time.size) >= time.size - 8)
    t, z = time[tail] - time[-1], altitude[tail]
    (rate, rest), spread = np.polyfit(t, z, 1), float(np.std(z))
    fallen = calm.max() - rest
    if t[0] + time[-1] <= apogee or abs(rate) > _FALL_AT_REST or fallen < 0.3 * (calm.max() - calm[0]):
        return None
    aloft = calm > rest + max(2.0, 3.0 * spread)
    last = float(time[np.flatnonzero(aloft)[-1]])
    return max(kink_near(time, values=altitude, around=last, half=3.0, reach=1.5), apogee + 0.1)


def _main(
    time: FloatArray, altitude: FloatArray, apogee: float, end: float, atmosphere: Atmosphere
) -> float | None:
    """Return the time that splits the rates of descent, taken to sea level, into two most unlike groups."""
    at = np.linspace(apogee + _OPENING, end, 600)[:-6]
    if end - apogee < 2.0 * _OPENING:
        return None
    z, slope = smooth(time, values=altitude, at=at, constant=1.0)
    rate = -slope * np.sqrt(atmosphere.at(z).density / 1.225)
    before = np.arange(1, rate.size)
    total = np.cumsum(rate)
    excess = total[:-1] - before * total[-1] / rate.size
    split = int(np.argmax(excess**2 / (before * (rate.size - before)))) + 1
    if np.median(rate[split:]) > 0.6 * np.median(rate[:split]):
        return None
    return kink_near(time, values=altitude, around=float(at[split]), half=3.0, reach=1.5)
