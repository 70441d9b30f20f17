"""The body in time as one system of equations: each node's enthalpy, and beside it each border's heat.

V e' = -K tau(e) + joints + surface + sinks;   Q' = the same surface, radiation and sink heats, summed

The sums ride in the same step as the nodes: what the nodes gained is what crossed the borders, to round-off.
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from optitip.arrays import FloatArray
from optitip.solvers import banded
from optitip.solvers.assembly import HeatModel
from optitip.solvers.body import Sink, Surface
from optitip.solvers.enthalpy import Thermal, evaporated_part
from optitip.solvers.rodas import Solver
from optitip.solvers.sums import summed
from optitip.solvers.surface import Heat, SurfaceFlux

# boiling holds the temperature: its slope is this share of the wet one's, so that the matrix stays regular
PLATEAU = 1e-6


class Places(NamedTuple):
    """Values at the nodes that borders and joints touch: ends of the pairs, outer nodes, sink nodes."""

    first: FloatArray
    second: FloatArray
    outer: FloatArray
    sink: FloatArray


class HeatSystem:
    """The equations of one body under one heating; keeps what evaporated, so it serves one march only."""

    def __init__(
        self, model: HeatModel, *, surface: Surface, sinks: Sequence[Sink], evaporated: FloatArray
    ) -> None:
        """Lay out the unknowns: enthalpies [J/m3], then convected, radiated and sink heats [J]."""
        self.model = model
        self.nodes = model.volume.size
        self.surface = SurfaceFlux(surface)
        sizes = [sink.nodes.size for sink in sinks]
        sink_nodes = np.concatenate([np.empty(0, dtype=np.int64), *(sink.nodes for sink in sinks)])
        self.sink_conductance = np.concatenate([np.empty(0), *(sink.conductance for sink in sinks)])
        self.sink_temperature = np.repeat([sink.temperature for sink in sinks], sizes)
        self.mass = np.concatenate([model.volume, np.ones(2 + len(sizes))])
        # the heats in their order: convected, radiated (the same nodes twice), sunk
        outer = self.surface.nodes
        self.borders = np.concatenate([outer, outer, sink_nodes])
        self.border_sum = _sums_of_borders(outer.size, sizes=sizes)
        self.touched = np.concatenate([model.joints.both, self.borders])
        # where temperatures are wanted: both ends of the pairs, the surface once, the sinks
        self.wanted = np.concatenate([model.joints.both, outer, sink_nodes])
        self._cuts = np.cumsum([model.joints.first.size, model.joints.second.size, outer.size]).tolist()
        self.evaporated = evaporated
        self.matrix = banded.zeros(model.stiffness.shape[0] - 1, self.nodes)
        self.matrix_flat = banded.flat(self.matrix)
        self.pair_positions = model.joints.positions(width=model.stiffness.shape[0] - 1)

    def cut(self, wanted: FloatArray) -> Places:
        """Return the values of the wanted nodes apart by what they are wanted for."""
        first, second, outer = self._cuts
        return Places(wanted[:first], wanted[first:second], wanted[second:outer], wanted[outer:])

    def sensible(self, state: FloatArray) -> FloatArray:
        """Return the nodes' enthalpies, what has evaporated taken off."""
        enthalpy = state[: self.nodes]
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
        share = np.ones(self.nodes)
        tables = self.model.node_tables
        if tables.boils:
            over = state[: self.nodes] - tables.saturated
            boils = over >= self.evaporated
            boils &= over < tables.latent
            boils &= rate[: self.nodes] > 0.0
            share[boils] = PLATEAU
        return share

    def settle(self, state: FloatArray) -> None:
        """Take the evaporation of an accepted state as done: it doesn't come back."""
        if self.model.node_tables.boils:
            self.evaporated = self._spent(state[: self.nodes])

    def rate(self, time: float, state: FloatArray) -> FloatArray:
        """Return the heat into each node [W], then the border sums [W], positive into the body."""
        tables = self.model.node_tables
        wanted, tau = tables.look_up_some(self.sensible(state), nodes=self.wanted)
        places = self.cut(wanted)
        return self.rate_at(places, tau=tau, heat=self.surface.heat(time, wall=places.outer))

    def rate_at(self, places: Places, *, tau: FloatArray, heat: Heat) -> FloatArray:
        """Return the rate where temperatures [K], tau [K] and the surface's heat [W] are already known."""
        passed = self.model.joints.passed(places.first, second=places.second)
        sunk = self.sink_conductance * (self.sink_temperature - places.sink)
        weights = np.concatenate([-passed, passed, heat.convected, heat.radiated, sunk])
        rate = np.empty(self.mass.size)
        body = rate[: self.nodes]
        body[:] = summed(weights, index=self.touched, size=self.nodes)
        body += banded.multiply(self.model.stiffness, tau, scale=-1.0)
        rate[self.nodes :] = self.border_sum @ weights[2 * passed.size :]
        return rate

    def linearise(self, time: float, state: FloatArray) -> "LinearisedHeat":
        """Return the system at one instant, ready for a step."""
        return LinearisedHeat(self, time=time, state=state)


def _sums_of_borders(outer: int, *, sizes: Sequence[int]) -> FloatArray:
    """Return the matrix of ones that sums the borders' heats: convected, radiated, each sink."""
    kind = np.repeat(np.arange(2 + len(sizes)), [outer, outer, *sizes])
    return np.asarray(kind == np.arange(2 + len(sizes))[:, None], dtype=np.float64)


class LinearisedHeat:
    """The heat system at one instant, symmetric in the unknown x = c d tau: k = (de/dx) x.

    c, one number a material, is the mean of dT/dtau over its joint ends at this instant: there x is the rise
    of temperature, and the pair block h A [1 -1; -1 1] is right for unlike metals whose k varies.
    """

    def __init__(self, system: HeatSystem, *, time: float, state: FloatArray) -> None:
        """Evaluate the rate, its slope in time and the diagonals of the Jacobian."""
        self.time, self.state, self._system = time, state, system
        model, joints = system.model, system.model.joints
        self.thermal = system.thermal(state)
        places = system.cut(self.thermal.temperature.take(system.wanted))
        surface = system.surface.slopes(time, wall=places.outer)
        self.rate = system.rate_at(places, tau=self.thermal.tau, heat=surface.heat)
        self.rate_slope = self._slope_in_time(surface.in_time)
        kelvin_per_x = self.thermal.temperature_slope / self.thermal.tau_slope
        ends = kelvin_per_x.take(joints.both)
        scale = joints.mean_by_material(ends).take(model.node_material)
        kelvin_per_x /= scale
        stretch = system.cut(kelvin_per_x.take(system.wanted))
        self._pairs = joints.slope(places.first, second=places.second)
        self._pairs *= np.sqrt(stretch.first * stretch.second)
        borders = np.concatenate(
            [
                surface.in_wall.convected * stretch.outer,
                surface.in_wall.radiated * stretch.outer,
                system.sink_conductance * stretch.sink,
            ]
        )
        self._border_loss = system.border_sum * borders
        weights = np.concatenate([self._pairs, self._pairs, borders])
        self._diagonal = summed(weights, index=system.touched, size=system.nodes)
        self._boiling = system.boiling(state, rate=self.rate)
        self._tau_per_x = 1.0 / scale
        self._enthalpy_per_x = self._tau_per_x / (self.thermal.tau_slope * self._boiling)

    def _slope_in_time(self, heat: Heat) -> FloatArray:
        system = self._system
        slope = np.zeros(system.mass.size)
        slope[system.surface.nodes] = heat.convected + heat.radiated
        slope[system.nodes] = heat.convected.sum()
        slope[system.nodes + 1] = heat.radiated.sum()
        return slope

    def warming(self, state_slope: FloatArray) -> FloatArray:
        """Return how fast each node warms [K/s] at this slope of the state, near 0 while it boils."""
        warming: FloatArray = state_slope[: self._system.nodes] * self.thermal.temperature_slope
        warming *= self._boiling
        return warming

    def solver(self, length: float) -> Solver:
        """Return the solver of M/length - J: one banded Cholesky factorisation."""
        system = self._system
        np.multiply(system.model.stiffness, self._tau_per_x, out=system.matrix)
        system.matrix[-1] += system.model.volume * self._enthalpy_per_x / length + self._diagonal
        system.matrix_flat[system.pair_positions] -= self._pairs
        factor = banded.factorise(system.matrix)

        def solve(right: FloatArray) -> FloatArray:
            nodes = system.nodes
            x = factor.solve(right[:nodes])
            gain = np.empty(right.size)
            np.multiply(x, self._enthalpy_per_x, out=gain[:nodes])
            lost = self._border_loss @ x.take(system.borders)
            gain[nodes:] = length * (right[nodes:] - lost)
            return gain

        return solve
