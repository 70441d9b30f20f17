"""Temperature from enthalpy: the march conserves enthalpy, so all else is a function of it.

Every material becomes one table on a uniform grid of enthalpy [J/m3]: a look-up is an index, not a search.
Between entries temperature and tau are linear. The march, its Jacobian and the way back from temperature
share that piecewise-linear law, so nothing is lost between them.
"""

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from optitip.arrays import FloatArray, IntArray, frozen, frozen_index
from optitip.errors import OutOfRange
from optitip.properties.materials import Material
from optitip.properties.phases import EDGE

CELLS = 4096
# near where a march starts: small values of tau lose less to round-off in differences
TAU_ZERO = 293.15
# the slope of tau in the cell ahead, over the own, from which the law breaks there
BREAK = 2.0
_CELLS_TO_ALIGN = 20  # so many: the table's end moves by 2.5 % at most


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class EnthalpyTable:
    """One material on a uniform grid of sensible enthalpy [J/m3].

    temperature ``(CELLS + 1,)`` [K]. tau ``(CELLS + 1,)`` [K]: integral of k/k_ref dT from ``TAU_ZERO``.
    The heat of melting, which comes back, is part of the sensible enthalpy. saturated: sensible enthalpy at
    which heat is spent for good, by boiling or decomposition [J/m3] (infinite without either); latent [J/m3].
    """

    lowest: float
    spacing: float
    temperature: FloatArray
    tau: FloatArray
    conductivity_reference: float
    saturated: float
    latent: float
    least_slope: float = 0.0
    """slope [m3 K/J] an error in enthalpy counts by at least: melting hides it from the temperature"""

    @property
    def boiling(self) -> float:
        """Return the temperature at ``saturated`` [K], infinite without boiling."""
        if not np.isfinite(self.saturated):
            return np.inf
        place = (self.saturated - self.lowest) / self.spacing
        return float(np.interp(place, np.arange(CELLS + 1), self.temperature))

    def enthalpy(self, temperature: FloatArray) -> FloatArray:
        """Return the sensible enthalpy [J/m3] at ``temperature`` [K], the exact inverse of the table."""
        grid = self.lowest + self.spacing * np.arange(CELLS + 1)
        enthalpy: FloatArray = np.interp(temperature, self.temperature, grid)
        return enthalpy


@lru_cache(maxsize=64)
def enthalpy_table(material: Material) -> EnthalpyTable:
    """Return the material's table; tau = integral of k/k_ref dT, zero and k_ref = k at ``TAU_ZERO`` [K]."""
    grid_temperature, k, c = material.temperature, material.conductivity, material.heat_capacity
    k_ref = float(np.interp(TAU_ZERO, grid_temperature, k))
    grid_tau = _running_integral(grid_temperature, k / k_ref)
    lowest, spacing = _grid(material)
    enthalpy = lowest + spacing * np.arange(CELLS + 1, dtype=np.float64)
    temperature = _inverse_integral(grid_temperature, c, material.enthalpy, enthalpy)
    tau = _integral_at(grid_temperature, k / k_ref, grid_tau, temperature)
    zero = _integral_at(grid_temperature, k / k_ref, grid_tau, np.array([TAU_ZERO]))
    table = EnthalpyTable(
        lowest=lowest,
        spacing=spacing,
        temperature=frozen(temperature),
        tau=frozen(tau - zero),
        conductivity_reference=k_ref,
        saturated=np.inf,
        latent=0.0,
        least_slope=_slope_beside_melting(material),
    )
    spent = material.spent_heat
    if spent is None:
        return table
    saturated = float(table.enthalpy(np.array([spent.temperature]))[0])
    return replace(table, saturated=saturated, latent=spent.latent_heat)


def _grid(material: Material) -> tuple[float, float]:
    """Return first value and spacing of the enthalpies [J/m3], laid so that melting ends on one of them.

    There the law bends sharply, and within a cell it is straight. Where melting takes cells enough to move
    the spacing but little, it begins on one as well.
    """
    low, high = float(material.enthalpy[0]), float(material.enthalpy[-1])
    spacing = (high - low) / CELLS
    if material.melting is None:
        return low, spacing
    first, last = (float(material.enthalpy_at(end)) for end in (material.melting.low, material.melting.high))
    cells = round((last - first) / spacing)
    if cells >= _CELLS_TO_ALIGN:
        spacing = (last - first) / cells
    return last - spacing * round((last - low) / spacing), spacing


def _slope_beside_melting(material: Material) -> float:
    """Return the temperature's slope in enthalpy [m3 K/J] just above or below melting; 0 without it."""
    if material.melting is None:
        return 0.0
    beside = np.array([material.melting.low, material.melting.high + EDGE])
    return float(1.0 / material.heat_capacity_at(beside).min())


class Thermal(NamedTuple):
    """What the enthalpies of all nodes say, each ``(..., n_nodes)``; slopes per sensible enthalpy [m3/J]."""

    temperature: FloatArray
    tau: FloatArray
    temperature_slope: FloatArray
    tau_slope: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NodeTables:
    """The tables of all materials behind one another, with what each node needs to find its own entry."""

    base: IntArray
    lowest: FloatArray
    per_spacing: FloatArray
    temperature: FloatArray
    temperature_rise: FloatArray
    tau: FloatArray
    tau_rise: FloatArray
    boils: bool
    saturated: FloatArray
    latent: FloatArray
    melts: bool
    least_slope: FloatArray

    def look_up(self, sensible: FloatArray) -> Thermal:
        """Return temperature, tau and their slopes at the sensible enthalpies ``(..., n_nodes)`` [J/m3]."""
        cell, place = self._place(sensible)
        temperature_rise = self.temperature_rise.take(cell)
        tau_rise = self.tau_rise.take(cell)
        temperature = place * temperature_rise
        temperature += self.temperature.take(cell)
        place *= tau_rise
        place += self.tau.take(cell)
        temperature_rise *= self.per_spacing
        tau_rise *= self.per_spacing
        return Thermal(temperature, place, temperature_rise, tau_rise)

    def slope_ahead(self, sensible: FloatArray, *, rate: FloatArray) -> FloatArray:
        """Return the slope of tau a step is solved with: its own, or a steeper one in the cell ahead.

        Where melting begins or ends the slope falls to a hundredth within one cell. A step solved with the
        smaller of the two slopes answers a hundred times too much once it is across, and a tight joint throws
        that back; with the steeper one it falls short, and the next stage makes it up. Only a slope ``BREAK``
        times the own counts: where the law is smooth, round-off in the sign of a rate must decide nothing.
        """
        cell, _ = self._place(sensible)
        ahead = cell + np.where(rate > 0.0, 1, -1)
        np.clip(ahead, self.base, self.base + (CELLS - 1), out=ahead)
        own = self.tau_rise.take(cell)
        slope: FloatArray = self.tau_rise.take(ahead)
        np.copyto(slope, own, where=(slope <= BREAK * own) | (self.least_slope == 0.0))
        slope *= self.per_spacing
        return slope

    def look_up_some(self, sensible: FloatArray, *, nodes: IntArray) -> tuple[FloatArray, FloatArray]:
        """Return the temperature of some nodes ``(..., n)`` and tau of all ``(..., n_nodes)``; no slopes."""
        cell, place = self._place(sensible)
        there = cell.take(nodes, axis=-1)
        temperature = self.temperature_rise.take(there)
        temperature *= place.take(nodes, axis=-1)
        temperature += self.temperature.take(there)
        place *= self.tau_rise.take(cell)
        place += self.tau.take(cell)
        return temperature, place

    def _place(self, sensible: FloatArray) -> tuple[IntArray, FloatArray]:
        place = sensible - self.lowest
        place *= self.per_spacing
        cell = place.astype(np.int64)
        np.maximum(cell, 0, out=cell)
        np.minimum(cell, CELLS - 1, out=cell)
        place -= cell
        cell += self.base
        return cell, place


def node_tables(tables: tuple[EnthalpyTable, ...], node_material: IntArray) -> NodeTables:
    """Return the look-up of a body whose node i is of the material ``node_material[i]``.

    The same object for the same question: designs of one topology and one choice of materials share it.
    """
    return _node_tables(tables, node_material.tobytes())


@lru_cache(maxsize=16)
def _node_tables(tables: tuple[EnthalpyTable, ...], written: bytes) -> NodeTables:
    node_material = np.frombuffer(written, dtype=np.int64)
    saturated = np.array([table.saturated for table in tables])[node_material]
    least_slope = np.array([table.least_slope for table in tables])[node_material]
    return NodeTables(
        base=frozen_index(node_material * CELLS),
        lowest=frozen(np.array([table.lowest for table in tables])[node_material]),
        per_spacing=frozen(1.0 / np.array([table.spacing for table in tables])[node_material]),
        temperature=frozen(np.concatenate([table.temperature[:-1] for table in tables])),
        temperature_rise=frozen(np.concatenate([np.diff(table.temperature) for table in tables])),
        tau=frozen(np.concatenate([table.tau[:-1] for table in tables])),
        tau_rise=frozen(np.concatenate([np.diff(table.tau) for table in tables])),
        boils=bool(np.isfinite(saturated).any()),
        saturated=frozen(saturated),
        latent=frozen(np.array([table.latent for table in tables])[node_material]),
        melts=bool(least_slope.any()),
        least_slope=frozen(least_slope),
    )


def start_enthalpy(
    temperature: FloatArray, *, tables: tuple[EnthalpyTable, ...], node_material: IntArray
) -> tuple[FloatArray, FloatArray]:
    """Return enthalpy and its spent part, ``(n_nodes,)`` [J/m3]; what starts above boiling starts dry."""
    enthalpy = np.empty_like(temperature)
    evaporated = np.zeros_like(temperature)
    for index, table in enumerate(tables):
        own = node_material == index
        _check_range(temperature[own], table=table)
        sensible = table.enthalpy(temperature[own])
        evaporated[own] = np.where(sensible > table.saturated, table.latent, 0.0)
        enthalpy[own] = sensible + evaporated[own]
    return enthalpy, evaporated


def _check_range(temperature: FloatArray, *, table: EnthalpyTable) -> None:
    low, high = float(table.temperature[0]), float(table.temperature[-1])
    coldest, hottest = float(temperature.min(initial=high)), float(temperature.max(initial=low))
    if coldest < low or hottest > high:
        raise OutOfRange(
            "start",
            f"{coldest:.4g} to {hottest:.4g} K leaves the tables' {low:.4g} to {high:.4g} K",
            "Start inside the range of the materials' tables",
        )


def evaporated_part(
    enthalpy: FloatArray, *, before: FloatArray, saturated: FloatArray, latent: FloatArray
) -> FloatArray:
    """Return the latent heat spent so far, D = max(D_before, clip(e - e_saturated, 0, L)) [J/m3].

    Vapour that left takes its heat with it, and what has decomposed stays so: D never falls, and temperature
    follows from e - D.

    >>> evaporated_part(
    ...     np.array([50.0, 130.0, 500.0, 90.0]),
    ...     before=np.array([0.0, 0.0, 0.0, 40.0]),
    ...     saturated=np.full(4, 100.0),
    ...     latent=np.full(4, 200.0),
    ... ).tolist()
    [0.0, 30.0, 200.0, 40.0]
    """
    spent: FloatArray = enthalpy - saturated
    np.minimum(spent, latent, out=spent)
    return np.maximum(spent, before, out=spent)


def _running_integral(x: FloatArray, y: FloatArray) -> FloatArray:
    return np.concatenate([[0.0], np.cumsum(0.5 * (y[1:] + y[:-1]) * np.diff(x))])


def _integral_at(x: FloatArray, y: FloatArray, integral: FloatArray, at: FloatArray) -> FloatArray:
    cell = np.clip(np.searchsorted(x, at, side="right") - 1, 0, x.size - 2)
    step = at - x[cell]
    slope = (np.diff(y) / np.diff(x))[cell]
    return integral[cell] + step * (y[cell] + 0.5 * slope * step)


def _inverse_integral(x: FloatArray, y: FloatArray, integral: FloatArray, value: FloatArray) -> FloatArray:
    cell = np.clip(np.searchsorted(integral, value, side="right") - 1, 0, x.size - 2)
    rest = value - integral[cell]
    slope = (np.diff(y) / np.diff(x))[cell]
    return x[cell] + 2.0 * rest / (y[cell] + np.sqrt(y[cell] ** 2 + 2.0 * slope * rest))
