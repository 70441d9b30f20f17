"""Heat that a material takes beside warming: melting gives it back, boiling and decomposition don't."""

from dataclasses import dataclass

import numpy as np

from optitip.arrays import FloatArray

EDGE = 1e-4
"""Width [K] over which the heat capacity jumps where melting begins and ends."""

_FINENESS = 0.01  # of the distance from 0 degC: the trapezoids then hold the heat of ice to 2e-5


@dataclass(frozen=True, slots=True, kw_only=True)
class SpentHeat:
    """Heat that doesn't come back: ``latent_heat`` [J/m3] taken at ``temperature`` [K], once.

    Water that boils out of a volume of wet food, at 101325 Pa, or the decomposition of a volume of resin.
    """

    temperature: float
    latent_heat: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Melting:
    """Heat that comes back: ``latent_heat`` [J/m3] in all, taken from ``low`` to ``high`` [K] on warming."""

    low: float
    high: float
    latent_heat: float


def with_nodes(grid: FloatArray, more: FloatArray) -> FloatArray:
    """Return the rising grid with two more nodes or more; one of its own by a new one makes room.

    >>> with_nodes(np.array([0.0, 1.0, 2.0]), np.array([0.5, 1.00001])).tolist()
    [0.0, 0.5, 1.00001, 2.0]
    """
    wanted = np.unique(more)
    right = np.searchsorted(wanted, grid).clip(1, wanted.size - 1)
    nearest = np.minimum(np.abs(grid - wanted[right]), np.abs(grid - wanted[right - 1]))
    return np.sort(np.concatenate([grid[nearest > 0.5 * EDGE], wanted]))


def melting_nodes(low: float, high: float) -> FloatArray:
    """Return the temperatures [K] at which the heat capacity of melting evenly from low to high turns."""
    return np.array([low, low + EDGE, high - EDGE, high])


def freezing_nodes(low: float, freezing: float, *, zero: float = 273.15) -> FloatArray:
    """Return temperatures [K] from just above the freezing point down to ``low``, close where ice forms fast.

    The heat of ice falls with the square of the distance from ``zero``, so the steps grow with it.
    """
    t_f, coldest = freezing - zero, low - zero
    steps = int(np.ceil(np.log(coldest / t_f) / np.log1p(_FINENESS)))
    return np.concatenate([[freezing + EDGE], zero + np.geomspace(t_f, coldest, steps + 1)])


def even_melting(temperature: FloatArray, melting: Melting) -> FloatArray:
    """Return what melting adds to the heat capacity [J/(m3 K)] at the nodes of a grid [K].

    L/(high - low) between, straight to 0 within ``EDGE`` of each end, so that the trapezoidal integral is L.

    >>> wax = Melting(low=320.0, high=330.0, latent_heat=1e8)
    >>> at = melting_nodes(320.0, 330.0)
    >>> added = even_melting(at, wax)
    >>> round(float((0.5 * (added[1:] + added[:-1])) @ np.diff(at)))
    100000000
    """
    height = melting.latent_heat / (melting.high - melting.low - EDGE)
    inside = (temperature > melting.low + 0.5 * EDGE) & (temperature < melting.high - 0.5 * EDGE)
    return np.where(inside, height, 0.0)
