"""The lift-off found in one sensor's own record, past whatever the pad gave it to read."""

import numpy as np

from optitip.arrays import BoolArray, FloatArray
from optitip.errors import UserMistakes
from optitip.flight.atmosphere import STANDARD_GRAVITY
from optitip.flight.sensors import Sensor
from optitip.flight.smoothing import kink_near, running_median
from optitip.inputs.recording import Quantity

SLOWEST_FLIGHT = 30.0  # [m/s]
MOVING = 15.0  # [m/s]: above the noise of a record at rest
LOWEST_FLIGHT = 30.0  # [m]: less is no flight, but a hand or the weather
_DOWN = 5.0  # [s]
_COARSE = 0.1  # [s]
_SCALE_HEIGHT = 8400.0  # [m]: near enough to find a moment by
_LEAST_PUSH = 1.5 * STANDARD_GRAVITY  # beyond rest: more than turning a sensor over by hand gives in a while
BEST_FIRST = (Quantity.ACCELERATION, Quantity.SPEED, Quantity.MACH, Quantity.ALTITUDE, Quantity.PRESSURE)


def lift_off_of(sensor: Sensor) -> float:
    """Return the time [s] of the sensor's clock at which the vehicle leaves the pad.

    Looked for backward from the flight, so that jolts, handling and wind before it don't count: an
    acceleration from the first push held for a third of a second (a quarter of the greatest such push, 1.5 g
    at least); a speed from the greatest one back to 15 m/s; an altitude from the top back to the last time
    it stood at its rest. The record's first time if the flight is already under way there. A record with
    no flight in it, or none of its ascent, is a mistake under the file's name.
    Source: common practice, no source.
    """
    if sensor.used.sum() < 10:
        problem = f"only {sensor.used.sum()} rows of {sensor.label} hold a value that can be used"
        raise UserMistakes.one(sensor.file, problem, "Give at least 10 rows")
    time, values = _coarse(sensor.time[sensor.used], sensor.values[sensor.used])
    if sensor.quantity is Quantity.ACCELERATION:
        return _from_acceleration(sensor, time, values)
    if sensor.quantity in {Quantity.SPEED, Quantity.MACH}:
        scale = 340.0 if sensor.quantity is Quantity.MACH else 1.0
        return _from_speed(sensor, time, scale * values, scale)
    if sensor.quantity is Quantity.PRESSURE:
        values = _height_of(values)
    return _from_altitude(sensor, time, values)


def _from_acceleration(sensor: Sensor, time: FloatArray, values: FloatArray) -> float:
    beyond = values - np.median(values)
    push = np.abs(running_median(beyond))
    least = max(0.25 * float(push.max()), _LEAST_PUSH)
    if not (push >= least).any():
        problem = f"there is no boost in {sensor.label}"
        raise UserMistakes.one(sensor.file, problem, "Check its unit and that the record holds the flight")
    held = int((push >= least).argmax())
    used = sensor.used & (sensor.time > time[held] - 6.0) & (sensor.time < time[held] + 0.3)
    t, a = sensor.time[used], running_median(sensor.values[used])
    before = t < time[held] - 1.0
    if before.sum() < 5:
        return float(t[0])
    rest = float(np.median(a[before]))
    still = np.abs(a - rest) < max(0.04 * push[held], 4.0 * float(np.std(a[before])), 2.0)
    still &= t < time[held]
    return float(t[np.flatnonzero(still)[-1]]) if still.any() else float(t[0])


def _from_speed(sensor: Sensor, time: FloatArray, values: FloatArray, scale: float) -> float:
    calm = running_median(values)
    if calm.max() < SLOWEST_FLIGHT:
        problem = f"there is no flight in it: its greatest speed is {calm.max():.1f} m/s"
        raise UserMistakes.one(
            sensor.file, problem, "Check the speed's unit and that the record holds the flight"
        )
    slow = np.flatnonzero(calm[: int(calm.argmax()) + 1] < MOVING)
    if slow.size == 0:
        return float(sensor.time[sensor.used][0])
    around = float(time[slow[-1]])
    near = sensor.used & (np.abs(sensor.time - around) < 2.0)
    t, v = sensor.time[near], scale * sensor.values[near]
    found = kink_near(t, values=v, around=around, half=1.2, reach=0.8, from_rest=True)
    return max(found, float(sensor.time[sensor.used][0]))


def _from_altitude(sensor: Sensor, time: FloatArray, values: FloatArray) -> float:
    calm = _calm(time, values)
    top = int(calm.argmax())
    risen = float(calm[top] - calm[: top + 1].min())
    if risen < LOWEST_FLIGHT:
        fallen = float(calm[top] - calm[top:].min())
        problem = f"there is no ascent in it: {sensor.label} rises {risen:.0f} m and falls {fallen:.0f} m"
        raise UserMistakes.one(sensor.file, problem, "Give the record from the pad on; check its unit")
    rest, spread = _rest_before(time[: top + 1], calm[: top + 1])
    least = rest + max(0.01 * (calm[top] - rest), 8.0, 5.0 * spread)
    low = np.flatnonzero(calm[:top] < least)
    if low.size == 0:
        return float(sensor.time[sensor.used][0])
    last = int(low[-1])
    return max(_start_of_parabola(time, values, last, top, rest), float(sensor.time[sensor.used][0]))


def _start_of_parabola(time: FloatArray, values: FloatArray, last: int, top: int, rest: float) -> float:
    """Return the time of rest of a parabola through the second after the altitude left its rest."""
    end = max(int(np.searchsorted(time, time[last] + 1.0)), last + 4)
    part = slice(last + 1, min(end, top))
    t, z = time[part], np.sqrt(np.maximum(values[part] - rest, 0.0))
    if t.size < 3:
        return float(time[last])
    slope, start = np.polyfit(t - time[last], z, 1)
    back = -start / slope if slope > 0.0 else 0.0
    return float(time[last]) + float(np.clip(back, -3.0, 1.0))


def _rest_before(time: FloatArray, calm: FloatArray) -> tuple[float, float]:
    """Return the altitude at rest just before it rises for good, and the spread there."""
    tenth = calm[0] + 0.1 * (calm[-1] - calm[0])
    rising = int(np.flatnonzero(calm <= max(tenth, calm[0]))[-1])
    before: BoolArray = (time > time[rising] - 20.0) & (time < time[rising] - 4.0)
    if before.sum() < 5:
        return float(calm[0]), 0.0
    return float(np.median(calm[before])), float(np.std(calm[before]))


def next_ascent(sensor: Sensor) -> float | None:
    """Return a time [s] on the ground between the first flight in an altitude or a pressure and the next.

    In between it is under a tenth of the greatest height for five seconds, and then rises to a third of it
    again. None where there is one flight alone.
    """
    time, values = _coarse(sensor.time[sensor.used], sensor.values[sensor.used])
    if sensor.quantity is Quantity.PRESSURE:
        values = _height_of(values)
    height = _calm(time, values) - float(np.median(values[:5]))
    third, tenth = (np.flatnonzero(height > share * height.max()) for share in (1.0 / 3.0, 0.1))
    down = np.flatnonzero(np.diff(time[tenth]) > _DOWN) if third.size else np.empty(0, dtype=np.int64)
    for index in down.tolist():
        landed, rising = time[tenth[index]], time[tenth[index + 1]]
        if landed > time[third[0]] and rising < time[third[-1]]:
            return float(0.5 * (landed + rising))
    return None


def _coarse(time: FloatArray, values: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the medians of equal runs of samples, about 0.1 s long."""
    run = max(int(_COARSE / float(np.median(np.diff(time)))), 1)
    whole = time.size // run * run
    if run == 1 or whole < 10 * run:
        return time, values
    t = time[:whole].reshape(-1, run).mean(axis=1)
    return t, np.asarray(np.median(values[:whole].reshape(-1, run), axis=1), dtype=np.float64)


def _calm(time: FloatArray, values: FloatArray) -> FloatArray:
    """Return the running median over about a second: a blip at Mach 1 and a gust are shorter."""
    half = int(np.clip(0.5 / float(np.median(np.diff(time))), 1, 10))
    windows = np.lib.stride_tricks.sliding_window_view(np.pad(values, half, mode="edge"), 2 * half + 1)
    return np.asarray(np.median(windows, axis=1), dtype=np.float64)


def _height_of(pressure: FloatArray) -> FloatArray:
    ground = float(np.percentile(pressure, 99.0))
    share = np.maximum(pressure, 1e-4 * ground) / ground
    return np.asarray(-_SCALE_HEIGHT * np.log(share), dtype=np.float64)
