"""A design's states in time as one system of equations: each node's enthalpy, the pocket, the borders' heat.

V e' = -K tau(e) + joints + surface + sinks + pocket;   Q' = the surface, radiation and sink heats, summed

Arrays are ``(n_states, n)``: the states share nothing but their steps. The sums ride in the same step as the
nodes: what the nodes gained is what crossed the borders, to round-off.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from optitip.arrays import FloatArray
from optitip.solvers import banded
from optitip.solvers.assembly import HeatModel
from optitip.solvers.body import Sink, Surface
from optitip.solvers.condensing import Condensing
from optitip.solvers.enclosure import PocketFlux
from optitip.solvers.enthalpy import Thermal, evaporated_part
from optitip.solvers.sums import summed
from optitip.solvers.surface import Heat, SurfaceFlux

# boiling holds the temperature: its slope is this share of the wet one's, so that the matrix stays regular
PLATEAU = 1e-6


class Places(NamedTuple):
    """Values at the nodes that borders and joints touch: ends of the pairs, outer, sink and pocket nodes."""

    first: FloatArray
    second: FloatArray
    outer: FloatArray
    sink: FloatArray
    facing: FloatArray


class HeatSystem:
    """The equations of one design in all its states; keeps what evaporated, so it serves one march only."""

    def __init__(
        self,
        models: Sequence[HeatModel],
        *,
        surfaces: Sequence[Surface],
        sinks: Sequence[Sink],
        evaporated: FloatArray,
        condensing: Condensing | None = None,
    ) -> None:
        """Lay out the unknowns: enthalpies [J/m3], a pocket [K], the borders' heats [J]."""
        model = self.model = models[0]
        self.states, self.nodes = len(models), model.volume.size
        self.surface = SurfaceFlux(surfaces)
        enclosed = [one.enclosure for one in models if one.enclosure is not None]
        self.pocket = PocketFlux(enclosed) if enclosed else None
        self.heats = self.nodes + (self.pocket is not None)
        empty = np.empty(0, dtype=np.int64)
        cold = condensing.nodes if condensing is not None else empty
        sizes = [*(sink.nodes.size for sink in sinks), *([cold.size] if cold.size else [])]
        sink_nodes = np.concatenate([empty, *(sink.nodes for sink in sinks), cold])
        conductance = np.concatenate(
            [np.empty(0), *(sink.conductance for sink in sinks), np.zeros(cold.size)]
        )
        self.sink_conductance = np.tile(conductance, (self.states, 1))
        held = np.repeat([sink.temperature for sink in sinks], [sink.nodes.size for sink in sinks])
        self.sink_temperature = held if condensing is None else np.append(held, condensing.temperature)
        self.cold = cold
        self.volume = np.stack([one.volume for one in models])
        self.mass = self._masses(border_count=2 + len(sizes))
        # one matrix and one table of joints where all states have the same
        self.stiffness = [one.stiffness for one in models]
        self.joints = model.joints.stacked([one.joints.area for one in models])
        # the heats in their order: convected, radiated (the same nodes twice), sunk; then the pocket's
        outer = self.surface.nodes
        self.borders = np.concatenate([outer, outer, sink_nodes])
        self.border_sum = _sums_of_borders(outer.size, sizes=sizes)
        facing = empty if self.pocket is None else self.pocket.nodes
        touched = np.concatenate([self.joints.both, self.borders, facing])
        self._touched = (touched + self.nodes * np.arange(self.states)[:, None]).ravel()
        # where temperatures are wanted: both ends of the pairs, the surface once, sinks, faces of the pocket
        self.wanted = np.concatenate([self.joints.both, outer, sink_nodes, facing])
        ends = [self.joints.first.size, self.joints.second.size, outer.size, sink_nodes.size]
        self._cuts = np.cumsum(ends).tolist()
        self.evaporated = evaporated
        width = model.stiffness.shape[0] - 1
        self.matrices = [banded.zeros(width, self.nodes) for _ in models]
        self.pair_positions = model.joints.positions(width=width)

    def _masses(self, *, border_count: int) -> FloatArray:
        ones = np.ones((self.states, border_count))
        pocket = np.empty((self.states, 0)) if self.pocket is None else self.pocket.heat_capacity
        return np.concatenate([self.volume, pocket, ones], axis=1)

    def begin(self, enthalpy: FloatArray, *, pocket: float) -> FloatArray:
        """Return the state ``(n_states, n)`` at the start, alike in all; pocket: its temperature [K]."""
        state = np.zeros_like(self.mass)
        state[:, : self.nodes] = enthalpy
        state[:, self.nodes : self.heats] = pocket
        return state

    def cut(self, wanted: FloatArray) -> Places:
        """Return the values of the wanted nodes apart by what they are wanted for."""
        first, second, outer, sink = self._cuts
        return Places(
            wanted[:, :first],
            wanted[:, first:second],
            wanted[:, second:outer],
            wanted[:, outer:sink],
            wanted[:, sink:],
        )

    def summed(self, weights: FloatArray) -> FloatArray:
        """Return the sums at the nodes ``(n_states, n_nodes)`` of weights at the touched ones."""
        size = self.states * self.nodes
        return summed(weights.ravel(), index=self._touched, size=size).reshape(self.states, -1)

    def sensible(self, state: FloatArray) -> FloatArray:
        """Return the nodes' enthalpies, what has evaporated taken off."""
        enthalpy = state[:, : self.nodes]
        return enthalpy - self._spent(enthalpy) if self.model.node_tables.boils else enthalpy

    def thermal(self, state: FloatArray) -> Thermal:
        """Return temperature, tau and their slopes at the state."""
        return self.model.node_tables.look_up(self.sensible(state))

    def _spent(self, enthalpy: FloatArray) -> FloatArray:
        tables = self.model.node_tables
        return evaporated_part(
            enthalpy, before=self.evaporated, saturated=tables.saturated, latent=tables.latent
        )

    def boiling(self, state: FloatArray, *, rate: FloatArray) -> FloatArray:
        """Return the share of the sensible slope each node answers with: ``PLATEAU`` while it boils, else 1.

        At what has evaporated so far the law bends: more heat boils on, less heat cools the node at once.
        """
        share = np.ones((self.states, self.nodes))
        tables = self.model.node_tables
        if tables.boils:
            over = state[:, : self.nodes] - tables.saturated
            boils = over >= self.evaporated
            boils &= over < tables.latent
            boils &= rate[:, : self.nodes] > 0.0
            share[boils] = PLATEAU
        return share

    def settle(self, state: FloatArray) -> None:
        """Take the evaporation of an accepted state as done: the body doesn't give it back."""
        if self.model.node_tables.boils:
            self.evaporated = self._spent(state[:, : self.nodes])

    def condense(self, conductance: FloatArray) -> None:
        """Set the conductance ``(n_states, n)`` [W/K] between the vapour and the cold side."""
        self.sink_conductance[:, self.sink_conductance.shape[1] - self.cold.size :] = conductance

    def rate(self, time: float, state: FloatArray) -> FloatArray:
        """Return the heat into each node and the pocket [W], then the border sums [W], positive inward."""
        tables = self.model.node_tables
        wanted, tau = tables.look_up_some(self.sensible(state), nodes=self.wanted)
        places = self.cut(wanted)
        heat = self.surface.heat(time, wall=places.outer)
        if self.pocket is None:
            return self.rate_at(places, tau=tau, heat=heat)
        air = state[:, self.nodes : self.heats]
        return self.rate_at(places, tau=tau, heat=heat, faced=self.pocket.heat(places.facing, pocket=air))

    def rate_at(
        self, places: Places, *, tau: FloatArray, heat: Heat, faced: FloatArray | None = None
    ) -> FloatArray:
        """Return the rate where temperatures [K], tau [K] and the sides' heats [W] are already known."""
        passed = self.joints.passed(places.first, second=places.second)
        sunk = self.sink_conductance * (self.sink_temperature - places.sink)
        rate = np.empty_like(self.mass)
        borders = np.concatenate([heat.convected, heat.radiated, sunk], axis=1)
        np.matmul(borders, self.border_sum.T, out=rate[:, self.heats :])
        weights = [-passed, passed, borders]
        if faced is not None:
            weights.append(faced)
            rate[:, self.nodes] = -faced.sum(axis=1)
        rate[:, : self.nodes] = self.summed(np.concatenate(weights, axis=1))
        # tau counts from any place: the less of it there is, the less heat is made of round-off
        for row, own, stiffness in zip(rate, tau, self.stiffness, strict=True):
            row[: self.nodes] += banded.multiply(stiffness, own - own[0], scale=-1.0)
        return rate


def _sums_of_borders(outer: int, *, sizes: Sequence[int]) -> FloatArray:
    """Return the matrix of ones that sums the borders' heats: convected, radiated, each sink."""
    kind = np.repeat(np.arange(2 + len(sizes)), [outer, outer, *sizes])
    return np.asarray(kind == np.arange(2 + len(sizes))[:, None], dtype=np.float64)
