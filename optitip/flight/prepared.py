"""All channels of a flight on one clock, set by the lift-off in each file, cleaned: altitude, speed, push."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from optitip.arrays import BoolArray
from optitip.errors import UserMistakes
from optitip.flight.atmosphere import STANDARD_GRAVITY, Atmosphere
from optitip.flight.lift_off import BEST_FIRST, lift_off_of, next_ascent
from optitip.flight.sensors import (
    LeftOut,
    Sensor,
    cropped,
    felt,
    noise_of,
    sensor_of,
    without_flat_top,
    without_lag,
    without_spikes,
)
from optitip.flight.smoothing import running_median
from optitip.inputs.recording import Channel, Quantity
from optitip.inputs.study_tables import AltitudeAbove

FEWEST_ROWS = 10
SHORTEST_FLIGHT = 1.0  # [s]
_CLOCKS_APART = 5.0  # [s]: more than a lift-off is ever found off
_KEPT_OF_THE_PAD = 10.0  # [s]
_FALL = 15.0  # [m]: no vehicle falls while it climbs
_BEFORE_FALL, _AFTER_FALL = 1.2, 0.3  # [s]: a bump ends with its fall, so most of it lies before
_LONGEST_FALL = 4.0  # [s]: what lasts longer is no blip
_SCALED, _NOT_THIS_AIR = 0.02, 0.15  # of the site's pressure: told, and refused


@dataclass(frozen=True, slots=True, kw_only=True)
class Prepared:
    """The sensors of one flight on the clock of its first file."""

    sensors: tuple[Sensor, ...]
    lift_off: float
    """[s] as the best of the sensors has it"""
    free: frozenset[str]
    """files whose clock was set by their lift-off alone"""
    notes: tuple[str, ...]

    def of(self, *quantities: Quantity) -> tuple[Sensor, ...]:
        """Return the sensors of these quantities."""
        return tuple(one for one in self.sensors if one.quantity in quantities)

    def moved(self, seconds: Mapping[str, float], *, all_by: float = 0.0) -> "Prepared":
        """Return all with ``seconds`` added to the times of the files named, and ``all_by`` to everything."""
        sensors = [replace(one, time=one.time + seconds.get(one.file, 0.0) + all_by) for one in self.sensors]
        return replace(self, sensors=tuple(sensors), lift_off=self.lift_off + all_by)


def prepare(
    channels: Sequence[Channel],
    *,
    above: AltitudeAbove,
    atmosphere: Atmosphere,
    lag: float,
    spikes: float,
    clocks: Mapping[str, float],
    rail_angle: float,
    place: str,
) -> Prepared:
    """Return the channels on one clock, from ten seconds before lift-off, each in its final quantity.

    A pressure becomes an altitude, a Mach number stays one, accelerations are felt ones. Of several
    accelerations in a file the one with the strongest boost is kept. Arguments as in ``read_flight``.
    """
    sensors = [sensor_of(channel) for channel in channels]
    _check(sensors, place)
    files = list(dict.fromkeys(one.file for one in sensors))
    sensors = [one for file in files for one in _chosen([s for s in sensors if s.file == file])]
    best = {file: min((s for s in sensors if s.file == file), key=_rank) for file in files}
    lift_offs = {file: lift_off_of(one) for file, one in best.items()}
    known = {files[0]: 0.0, **clocks}
    _check_clocks(known, best, lift_offs)
    _check_starts(known, best, lift_offs)
    leader = min((file for file in files if file in known), key=lambda file: _rank(best[file]))
    lift_off = lift_offs[leader] + known[leader]
    shifts = {file: known.get(file, lift_off - lift_offs[file]) for file in files}
    first = min(files, key=lambda file: _rank(best[file]))
    lift_off = lift_offs[first] + shifts[first]
    sensors = [
        cropped(
            replace(one, time=one.time + shifts[one.file]), start=lift_off - _KEPT_OF_THE_PAD, stop=np.inf
        )
        for one in sensors
    ]
    notes: list[str] = []
    sensors = [without_spikes(one, spikes=spikes) for one in sensors]
    sensors = _of_one_flight(sensors, notes)
    heights = [
        _altitude(one, above=above, atmosphere=atmosphere, lag=lag, lift_off=lift_off, notes=notes)
        for one in sensors
        if one.quantity in {Quantity.ALTITUDE, Quantity.PRESSURE}
    ]
    if not heights:
        raise UserMistakes.one(place, "no altitude nor pressure is there", "Give a channel of one of the two")
    apogee = _apogee(heights[0])
    others = [
        _pushed(one, lift_off=lift_off, apogee=apogee, rail_angle=rail_angle)
        for one in sensors
        if one.quantity in _NOT_HEIGHTS
    ]
    ready = [*heights, *others]
    return Prepared(
        sensors=tuple(ready),
        lift_off=lift_off,
        free=frozenset(file for file in files if file not in known and file != first)
        | (frozenset({leader}) if first not in known else frozenset()),
        notes=(*notes, *_left_out_notes(ready)),
    )


_NOT_HEIGHTS = (Quantity.SPEED, Quantity.MACH, Quantity.ACCELERATION)


def _of_one_flight(sensors: list[Sensor], notes: list[str]) -> list[Sensor]:
    """Return the sensors up to where the next flight of the same record begins, if there is one."""
    for one in sensors:
        if one.quantity in {Quantity.ALTITUDE, Quantity.PRESSURE} and one.used.sum() >= FEWEST_ROWS:
            stop = next_ascent(one)
            if stop is not None:
                notes.append(
                    f"{one.label} lands and climbs again: one of its flights was read, that of the greatest "
                    "reading; for another begin at its rows with flight.columns.from_line"
                )
                return [cropped(each, start=-np.inf, stop=stop) for each in sensors]
    return sensors


def _check(sensors: Sequence[Sensor], place: str) -> None:
    if not sensors:
        raise UserMistakes.one(place, "no channel is there", "Give a record with an altitude or a pressure")
    for one in sensors:
        where = one.file or place
        backward = np.diff(one.time) <= 0.0
        if backward.any():
            problem = f"the time does not increase at {one.time[int(backward.argmax()) + 1]:g} s"
            raise UserMistakes.one(where, problem, "Put the rows in order")
        if one.used.sum() < FEWEST_ROWS:
            problem = f"only {one.used.sum()} rows hold the {one.quantity.value}"
            raise UserMistakes.one(where, problem, f"Give at least {FEWEST_ROWS} rows")
        if np.ptp(one.time) < SHORTEST_FLIGHT:
            problem = f"the rows of the {one.quantity.value} last {np.ptp(one.time):.2g} s"
            raise UserMistakes.one(where, problem, "Check the time's column and its unit")


def _check_clocks(
    clocks: Mapping[str, float], best: Mapping[str, Sensor], lift_offs: Mapping[str, float]
) -> None:
    """Raise where a given clock puts a file's own lift-off far from the first file's."""
    seen = {file: lift_offs[file] + clock for file, clock in clocks.items() if file in best}
    first = next(iter(seen))
    for file, lift_off in seen.items():
        under_way = any(lift_offs[one] <= best[one].time[0] for one in (file, first))
        late = lift_off - seen[first]
        if abs(late) > _CLOCKS_APART and not under_way:
            problem = (
                f"by its clock it lifts off {abs(late):.0f} s {'after' if late > 0.0 else 'before'} {first}"
            )
            raise UserMistakes.one(file, problem, "Give another clock, or leave it out to have it found")


def _check_starts(
    clocks: Mapping[str, float], best: Mapping[str, Sensor], lift_offs: Mapping[str, float]
) -> None:
    """Raise where a clock would be set by the lift-off of an acceleration that begins under way.

    Begun a second late, the fused speed lacks 11 %; a speed or an altitude tells how fast it begins.
    """
    unknown = [file for file in best if file not in clocks]
    for file in [next(iter(clocks)), *unknown] if unknown else []:
        one = best[file]
        if one.quantity is Quantity.ACCELERATION and lift_offs[file] <= one.time[one.used][0]:
            problem = f"{one.label} begins under way, so no lift-off in it sets its clock by the other files"
            raise UserMistakes.one(file, problem, "Give a second of it at rest, or the clock in flight.also")


def _rank(sensor: Sensor) -> int:
    return BEST_FIRST.index(sensor.quantity)


def _chosen(sensors: Sequence[Sensor]) -> list[Sensor]:
    """Return the sensors of one file without a Mach number beside a speed, and with one acceleration."""
    pushes = [one for one in sensors if one.quantity is Quantity.ACCELERATION]
    strongest = max(pushes, key=_strength) if pushes else None
    speeds = any(one.quantity is Quantity.SPEED for one in sensors)
    return [
        one
        for one in sensors
        if (one.quantity is not Quantity.ACCELERATION or one is strongest)
        and not (speeds and one.quantity is Quantity.MACH)
    ]


def _strength(sensor: Sensor) -> float:
    values = sensor.values[sensor.used]
    calm = running_median(values - np.median(values))
    return float(np.sort(np.abs(calm))[-max(calm.size // 500, 3) :].mean())


def _altitude(
    sensor: Sensor,
    *,
    above: AltitudeAbove,
    atmosphere: Atmosphere,
    lag: float,
    lift_off: float,
    notes: list[str],
) -> Sensor:
    """Return an altitude above the sea of an altitude or a pressure, without lag and without blips."""
    sensor = without_lag(sensor, lag=lag)
    if sensor.quantity is Quantity.PRESSURE:
        sensor = _of_pressure(sensor, atmosphere=atmosphere, lift_off=lift_off, notes=notes)
    elif above is AltitudeAbove.GROUND:
        sensor = replace(sensor, values=sensor.values + atmosphere.site_altitude)
    return sensor.without(_blips(sensor, lift_off=lift_off), LeftOut.TRANSONIC)


def _of_pressure(sensor: Sensor, *, atmosphere: Atmosphere, lift_off: float, notes: list[str]) -> Sensor:
    """Return the altitude of a pressure, its reading at rest taken as the site's own."""
    resting = sensor.used & (sensor.time < lift_off - 0.2)
    share = 1.0
    if resting.sum() >= 5:
        share = float(np.median(sensor.values[resting])) / atmosphere.site_pressure
    here, site = share * atmosphere.site_pressure / 100.0, atmosphere.site_pressure / 100.0
    if abs(share - 1.0) > _NOT_THIS_AIR:
        problem = f"{sensor.label} reads {here:.0f} hPa at rest, the site's air has {site:.0f} hPa"
        raise UserMistakes.one(sensor.file, problem, "Check the pressure's unit and the site's altitude")
    if abs(share - 1.0) > _SCALED:
        notes.append(
            f"{sensor.label} reads {here:.0f} hPa at rest and was scaled to the site's {site:.0f} hPa"
        )
    values = sensor.values / share
    lost = sensor.used & ~((values > 1.0) & (values < 1.2 * atmosphere.site_pressure))
    sensor = sensor.without(lost, LeftOut.SPIKE)
    height = atmosphere.altitude_of(np.where(sensor.used, values, atmosphere.site_pressure))
    return replace(sensor, quantity=Quantity.ALTITUDE, values=height)


def _blips(sensor: Sensor, *, lift_off: float) -> BoolArray:
    """Return which altitudes (n,) stand in or beside a fall of over 15 m during the climb."""
    used = np.flatnonzero(sensor.used)
    time, calm = sensor.time[used], running_median(sensor.values[used])
    apogee = _apogee(sensor)
    below = np.maximum.accumulate(calm) - calm
    least = max(_FALL, 8.0 * noise_of(sensor.values[used]))
    fallen = np.flatnonzero((below > least) & (time > lift_off + 0.2) & (time < apogee - 3.0))
    found = np.zeros(sensor.time.size, dtype=np.bool_)
    for run in np.split(fallen, np.flatnonzero(np.diff(fallen) > 1) + 1) if fallen.size else []:
        start, stop = float(time[run[0]]), float(time[run[-1]])
        if stop - start < _LONGEST_FALL:
            found |= (sensor.time > start - _BEFORE_FALL) & (sensor.time < stop + _AFTER_FALL)
    return found & (sensor.time > lift_off)


def _apogee(sensor: Sensor) -> float:
    time, values = sensor.time[sensor.used], sensor.values[sensor.used]
    half = int(np.clip(0.7 / float(np.median(np.diff(time))), 1, 100))
    step = max(half // 7, 1)
    t, z = time[::step], values[::step]
    half = max(half // step, 1)
    windows = np.lib.stride_tricks.sliding_window_view(np.pad(z, half, mode="edge"), 2 * half + 1)
    return float(t[int(np.median(windows, axis=1).argmax())])


def _pushed(sensor: Sensor, *, lift_off: float, apogee: float, rail_angle: float) -> Sensor:
    if sensor.quantity is not Quantity.ACCELERATION:
        return sensor
    at_rest = STANDARD_GRAVITY * math.sin(rail_angle)
    return felt(without_flat_top(sensor), lift_off=lift_off, apogee=apogee, at_rest=at_rest)


def _left_out_notes(sensors: Sequence[Sensor]) -> list[str]:
    said = {
        LeftOut.SPIKE: "stood off their neighbours",
        LeftOut.SATURATED: "stood at the sensor's limit",
        LeftOut.TRANSONIC: "stood at or beside a fall during the climb, as near Mach 1",
    }
    return [
        f"{one.label}: {count} samples were left out that {words}"
        for one in sensors
        for why, words in said.items()
        if (count := int((one.left_out == why).sum()))
    ]
