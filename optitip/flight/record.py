"""A recorded flight, its noise smoothed and its kinks kept, carried on to the ground where it stops short."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from optitip.arrays import FloatArray
from optitip.errors import Mistake, UserMistakes
from optitip.flight.atmosphere import HIGHEST, LOWEST, STANDARD_GRAVITY, Atmosphere
from optitip.flight.descent import DescentPlan, Fall, fall
from optitip.flight.landmarks import Landmarks, find_landmarks
from optitip.flight.smoothing import smooth, wild
from optitip.flight.timeline import Path, assemble, check_waits, join, refuse
from optitip.flight.trajectory import Flight
from optitip.inputs.study_tables import AltitudeAbove, Attitude

FEWEST_ROWS = 10
LONGEST_GAP = 2.0  # [s] while faster than Mach 0.5
LONGEST_SMOOTHING = 2.0  # [s]: beyond it the boost itself is smoothed away


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Record:
    time: FloatArray
    altitude: FloatArray
    """above sea level"""
    speed: FloatArray


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

    Valid to Mach 5 and from -500 m to 80 km; outside, ``OutOfRange``. Times that don't rise, fewer than 10
    rows, no speed above 30 m/s, an end while still climbing, and a gap of over 2 s above Mach 0.5 are
    mistakes under ``place``. Source: common practice, no source.

    >>> from optitip.flight.atmosphere import site_atmosphere
    >>> t = np.linspace(0.0, 12.0, 241)  # two seconds at 50 m/s2, ten at -10: rising 100 + 500 m
    >>> speed = np.where(t < 2.0, 50.0 * t, 120.0 - 10.0 * t)
    >>> rise = np.where(t < 2.0, 25.0 * t**2, 600.0 - speed**2 / 20.0)
    >>> flight = from_record(t, altitude=rise, speed=speed, atmosphere=site_atmosphere())
    >>> round(flight.events["burnout"], 1), round(flight.events["apogee"], 1), round(flight.altitude.max())
    (2.0, 12.0, 600)
    """
    plan = descent if descent is not None else DescentPlan()
    mistakes = plan.mistakes() + check_waits(pad, soak)
    if not 0.0 <= smoothing <= LONGEST_SMOOTHING:
        mistakes.append(Mistake("flight.smoothing", f"a time constant of {smoothing:g} s", "Give 0 to 2 s"))
    refuse(mistakes)
    record = _read(time, altitude, speed, mach, atmosphere=atmosphere, above=altitude_above, place=place)
    marks = find_landmarks(
        record.time,
        altitude=record.altitude,
        speed=record.speed,
        atmosphere=atmosphere,
        smoothing=smoothing,
        place=place,
    )
    _check_gaps(record, marks, atmosphere, place)
    warnings = _doubts_of_start(record, marks, atmosphere)
    record, marks = _from_lift_off(record, marks)
    path = _smoothed(record, marks, smoothing, plan.attitude)
    warnings += _doubts_of_path(record, path, marks)
    main, landing = marks.main, marks.landing
    if landing is None:
        rest = _carried_on(path, plan, atmosphere)
        main, landing = rest.main if main is None else main, rest.landing
        warnings.append(f"the record ends {path.time[-1]:.1f} s after lift-off; the descent's settings go on")
        path = join([path, rest.path])
    return assemble(
        path,
        atmosphere=atmosphere,
        attitude=plan.attitude,
        rail_angle=0.5 * np.pi,
        events={
            "burnout": marks.burnout,
            "apogee": marks.apogee,
            "main": marks.apogee if main is None else main,
            "landing": landing,
        },
        pad=pad,
        soak=soak,
        warnings=warnings,
    )


def _read(
    time: ArrayLike,
    altitude: ArrayLike,
    speed: ArrayLike | None,
    mach: ArrayLike | None,
    *,
    atmosphere: Atmosphere,
    above: AltitudeAbove,
    place: str,
) -> _Record:
    """Return the record as speed and altitude above sea level, or raise all that is wrong with it."""
    if (speed is None) == (mach is None):
        raise UserMistakes.one(place, "it needs either the speed or the Mach number", "Give one of the two")
    t, z = np.asarray(time, dtype=np.float64), np.asarray(altitude, dtype=np.float64)
    v = np.asarray(speed if mach is None else mach, dtype=np.float64)
    if t.ndim != 1 or not t.size == z.size == v.size or t.size < FEWEST_ROWS:
        problem = f"it has {t.size} times, {z.size} altitudes and {v.size} speeds"
        raise UserMistakes.one(place, problem, f"Give at least {FEWEST_ROWS} rows of all three")
    read, known = np.isfinite(t) & np.isfinite(v), np.isfinite(t) & np.isfinite(z)
    if min(read.sum(), known.sum()) < FEWEST_ROWS:
        problem = f"only {read.sum()} rows hold a speed and {known.sum()} an altitude"
        raise UserMistakes.one(place, problem, f"Give at least {FEWEST_ROWS} rows with both")
    if above is AltitudeAbove.GROUND:
        z = z + atmosphere.site_altitude
    known_t, known_z, t, v = t[known], z[known], t[read], v[read]
    if (np.diff(t) <= 0.0).any():
        at = t[int((np.diff(t) <= 0.0).argmax()) + 1]
        raise UserMistakes.one(place, f"the time does not increase at {at:g} s", "Put the rows in order")
    tame, likely = ~wild(v), ~wild(known_z)
    t, v = t[tame], v[tame]
    z = np.interp(t, known_t[likely], known_z[likely])
    if z.min() < LOWEST:
        problem = f"it goes down to {z.min():.0f} m above sea level at {t[int(z.argmin())]:g} s"
        raise UserMistakes.one(place, problem, "Check the altitude's unit and what it counts from")
    if mach is not None:
        v = v * atmosphere.at(np.minimum(z, HIGHEST)).sound_speed
    return _Record(time=t, altitude=z, speed=v)


def _check_gaps(record: _Record, marks: Landmarks, atmosphere: Atmosphere, place: str) -> None:
    t = record.time
    fast = np.abs(record.speed) > 0.5 * atmosphere.at(np.minimum(record.altitude, HIGHEST)).sound_speed
    flying = (t[1:] > marks.lift_off) & (t[:-1] < marks.apogee)
    mistakes = [
        Mistake(
            place,
            f"nothing is recorded from {t[i]:g} to {t[i + 1]:g} s, flown faster than Mach 0.5",
            "Fill the gap from another instrument's record, or use an ascent",
        )
        for i in np.flatnonzero((np.diff(t) > LONGEST_GAP) & (fast[1:] | fast[:-1]) & flying)
    ]
    if fast[0] and marks.lift_off <= t[0]:
        mistakes.append(
            Mistake(place, "it begins faster than Mach 0.5", "Give the record from the lift-off on")
        )
    refuse(mistakes)


def _from_lift_off(record: _Record, marks: Landmarks) -> tuple[_Record, Landmarks]:
    zero = marks.lift_off
    shifted = Landmarks(
        lift_off=0.0,
        burnout=marks.burnout - zero,
        apogee=marks.apogee - zero,
        main=None if marks.main is None else marks.main - zero,
        landing=None if marks.landing is None else marks.landing - zero,
    )
    return replace(record, time=record.time - zero), shifted


def _smoothed(record: _Record, marks: Landmarks, smoothing: float, attitude: Attitude) -> Path:
    """Return the record on a fine grid from lift-off to the landing or the record's end."""
    end = float(record.time[-1]) if marks.landing is None else marks.landing
    kinks = [mark for mark in (0.0, marks.burnout, marks.apogee, marks.main) if mark is not None]
    t = _grid(record, [*kinks, end], smoothing)
    v, slope = smooth(record.time, values=record.speed, at=t, constant=smoothing, kinks=kinks)
    z, climb = smooth(record.time, values=record.altitude, at=t, constant=smoothing, kinks=[*kinks[2:], end])
    up = t <= marks.apogee
    v = np.where(up, np.maximum(v, 0.0), np.abs(v))
    v[0] = v[0] if record.time[0] >= 0.0 else 0.0
    z[up] = _never_falling(z[up])
    # below 20 m/s the noise of the two would swamp their ratio, and the flight is nearly upright
    steep = np.where(v > 20.0, np.clip(climb / np.maximum(v, 1.0), 0.0, 1.0), 1.0)
    down = -STANDARD_GRAVITY if attitude is Attitude.FORWARD else 0.0
    felt = np.where(up, slope + STANDARD_GRAVITY * steep, down)
    return Path(time=t, altitude=z, speed=v, axial_acceleration=felt)


def _grid(record: _Record, marks: Sequence[float], smoothing: float) -> FloatArray:
    """Return the times (n,) [s]: a quarter of the time constant apart on the way up, coarser after."""
    apogee, end = marks[2], marks[-1]
    if smoothing == 0.0:
        t = record.time[(record.time > 0.0) & (record.time < end)]
    else:
        step = max(0.25 * smoothing, apogee / 4000.0)
        after = np.linspace(apogee, end, 2 + int((end - apogee) / max(0.5, (end - apogee) / 600.0)))
        t = np.concatenate([np.arange(0.0, apogee, step), after])
    near = np.min(np.abs(t[:, None] - np.array(marks)), axis=1) < 1e-3
    return np.unique(np.concatenate([t[~near], marks]))


def _never_falling(altitude: FloatArray) -> FloatArray:
    """Return the middle between the least rising curve above and the greatest below."""
    above = np.maximum.accumulate(altitude)
    below = np.minimum.accumulate(altitude[::-1])[::-1]
    return np.asarray(0.5 * (above + below), dtype=np.float64)


def _carried_on(path: Path, plan: DescentPlan, atmosphere: Atmosphere) -> Fall:
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


def _doubts_of_start(record: _Record, marks: Landmarks, atmosphere: Atmosphere) -> list[str]:
    found = []
    start = float(np.interp(marks.lift_off, record.time, record.altitude)) - atmosphere.site_altitude
    if abs(start) > 100.0:
        found.append(
            f"the record lifts off {start:.0f} m above the site: check what its altitude counts from"
        )
    if marks.lift_off <= record.time[0] and record.speed[0] > 20.0:
        found.append(f"the record begins at {record.speed[0]:.0f} m/s: the start of the boost is missing")
    return found


def _doubts_of_path(record: _Record, path: Path, marks: Landmarks) -> list[str]:
    found = []
    up = path.time <= marks.apogee
    t, z, v = path.time[up], path.altitude[up], path.speed[up]
    flown = float(np.sum(0.5 * (v[1:] + v[:-1]) * np.diff(t)))
    if not 0.5 * flown < z[-1] - z[0] < 1.1 * flown:
        found.append(
            f"the altitude rises {z[-1] - z[0]:.0f} m while the speed flies {flown:.0f} m: check both units"
        )
    raw = (record.time > 0.0) & (record.time < marks.apogee)
    lag = float(np.abs(record.altitude[raw] - np.interp(record.time[raw], t, z)).max(initial=0.0))
    if lag > 50.0:
        found.append(f"the altitude strays by up to {lag:.0f} m on the way up and was smoothed over")
    down = path.time > marks.apogee + 5.0
    if down.sum() > 10:
        rate = float(path.altitude[down][0] - path.altitude[-1]) / float(path.time[-1] - path.time[down][0])
        mean = float(path.speed[down].mean())
        if mean > 2.0 * rate + 20.0:
            found.append(
                f"the speed on the way down averages {mean:.0f} m/s, the altitude falls at {rate:.0f} m/s: "
                "if the speed has drifted, end the record at the apogee"
            )
    return found
