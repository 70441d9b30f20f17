"""scipy's solve_ivp on this project's own assembled equations: only the march in time is another.

V e' = -K tau(e) + joints + surface + sinks: the same matrix and tables, and the exact Jacobian by hand.
"""

import numpy as np
from marched import Course, Marched
from outer_heat import OuterHeat
from scipy.integrate import solve_ivp
from scipy.sparse import csc_matrix

from optitip.solvers import banded
from optitip.solvers.assembly import HeatModel, assemble
from optitip.solvers.enthalpy import start_enthalpy

_READ = 16  # instants a step at which the answer is read off the method's own interpolant


class Bdf:
    """BDF of orders 1 to 5 with a sparse Jacobian."""

    name = "scipy BDF"
    first, tight = 0.1, 9e-5  # tolerances [K]: to begin with, of the reference

    def __init__(self, marched: Marched) -> None:
        """Assemble the body."""
        self.marched = marched
        self.ode = Ode(marched, assemble(marched.body))

    def run(self, tolerance: float):
        """Return scipy's answer at an absolute tolerance [K], its steps free of the heating's knots."""
        given, ode = self.marched, self.ode
        solved = solve_ivp(
            ode.rate,
            (given.start_time, given.end_time),
            ode.start,
            dense_output=True,
            rtol=1e-12,
            atol=tolerance * ode.joule_per_kelvin,
            **self.options(),
        )
        if not solved.success:
            raise ArithmeticError(solved.message)
        return solved

    def read(self, solved) -> Course:
        """Return the course, read several times a step off the method's own interpolant."""
        share = np.arange(_READ) / _READ
        inside = (solved.t[:-1, None] + np.diff(solved.t)[:, None] * share).ravel()
        time = np.append(inside, solved.t[-1])
        temperature = self.ode.temperature(solved.sol(time).T)
        return Course(time=time, temperature=temperature, steps=solved.t.size - 1)

    def options(self):
        """Return the method, its Jacobian, and its first step [s]."""
        return {"method": "BDF", "jac": self.ode.jacobian}


class Lsoda(Bdf):
    """LSODA of ODEPACK with a banded Jacobian: compiled, but for the right-hand side."""

    name = "scipy LSODA, banded"

    def options(self):
        """Return the method and its banded Jacobian."""
        width = self.ode.model.stiffness.shape[0] - 1
        return {"method": "LSODA", "jac": self.ode.banded_jacobian, "lband": width, "uband": width}


class Ode:
    """The equations in the nodes' enthalpies [J/m3]."""

    def __init__(self, marched: Marched, model: HeatModel) -> None:
        """Lay out what doesn't change: the sinks, the pairs, the pattern of the Jacobian."""
        self.model, self.nodes = model, model.volume.size
        self.outer = OuterHeat(marched.surface)
        self.start, _ = start_enthalpy(marched.start, tables=model.tables, node_material=model.node_material)
        self.joule_per_kelvin = 1.0 / model.node_tables.look_up(self.start).temperature_slope
        self.sink_conductance, self.sink_heat = np.zeros((2, self.nodes))
        for sink in marched.sinks:
            np.add.at(self.sink_conductance, sink.nodes, sink.conductance)
            np.add.at(self.sink_heat, sink.nodes, sink.conductance * sink.temperature)
        self._lay_out_jacobian()

    def _lay_out_jacobian(self) -> None:
        joints, n = self.model.joints, self.nodes
        if joints.captive:
            raise ValueError("the Jacobian is written for pressed joints")
        band = _whole(self.model.stiffness)
        ends, passes = (joints.first, joints.second), joints.conductance * joints.area
        row = np.concatenate([ends[0], ends[1], ends[0], ends[1]])
        column = np.concatenate([ends[0], ends[1], ends[1], ends[0]])
        passing = np.tile(passes, 4) * np.repeat([1.0, -1.0], 2 * passes.size)
        pairs = csc_matrix((passing, (row, column)), (n, n))
        pattern = csc_matrix(abs(band.sign()) + abs(pairs.sign()))
        pattern.sort_indices()
        self._pattern = pattern
        column = np.repeat(np.arange(n), np.diff(pattern.indptr))
        row = pattern.indices
        self._column, self._diagonal = column, np.flatnonzero(row == column)
        self._over_volume = 1.0 / self.model.volume
        scale = -self._over_volume[row]
        self._conducted = scale * np.asarray(band[row, column]).ravel()
        self._passed = scale * np.asarray(pairs[row, column]).ravel()
        width = self.model.stiffness.shape[0] - 1
        self._band_place = (row - column + width, column)

    def rate(self, time, enthalpy):
        """Return e' [W/m3]."""
        temperature, tau = self._thermal(enthalpy)
        joints, nodes = self.model.joints, self.outer.nodes
        rate = banded.multiply(self.model.stiffness, tau, scale=-1.0)
        passed = joints.passed(temperature[joints.first], second=temperature[joints.second])
        rate[joints.first] -= passed
        rate[joints.second] += passed
        rate[nodes] += self.outer.at(time, wall=temperature[nodes]).heat
        rate += self.sink_heat - self.sink_conductance * temperature
        rate *= self._over_volume
        return rate

    def _thermal(self, enthalpy):
        thermal = self.model.node_tables.look_up(enthalpy)
        return thermal.temperature, thermal.tau

    def _entries(self, time, enthalpy):
        thermal, nodes = self.model.node_tables.look_up(enthalpy), self.outer.nodes
        entries = self._conducted * thermal.tau_slope[self._column]
        entries += self._passed * thermal.temperature_slope[self._column]
        lost = self.sink_conductance.copy()
        lost[nodes] += self.outer.at(time, wall=thermal.temperature[nodes]).loss
        entries[self._diagonal] -= lost * thermal.temperature_slope * self._over_volume
        return entries

    def jacobian(self, time, enthalpy):
        """Return de'/de as a sparse matrix."""
        pattern = self._pattern
        return csc_matrix((self._entries(time, enthalpy), pattern.indices, pattern.indptr), pattern.shape)

    def banded_jacobian(self, time, enthalpy):
        """Return the same as LSODA packs it: entry (i, j) at ``[i - j + width, j]``."""
        packed = np.zeros((2 * self.model.stiffness.shape[0] - 1, self.nodes))
        packed[self._band_place] = self._entries(time, enthalpy)
        return packed

    def temperature(self, enthalpy):
        """Return the temperatures [K] of enthalpies (n_t, n_nodes)."""
        return np.array([self._thermal(one)[0] for one in enthalpy])


def _whole(band) -> csc_matrix:
    """Return both triangles of an upper band as a sparse matrix."""
    width, n = band.shape[0] - 1, band.shape[1]
    row = np.arange(n) - width + np.arange(width + 1)[:, None]
    column = np.broadcast_to(np.arange(n), row.shape)
    there = (row >= 0) & (band != 0.0)
    i, j, value = row[there], column[there], band[there]
    off = i != j
    entries = np.concatenate([value, value[off]])
    return csc_matrix((entries, (np.concatenate([i, j[off]]), np.concatenate([j, i[off]]))), (n, n))
