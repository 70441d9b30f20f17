"""A record's ways up and down, its noise smoothed and its kinks kept, carried on where it stops short."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from optitip.arrays import FloatArray
from optitip.flight.atmosphere import STANDARD_GRAVITY, Atmosphere
from optitip.flight.descent import DescentPlan, Fall, fall
from optitip.flight.landmarks import Landmarks
from optitip.flight.smoothing import smooth
from optitip.flight.timeline import Path
from optitip.inputs.study_tables import Attitude

_DRAG_ALONE = 3.0  # [s] before the apogee


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Record:
    """Altitude and speed on common times, each (n,)."""

    time: FloatArray
    """[s] of the recorder's clock"""
    altitude: FloatArray
    """[m above sea level]"""
    speed: FloatArray
    """[m/s]"""


def from_lift_off(record: Record, marks: Landmarks) -> tuple[Record, Landmarks]:
    """Return both with the lift-off at time 0."""
    zero = marks.lift_off
    shifted = Landmarks(
        lift_off=0.0,
        burnout=marks.burnout - zero,
        apogee=marks.apogee - zero,
        main=None if marks.main is None else marks.main - zero,
        landing=None if marks.landing is None else marks.landing - zero,
    )
    return replace(record, time=record.time - zero), shifted


def way_up(record: Record, marks: Landmarks, *, smoothing: float) -> Path:
    """Return the record from lift-off to apogee, both times of the path, smoothed between its kinks."""
    t = _times(record, [0.0, marks.burnout, marks.apogee], smoothing)
    z, climb, v, slope = _both(record, marks, t, smoothing)
    v = np.maximum(v, 0.0)
    v[0] = v[0] if record.time[0] >= 0.0 else 0.0
    # below 20 m/s the noise of the two would swamp their ratio, and the flight is nearly upright
    steep = np.where(v > 20.0, np.clip(climb / np.maximum(v, 1.0), 0.0, 1.0), 1.0)
    felt = slope + STANDARD_GRAVITY * steep
    felt = drag_alone(t, speed=v, felt=felt, burnout=marks.burnout)
    return Path(time=t, altitude=never_falling(z), speed=v, axial_acceleration=felt)


def drag_alone(time: FloatArray, *, speed: FloatArray, felt: FloatArray, burnout: float) -> FloatArray:
    """Return the acceleration ``felt`` (n,) [m/s2], the last three seconds of the climb as the drag has it.

    The difference of two slopes drowns there in the noise of a slow speed [m/s], and the angle of the path is
    lost with it. So the drag of the second before goes on with V^2; it never pushes. Less than six seconds
    of coast after the ``burnout`` [s] keep half of it. Source: common practice, no source.

    >>> t, v = np.linspace(0.0, 10.0, 11), 100.0 - 10.0 * np.arange(11)
    >>> drag_alone(t, speed=v, felt=-1e-3 * v**2 + 9.8 * (v < 20.0), burnout=1.0)[-4:].round(3).tolist()
    [-0.9, -0.4, -0.1, -0.0]
    """
    start = time[-1] - min(_DRAG_ALONE, 0.5 * (time[-1] - burnout))
    told = (time > start - 1.0) & (time <= start) & (time > burnout) & (speed > 0.0)
    share = float(np.median(felt[told] / speed[told] ** 2)) if told.any() else 0.0
    return np.where(time > start, min(share, 0.0) * speed**2, felt)


def way_down(record: Record, marks: Landmarks, *, smoothing: float, attitude: Attitude) -> Path:
    """Return the record from just after the apogee to the landing, or to where it ends.

    The axial acceleration is -g for a tip that points forward, as under a parachute, else zero.
    """
    end = float(record.time[-1]) if marks.landing is None else marks.landing
    kinks = [marks.apogee, *([] if marks.main is None else [marks.main]), end]
    t = _times(record, kinks, smoothing, coarse=True)[1:]
    z, _, v, _ = _both(record, marks, t, smoothing)
    felt = -STANDARD_GRAVITY if attitude is Attitude.FORWARD else 0.0
    return Path(time=t, altitude=z, speed=np.abs(v), axial_acceleration=np.full(t.size, felt))


def _both(
    record: Record, marks: Landmarks, t: FloatArray, smoothing: float
) -> tuple[FloatArray, FloatArray, FloatArray, FloatArray]:
    """Return altitude, its slope, speed and its slope (n,) at the times ``t`` (n,)."""
    end = float(record.time[-1]) if marks.landing is None else marks.landing
    late = [marks.apogee, *([] if marks.main is None else [marks.main])]
    kinks = [0.0, marks.burnout, *late]
    v, slope = smooth(record.time, values=record.speed, at=t, constant=smoothing, kinks=kinks)
    z, climb = smooth(record.time, values=record.altitude, at=t, constant=smoothing, kinks=[*late, end])
    return z, climb, v, slope


def carried_on(path: Path, plan: DescentPlan, atmosphere: Atmosphere) -> Fall:
    """Return the fall from the last state of the path."""
    rise = float(path.altitude[-1] - path.altitude[-2]) / float(path.time[-1] - path.time[-2])
    speed = float(path.speed[-1])
    up = min(max(rise, -speed), speed)
    return fall(
        plan,
        atmosphere=atmosphere,
        time=float(path.time[-1]),
        altitude=float(path.altitude[-1]),
        velocity=(float(np.sqrt(speed**2 - up**2)), up),
    )


def _times(record: Record, marks: Sequence[float], smoothing: float, *, coarse: bool = False) -> FloatArray:
    """Return times (n,) [s] from the first mark to the last, all marks among them.

    A quarter of the time constant apart, or half a second where ``coarse``; the record's own without one.
    """
    start, end = marks[0], marks[-1]
    if smoothing == 0.0:
        t = record.time[(record.time > start) & (record.time < end)]
    elif coarse:
        t = np.linspace(start, end, 2 + int((end - start) / max(0.5, (end - start) / 600.0)))
    else:
        t = np.arange(start, end, max(0.25 * smoothing, (end - start) / 4000.0))
    near = np.min(np.abs(t[:, None] - np.array(marks)), axis=1) < 1e-3
    return np.unique(np.concatenate([t[~near], marks]))


def never_falling(altitude: FloatArray) -> FloatArray:
    """Return the middle between the least rising curve above and the greatest below."""
    above = np.maximum.accumulate(altitude)
    below = np.minimum.accumulate(altitude[::-1])[::-1]
    return np.asarray(0.5 * (above + below), dtype=np.float64)
