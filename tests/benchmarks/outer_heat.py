"""The heat through the outer surface as the rivals reckon it: written apart from the march's own."""

from bisect import bisect_right
from typing import NamedTuple

import numpy as np

from optitip.solvers.body import Surface

STEFAN_BOLTZMANN = 5.670374419e-8


class Arriving(NamedTuple):
    """The heat into each surface node [W], and what it loses per kelvin of wall [W/K], never below 0."""

    heat: np.ndarray
    loss: np.ndarray


class OuterHeat:
    """Area times film (recovery - T) + emissivity sigma (surroundings^4 - T^4) + absorbed, all at t."""

    def __init__(self, surface: Surface) -> None:
        """Lay out the table so that an instant is one row."""
        self.nodes, self.area, self.wall = surface.nodes, surface.area, surface.wall
        if self.wall.size < 2:
            raise ValueError("the rivals know tables of several wall temperatures")
        self.radiator = surface.area * surface.emissivity * STEFAN_BOLTZMANN
        self.times = surface.time.tolist()
        n = len(self.times)
        film, absorbed = surface.film.reshape(n, -1), surface.area * surface.absorbed
        parts = film, surface.recovery, surface.surroundings[:, None], absorbed
        self.table = np.concatenate(parts, axis=1)
        self.cuts = np.cumsum([one.shape[1] for one in parts[:-1]]).tolist()
        self.columns = np.arange(self.nodes.size) * self.wall.size
        self._inner = self.wall[1:-1].copy()
        self._per_kelvin = 1.0 / np.diff(self.wall)

    def _now(self, time):
        row = min(max(bisect_right(self.times, time) - 1, 0), len(self.times) - 2)
        share = (time - self.times[row]) / (self.times[row + 1] - self.times[row])
        share = min(max(share, 0.0), 1.0)
        values = self.table[row] + share * (self.table[row + 1] - self.table[row])
        film, recovery, around = self.cuts
        return values[:film], values[film:recovery], values[recovery], values[around:]

    def at(self, time, *, wall) -> Arriving:
        """Return the heat at an instant [s] and the wall's temperatures (n_o,) [K]."""
        films, recovery, around, absorbed = self._now(time)
        cell = self._inner.searchsorted(wall, side="right")
        per_kelvin = self._per_kelvin[cell]
        share = (wall - self.wall[cell]) * per_kelvin
        held = np.clip(share, 0.0, 1.0)
        cell = cell + self.columns
        film = films[cell]
        rise = films[cell + 1] - film
        film = film + held * rise
        gap = recovery - wall
        square = wall * wall
        heat = self.area * film * gap + self.radiator * (around**4 - square * square) + absorbed
        loss = self.area * np.maximum(film - gap * rise * per_kelvin * (held == share), 0.0)
        return Arriving(heat, loss + 4.0 * self.radiator * square * wall)
