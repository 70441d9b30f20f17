"""The way up out of prepared sensors: one speed smoothed as it is, or everything fused."""

import math
from dataclasses import dataclass, replace

import numpy as np

from optitip.arrays import FloatArray
from optitip.flight.atmosphere import Atmosphere
from optitip.flight.doubts import check_agreement
from optitip.flight.fusion import fuse
from optitip.flight.gaps import Gap, covered, gaps_in, refusals
from optitip.flight.landmarks import Landmarks
from optitip.flight.least_squares import Fused, Measured
from optitip.flight.lift_off import MOVING
from optitip.flight.prepared import Prepared
from optitip.flight.rough import SPEEDS, as_speed, fast, leading
from optitip.flight.sensors import LeftOut, binned, noise_of
from optitip.flight.smoothed import Record, drag_alone, from_lift_off, never_falling, way_up
from optitip.flight.timeline import Path, refuse
from optitip.inputs.recording import Quantity

_SLOWEST_RATE = 0.15  # [s] between samples: slower speeds are helped by the altitude's own
_NOISIEST = 0.015  # of a speed smoothed alone: at 2 % its peak scatters by 1.5 %, by 0.4 % when fused
_TOLD_LAG = 0.05  # [s]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WayUp:
    """The way up, with the sensors, the record and the landmarks on its clock, lift-off at 0."""

    path: Path
    ready: Prepared
    record: Record
    marks: Landmarks
    notes: tuple[str, ...]


def way_up_of(
    ready: Prepared,
    rough: Record,
    marks: Landmarks,
    *,
    atmosphere: Atmosphere,
    smoothing: float,
    gap: float,
    rail_angle: float,
    place: str,
) -> WayUp:
    """Return the way up as ``read_flight`` tells; a gap that nothing bridges is a mistake under ``place``."""
    plain, notes = _bridges(ready, rough, marks, atmosphere, gap, place)
    if plain:
        ready, record, marks = _at_zero(ready, rough, marks)
        path = way_up(record, marks, smoothing=smoothing)
        return WayUp(path=path, ready=ready, record=record, marks=marks, notes=tuple(notes))
    marks = replace(marks, lift_off=ready.lift_off)
    marks = _surely_lifting_off(ready, rough, marks, atmosphere, smoothing, rail_angle)
    ready, record, marks = _at_zero(ready, rough, marks)
    fused = _fused(ready, record, marks, atmosphere, smoothing, rail_angle)
    marks = replace(marks, burnout=fused.burnout, apogee=float(fused.time[-1]))
    path = _fused_way_up(fused, marks, smoothing)
    check_agreement(record, path, place=place)
    ready = ready.moved(fused.clocks)
    record, marks = _as_seen(ready, record, marks, fused, smoothing)
    notes += _told(ready, fused, rail_angle)
    return WayUp(path=path, ready=ready, record=record, marks=marks, notes=tuple(notes))


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
