"""The heat flux through the outer surface at one instant, and over many instants for the balance.

q = film(t, T) (recovery(t) - T) + emissivity sigma (surroundings(t)^4 - T^4) + absorbed(t)
"""

from bisect import bisect_right
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from optitip.arrays import FloatArray, IntArray
from optitip.solvers.body import Surface

# CODATA 2018, exact in the SI of 2019 to the digits given
STEFAN_BOLTZMANN = 5.670374419e-8


class Heat(NamedTuple):
    """Heat into the body at each surface node, ``(n_states, n_o)`` [W] (or [W/K], [W/s]).

    The absorbed is among the radiated.
    """

    convected: FloatArray
    radiated: FloatArray


class SurfaceSlopes(NamedTuple):
    """The heat [W] at one instant, what it loses per kelvin of wall [W/K] and gains per second [W/s]."""

    heat: Heat
    in_wall: Heat
    in_time: Heat


class SurfaceFlux:
    """The surfaces of all states with their tables set to one instant; private to one march.

    The states' tables stand behind one another on the union of their times: a row is one instant of all.
    """

    def __init__(self, surfaces: Sequence[Surface]) -> None:
        """Lay out the tables so that one instant is one contiguous row."""
        first = surfaces[0]
        self.nodes = first.nodes
        self._shape = (len(surfaces), first.nodes.size)
        self._area = np.stack([one.area for one in surfaces])
        self._radiator = self._area * np.stack([one.emissivity for one in surfaces]) * STEFAN_BOLTZMANN
        time = np.unique(np.concatenate([one.time for one in surfaces]))
        self._times: list[float] = time.tolist()
        tables = [_at_times(one, time=time) for one in surfaces]
        self._film = np.concatenate([one.film.reshape(time.size, -1) for one in tables], axis=1)
        self._recovery = np.stack([one.recovery for one in tables], axis=1)
        self._absorbed = self._area * np.stack([one.absorbed for one in tables], axis=1)
        self._absorbs = bool(self._absorbed.any())
        self._surroundings = np.stack([one.surroundings for one in tables], axis=1)[..., None]
        self._walls = _WallColumns([one.wall for one in tables], nodes=first.nodes.size)
        self._now = np.nan

    def _set_instant(self, time: float) -> None:
        if time == self._now:
            return
        self._now = time
        last = len(self._times) - 1
        row = min(max(bisect_right(self._times, time) - 1, 0), max(last - 1, 0))
        following = min(row + 1, last)
        step = self._times[following] - self._times[row] or 1.0
        share = min(max((time - self._times[row]) / step, 0.0), 1.0)
        self._slope_scale = 1.0 / step if self._times[0] <= time < self._times[-1] else 0.0
        self._film_rise, self._film_now = _between(self._film, row, following, share=share)
        self._recovery_rise, self._recovery_now = _between(self._recovery, row, following, share=share)
        self._around_rise, self._around_now = _between(self._surroundings, row, following, share=share)
        if self._absorbs:
            self._absorbed_rise, self._absorbed_now = _between(self._absorbed, row, following, share=share)

    def heat(self, time: float, *, wall: FloatArray) -> Heat:
        """Return the heat [W] into each node at the wall's temperatures ``(n_states, n_o)`` [K]."""
        self._set_instant(time)
        cell, share, _ = self._walls.find(wall)
        film = self._film_now.take(cell)
        rise = self._film_now.take(cell + 1)
        rise -= film
        rise *= _held(share)
        film += rise
        return self._heat(film, gap=self._recovery_now - wall, wall=wall)

    def slopes(self, time: float, *, wall: FloatArray) -> SurfaceSlopes:
        """Return the heat with its slopes: in the wall, never below zero; in time, just after ``time``."""
        self._set_instant(time)
        cell, share, per_kelvin = self._walls.find(wall)
        held, gap, following = _held(share), self._recovery_now - wall, cell + 1
        film = self._film_now.take(cell)
        rise = self._film_now.take(following)
        rise -= film
        film += rise * held
        in_time = self._film_rise.take(cell)
        in_time += held * (self._film_rise.take(following) - in_time)
        in_time *= gap
        in_time += film * self._recovery_rise
        in_time *= self._area * self._slope_scale
        # where the table ends the film is held, and no longer follows the wall
        rise *= per_kelvin * (held == share)
        loss = film - rise * gap
        np.maximum(loss, 0.0, out=loss)
        loss *= self._area
        around = 4.0 * self._around_now**3 * self._around_rise * self._slope_scale
        radiated = self._radiator * around
        if self._absorbs:
            radiated += self._slope_scale * self._absorbed_rise
        return SurfaceSlopes(
            heat=self._heat(film, gap=gap, wall=wall),
            in_wall=Heat(loss, 4.0 * self._radiator * (wall * wall * wall)),
            in_time=Heat(in_time, radiated),
        )

    def _heat(self, film: FloatArray, *, gap: FloatArray, wall: FloatArray) -> Heat:
        film *= self._area
        film *= gap
        fourth = wall * wall
        fourth *= fourth
        radiated = self._radiator * (self._around_now**4 - fourth)
        if self._absorbs:
            radiated += self._absorbed_now
        return Heat(film, radiated)


class _WallColumns:
    """Where wall temperatures stand among the film's columns; like columns are sought at once."""

    def __init__(self, walls: Sequence[FloatArray], *, nodes: int) -> None:
        sizes = [wall.size for wall in walls]
        first = np.concatenate([[0], np.cumsum(np.array(sizes) * nodes)[:-1]])
        self._row = first[:, None] + np.arange(nodes) * np.array(sizes)[:, None]
        self._same = all(np.array_equal(wall, walls[0]) for wall in walls)
        # between these, one search gives the interval already held to the table
        self._inner = [wall[1:-1].copy() for wall in walls]
        self._walls = list(walls)
        self._per_kelvin = [1.0 / np.diff(wall) for wall in walls]

    def find(self, wall: FloatArray) -> tuple[IntArray, FloatArray, FloatArray]:
        """Return each temperature's left column, the share past it, and 1/spacing [1/K]."""
        if self._same:
            cell, share, per_kelvin = self._find(0, wall)
        else:
            found = [self._find(state, row) for state, row in enumerate(wall)]
            cell, share, per_kelvin = (np.stack(part) for part in zip(*found, strict=True))
        cell = cell + self._row
        return cell, share, per_kelvin

    def _find(self, state: int, wall: FloatArray) -> tuple[IntArray, FloatArray, FloatArray]:
        cell = self._inner[state].searchsorted(wall, side="right")
        per_kelvin = self._per_kelvin[state].take(cell)
        share = wall - self._walls[state].take(cell)
        share *= per_kelvin
        return cell, share, per_kelvin


def _between(rows: FloatArray, row: int, following: int, *, share: float) -> tuple[FloatArray, FloatArray]:
    """Return the rise from one row to the next, and the values a share of the way."""
    rise = rows[following] - rows[row]
    now = share * rise
    now += rows[row]
    return rise, now


class _Table(NamedTuple):
    wall: FloatArray
    film: FloatArray
    recovery: FloatArray
    surroundings: FloatArray
    absorbed: FloatArray


def _at_times(surface: Surface, *, time: FloatArray) -> _Table:
    """Return a surface's table at other times, its own among them; one wall temperature becomes two."""
    wall, film = surface.wall, surface.film
    if wall.size == 1:
        film, wall = np.repeat(film, 2, axis=2), np.array([wall[0], wall[0] + 1.0])
    recovery, around, absorbed = surface.recovery, surface.surroundings, surface.absorbed
    if not np.array_equal(time, surface.time):
        film, recovery, around, absorbed = (
            _straight(surface.time, values, time=time) for values in (film, recovery, around, absorbed)
        )
    return _Table(wall, film, recovery, around, absorbed)


def _straight(have: FloatArray, values: FloatArray, *, time: FloatArray) -> FloatArray:
    place = np.interp(time, have, np.arange(have.size))
    row = np.minimum(place.astype(np.int64), max(have.size - 2, 0))
    share = (place - row).reshape(-1, *[1] * (values.ndim - 1))
    rise = values[np.minimum(row + 1, have.size - 1)] - values[row]
    moved: FloatArray = values[row] + share * rise
    return moved


def _held(share: FloatArray) -> FloatArray:
    held = np.maximum(share, 0.0)
    return np.minimum(held, 1.0, out=held)


def heat_over_time(surface: Surface, *, time: FloatArray, wall: FloatArray) -> Heat:
    """Return the heat [W] into each node at many instants: time ``(n,)`` [s], wall ``(n, n_o)`` [K].

    Written apart from ``SurfaceFlux``, so that the balance built on it is a second opinion.
    """
    row, later = _placed(time, surface.time)
    column, hotter = _placed(wall, surface.wall)
    following, right = int(surface.time.size > 1), int(surface.wall.size > 1)
    width = surface.nodes.size * surface.wall.size
    cell = (row * width)[:, None] + np.arange(0, width, surface.wall.size)
    cell += column
    film = _across(surface.film, cell=cell, right=right, share=hotter)
    cell += following * width
    rise = _across(surface.film, cell=cell, right=right, share=hotter)
    weight = later[:, None]
    film += _share_of(rise, weight, before=film)
    recovery, absorbed = (
        values.take(row, axis=0) + weight * (values.take(row + following, axis=0) - values.take(row, axis=0))
        for values in (surface.recovery, surface.absorbed)
    )
    recovery -= wall
    film *= recovery
    film *= surface.area
    fourth = wall * wall
    fourth *= fourth
    radiated = np.interp(time, surface.time, surface.surroundings)[:, None] ** 4 - fourth
    radiated *= surface.emissivity * STEFAN_BOLTZMANN
    radiated += absorbed
    radiated *= surface.area
    return Heat(film, radiated)


def _placed(values: FloatArray, grid: FloatArray) -> tuple[IntArray, FloatArray]:
    """Return the entry of the grid below each value, held to its range, and the share past it."""
    share = np.interp(values, grid, np.arange(grid.size))
    entry = np.minimum(share.astype(np.int64), max(grid.size - 2, 0))
    share -= entry
    return entry, share


def _across(film: FloatArray, *, cell: IntArray, right: int, share: FloatArray) -> FloatArray:
    """Return the film between two places of each instant's own row, ``(n, n_o)``."""
    between: FloatArray = film.take(cell)
    between += _share_of(film.take(cell + right), share, before=between)
    return between


def _share_of(after: FloatArray, share: FloatArray, *, before: FloatArray) -> FloatArray:
    """Return a share of the rise from one to the other, written over what comes after."""
    after -= before
    after *= share
    return after
