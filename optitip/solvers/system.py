"""The body in time as one system of equations: each node's enthalpy, and beside it each border's heat.

V e' = -K tau(e) + joints + surface + sinks;   Q' = the same surface, radiation and sink heats, summed

The sums ride in the same step as the nodes: what the nodes gained is what crossed the borders, to round-off.
"""

from collections.abc import Sequence

import numpy as np

from optitip.arrays import FloatArray
from optitip.solvers import banded
from optitip.solvers.assembly import HeatModel
from optitip.solvers.body import Sink, Surface
from optitip.solvers.enthalpy import Thermal, evaporated_part
from optitip.solvers.rodas import Solver
from optitip.solvers.sums import summed
from optitip.solvers.surface import SurfaceFlux

# boiling holds the temperature: its slope is this share of the wet one's, so that the matrix stays regular
PLATEAU = 1e-6


class HeatSystem:
    """The equations of one body under one heating; keeps what evaporated, so it serves one march only."""

    def __init__(
        self, model: HeatModel, *, surface: Surface, sinks: Sequence[Sink], evaporated: FloatArray
    ) -> None:
        """Lay out the unknowns: enthalpies [J/m3], then convected, radiated and sink heats [J]."""
        self.model = model
        self.nodes = model.volume.size
        self.surface = SurfaceFlux(surface)
        empty = np.empty(0)
        self.sink_nodes = np.concatenate([np.empty(0, dtype=np.int64), *(sink.nodes for sink in sinks)])
        self.sink_conductance = np.concatenate([empty, *(sink.conductance for sink in sinks)])
        sizes = [sink.nodes.size for sink in sinks]
        self.sink_temperature = np.repeat([sink.temperature for sink in sinks], sizes)
        self.sink_count = len(sizes)
        self.sink_of_node = np.repeat(np.arange(self.sink_count), sizes)
        self.mass = np.concatenate([model.volume, np.ones(2 + self.sink_count)])
        self.border_nodes = np.concatenate([self.surface.nodes, self.sink_nodes])
        self.touched = np.concatenate([model.joints.both, self.border_nodes])
        self.evaporated = evaporated
        self._wet_evaporated = evaporated[model.node_tables.boiling_nodes]
        self.matrix = banded.zeros(model.stiffness.shape[0] - 1, self.nodes)
        self.matrix_flat = banded.flat(self.matrix)
        self.pair_positions = model.joints.positions(width=model.stiffness.shape[0] - 1)

    def thermal(self, state: FloatArray) -> Thermal:
        """Return temperature and tau at the enthalpies, what has evaporated taken off first."""
        tables = self.model.node_tables
        sensible = state[: self.nodes]
        if tables.boiling_nodes.size:
            sensible = sensible.copy()
            sensible[tables.boiling_nodes] -= self._spent(state)
        return tables.look_up(sensible)

    def _spent(self, state: FloatArray) -> FloatArray:
        tables = self.model.node_tables
        return evaporated_part(
            state[tables.boiling_nodes],
            before=self._wet_evaporated,
            saturated=tables.saturated,
            latent=tables.latent,
        )

    def boiling(self, state: FloatArray, *, rate: FloatArray) -> FloatArray:
        """Return the share of the sensible slope each node answers with: ``PLATEAU`` while it boils, else 1.

        At what has evaporated so far the law bends: more heat boils on, less heat cools the node at once.
        """
        share = np.ones(self.nodes)
        tables = self.model.node_tables
        if tables.boiling_nodes.size:
            over = state[tables.boiling_nodes] - tables.saturated
            boils = (
                (over >= self._wet_evaporated) & (over < tables.latent) & (rate[tables.boiling_nodes] > 0.0)
            )
            share[tables.boiling_nodes[boils]] = PLATEAU
        return share

    def settle(self, state: FloatArray) -> None:
        """Take the evaporation of an accepted state as done: it doesn't come back."""
        nodes = self.model.node_tables.boiling_nodes
        if nodes.size:
            self._wet_evaporated = self._spent(state)
            self.evaporated = self.evaporated.copy()
            self.evaporated[nodes] = self._wet_evaporated

    def rate(self, time: float, state: FloatArray) -> FloatArray:
        """Return the heat into each node [W], then the border sums [W], positive into the body."""
        return self.rate_at(time, self.thermal(state))

    def rate_at(self, time: float, thermal: Thermal) -> FloatArray:
        """Return the rate where the temperatures are already known."""
        temperature = thermal.temperature
        passed = self.model.joints.passed(temperature)
        heat = self.surface.heat(time, wall=temperature.take(self.surface.nodes))
        sunk = self.sink_conductance * (self.sink_temperature - temperature.take(self.sink_nodes))
        weights = np.concatenate([-passed, passed, heat.convected + heat.radiated, sunk])
        rate = np.empty(self.mass.size)
        body = rate[: self.nodes]
        body[:] = banded.multiply(self.model.stiffness, thermal.tau, scale=-1.0)
        body += summed(weights, index=self.touched, size=self.nodes)
        rate[self.nodes] = heat.convected.sum()
        rate[self.nodes + 1] = heat.radiated.sum()
        rate[self.nodes + 2 :] = self.sink_sums(sunk)
        return rate

    def sink_sums(self, heat: FloatArray) -> FloatArray:
        """Return the sum over each sink of what its nodes have."""
        return summed(heat, index=self.sink_of_node, size=self.sink_count)

    def linearise(self, time: float, state: FloatArray) -> "LinearisedHeat":
        """Return the system at one instant, ready for a step."""
        return LinearisedHeat(self, time=time, state=state)


class LinearisedHeat:
    """The heat system at one instant, symmetric in the unknown x = c d tau: k = (de/dx) x.

    c, one number a material, is the mean of dT/dtau over its joint ends at this instant: there x is the rise
    of temperature, and the pair block h A [1 -1; -1 1] is right for unlike metals whose k varies.
    """

    def __init__(self, system: HeatSystem, *, time: float, state: FloatArray) -> None:
        """Evaluate the rate, its slope in time and the diagonals of the Jacobian."""
        self.time, self.state, self._system = time, state, system
        self.thermal = system.thermal(state)
        self.rate = system.rate_at(time, self.thermal)
        temperature = self.thermal.temperature
        wall = temperature.take(system.surface.nodes)
        self.rate_slope = self._slope_in_time(wall)
        kelvin_per_x = self.thermal.temperature_slope / self.thermal.tau_slope
        scale = system.model.joints.mean_by_material(kelvin_per_x).take(system.model.node_material)
        kelvin_per_x /= scale
        slope = system.surface.slope_in_wall(time, wall=wall)
        stretch = kelvin_per_x.take(system.border_nodes)
        border = system.surface.nodes.size
        self._convected = slope.convected * stretch[:border]
        self._radiated = slope.radiated * stretch[:border]
        self._sunk = system.sink_conductance * stretch[border:]
        joints = system.model.joints
        self._pairs = joints.slope(temperature) * np.sqrt(
            kelvin_per_x.take(joints.first) * kelvin_per_x.take(joints.second)
        )
        weights = np.concatenate([self._pairs, self._pairs, self._convected + self._radiated, self._sunk])
        self._diagonal = summed(weights, index=system.touched, size=system.nodes)
        self._boiling = system.boiling(state, rate=self.rate)
        self._tau_per_x = 1.0 / scale
        self._enthalpy_per_x = self._tau_per_x / (self.thermal.tau_slope * self._boiling)

    def _slope_in_time(self, wall: FloatArray) -> FloatArray:
        system = self._system
        slope = np.zeros(system.mass.size)
        heat = system.surface.slope_in_time(self.time, wall=wall)
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
            nodes, surface_nodes = system.nodes, system.surface.nodes
            x = factor.solve(right[:nodes])
            gain = np.empty_like(right)
            np.multiply(x, self._enthalpy_per_x, out=gain[:nodes])
            outer = x.take(surface_nodes)
            lost = gain[nodes:]
            lost[0] = self._convected @ outer
            lost[1] = self._radiated @ outer
            lost[2:] = system.sink_sums(self._sunk * x.take(system.sink_nodes))
            lost[:] = length * (right[nodes:] - lost)
            return gain

        return solve
