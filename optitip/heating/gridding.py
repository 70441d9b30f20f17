"""Rows in any order onto a grid of times, stations and wall temperatures; what stands between is told."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from optitip.arrays import FloatArray, IntArray
from optitip.errors import Mistake, UserMistakes

MOST_STATIONS = 2000
MOST_WALLS = 64
_SAME_PLACE = 1e-7  # [m]: stations closer than this are one
_SAME_RECOVERY = 1.0  # [K] between the rows of one point


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Grid:
    """A table's values on common times, stations and walls; ``notes`` say what was done to get there."""

    time: FloatArray
    station: FloatArray
    wall: FloatArray
    film: FloatArray
    """(n_t, n_s, n_w)"""
    others: Mapping[str, FloatArray]
    """(n_t, n_s) each"""
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Points:
    """The rows gathered by place: one for each time and station, sorted by both."""

    time: FloatArray
    station: FloatArray
    first: IntArray
    """(n_p,) where each point begins among the sorted rows"""


def gridded(rows: Mapping[str, FloatArray], *, place: str) -> Grid:
    """Return flat rows (n,) of ``time``, ``arc_length``, ``film``, others and maybe ``wall`` as a grid.

    Times may have stations of their own and points wall temperatures of their own: straight lines between
    them put all on the union of each, held outside their own range. A place given twice, and a single
    station at a time where others have more, raise UserMistakes under ``place``.
    """
    keys = ("wall", "arc_length", "time") if "wall" in rows else ("arc_length", "time")
    order = np.lexsort([rows[key] for key in keys])
    ordered = {key: values[order] for key, values in rows.items()}
    points = _points_of(ordered)
    mistakes = [*_doubled(ordered, keys=keys, place=place), *_lonely(points, place=place)]
    mistakes += _unlike_recovery(ordered, points, place=place)
    if mistakes:
        raise UserMistakes(mistakes)
    wall, film, notes = _on_walls(ordered, points)
    others = {
        key: ordered[key][points.first] for key in ordered.keys() - {"time", "arc_length", "wall", "film"}
    }
    names = list(others)
    stacked = np.column_stack([film, *(others[name] for name in names)])
    time, station, table, said = _on_stations(points, stacked)
    return Grid(
        time=time,
        station=station,
        wall=wall,
        film=table[..., : wall.size],
        others={name: table[..., wall.size + k] for k, name in enumerate(names)},
        notes=(*notes, *said),
    )


def between(segment: IntArray, place: FloatArray, values: FloatArray, *, wanted: FloatArray) -> FloatArray:
    """Return values (n, k) at ``wanted`` (m,) in each segment (n_seg, m, k): straight, held at its ends.

    ``segment`` (n,) numbers 0, 1, ... in order, ``place`` (n,) rising within each.

    >>> between(np.array([0, 0, 1]), np.array([0.0, 2.0, 0.0]), np.array([[0.0], [4.0], [7.0]]),
    ...     wanted=np.array([1.0, 3.0]))[..., 0].tolist()
    [[2.0, 4.0], [7.0, 7.0]]
    """
    known = np.unique(np.concatenate([place, wanted]))
    key = segment * known.size + np.searchsorted(known, place)
    start = np.flatnonzero(np.diff(segment, prepend=-1))
    last = np.append(start[1:], segment.size) - 1
    target = np.arange(start.size)[:, None] * known.size + np.searchsorted(known, wanted)
    right = np.clip(np.searchsorted(key, target), start[:, None], last[:, None])
    left = np.maximum(right - 1, start[:, None])
    apart = place[right] - place[left]
    share = np.where(apart > 0.0, (wanted - place[left]) / np.where(apart > 0.0, apart, 1.0), 0.0)
    share = np.clip(share, 0.0, 1.0)[..., None]
    result: FloatArray = (1.0 - share) * values[left] + share * values[right]
    return result


def _points_of(rows: Mapping[str, FloatArray]) -> _Points:
    changes = (np.diff(rows["time"]) != 0.0) | (np.diff(rows["arc_length"]) != 0.0)
    first = np.flatnonzero(np.concatenate([[True], changes]))
    return _Points(time=rows["time"][first], station=rows["arc_length"][first], first=first)


def _doubled(rows: Mapping[str, FloatArray], *, keys: tuple[str, ...], place: str) -> Iterator[Mistake]:
    same = np.logical_and.reduce([np.diff(rows[key]) == 0.0 for key in keys])
    if same.any():
        row = int(np.argmax(same))
        where = f"{rows['time'][row]:g} s and {1e3 * rows['arc_length'][row]:g} mm"
        where += f" at a wall of {rows['wall'][row]:g} K" if "wall" in rows else ""
        problem = f"more than one row at {where} ({int(same.sum())} rows too many)"
        yield Mistake(place, problem, "Give each time with each arc length exactly once")


def _lonely(points: _Points, *, place: str) -> Iterator[Mistake]:
    times, count = np.unique(points.time, return_counts=True)
    if times.size < 2:
        yield Mistake(place, "it has a single time", "Give at least two times")
    if count.min() == 1 < count.max():
        alone = times[count == 1]
        problem = f"a single station at {alone[0]:g} s ({alone.size} such times), where others have more"
        yield Mistake(place, problem, "Give each time its stations, from fore to aft")
    elif count.max() == 1 and np.ptp(points.station) > _SAME_PLACE:
        remedy = "Put all stations on common times"
        yield Mistake(place, "each of its times has a single station, and not the same one", remedy)


def _unlike_recovery(rows: Mapping[str, FloatArray], points: _Points, *, place: str) -> Iterator[Mistake]:
    """Yield the mistake of a recovery temperature that follows the wall's."""
    if "wall" not in rows:
        return
    spread = np.maximum.reduceat(rows["recovery"], points.first)
    spread -= np.minimum.reduceat(rows["recovery"], points.first)
    if spread.max() > _SAME_RECOVERY:
        k = int(np.argmax(spread))
        where = f"{points.time[k]:g} s and {1e3 * points.station[k]:g} mm"
        problem = f"the recovery temperature at {where} differs by {spread[k]:.3g} K between the walls"
        yield Mistake(place, problem, "Give one for each place, and let the film coefficient follow the wall")


def _on_walls(
    rows: Mapping[str, FloatArray], points: _Points
) -> tuple[FloatArray, FloatArray, tuple[str, ...]]:
    """Return the wall temperatures, the film of each point at them (n_p, n_w), and what was done."""
    film, wall = rows["film"], rows.get("wall")
    count = np.diff(points.first, append=film.size)
    if wall is None or count.max() == 1:
        return np.array([288.15]), film[:, None], ()
    if count.min() == count.max():
        each = wall.reshape(count.size, -1)
        if (each == each[0]).all():
            return each[0].copy(), film.reshape(each.shape), ()
    wanted = np.unique(wall)
    if wanted.size > MOST_WALLS:
        wanted = np.linspace(wanted[0], wanted[-1], MOST_WALLS)
    segment = np.repeat(np.arange(count.size), count)
    note = (
        f"its places have wall temperatures of their own; straight lines bring all to the same {wanted.size}"
    )
    return wanted, between(segment, wall, film[:, None], wanted=wanted)[..., 0], (note,)


def _on_stations(
    points: _Points, values: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray, tuple[str, ...]]:
    """Return times, stations, values (n_t, n_s, k) at them, and what was done."""
    time, row = np.unique(points.time, return_inverse=True)
    station = np.unique(points.station)
    if points.time.size == time.size * station.size:
        return time, station, values.reshape(time.size, station.size, -1), ()
    station = station[np.diff(station, prepend=-np.inf) > _SAME_PLACE]
    if station.size > MOST_STATIONS:
        chosen = np.linspace(0, station.size - 1, MOST_STATIONS).round().astype(np.int64)
        station = station[chosen]
    count = np.bincount(row)
    ends = np.flatnonzero(np.diff(row, prepend=-1))
    short = points.station[ends] > station[0] + _SAME_PLACE
    short |= points.station[np.append(ends[1:], row.size) - 1] < station[-1] - _SAME_PLACE
    few = f"{count.min()}" if count.min() == count.max() else f"{count.min()} to {count.max()}"
    notes = [
        f"its times have {few} stations of their own; straight lines bring all to the same {station.size}"
    ]
    if short.any():
        notes.append(f"at {int(short.sum())} of {time.size} times they end short, and the nearest is held")
    return time, station, between(row, points.station, values, wanted=station), tuple(notes)
