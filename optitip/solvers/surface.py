"""The heat flux through the outer surface at one instant, and over many instants for the balance.

q = film(t, T) (recovery(t) - T) + emissivity sigma (surroundings(t)^4 - T^4) + absorbed(t)
"""

from bisect import bisect_right
from typing import NamedTuple

import numpy as np

from optitip.arrays import FloatArray, IntArray
from optitip.solvers.body import Surface

# CODATA 2018, exact in the SI of 2019 to the digits given
STEFAN_BOLTZMANN = 5.670374419e-8


class Heat(NamedTuple):
    """Heat into the body at each surface node, ``(n_o,)`` [W] (or [W/K], [W/s]); the absorbed is radiated."""

    convected: FloatArray
    radiated: FloatArray


class SurfaceSlopes(NamedTuple):
    """The heat [W] at one instant, what it loses per kelvin of wall [W/K] and gains per second [W/s]."""

    heat: Heat
    in_wall: Heat
    in_time: Heat


class SurfaceFlux:
    """The surface with its table set to one instant; private to one march."""

    def __init__(self, surface: Surface) -> None:
        """Lay out the table so that one instant is one contiguous row."""
        self.nodes = surface.nodes
        self._area = surface.area
        self._radiator = surface.area * surface.emissivity * STEFAN_BOLTZMANN
        self._times: list[float] = surface.time.tolist()
        film, self._wall = surface.film, surface.wall
        if self._wall.size == 1:
            film = np.repeat(film, 2, axis=2)
            self._wall = np.array([self._wall[0], self._wall[0] + 1.0])
        self._film = film.reshape(film.shape[0], -1)
        # between these, one search gives the interval already held to the table
        self._inner_wall = self._wall[1:-1].copy()
        self._wall_step = 1.0 / np.diff(self._wall)
        self._row = np.arange(self.nodes.size) * self._wall.size
        self._recovery = surface.recovery
        self._absorbed = surface.area * surface.absorbed
        self._absorbs = bool(self._absorbed.any())
        self._surroundings: list[float] = surface.surroundings.tolist()
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
        self._film_rise = self._film[following] - self._film[row]
        self._film_now = share * self._film_rise
        self._film_now += self._film[row]
        self._recovery_rise = self._recovery[following] - self._recovery[row]
        self._recovery_now = self._recovery[row] + share * self._recovery_rise
        self._around_rise = self._surroundings[following] - self._surroundings[row]
        self._around_now = self._surroundings[row] + share * self._around_rise
        if self._absorbs:
            self._absorbed_rise = self._absorbed[following] - self._absorbed[row]
            self._absorbed_now = self._absorbed[row] + share * self._absorbed_rise

    def _cell(self, wall: FloatArray) -> tuple[IntArray, FloatArray, FloatArray]:
        cell = self._inner_wall.searchsorted(wall, side="right")
        per_kelvin = self._wall_step.take(cell)
        share = wall - self._wall.take(cell)
        share *= per_kelvin
        cell += self._row
        return cell, share, per_kelvin

    def heat(self, time: float, *, wall: FloatArray) -> Heat:
        """Return the heat [W] into each node at the wall's temperatures ``(n_o,)`` [K]."""
        self._set_instant(time)
        cell, share, _ = self._cell(wall)
        film = self._film_now.take(cell)
        rise = self._film_now.take(cell + 1)
        rise -= film
        rise *= _held(share)
        film += rise
        return self._heat(film, gap=self._recovery_now - wall, wall=wall)

    def slopes(self, time: float, *, wall: FloatArray) -> SurfaceSlopes:
        """Return the heat with its slopes: in the wall, never below zero; in time, just after ``time``."""
        self._set_instant(time)
        cell, share, per_kelvin = self._cell(wall)
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


def _held(share: FloatArray) -> FloatArray:
    held = np.maximum(share, 0.0)
    return np.minimum(held, 1.0, out=held)


def heat_over_time(surface: Surface, *, time: FloatArray, wall: FloatArray) -> Heat:
    """Return the heat [W] into each node at many instants: time ``(n,)`` [s], wall ``(n, n_o)`` [K].

    Written apart from ``SurfaceFlux``, so that the balance built on it is a second opinion.
    """
    share = np.interp(time, surface.time, np.arange(surface.time.size))
    row = np.minimum(share.astype(np.int64), max(surface.time.size - 2, 0))
    share -= row
    following = np.minimum(row + 1, surface.time.size - 1)
    column = np.interp(wall, surface.wall, np.arange(surface.wall.size))
    left = np.minimum(column.astype(np.int64), max(surface.wall.size - 2, 0))
    column -= left
    right = np.minimum(left + 1, surface.wall.size - 1)
    width = surface.nodes.size * surface.wall.size
    left += np.arange(0, width, surface.wall.size)
    right += np.arange(0, width, surface.wall.size)
    weight = share[:, None]
    film = (1.0 - weight) * _across(surface.film, row=row, left=left, right=right, share=column)
    film += weight * _across(surface.film, row=following, left=left, right=right, share=column)
    recovery = surface.recovery[row] + weight * (surface.recovery[following] - surface.recovery[row])
    around = np.interp(time, surface.time, surface.surroundings)[:, None]
    emitted = surface.emissivity * STEFAN_BOLTZMANN * (around**4 - wall**4)
    absorbed = surface.absorbed[row] + weight * (surface.absorbed[following] - surface.absorbed[row])
    return Heat(surface.area * film * (recovery - wall), surface.area * (emitted + absorbed))


def _across(
    film: FloatArray, *, row: IntArray, left: IntArray, right: IntArray, share: FloatArray
) -> FloatArray:
    """Return the film of each instant's own row between two places of it, ``(n, n_o)``."""
    start = (row * film[0].size)[:, None]
    between: FloatArray = film.take(start + left) * (1.0 - share)
    between += film.take(start + right) * share
    return between
