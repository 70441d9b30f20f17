"""FiPy: finite volumes on the same quadrilaterals, r in the coefficients, TR-BDF2 as for the others.

Its own TransientTerm is first order, so the stages are its implicit steps from the scheme's own base. Cells
are the unknowns; a joint is a face that passes what two half cells and the contact do in series.
"""

import os
from itertools import pairwise

os.environ["FIPY_SOLVERS"] = "scipy"  # read at import; the others are compiled packages of their own

from dataclasses import replace
from typing import NamedTuple

import numpy as np
import tr_bdf2
from fipy import CellVariable, DiffusionTerm, FaceVariable, ImplicitSourceTerm, TransientTerm
from fipy.meshes.mesh2D import Mesh2D
from fipy.solvers.scipy import LinearLUSolver
from marched import Course, Marched
from outer_heat import OuterHeat

from optitip.geometry.sides import cell_volumes
from optitip.solvers.body import Surface


class FiPy:
    """FiPy's matrices, a cell an unknown."""

    name = "FiPy"
    like = "scikit-fem"
    first, tight = 0.1, 9e-5  # tolerances [K]: to begin with, of the reference

    def __init__(self, marched: Marched) -> None:
        """Make the mesh, its parts sharing vertices across joints, and the equation."""
        body, merged = marched.body, _merged(marched)
        self.mesh, edges = _mesh(body.points, merged[body.cells])
        self.material, self.materials = body.cell_material, body.materials
        volume = cell_volumes(body.points, body.cells)
        self.volume, self.radius = volume, volume / (2.0 * np.pi * self.mesh.cellVolumes)
        self.faces = _Faces(self.mesh, marched, merged=merged, edges=edges)
        self.start = _at_cells(marched.start, body.cells)
        self.variable = CellVariable(mesh=self.mesh, value=self.start)
        self.conducting = FaceVariable(mesh=self.mesh, value=1.0)
        self.capacity, self.loss, self.gain = (CellVariable(mesh=self.mesh, value=1.0) for _ in range(3))
        self.equation = TransientTerm(coeff=self.capacity) == (
            DiffusionTerm(coeff=self.conducting) - ImplicitSourceTerm(coeff=self.loss) + self.gain
        )
        self.solver = LinearLUSolver(tolerance=1e-10, iterations=2)
        region = body.cell_material if body.cell_region is None else body.cell_region
        self._parts = [np.flatnonzero(region == one) for one in np.unique(region)]
        self.marched = _read_at_cells(marched, volume=volume)

    def run(self, tolerance: float) -> Course:
        """Return the course at a tolerance [K]."""
        return tr_bdf2.march(self, start=self.start, tolerance=tolerance)

    def _looked_up(self, name, temperature):
        found = np.empty(temperature.size)
        for index, material in enumerate(self.materials):
            own = self.material == index
            found[own] = np.interp(temperature[own], material.temperature, getattr(material, name))
        return found

    def enthalpy(self, temperature):
        """Return the enthalpy of every cell [J/m3]."""
        return self._looked_up("enthalpy", temperature)

    def kelvin(self, rate, temperature):
        """Return a rate of enthalpy as one of temperature."""
        return rate / self._looked_up("heat_capacity", temperature)

    def worst(self, kelvin):
        """Return the largest root mean square of the parts."""
        return max(float(np.sqrt(np.mean(kelvin[cells] ** 2))) for cells in self._parts)

    def read(self, answer: Course) -> Course:
        """Return the answer, which is a course already."""
        return answer

    def solve(self, time, *, guess, base, length, fresh):
        """Return T of V (e(T) - base)/length = F(time, T): one sweep of the equation from the guess."""
        del fresh  # FiPy factorises at every solve
        conductivity = self._looked_up("conductivity", guess)
        self.conducting.setValue(self.faces.coefficient(conductivity))
        border = self.faces.border(time, temperature=guess, conductivity=conductivity)
        area = 2.0 * np.pi * np.asarray(self.mesh.cellVolumes)
        self.capacity.setValue(self.radius * self._looked_up("heat_capacity", guess))
        self.loss.setValue(border.loss / area)
        since_base = self.radius * (self.enthalpy(guess) - base) / length
        self.gain.setValue((border.heat + border.loss * guess) / area - since_base)
        self.variable.setValue(guess)
        self.equation.solve(var=self.variable, dt=length, solver=self.solver)
        return np.array(self.variable.value)


class Border(NamedTuple):
    """The heat into each cell through the borders [W], and what it loses per kelvin of the cell [W/K]."""

    heat: np.ndarray
    loss: np.ndarray


class _Faces:
    """The faces: what they pass, where they are joints, and which are heated or sunk."""

    def __init__(self, mesh, marched: Marched, *, merged, edges) -> None:
        self.size = len(marched.body.cells)
        self.radius = np.asarray(mesh.faceCenters[0])
        self.area = 2.0 * np.pi * self.radius * np.asarray(mesh._faceAreas)
        # distances from a face's two cells to it, the one cell's own twice at a border
        self.cells = np.array(np.ma.filled(mesh.faceCellIDs, -1))
        self.cells[1] = np.where(self.cells[1] < 0, self.cells[0], self.cells[1])
        distance = mesh._faceToCellDistances
        self.far = np.array(np.ma.filled(distance, 0.0))
        self.apart = np.asarray(mesh._cellDistances)
        known = {tuple(sorted(pair)): face for face, pair in enumerate(edges.T.tolist())}
        self.resistance = self._joints(marched, merged, known)
        self.heated, surface = self._heated(marched, merged, known)
        self.flux = OuterHeat(surface)
        self.wall = None
        self.sinks = [self._sunk(one, merged, known) for one in marched.sinks]

    def _joints(self, marched, merged, known):
        resistance = np.zeros(self.radius.size)
        for joint in marched.body.joints:
            if joint.gap_rate.any():
                raise ValueError("the rivals know pressed joints only")
            nodes = merged[joint.first].tolist()
            for a, b, h in zip(nodes, nodes[1:], joint.conductance.tolist(), strict=False):
                face = known.get(tuple(sorted((a, b))))
                if face is not None:
                    resistance[face] = 1.0 / h
        return resistance

    def _heated(self, marched, merged, known):
        """Return the faces along the outer nodes, and the surface with the table's means at them."""
        given, nodes = marched.surface, merged[marched.surface.nodes].tolist()
        pairs = [
            (known[tuple(sorted(pair))], place)
            for place, pair in enumerate(pairwise(nodes))
            if pair[0] != pair[1]
        ]
        faces, first = (np.array(one) for one in zip(*pairs, strict=True))
        mean = {
            "film": 0.5 * (given.film[:, first] + given.film[:, first + 1]),
            "recovery": 0.5 * (given.recovery[:, first] + given.recovery[:, first + 1]),
            "absorbed": 0.5 * (given.absorbed[:, first] + given.absorbed[:, first + 1]),
            "emissivity": 0.5 * (given.emissivity[first] + given.emissivity[first + 1]),
        }
        surface: Surface = replace(given, nodes=np.arange(faces.size), area=self.area[faces], **mean)
        return faces, surface

    def _sunk(self, sink, merged, known):
        nodes = set(merged[sink.nodes].tolist())
        faces = np.array([face for pair, face in known.items() if nodes.issuperset(pair)])
        faces = faces[self.cells[0, faces] == self.cells[1, faces]]
        share = self.area[faces] / self.area[faces].sum()
        return faces, sink.conductance.sum() * share, sink.temperature

    def coefficient(self, conductivity):
        """Return r k of each face: half cells and contact in series; nought at the borders."""
        near, far = conductivity[self.cells]
        resistance = self.far[0] / near + self.far[1] / far + self.resistance
        outer = self.cells[0] == self.cells[1]
        with np.errstate(divide="ignore"):
            return np.where(outer, 0.0, self.radius * self.apart / resistance)

    def border(self, time, *, temperature, conductivity) -> Border:
        """Return the heat through surface and sinks; the wall stands half a cell from the cell's middle."""
        heat, loss = np.zeros((2, self.size))
        cells = self.cells[0, self.heated]
        inner = self.area[self.heated] * conductivity[cells] / self.far[0, self.heated]
        middle = temperature[cells]
        wall = middle if self.wall is None else self.wall
        for _ in range(3):  # Newton's for the wall: heat in = heat on
            arriving, lost = self.flux.at(time, wall=wall)
            wall = wall + (arriving - inner * (wall - middle)) / (inner + lost)
        self.wall = wall
        np.add.at(heat, cells, inner * (wall - middle))
        np.add.at(loss, cells, inner * lost / (inner + lost))
        for faces, outer, around in self.sinks:
            cells = self.cells[0, faces]
            passes = 1.0 / (1.0 / outer + self.far[0, faces] / (self.area[faces] * conductivity[cells]))
            np.add.at(heat, cells, passes * (around - temperature[cells]))
            np.add.at(loss, cells, passes)
        return Border(heat, loss)


def _merged(marched: Marched):
    """Return for each node the one that stands for it: the two of a joint's pair are one vertex."""
    stands = np.arange(marched.unknowns)
    for _ in marched.body.joints:  # a node may belong to several joints
        for joint in marched.body.joints:
            lowest = np.minimum(stands[joint.first], stands[joint.second])
            stands[joint.first] = stands[joint.second] = lowest
    return stands


def _mesh(points, cells):
    """Return the mesh and the two vertices of each face (2, n_faces), both in the nodes' own numbers."""
    sides = np.stack([cells, np.roll(cells, -1, axis=1)])
    low, high = sides.min(axis=0), sides.max(axis=0)
    real = low != high
    edges, of_side = np.unique(np.stack([low[real], high[real]]), axis=1, return_inverse=True)
    faces = np.full(cells.shape, -1)
    faces[real] = of_side.ravel()
    # a cell's missing face, where two of its corners are one, stands masked at the end
    faces = np.take_along_axis(faces, np.argsort(faces < 0, axis=1, kind="stable"), axis=1).T
    cell_faces = np.ma.masked_less(faces, 0)
    vertices, compact = np.unique(edges, return_inverse=True)
    compact = compact.reshape(edges.shape)
    mesh = Mesh2D(points[vertices].T, compact, cell_faces)
    return mesh, edges


def _at_cells(values, cells):
    return values[cells].mean(axis=1)


def _read_at_cells(marched: Marched, *, volume) -> Marched:
    """Return the body with its parts as cells, for reading the answer."""
    cells = marched.body.cells
    parts = {}
    for part, nodes in marched.parts.items():
        inside = np.zeros(marched.unknowns, dtype=bool)
        inside[nodes] = True
        parts[part] = np.flatnonzero(inside[cells].all(axis=1))
    return replace(marched, parts=parts, slab_volume=volume[parts["slab"]])
