"""Units that a recorder's file names nowhere, and the axis of its acceleration, by a flight's physics."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from optitip.arrays import FloatArray
from optitip.errors import UserMistakes
from optitip.inputs.guesses import LOOK, Columns, Taken, taken_as
from optitip.inputs.labels import SI, TIME, unit_scale
from optitip.inputs.sampling import usual_step
from optitip.inputs.shapes import (
    GRAVITY,
    fall_at_apogee,
    gain,
    height_under,
    nearest,
    rise,
    start_level,
    tame,
    way_up,
)

_STEP, _SPAN = (2e-4, 5.0), (2.0, 4e5)  # [s] between rows, and of a whole file
_TIMES = {"s": 1.0, "ms": 1e-3, "us": 1e-6}
_TICKS = (
    *(1, 2, 4, 5, 8, 10, 16, 20, 25, 32, 40, 50, 60, 64, 75, 80, 100, 120, 125, 128, 150, 200, 250, 256, 400),
    *(500, 512, 800, 1000, 1024, 2000, 2048, 4096, 5000, 8192, 10000, 16384, 32768, 100000, 1000000),
)
_LEVELS = {"Pa": (5e4, 1.085e5), "hPa": (500.0, 1085.0), "kPa": (50.0, 108.5), "inHg": (15.5, 32.0)}
_LEVELS |= {"psi": (7.3, 15.5), "bar": (0.5, 1.085)}
_HEIGHTS = {"m": 1.0, "ft": 1.0 / 0.3048}
_SPEEDS = {"m/s": 1.0, "ft/s": 1.0 / 0.3048, "mph": 3600.0 / 1609.344, "km/h": 3.6}
_PUSHES = {"g0": 1.0 / GRAVITY, "m/s2": 1.0, "ft/s2": 1.0 / 0.3048, "0.001 g0": 1000.0 / GRAVITY}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Course:
    """A column's readings with the times of the rows they stand in, unscaled."""

    time: FloatArray
    values: FloatArray


def _course(columns: Columns, found: Mapping[str, Taken], quantity: str, *, scaled: bool = True) -> _Course:
    """Return a quantity's readings, in SI where its unit is known, against time, in seconds where it is."""
    time, taken = found[TIME], found[quantity]
    t, v = columns.values(time.index), columns.values(taken.index)
    known = np.isfinite(t) & np.isfinite(v)
    t, v = t[known], v[known]
    if time.unit:
        t = t * unit_scale(time.unit, "s")[1]
    if scaled and taken.unit:
        offset, factor = unit_scale(taken.unit, SI[quantity])
        v = offset + factor * v
    return _Course(time=t, values=tame(v) if v.size else v)


def _tellable(course: _Course) -> bool:
    return (
        course.time.size >= 20
        and float(np.ptp(course.values)) > 0.0
        and bool(np.all(np.diff(course.time) >= 0.0))
    )


def with_units(columns: Columns, found: Mapping[str, Taken]) -> tuple[dict[str, Taken], dict[int, str]]:
    """Return the columns with the units that are nowhere written told by plausibility, saying why.

    Beside them, by index, why a column was dropped that a label without a unit only seemed to name.
    """
    result, dropped = dict(found), {}
    if "pressure" in result and not result["pressure"].unit:
        told = _pressure_unit(columns, result["pressure"], alone=not {"altitude"} & set(result))
        if told is None:
            dropped[result.pop("pressure").index] = "it starts at no pressure that air has"
        else:
            result["pressure"] = told
    if not result[TIME].unit:
        result[TIME] = _time_unit(columns, result)
    if "altitude" in result and not result["altitude"].unit:
        result["altitude"] = _altitude_unit(columns, result)
    if "speed" in result and not result["speed"].unit:
        told = _speed_unit(columns, result)
        if told is None:
            dropped[result.pop("speed").index] = "it flies in no unit as far as the altitude climbs"
        else:
            result["speed"] = told
    if "mach" in result:
        result["mach"] = replace(result["mach"], unit=result["mach"].unit or "1")
    return result, dropped


def _told(taken: Taken, unit: str, why: str) -> Taken:
    return replace(taken, unit=unit, why=f"{taken.why}; {why}", guessed=True)


def _pressure_unit(columns: Columns, taken: Taken, *, alone: bool) -> Taken | None:
    values = columns.values(taken.index)
    level = start_level(values[np.isfinite(values)])
    for unit, (low, high) in _LEVELS.items():
        if low < level < high:
            return _told(taken, unit, f"no unit is written: it starts at {level:.5g}, as air does in {unit}")
    if not alone:
        return None
    place = f"{columns.sheet.file}, {columns.named(taken.index)}"
    raise UserMistakes.one(place, f"no unit of pressure fits a start at {level:.5g}", LOOK)


def _heights(columns: Columns, found: Mapping[str, Taken]) -> list[tuple[str, _Course]]:
    """Return the height [m] each way it may be read, on raw times, with the words for it."""
    ways: list[tuple[str, _Course]] = []
    if "pressure" in found:
        course = _course(columns, found, "pressure")
        ways.append(("the pressure", replace(course, values=height_under(course.values))))
    elif "altitude" in found:
        course = _course(columns, found, "altitude")
        units = [""] if found["altitude"].unit else list(_HEIGHTS)
        for unit in units:
            words = f"the altitude in {unit}" if unit else "the altitude"
            ways.append((words, replace(course, values=course.values / _HEIGHTS.get(unit, 1.0))))
    return [(words, course) for words, course in ways if _tellable(course)]


def _time_unit(columns: Columns, found: Mapping[str, Taken]) -> Taken:
    """Return the time with the unit that its steps allow and, where it is seen, g at the apogee asks for."""
    taken = found[TIME]
    cells = columns.cells(taken.index)
    if cells.clock:
        return replace(taken, unit="s", why=f"{taken.why}; it is written as clock time")
    values = cells.values[np.isfinite(cells.values)]
    step, span, whole = usual_step(values), float(np.ptp(values)), bool(np.all(values == np.round(values)))
    fits = {
        unit: factor
        for unit, factor in _TIMES.items()
        if _STEP[0] <= step * factor <= _STEP[1] and _SPAN[0] <= span * factor <= _SPAN[1]
    }
    counts = {
        words: seconds
        for words, course in _heights(columns, found)
        if (seconds := _count(columns, found, course)) is not None
    }
    rates = {f"1/{rate} s": 1.0 / rate for rate in _TICKS} if whole else {}
    named = {"tick", "ticks", "count", "counts"} & set(columns.labels[taken.index].name.casefold().split())
    choices = rates if named else fits
    for words, seconds in counts.items():
        if choices and (unit := nearest(seconds, choices, within=1.12)) and not named:
            why = f"no unit is written: in {unit} the fall to come at the apogee is one g by {words}"
            return _told(taken, unit, why)
    if counts and rates:
        return _ticks(taken, counts, rates)
    if not fits:
        place = f"{columns.sheet.file}, {columns.named(taken.index)}"
        raise UserMistakes.one(place, f"the time's unit can't be told from steps of {step:.4g}", LOOK)
    unit = next((one for one in ("ms", "us", "s") if one in fits), "") if whole else next(iter(fits))
    rate = 1.0 / (step * fits[unit])
    return _told(taken, unit, f"no unit is written: {unit} gives {rate:.4g} rows a second")


def _ticks(taken: Taken, counts: Mapping[str, float], rates: Mapping[str, float]) -> Taken:
    """Return the time with the round count a second that fits best, by whichever height fits it."""
    apart = {
        (words, unit): abs(math.log(seconds / length))
        for words, seconds in counts.items()
        for unit, length in rates.items()
    }
    (words, unit), *others = sorted(apart, key=lambda pair: apart[pair])
    why = (
        f"no unit is written: a count is about {counts[words]:.4g} s long by one g at the apogee and {words}"
    )
    near = [other for about, other in others if about == words and apart[about, other] < 0.03]
    if near:
        why += f"; {near[0]} would do nearly as well"
    return _told(taken, unit, why)


def _count(columns: Columns, found: Mapping[str, Taken], course: _Course) -> float | None:
    """Return how long a count of the time is [s] by g at the apogee, else by speed against height."""
    down = fall_at_apogee(course.time, course.values)
    by_fall = math.sqrt(down / GRAVITY) if down else None
    if "speed" not in found or not found["speed"].unit:
        return by_fall
    fast = _course(columns, found, "speed")
    flown = way_up(fast.time, fast.values, np.interp(fast.time, course.time, course.values))
    by_speed = 1.03 * rise(course.values) / flown if flown > 0.0 else None
    if by_fall is None or by_speed is None:
        return by_fall or by_speed
    # a height that was smoothed or lags falls otherwise than with g: the way flown decides
    return by_fall if 0.9 < by_fall / by_speed < 1.1 else by_speed


def _altitude_unit(columns: Columns, found: Mapping[str, Taken]) -> Taken:
    taken = found["altitude"]
    course = _course(columns, found, "altitude")
    if not _tellable(course):
        return _told(taken, "m", "no unit is written, and nothing in the file tells it: metres")
    if "pressure" in found:
        air = _course(columns, found, "pressure")
        unit = nearest(rise(course.values) / max(rise(height_under(air.values)), 1e-9), _HEIGHTS, within=1.3)
        if unit:
            return _told(taken, unit, f"no unit is written: in {unit} it climbs as the pressure says")
    down = fall_at_apogee(course.time, course.values)
    if down and (unit := nearest(down / GRAVITY, _HEIGHTS, within=1.35)):
        return _told(taken, unit, f"no unit is written: in {unit} it slows with one g before the apogee")
    if "speed" in found and found["speed"].unit:
        fast = _course(columns, found, "speed")
        flown = way_up(fast.time, fast.values, np.interp(fast.time, course.time, course.values))
        if flown > 0.0 and (unit := nearest(1.03 * rise(course.values) / flown, _HEIGHTS, within=1.4)):
            return _told(taken, unit, f"no unit is written: in {unit} it climbs as far as the speed flies")
    return _told(taken, "m", "no unit is written, and nothing in the file tells it: metres")


def _speed_unit(columns: Columns, found: Mapping[str, Taken]) -> Taken | None:
    taken = found["speed"]
    course = _course(columns, found, "speed")
    for words, high in _heights(columns, found):
        if not _tellable(course):
            break
        height = np.interp(course.time, high.time, high.values)
        ratio = way_up(course.time, course.values, height) / max(1.03 * rise(height), 1e-9)
        if unit := nearest(ratio, _SPEEDS, within=1.35):
            return _told(taken, unit, f"no unit is written: in {unit} it flies as far up as {words} climbs")
        return None
    return _told(taken, "m/s", "no unit is written, and nothing in the file tells it: metres a second")


def with_axis(columns: Columns, found: Mapping[str, Taken], *, choose: bool) -> dict[str, Taken]:
    """Return the columns with the acceleration's axis, sign and unit settled by the boost and the rest.

    ``choose`` lets another column of that quantity be taken than the first.
    """
    result = dict(found)
    if "acceleration" not in result:
        return result
    taken = result["acceleration"]
    others = [
        i for i, label in enumerate(columns.labels) if label.quantity == "acceleration" and label.rank < 4
    ]
    indices = others if choose and taken.index in others else [taken.index]
    gains = {
        index: gain(course.time, course.values)
        for index in indices
        if _tellable(
            course := _course(
                columns,
                {**result, "acceleration": Taken(index=index, quantity="acceleration", unit="", why="")},
                "acceleration",
            )
        )
    }
    if not gains:
        unit = taken.unit or "g0"
        return result | {"acceleration": replace(taken, unit=unit, guessed=not taken.unit)}
    best = max(gains, key=lambda index: abs(gains[index]))
    why = "by its name" if taken.why.startswith("by its name") else taken.why
    if len(gains) > 1:
        why = f"of {len(gains)} columns its reading moves most in the boost"
    chosen = (
        taken_as(columns, best, "acceleration", why)
        if not taken.unit or best != taken.index
        else replace(taken, why=why)
    )
    if not chosen.unit:
        chosen = _acceleration_unit(columns, result, chosen, abs(gains[best]))
    if gains[best] < 0.0 and not chosen.unit.startswith("-"):
        number = chosen.unit if chosen.unit[:1].isdigit() or chosen.unit[:1] == "." else f"1 {chosen.unit}"
        chosen = replace(
            chosen, unit=f"-{number}", why=f"{chosen.why}; its sign is turned: the boost reads negative"
        )
    return result | {"acceleration": chosen}


def _acceleration_unit(columns: Columns, found: Mapping[str, Taken], taken: Taken, gained: float) -> Taken:
    """Return the unit by what the sensor reads at rest, else by the speed that the boost gives."""
    values = columns.values(taken.index)
    rest = abs(start_level(values[np.isfinite(values)]))
    levels = {unit: GRAVITY * per for unit, per in _PUSHES.items()}
    if unit := nearest(rest, levels, within=1.25):
        return _told(taken, unit, f"no unit is written: at rest it reads {rest:.4g}, one g in {unit}")
    fastest = _fastest(columns, found)
    if fastest and (unit := nearest(gained / fastest, _PUSHES, within=1.8)):
        return _told(taken, unit, f"no unit is written: in {unit} the boost gives the speed that was flown")
    if rest > 100.0:
        return _told(
            taken, f"1/{rest:.0f} g0", f"no unit is written: at rest it reads {rest:.0f}, taken as one g"
        )
    return _told(taken, "g0", "no unit is written, and nothing in the file tells it: g")


def _fastest(columns: Columns, found: Mapping[str, Taken]) -> float:
    if "speed" in found:
        return float(np.quantile(np.abs(_course(columns, found, "speed").values), 0.999))
    for _, high in _heights(columns, found):
        # free of drag a climb of h takes at least this speed
        return math.sqrt(2.0 * GRAVITY * max(rise(high.values), 0.0))
    return 0.0
