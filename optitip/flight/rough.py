"""Altitude and speed on common times, good enough to find a flight's landmarks by."""

import numpy as np

from optitip.arrays import BoolArray, FloatArray
from optitip.flight.atmosphere import HIGHEST, STANDARD_GRAVITY, Atmosphere
from optitip.flight.lift_off import MOVING
from optitip.flight.prepared import Prepared
from optitip.flight.sensors import Sensor, binned
from optitip.flight.smoothed import Record
from optitip.flight.smoothing import smooth
from optitip.inputs.recording import Quantity

SPEEDS = (Quantity.SPEED, Quantity.MACH)


def leading(ready: Prepared) -> Sensor:
    """Return the altitude with the most samples used."""
    return max(ready.of(Quantity.ALTITUDE), key=lambda one: int(one.used.sum()))


def rough_record(ready: Prepared, atmosphere: Atmosphere, smoothing: float) -> Record:
    """Return altitude and speed on common times, good enough to find the landmarks by.

    One speed alone is the record itself; else a grid of 0.1 s with the integrated push or the climb.
    """
    speeds, pushes = ready.of(*SPEEDS), ready.of(Quantity.ACCELERATION)
    height_time, height = binned(leading(ready), constant=smoothing)
    if len(speeds) == 1 and not pushes:
        time, v = binned(speeds[0], constant=smoothing)
        speed = as_speed(speeds[0], v, np.interp(time, height_time, height), atmosphere)
        # one that counts down as negative would leap where the vehicle turns over
        speed = np.where(time > height_time[int(height.argmax())], np.abs(speed), speed)
        return Record(time=time, altitude=_filled(time, speed, height_time, height), speed=speed)
    time = np.arange(height_time[0], height_time[-1], 0.1)
    altitude = np.interp(time, height_time, height)
    _, climb = smooth(height_time, values=height, at=time[::3], constant=0.4)
    speed = np.abs(np.interp(time, time[::3], climb))
    apogee = time[int(altitude.argmax())]
    if speeds:
        used_time, v = binned(speeds[0], constant=smoothing)
        speed = np.interp(
            time, used_time, as_speed(speeds[0], v, np.interp(used_time, time, altitude), atmosphere)
        )
    elif pushes:
        speed = np.where(time < apogee, _integrated(pushes[0], time, ready.lift_off, speed), speed)
    return Record(time=time, altitude=altitude, speed=speed)


def _integrated(push: Sensor, time: FloatArray, lift_off: float, climb: FloatArray) -> FloatArray:
    """Return the speed (n,) of a vehicle going straight up, from rest or from the climb at its first time."""
    felt = np.interp(time, push.time[push.used], push.values[push.used])
    gain = np.where(time > lift_off, felt - STANDARD_GRAVITY, 0.0) * np.gradient(time)
    start = float(climb[0]) if lift_off <= time[0] + 0.2 and climb[0] > MOVING else 0.0
    return np.maximum(np.cumsum(gain) - 0.5 * gain + start, 0.0)


def as_speed(sensor: Sensor, values: FloatArray, altitude: FloatArray, air: Atmosphere) -> FloatArray:
    """Return the speeds (n,) [m/s] of a sensor's values (n,), a Mach number's with the day's sound speed."""
    if sensor.quantity is Quantity.SPEED:
        return values
    return values * air.at(np.clip(altitude, 0.0, HIGHEST)).sound_speed


def _filled(time: FloatArray, speed: FloatArray, seen: FloatArray, height: FloatArray) -> FloatArray:
    """Return the altitude (n,) at ``time``: straight between those seen, by the speed over half a second."""
    flown = np.concatenate([[0.0], np.cumsum(0.5 * np.abs(speed[1:] + speed[:-1]) * np.diff(time))])
    altitude = np.interp(time, seen, height)
    for i in np.flatnonzero(np.diff(seen) > 0.5):
        inside = (time > seen[i]) & (time < seen[i + 1])
        way = np.interp([seen[i], seen[i + 1]], time, flown)
        if inside.any() and way[1] > way[0]:
            share = (flown[inside] - way[0]) / (way[1] - way[0])
            altitude[inside] = height[i] + share * (height[i + 1] - height[i])
    return altitude


def fast(rough: Record, atmosphere: Atmosphere) -> BoolArray:
    """Return where the record (n,) flies above Mach 0.5."""
    sound = atmosphere.at(np.clip(rough.altitude, 0.0, HIGHEST)).sound_speed
    return np.asarray(np.abs(rough.speed) > 0.5 * sound, dtype=np.bool_)
