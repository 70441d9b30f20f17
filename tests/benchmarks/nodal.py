"""What a finite element library leaves to its user: tables of the nodes, joints, surface, sinks, solving."""

import numpy as np
import tr_bdf2
from marched import Course, Marched
from outer_heat import OuterHeat
from scipy.sparse import csc_matrix, csr_matrix
from scipy.sparse.linalg import splu


class Assembled:
    """A march whose conduction a library assembles at every step; lumped heat capacity, SuperLU, TR-BDF2."""

    first, tight = 0.1, 9e-5  # tolerances [K]: to begin with, of the reference

    def __init__(self, marched: Marched, *, volume) -> None:
        """Take the body and the library's own volumes of its nodes [m3]."""
        if (marched.body.cell_weight != 1.0).any():
            raise ValueError("the rivals know full rings only")
        self.marched = marched
        self.nodal = Nodal(marched, volume=volume)
        self.enthalpy, self.kelvin, self.worst = self.nodal.enthalpy, self.nodal.kelvin, self.nodal.worst

    def conduction(self, conductivity) -> csr_matrix:
        """Return the library's conduction matrix [W/K] for the nodes' conductivities [W/(m K)]."""
        raise NotImplementedError

    def run(self, tolerance: float) -> Course:
        """Return the course at a tolerance [K]."""
        return tr_bdf2.march(self, start=self.marched.start, tolerance=tolerance)

    def read(self, answer: Course) -> Course:
        """Return the answer, which is a course already."""
        return answer

    def solve(self, time, *, guess, base, length, fresh):
        """Return T of V (e(T) - base)/length = F(time, T): one step of Newton's with k held at the guess.

        k(T) is assembled and factorised once a step, amid it: a second time costs half as much again for
        no less error.
        """
        left, matrix = self.nodal.balance(time, temperature=guess, base=base, length=length)
        if fresh:
            self._conduction = self.conduction(self.nodal.conductivity(guess))
            self._factors = _factors(self._conduction + matrix)
        left -= self._conduction @ guess
        return guess + self._factors.solve(left)


def _factors(symmetric):
    # rows of a symmetric matrix are its columns; across the thickness first is already the best order
    columns = csc_matrix((symmetric.data, symmetric.indices, symmetric.indptr), symmetric.shape)
    return splu(columns, permc_spec="NATURAL", diag_pivot_thresh=0.0, options={"SymmetricMode": True})


class Nodal:
    """Everything but conduction, at the nodes; ``volume`` [m3] is the library's own."""

    def __init__(self, marched: Marched, *, volume) -> None:
        """Lay out the tables by material and the pairs as one matrix with room for the diagonal."""
        self.marched, self.volume = marched, volume
        body, n = marched.body, marched.unknowns
        of_node = marched.node_material
        self._owned = [(one, np.flatnonzero(of_node == i)) for i, one in enumerate(body.materials)]
        self.outer = OuterHeat(marched.surface)
        self._sunk, self._sink_heat = np.zeros((2, n))
        for sink in marched.sinks:
            np.add.at(self._sunk, sink.nodes, sink.conductance)
            np.add.at(self._sink_heat, sink.nodes, sink.conductance * sink.temperature)
        self.pairs = _pairs(marched)
        self._with_diagonal = self.pairs.copy()
        row = np.repeat(np.arange(n), np.diff(self.pairs.indptr))
        self._diagonal = np.flatnonzero(row == self.pairs.indices)
        self._pair_diagonal = self.pairs.data[self._diagonal].copy()
        cells = body.cells
        region = body.cell_material if body.cell_region is None else body.cell_region
        self._parts = [np.unique(cells[region == one]) for one in np.unique(region)]

    def _looked_up(self, name, temperature):
        found = np.empty(temperature.size)
        for material, nodes in self._owned:
            found[nodes] = np.interp(temperature[nodes], material.temperature, getattr(material, name))
        return found

    def enthalpy(self, temperature):
        """Return the enthalpy of every node [J/m3]."""
        return self._looked_up("enthalpy", temperature)

    def conductivity(self, temperature):
        """Return the conductivity at every node [W/(m K)]."""
        return self._looked_up("conductivity", temperature)

    def kelvin(self, rate, temperature):
        """Return a rate of enthalpy as one of temperature."""
        return rate / self._looked_up("heat_capacity", temperature)

    def worst(self, kelvin):
        """Return the largest root mean square of the parts."""
        return max(float(np.sqrt(np.mean(kelvin[nodes] ** 2))) for nodes in self._parts)

    def balance(self, time, *, temperature, base, length):
        """Return what is left of the equation without conduction [W], and its matrix [W/K]."""
        nodes = self.outer.nodes
        arriving = self.outer.at(time, wall=temperature[nodes])
        left = self._sink_heat - self._sunk * temperature - self.pairs @ temperature
        left[nodes] += arriving.heat
        left -= self.volume / length * (self.enthalpy(temperature) - base)
        lost = self._sunk + self.volume / length * self._looked_up("heat_capacity", temperature)
        lost[nodes] += arriving.loss
        self._with_diagonal.data[self._diagonal] = self._pair_diagonal + lost
        return left, self._with_diagonal


def _pairs(marched: Marched) -> csr_matrix:
    """Return the joints as a matrix [W/K], with an entry on every place of the diagonal."""
    n = marched.unknowns
    every = np.arange(n)
    rows, columns, values = [every], [every], [np.zeros(n)]
    for joint in marched.body.joints:
        if joint.gap_rate.any():
            raise ValueError("the rivals know pressed joints only")
        passes = joint.area * joint.conductance
        rows += [joint.first, joint.second, joint.first, joint.second]
        columns += [joint.first, joint.second, joint.second, joint.first]
        values += [passes, passes, -passes, -passes]
    entries = np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))
    return csr_matrix(entries, (n, n))
