"""The heat system at one instant: its rate, its Jacobian, and the step's equations factorised."""

import numpy as np

from optitip.arrays import FloatArray
from optitip.solvers import banded
from optitip.solvers.enclosure import Border, Facing
from optitip.solvers.rodas import Solver
from optitip.solvers.surface import Heat
from optitip.solvers.system import HeatSystem, Places


class LinearisedHeat:
    """The heat system at one instant, symmetric in the unknown x = c d tau: k = (de/dx) x.

    c, one number a material, is the mean of dT/dtau over its joint ends at this instant: there x is the rise
    of temperature, and the pair block h A [1 -1; -1 1] is right for unlike metals whose k varies.
    """

    def __init__(self, system: HeatSystem, *, time: float, state: FloatArray) -> None:
        """Evaluate the rate, its slope in time and the diagonals of the Jacobian."""
        self.time, self.state, self._system = time, state, system
        model, joints = system.model, system.joints
        self.thermal = system.thermal(state)
        places = system.cut(self.thermal.temperature.take(system.wanted, axis=1))
        surface = system.surface.slopes(time, wall=places.outer)
        facing = self._facing(places)
        faced = None if facing is None else facing.heat
        self.rate = system.rate_at(places, tau=self.thermal.tau, heat=surface.heat, faced=faced)
        self.rate_slope = self._slope_in_time(surface.in_time)
        kelvin_per_x = self.thermal.temperature_slope / self.thermal.tau_slope
        ends = kelvin_per_x.take(joints.both, axis=1)
        scale = joints.mean_by_material(ends).take(model.node_material, axis=1)
        kelvin_per_x /= scale
        stretch = system.cut(kelvin_per_x.take(system.wanted, axis=1))
        self._pairs = joints.slope(places.first, second=places.second) * np.sqrt(
            stretch.first * stretch.second
        )
        borders = np.concatenate(
            [
                surface.in_wall.convected * stretch.outer,
                surface.in_wall.radiated * stretch.outer,
                system.sink_conductance * stretch.sink,
            ],
            axis=1,
        )
        self._border_loss = system.border_sum * borders[:, None]
        weights = [self._pairs, self._pairs, borders]
        self._by_pocket = None if facing is None else facing.by_pocket
        if facing is not None:
            self._by_face = facing.by_face * stretch.facing
            weights.append(self._by_face)
        self._diagonal = system.summed(np.concatenate(weights, axis=1))
        self._boiling = system.boiling(state, rate=self.rate)
        self._tau_per_x = 1.0 / scale
        self._enthalpy_per_x = self._tau_per_x / (self._tau_slope() * self._boiling)

    def _tau_slope(self) -> FloatArray:
        """Return the slope of tau in enthalpy that the step is solved with."""
        system = self._system
        if not system.model.node_tables.melts:
            return self.thermal.tau_slope
        nodes = slice(system.nodes)
        return system.model.node_tables.slope_ahead(system.sensible(self.state), rate=self.rate[:, nodes])

    def _facing(self, places: Places) -> Facing | None:
        system = self._system
        if system.pocket is None:
            return None
        return system.pocket.facing(places.facing, pocket=self.state[:, system.nodes : system.heats])

    def _slope_in_time(self, heat: Heat) -> FloatArray:
        system = self._system
        slope = np.zeros_like(system.mass)
        slope[:, system.surface.nodes] = heat.convected + heat.radiated
        slope[:, system.heats] = heat.convected.sum(axis=1)
        slope[:, system.heats + 1] = heat.radiated.sum(axis=1)
        return slope

    def warming(self, state_slope: FloatArray) -> FloatArray:
        """Return how fast each node warms [K/s] at this slope of the state, near 0 while it boils."""
        warming: FloatArray = state_slope[:, : self._system.nodes] * self.thermal.temperature_slope
        warming *= self._boiling
        return warming

    def solver(self, length: float) -> Solver:
        """Return the solver of M/length - J: one banded Cholesky factorisation a state."""
        system = self._system
        diagonal = system.volume * self._enthalpy_per_x
        diagonal /= length
        diagonal += self._diagonal
        factors = []
        for state, matrix in enumerate(system.matrices):
            np.multiply(system.stiffness[state], self._tau_per_x[state], out=matrix)
            matrix[-1] += diagonal[state]
            banded.flat(matrix)[system.pair_positions] -= self._pairs[state]
            factors.append(banded.factorise(matrix))
        borders = [self._border(state, factor, length=length) for state, factor in enumerate(factors)]

        def solve(right: FloatArray) -> FloatArray:
            nodes, heats = system.nodes, system.heats
            gain = np.empty_like(right)
            x = gain[:, :nodes]
            for state, factor in enumerate(factors):
                x[state] = factor.solve(right[state, :nodes])
                border = borders[state]
                if border is not None and system.pocket is not None:
                    own = x[state]
                    gain[state, nodes] = border.solve(
                        own, faces=own.take(system.pocket.nodes), right=float(right[state, nodes])
                    )
            lost = np.matmul(self._border_loss, x.take(system.borders, axis=1)[..., None])[..., 0]
            x *= self._enthalpy_per_x
            gain[:, heats:] = length * (right[:, heats:] - lost)
            return gain

        return solve

    def _border(self, state: int, factor: banded.Factor, *, length: float) -> Border | None:
        system = self._system
        if system.pocket is None or self._by_pocket is None:
            return None
        column = np.zeros(system.nodes)
        column[system.pocket.nodes] = self._by_pocket[state]
        gain, loss = factor.solve(column), self._by_face[state]
        own = float(system.pocket.heat_capacity[state, 0]) / length + float(self._by_pocket[state].sum())
        return Border(gain, loss, own - float(loss @ gain.take(system.pocket.nodes)))
