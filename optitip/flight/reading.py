"""The flight in what one recorder or several wrote down, and what was used of it."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from optitip.arrays import FloatArray
from optitip.errors import Mistake, OutOfRange, UserMistakes
from optitip.flight.atmosphere import Atmosphere
from optitip.flight.descent import DescentPlan
from optitip.flight.doubts import check_agreement, doubts_of_path, doubts_of_start
from optitip.flight.fusion import fuse
from optitip.flight.gaps import LONGEST_GAP, Gap, covered, gaps_in, refusals
from optitip.flight.landmarks import Landmarks, find_landmarks
from optitip.flight.least_squares import Fused, Measured
from optitip.flight.lift_off import LOWEST_FLIGHT, MOVING
from optitip.flight.prepared import Prepared, prepare
from optitip.flight.rough import SPEEDS, as_speed, fast, leading, rough_record
from optitip.flight.sensors import LeftOut, Sensor, binned, noise_of
from optitip.flight.smoothed import (
    Record,
    carried_on,
    drag_alone,
    from_lift_off,
    never_falling,
    way_down,
    way_up,
)
from optitip.flight.smoothing import running_median
from optitip.flight.timeline import Path, assemble, check_waits, join, refuse
from optitip.flight.trajectory import Flight
from optitip.flight.turning import RAIL_ANGLE
from optitip.inputs.recording import Channel, Quantity
from optitip.inputs.study_tables import AltitudeAbove

LONGEST_SMOOTHING = 2.0  # [s]: beyond it the boost itself is smoothed away
LONGEST_LAG = 5.0  # [s]
DEEPEST = -100.0  # [m above sea level]: a barometer's noise and drift stay above
_SLOWEST_RATE = 0.15  # [s] between samples: slower speeds are helped by the altitude's own
_NOISIEST = 0.015  # of a speed smoothed alone: at 2 % its peak scatters by 1.5 %, by 0.4 % when fused
_TOLD_LAG = 0.05  # [s]


@dataclass(frozen=True, slots=True, kw_only=True)
class Trace:
    """One channel as it was taken: on the flight's clock, in SI, with what was left out."""

    sensor: Sensor
    """times [s] from lift-off"""

    @property
    def label(self) -> str:
        """Return the column's label as it was written."""
        return self.sensor.label

    def left_out(self) -> dict[str, int]:
        """Return how many samples were left out, by the reason."""
        reasons, counts = np.unique(self.sensor.left_out, return_counts=True)
        found = {LeftOut(int(r)): int(n) for r, n in zip(reasons, counts, strict=True)}
        return {reason.name.lower(): count for reason, count in found.items() if reason}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Reading:
    """A recorded flight beside what it was read from."""

    flight: Flight
    traces: tuple[Trace, ...]
    used: Path
    """fine histories from lift-off to landing: altitude [m above sea level], speed, felt acceleration"""


def read_flight(
    channels: Sequence[Channel],
    *,
    altitude_above: AltitudeAbove = AltitudeAbove.GROUND,
    atmosphere: Atmosphere,
    smoothing: float = 0.3,
    gap: float = LONGEST_GAP,
    lag: float = 0.0,
    spikes: float = 2.0,
    rail_angle: float = RAIL_ANGLE,
    clocks: Mapping[str, float] | None = None,
    descent: DescentPlan | None = None,
    pad: float = 0.0,
    soak: float = 600.0,
    place: str = "flight.record",
) -> Reading:
    """Return the flight in the channels from lift-off, time 0, to the end of the soak, and what was used.

    An altitude [m, ``altitude_above``] or a pressure [Pa] has to be there; it becomes an altitude by the
    atmosphere of the day, its reading at rest taken as the site's. One speed (or Mach number) beside it,
    taken often enough and with less than 1.5 % of noise, is smoothed with the time constant ``smoothing``
    [s] between the kinks at lift-off, burnout, apogee, main and landing (``way_up``). Anything else -
    accelerations, no speed, several of a kind, a slow record - is fused by least squares (``fuse``), at
    nodes a third of ``smoothing`` apart. ``lag`` [s] of a barometer is taken back; ``spikes`` times their
    neighbours' spread off, samples are left out (0: none); so is an altitude that falls during the climb,
    as near Mach 1. A ``gap`` [s] above Mach 0.5 that no other channel covers is bridged by a curve if no
    burnout can hide in it. ``clocks`` [s] to add to a file's times to make them those of the first; files
    not named are set by their lift-off, then by best agreement. A record that ends in the air is carried
    on by ``descent``. ``pad``, ``soak`` [s] of waiting.

    Valid to Mach 5, from 100 m below the sea to 80 km; outside, ``OutOfRange``. What no flight can be made
    of is a mistake under ``place`` or the file's name. Source: common practice, no source.
    """
    plan = descent if descent is not None else DescentPlan()
    refuse(plan.mistakes() + check_waits(pad, soak) + _wrong_settings(smoothing, gap, lag, spikes))
    ready = prepare(
        channels,
        above=altitude_above,
        atmosphere=atmosphere,
        lag=lag,
        spikes=spikes,
        clocks=dict(clocks or {}),
        rail_angle=rail_angle,
        place=place,
    )
    rough = rough_record(ready, atmosphere, smoothing)
    _check_depth(rough, place)
    marks = find_landmarks(
        rough.time,
        altitude=rough.altitude,
        speed=rough.speed,
        atmosphere=atmosphere,
        smoothing=smoothing,
        place=place,
    )
    _check_ascent(rough, marks, atmosphere, place)
    warnings = [*ready.notes, *doubts_of_start(rough, marks, atmosphere)]
    plain, notes = _bridges(ready, rough, marks, atmosphere, gap, place)
    if not plain:
        marks = replace(marks, lift_off=ready.lift_off)
        marks = _surely_lifting_off(ready, rough, marks, atmosphere, smoothing, rail_angle)
    ready, shifted, marks = _at_zero(ready, rough, marks)
    warnings += notes
    if plain:
        up = way_up(shifted, marks, smoothing=smoothing)
    else:
        fused = _fused(ready, shifted, marks, atmosphere, smoothing, rail_angle)
        marks = replace(marks, burnout=fused.burnout, apogee=float(fused.time[-1]))
        up = _fused_way_up(fused, marks, smoothing)
        check_agreement(shifted, up, place=place)
        ready = ready.moved(fused.clocks)
        shifted, marks = _as_seen(ready, shifted, marks, fused, smoothing)
        warnings += _told(ready, fused, rail_angle)
    down = way_down(shifted, marks, smoothing=smoothing, attitude=plan.attitude)
    path = join([up, down]) if down.time.size else up
    warnings += doubts_of_path(shifted, path, marks)
    main, landing = marks.main, marks.landing
    if landing is None:
        rest = carried_on(path, plan, atmosphere)
        main, landing = rest.main if main is None else main, rest.landing
        warnings.append(f"the record ends {path.time[-1]:.1f} s after lift-off; the descent's settings go on")
        path = join([path, rest.path])
    events = {"burnout": marks.burnout, "apogee": marks.apogee}
    events |= {"main": marks.apogee if main is None else main, "landing": landing}
    flight = assemble(
        path,
        atmosphere=atmosphere,
        attitude=plan.attitude,
        rail_angle=0.5 * np.pi,
        events=events,
        pad=pad,
        soak=soak,
        warnings=warnings,
    )
    return Reading(flight=flight, traces=tuple(Trace(sensor=one) for one in ready.sensors), used=path)


def _wrong_settings(smoothing: float, gap: float, lag: float, spikes: float) -> list[Mistake]:
    limits = [
        ("smoothing", smoothing, LONGEST_SMOOTHING, "a time constant of {:g} s", "Give 0 to 2 s"),
        ("gap", gap, 60.0, "a gap of {:g} s to be bridged", "Give 0 to 60 s"),
        ("lag", lag, LONGEST_LAG, "a lag of {:g} s", "Give 0 to 5 s"),
        ("spikes", spikes, 100.0, "spikes that stand off by {:g} spreads", "Give 0 (none left out) to 100"),
    ]
    return [
        Mistake(f"flight.{key}", said.format(value), remedy)
        for key, value, most, said, remedy in limits
        if not 0.0 <= value <= most
    ]


def _check_depth(rough: Record, place: str) -> None:
    calm = running_median(rough.altitude)
    if calm.min() < DEEPEST:
        problem = (
            f"it goes down to {calm.min():.0f} m above sea level at {rough.time[int(calm.argmin())]:g} s"
        )
        remedy = f"Down to {DEEPEST:.0f} m it is read; check the altitude's unit and what it counts from"
        raise OutOfRange(place, problem, remedy)


def _check_ascent(rough: Record, marks: Landmarks, atmosphere: Atmosphere, place: str) -> None:
    if fast(rough, atmosphere)[0] and marks.lift_off <= rough.time[0]:
        raise UserMistakes.one(
            place, "it begins faster than Mach 0.5", "Give the record from the lift-off on"
        )
    foot, top = np.interp([marks.lift_off, marks.apogee], rough.time, rough.altitude)
    if top - foot < LOWEST_FLIGHT:
        problem = f"there is no ascent in it: it rises {max(top - foot, 0.0):.0f} m"
        raise UserMistakes.one(place, problem, "Give the record from the lift-off on; check its units")


def _bridges(
    ready: Prepared, rough: Record, marks: Landmarks, atmosphere: Atmosphere, longest: float, place: str
) -> tuple[bool, list[str]]:
    """Return whether one speed can be smoothed as it is, and how gaps are bridged; refuse others."""
    speeds, heights = ready.of(*SPEEDS), ready.of(Quantity.ALTITUDE)
    plain = len(speeds) == len(heights) == 1 and not ready.of(Quantity.ACCELERATION)
    plain = plain and float(np.median(np.diff(rough.time))) <= _SLOWEST_RATE and _noise(rough) < _NOISIEST

    def gaps(times: FloatArray) -> list[Gap]:
        return gaps_in(
            times,
            time=rough.time,
            speed=np.abs(rough.speed),
            fast=fast(rough, atmosphere),
            within=(marks.lift_off, marks.apogee),
        )

    everything = np.unique(np.concatenate([one.time[one.used] for one in ready.sensors]))
    open_gaps = gaps(everything)
    refuse(refusals(open_gaps, longest=longest, place=place))
    notes = [f"nothing is recorded from {g.start:g} to {g.stop:g} s: bridged by a curve" for g in open_gaps]
    for one in ready.of(*SPEEDS, Quantity.ACCELERATION):
        for hole in gaps(one.time[one.used]):
            if covered(hole, everything):
                plain = False
                said = f"{one.label} has nothing from {hole.start:g} to {hole.stop:g} s"
                notes.append(f"{said}: the other channels bridge it")
    return plain and not open_gaps, notes


def _noise(record: Record) -> float:
    """Return the noise of the fast half of a speed, as a share of it."""
    speed = np.abs(record.speed)
    half = speed[speed > 0.5 * speed.max()]
    return noise_of(half) / float(np.median(half))


def _at_zero(ready: Prepared, rough: Record, marks: Landmarks) -> tuple[Prepared, Record, Landmarks]:
    """Return all with the lift-off at time 0."""
    record, shifted = from_lift_off(rough, marks)
    return ready.moved({}, all_by=-marks.lift_off), record, shifted


def _fused(
    ready: Prepared,
    record: Record,
    marks: Landmarks,
    atmosphere: Atmosphere,
    smoothing: float,
    rail_angle: float,
) -> Fused:
    constant = max(smoothing, 0.1)
    unsure = set(ready.free)
    if not ready.of(Quantity.ACCELERATION) and (_slow(ready) or not ready.of(*SPEEDS)):
        unsure = {one.file for one in ready.sensors}
    measured = []
    for one in ready.sensors:
        time, values = binned(one, constant=constant)
        if one.quantity in SPEEDS:
            values = as_speed(one, values, np.interp(time, record.time, record.altitude), atmosphere)
        part = (time < marks.apogee) & ((time > 0.0) | (one.quantity is Quantity.ALTITUDE))
        measured.append(
            Measured(
                quantity=Quantity.SPEED if one.quantity in SPEEDS else one.quantity,
                time=time[part],
                values=np.abs(values[part]) if one.quantity in SPEEDS else values[part],
                clock=one.file if one.file in unsure else None,
            )
        )
    return fuse(
        measured,
        burnout=marks.burnout,
        apogee=marks.apogee,
        spacing=max(constant / 3.0, 0.05),
        moving=record.time[0] >= -0.2 and float(record.speed[0]) > MOVING,
        burnout_known=bool(ready.of(Quantity.ACCELERATION)),
        rail_angle=rail_angle,
        saturated=any((one.left_out == LeftOut.SATURATED).any() for one in ready.sensors),
    )


def _surely_lifting_off(
    ready: Prepared,
    rough: Record,
    marks: Landmarks,
    atmosphere: Atmosphere,
    smoothing: float,
    rail_angle: float,
) -> Landmarks:
    """Return the marks with a lift-off no earlier than the fused speed says, where samples are few."""
    if not _slow(ready):
        return marks
    there, record, seen = _at_zero(ready, rough, marks)
    fused = _fused(there, record, seen, atmosphere, smoothing, rail_angle)
    moving = int((fused.speed > MOVING).argmax())
    push = max(float(fused.acceleration[moving]), 1.0)
    late = float(fused.time[moving] - fused.speed[moving] / push)
    shift = max(late, 0.0) - max(fused.clocks.values(), default=0.0)
    return replace(marks, lift_off=max(marks.lift_off + shift, float(rough.time[0])))


def _as_seen(
    ready: Prepared, record: Record, marks: Landmarks, fused: Fused, smoothing: float
) -> tuple[Record, Landmarks]:
    """Return the record with the altitudes that were used, on the clock they were moved to, none late."""
    lead = leading(ready)
    late = fused.lags.get(ready.sensors.index(lead), 0.0)
    moved = fused.clocks.get(lead.file, 0.0) - late
    time, altitude = binned(lead, constant=smoothing)
    time = time - late
    seen = Record(time=time, altitude=altitude, speed=np.interp(time, record.time + moved, record.speed))
    main = None if marks.main is None else marks.main + moved
    landing = None if marks.landing is None else marks.landing + moved
    return seen, replace(marks, main=main, landing=landing)


def _told(ready: Prepared, fused: Fused, rail_angle: float) -> list[str]:
    """Return what was assumed or found in fusing."""
    found = [
        f"the altitude comes {lag:.2f} s late by the other channels, which was allowed for: see flight.lag"
        for lag in fused.lags.values()
        if abs(lag) > _TOLD_LAG
    ]
    if not ready.of(*SPEEDS):
        angle = math.degrees(rail_angle)
        found.append(
            f"the speed follows from a path taken to leave at {angle:.3g} deg, and is 1 % off where that is "
            "4 deg off: see flight.rail_angle"
        )
    return found


def _slow(ready: Prepared) -> bool:
    spacings = [float(np.median(np.diff(one.time[one.used]))) for one in ready.of(*SPEEDS)]
    return min(spacings, default=0.0) > _SLOWEST_RATE


def _fused_way_up(fused: Fused, marks: Landmarks, smoothing: float) -> Path:
    step = max(0.25 * smoothing, marks.apogee / 4000.0, 0.02)
    boost = np.linspace(0.0, marks.burnout, int(marks.burnout / step) + 2)
    coast = np.linspace(marks.burnout, marks.apogee, int((marks.apogee - marks.burnout) / step) + 2)
    time = np.concatenate([boost, coast[1:]])
    altitude, speed, felt = fused.at(time)
    felt = drag_alone(time, speed=speed, felt=felt, burnout=marks.burnout)
    return Path(time=time, altitude=never_falling(altitude), speed=speed, axial_acceleration=felt)
