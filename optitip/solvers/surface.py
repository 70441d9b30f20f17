"""The heat flux through the outer surface at one instant, and over many instants for the balance.

q = film(t, T) (recovery(t) - T) + emissivity sigma (surroundings(t)^4 - T^4)
"""

from bisect import bisect_right
from typing import NamedTuple

import numpy as np

from optitip.arrays import FloatArray, IntArray
from optitip.solvers.body import Surface

# CODATA 2018, exact in the SI of 2019 to the digits given
STEFAN_BOLTZMANN = 5.670374419e-8


class Heat(NamedTuple):
    """Heat into the body at each surface node: convected and radiated, ``(n_o,)`` [W] (or [W/K], [W/s])."""

    convected: FloatArray
    radiated: FloatArray


class SurfaceFlux:
    """The surface with its table set to one instant; private to one march."""

    def __init__(self, surface: Surface) -> None:
        """Lay out the table so that one instant is two contiguous rows."""
        self.nodes = surface.nodes
        self._area = surface.area
        self._radiator = surface.area * surface.emissivity * STEFAN_BOLTZMANN
        self._times: list[float] = surface.time.tolist()
        self._film, self._wall = surface.film, surface.wall
        if self._wall.size == 1:
            self._film = np.repeat(self._film, 2, axis=2)
            self._wall = np.array([self._wall[0], self._wall[0] + 1.0])
        self._wall_step = 1.0 / np.diff(self._wall)
        self._row = np.arange(self.nodes.size) * self._wall.size
        self._recovery = surface.recovery
        self._surroundings = surface.surroundings
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
        self._film_rise = (self._film[following] - self._film[row]).ravel()
        self._film_now = self._film[row].ravel() + share * self._film_rise
        self._recovery_rise = self._recovery[following] - self._recovery[row]
        self._recovery_now = self._recovery[row] + share * self._recovery_rise
        self._around_rise = float(self._surroundings[following] - self._surroundings[row])
        self._around_now = float(self._surroundings[row]) + share * self._around_rise

    def _cell(self, wall: FloatArray) -> tuple[IntArray, FloatArray, FloatArray]:
        cell = self._wall.searchsorted(wall, side="right")
        cell -= 1
        np.maximum(cell, 0, out=cell)
        np.minimum(cell, self._wall.size - 2, out=cell)
        per_kelvin = self._wall_step.take(cell)
        share = (wall - self._wall.take(cell)) * per_kelvin
        cell += self._row
        return cell, share, per_kelvin

    def heat(self, time: float, *, wall: FloatArray) -> Heat:
        """Return the heat [W] into each node at the wall's temperatures ``(n_o,)`` [K]."""
        self._set_instant(time)
        cell, share, _ = self._cell(wall)
        film = _between(self._film_now, cell=cell, share=share)
        film *= self._area
        film *= self._recovery_now - wall
        square = wall * wall
        return Heat(film, self._radiator * (self._around_now**4 - square * square))

    def slope_in_wall(self, time: float, *, wall: FloatArray) -> Heat:
        """Return what each heat loses per kelvin of wall [W/K], never below zero."""
        self._set_instant(time)
        cell, share, per_kelvin = self._cell(wall)
        rise = self._film_now.take(cell + 1) - self._film_now.take(cell)
        rise *= per_kelvin * ((share >= 0.0) & (share <= 1.0))
        film = _between(self._film_now, cell=cell, share=share) - rise * (self._recovery_now - wall)
        return Heat(np.maximum(film, 0.0) * self._area, 4.0 * self._radiator * wall**3)

    def slope_in_time(self, time: float, *, wall: FloatArray) -> Heat:
        """Return what each heat gains per second at a fixed wall [W/s], just after ``time``."""
        self._set_instant(time)
        cell, share, _ = self._cell(wall)
        film = _between(self._film_now, cell=cell, share=share)
        film_rise = _between(self._film_rise, cell=cell, share=share)
        convected = film_rise * (self._recovery_now - wall) + film * self._recovery_rise
        around = 4.0 * self._around_now**3 * self._around_rise * self._slope_scale
        return Heat(convected * (self._area * self._slope_scale), self._radiator * around)


def _between(table: FloatArray, *, cell: IntArray, share: FloatArray) -> FloatArray:
    held = np.minimum(np.maximum(share, 0.0), 1.0)
    low = table.take(cell)
    value = table.take(cell + 1)
    value -= low
    value *= held
    value += low
    return value


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
    node = np.arange(surface.nodes.size)
    before = surface.film[row[:, None], node, left] * (1.0 - column)
    before += surface.film[row[:, None], node, right] * column
    after = surface.film[following[:, None], node, left] * (1.0 - column)
    after += surface.film[following[:, None], node, right] * column
    weight = share[:, None]
    film = before + weight * (after - before)
    recovery = surface.recovery[row] + weight * (surface.recovery[following] - surface.recovery[row])
    around = np.interp(time, surface.time, surface.surroundings)[:, None]
    radiator = surface.area * surface.emissivity * STEFAN_BOLTZMANN
    return Heat(surface.area * film * (recovery - wall), radiator * (around**4 - wall**4))
