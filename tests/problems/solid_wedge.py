"""The shell as a thin wedge of a solid in three dimensions, by scikit-fem: no axis, no hoop, no ring.

Each nine-node cell becomes one hexahedron of 27 nodes, swept through a small angle about the axis; on its two
flat sides only the movement square to the side is held. What it shares with the package is the nodes and
the loads' values at them.
"""

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import spsolve
from skfem import Basis, BilinearForm, ElementHex2, ElementVector, LinearForm, MeshHex, MeshHex2
from skfem.helpers import ddot, div, dot, sym_grad

LATTICE = np.rint(2.0 * ElementHex2().doflocs).astype(int)  # (27, 3): place along, across, round
GAUSS = 1.0 / np.sqrt(3.0)


class Wedge:
    """A bonded shell, its loads at one instant, and an angle [rad] that the wedge spans."""

    def __init__(self, body, loads, *, instant, angle):
        self.body, self.loads, self.instant, self.angle = body, loads, instant, angle
        cells, points = body.cells, np.asarray(body.points)
        self.plane = 3 * LATTICE[:, 0] + LATTICE[:, 1]
        self.round = LATTICE[:, 2]
        theta = 0.5 * angle * self.round[:, None]
        r, z = np.moveaxis(points[cells.nodes[:, self.plane].T], -1, 0)
        places = np.stack((r * np.cos(theta), r * np.sin(theta), z))
        count = len(cells.nodes)
        corners = np.arange(8 * count).reshape(count, 8).T.copy()
        apart = MeshHex(places[:, :8].transpose(0, 2, 1).reshape(3, -1), corners)
        self.numbers = Basis(apart, ElementHex2()).element_dofs
        located = np.zeros((3, self.numbers.max() + 1))
        located[:, self.numbers] = places
        self.mesh = MeshHex2(located, corners)
        self.vector, self.scalar = ElementVector(ElementHex2()), ElementHex2()
        self.basis = Basis(self.mesh, self.vector, intorder=5)
        self.tie = self._tie()

    def _tie(self):
        """Return the matrix that makes the movement of every hexahedron's nodes out of the free ones."""
        cells, points = self.body.cells, np.asarray(self.body.points)
        moving = cells.moving[:, self.plane].T
        on_axis = points[cells.nodes[:, self.plane].T][..., 0] <= 1e-12
        held = np.isin(moving, cells.moving_of[cells.rows[-1]])
        theta = 0.5 * self.angle * self.round[:, None]
        local = self.basis.element_dofs
        rows, columns, values = [], [], []
        n = cells.moving_count

        def put(component, column, value, where):
            value = np.broadcast_to(value, moving.shape)
            rows.append(local[component::3][where])
            columns.append(column[where])
            values.append(value[where])

        ring = 3 * self.round[:, None] * n
        across = ~on_axis
        put(0, ring + moving, np.cos(theta), across)
        put(1, ring + moving, np.sin(theta), across)
        middle = across & (self.round[:, None] == 1)
        put(0, ring + n + moving, -np.sin(theta), middle)
        put(1, ring + n + moving, np.cos(theta), middle)
        put(2, np.where(on_axis, 0, ring) + 2 * n + moving, 1.0, ~held)
        shape = (self.basis.N, 9 * n)
        tie = coo_matrix(
            (np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))), shape=shape
        ).tocsc()
        self.used = np.flatnonzero(np.diff(tie.indptr))
        return tie[:, self.used]

    def _nodal(self, basis, values):
        """Return nodal values (n_nodes,) as a field of a scalar basis."""
        spread = np.zeros(basis.N)
        spread[self.numbers] = values[self.body.cells.nodes[:, self.plane].T]
        return np.asarray(basis.interpolate(spread))

    def metal(self, temperature):
        """Return Lame's two moduli [Pa] and the thermal strain at temperatures (m, n_points) [K]."""
        E, nu, strain = (np.empty_like(temperature) for _ in range(3))
        start = np.array(float(np.mean(self.loads.start_temperature)))
        for number, one in enumerate(self.body.materials):
            inside = self.body.cell_material == number
            E[inside], nu[inside] = one.modulus_at(temperature[inside]), one.poisson
            grown = [
                one.expansion_at(t) * (t - one.reference_temperature) for t in (temperature[inside], start)
            ]
            strain[inside] = grown[0] - grown[1]
        return E * nu / (1 + nu) / (1 - 2 * nu), E / (2 + 2 * nu), strain

    def solved(self, *, thermal):
        """Return the movement of the free nodes, with the thermal strain or without."""
        scalar = self.basis.with_element(self.scalar)
        lam, mu, strain = self.metal(self._nodal(scalar, np.asarray(self.loads.temperature)[self.instant]))
        push = self.body.density[:, None] * float(self.loads.acceleration[self.instant]) + 0 * lam
        stiffness = BilinearForm(
            lambda u, v, _: lam * div(u) * div(v) + 2 * mu * ddot(sym_grad(u), sym_grad(v))
        )
        load = LinearForm(lambda v, _: push * v[2]).assemble(self.basis)
        load += self._pressed(0, self.loads.outline_pressure) + self._pressed(-1, self.loads.inner_pressure)
        if thermal:
            grows = (3 * lam + 2 * mu) * strain
            load = load + LinearForm(lambda v, _: grows * div(v)).assemble(self.basis)
        K = self.tie.T @ stiffness.assemble(self.basis) @ self.tie
        return self.tie @ spsolve(K.tocsc(), self.tie.T @ load)

    def _pressed(self, side, pressure):
        """Return the forces of a pressure at the rows' ends (n_i, n_rows), on the outline (0) or inside (-1).

        On the face of a hexahedron the surface is n dA = |det F| F^-T N dA_0 (Nanson).
        """
        cells, points = self.body.cells, np.asarray(self.body.points)
        own = np.arange(len(cells.nodes))[cells.columns - 1 if side else 0 :: cells.columns]
        if side:  # what ends on the axis has no inner face
            own = own[points[cells.rows[cells.face_rows(), -1], 0].max(axis=1) > 1e-9]
        place, weight = np.polynomial.legendre.leggauss(4)
        along, turn = (0.5 + 0.5 * axis.ravel() for axis in np.meshgrid(place, place))
        at = np.stack((along, np.full(16, 1.0 if side else 0.0), turn))
        face = Basis(
            self.mesh, self.vector, elements=own, quadrature=(at, 0.25 * np.outer(weight, weight).ravel())
        )
        values = np.zeros(len(points))
        values[cells.rows[:, side]] = np.asarray(pressure)[self.instant]
        p = self._nodal(face.with_element(self.scalar), values)
        outward = face.mapping.invDF(at, tind=own)[1] * (1.0 if side else -1.0)
        return LinearForm(lambda v, _: -p * dot(outward, v)).assemble(face)

    def movement(self, moved):
        """Return u_r and u_z (n_nodes, 2) on the wedge's first side."""
        first = self.round == 0
        found = np.zeros((len(np.asarray(self.body.points)), 2))
        nodes = self.body.cells.nodes[:, self.plane[first]].T
        for place, component in enumerate((0, 2)):
            found[nodes, place] = moved[self.basis.element_dofs[component::3][first]]
        return found

    def stress(self, moved, *, thermal):
        """Return stress (m, 4 reduced points, 4): r, z, theta, rz, half way round."""
        along, across = (
            axis.ravel() for axis in np.meshgrid([-GAUSS, GAUSS], [-GAUSS, GAUSS], indexing="ij")
        )
        reference = 0.5 + 0.5 * np.stack((along, across, 0.0 * along))
        points = (reference, np.ones(4))
        basis = Basis(self.mesh, self.vector, quadrature=points)
        heat = self._nodal(basis.with_element(self.scalar), np.asarray(self.loads.temperature)[self.instant])
        lam, mu, strain = self.metal(heat)
        e = np.asarray(sym_grad(basis.interpolate(moved)))
        e = e - (strain if thermal else 0.0) * np.eye(3)[:, :, None, None]
        s = lam * np.trace(e) * np.eye(3)[:, :, None, None] + 2 * mu * e
        half = 0.5 * self.angle
        turn = np.array(
            [[np.cos(half), np.sin(half), 0.0], [-np.sin(half), np.cos(half), 0.0], [0.0, 0.0, 1.0]]
        )
        s = np.einsum("ai,bj,ijmp->abmp", turn, turn, s)
        return np.stack((s[0, 0], s[2, 2], s[1, 1], s[0, 2]), axis=-1)
