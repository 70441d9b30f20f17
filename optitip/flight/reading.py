"""The flight in what one recorder or several wrote down, and what was used of it."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from optitip.errors import Mistake, OutOfRange, UserMistakes
from optitip.flight.ascending import WayUp, way_up_of
from optitip.flight.atmosphere import Atmosphere
from optitip.flight.descent import DescentPlan
from optitip.flight.doubts import doubts_of_path, doubts_of_start
from optitip.flight.gaps import LONGEST_GAP
from optitip.flight.landmarks import Landmarks, find_landmarks
from optitip.flight.lift_off import LOWEST_FLIGHT
from optitip.flight.prepared import prepare
from optitip.flight.rough import fast, rough_record
from optitip.flight.sensors import Sensor
from optitip.flight.smoothed import Record, carried_on, way_down
from optitip.flight.smoothing import running_median
from optitip.flight.timeline import Path, assemble, check_waits, join, refuse
from optitip.flight.trajectory import Flight
from optitip.flight.turning import RAIL_ANGLE
from optitip.inputs.recording import Channel
from optitip.inputs.study_tables import AltitudeAbove

LONGEST_SMOOTHING = 2.0  # [s]: beyond it the boost itself is smoothed away
LONGEST_LAG = 5.0  # [s]
DEEPEST = -100.0  # [m above sea level]: a barometer's noise and drift stay above


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Reading:
    """A recorded flight beside what it was read from."""

    flight: Flight
    sensors: tuple[Sensor, ...]
    """the channels as they were taken, on the flight's clock, with what was left out"""
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
    up = way_up_of(
        ready,
        rough,
        marks,
        atmosphere=atmosphere,
        smoothing=smoothing,
        gap=gap,
        rail_angle=rail_angle,
        place=place,
    )
    path, events, doubts = _to_the_landing(up, plan, atmosphere, smoothing)
    flight = assemble(
        path,
        atmosphere=atmosphere,
        attitude=plan.attitude,
        rail_angle=0.5 * np.pi,
        events=events,
        pad=pad,
        soak=soak,
        warnings=[*ready.notes, *doubts_of_start(rough, marks, atmosphere), *up.notes, *doubts],
    )
    return Reading(flight=flight, sensors=up.ready.sensors, used=path)


def _to_the_landing(
    up: WayUp, plan: DescentPlan, atmosphere: Atmosphere, smoothing: float
) -> tuple[Path, dict[str, float], list[str]]:
    """Return the whole path, its events and what is doubtful in it; a fall not recorded is reckoned."""
    marks = up.marks
    down = way_down(up.record, marks, smoothing=smoothing, attitude=plan.attitude)
    path = join([up.path, down]) if down.time.size else up.path
    doubts = doubts_of_path(up.record, path, marks)
    main, landing = marks.main, marks.landing
    if landing is None:
        rest = carried_on(path, plan, atmosphere)
        main, landing = rest.main if main is None else main, rest.landing
        doubts.append(f"the record ends {path.time[-1]:.1f} s after lift-off; the descent's settings go on")
        path = join([path, rest.path])
    events = {"burnout": marks.burnout, "apogee": marks.apogee}
    events |= {"main": marks.apogee if main is None else main, "landing": landing}
    return path, events, doubts


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
