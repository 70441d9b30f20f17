"""The shell as a thin wedge of a solid by sfepy: straight hexahedra over the thermal cells, quadratic inside.

Coincident nodes are tied by where they lie; on the wedge's two flat sides only the movement square to the
side is held, on the axis all but that along it.
"""

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import splu
from sfepy.base.base import output
from sfepy.discrete import Equation, Equations, FieldVariable, Function, Integral, Material, Problem
from sfepy.discrete.fem import FEDomain, Field, Mesh
from sfepy.terms import Term

output.set_output(quiet=True)
SMALL = 1e-9


class SfepyWedge:
    """A bonded shell under its loads at one instant, over an angle [rad]."""

    def __init__(self, body, loads, *, instant, angle):
        self.body, self.loads, self.instant, self.angle = body, loads, instant, angle
        self.rows = np.asarray(body.cells.rows)
        self.points = np.asarray(body.points)[self.rows]
        self._lay_mesh()
        self.volume = Integral("i", order=4)
        self.u = FieldVariable("u", "unknown", self.field)
        self.v = FieldVariable("v", "test", self.field, primary_var_name="u")
        linear = Field.from_args("linear", np.float64, "scalar", self.omega, approx_order=1)
        shape = linear.get_mapping(self.omega, self.volume, "cell")[0].bf[0, :, 0, :]
        heat = np.asarray(loads.temperature)[instant][np.repeat(self.rows.ravel(), 2)]
        self._metal(heat[self.cells] @ shape.T)
        self.tie = self._tie()

    def _lay_mesh(self):
        n_rows, n_across = self.rows.shape
        turn = np.array([0.0, self.angle])
        r, z = self.points[..., 0, None], self.points[..., 1, None]
        places = np.stack(np.broadcast_arrays(r * np.cos(turn), r * np.sin(turn), z), axis=-1).reshape(-1, 3)
        number = np.arange(len(places)).reshape(n_rows, n_across, 2)
        blocks = self.body.cells.fore_row
        fore, across = (blocks[:, None] + np.arange(2)).ravel(), np.arange(n_across - 1)
        ring = [number[fore], number[fore + 1]]
        square = [ring[0][:, across], ring[1][:, across], ring[1][:, across + 1], ring[0][:, across + 1]]
        self.cells = np.stack([one[..., side] for side in (1, 0) for one in square], axis=-1)
        self.cells = self.cells.reshape(-1, 8).astype(np.int32)
        strip = np.repeat(np.arange(len(blocks)), 2)
        self.nine = (strip[:, None] * self.body.cells.columns + across // 2).ravel()
        groups = np.zeros(len(self.cells), dtype=np.int32)
        domain = FEDomain("wedge", Mesh.from_data("wedge", places, None, [self.cells], [groups], ["3_8"]))
        self.omega = domain.create_region("omega", "all")
        face_rows = self.body.cells.face_rows()
        open_ = face_rows[self.points[face_rows, -1, 0].max(axis=1) > SMALL].ravel()
        sides = {"outline": number[:, 0].ravel(), "inner": number[np.unique(open_), -1].ravel()}
        found = {name: Function(name, lambda *_, at=at, **__: at) for name, at in sides.items()}
        self.sides = {
            name: domain.create_region(f"side_{name}", f"vertices by {name}", "facet", functions=found)
            for name in sides
        }
        self.field = Field.from_args("field", np.float64, "vector", self.omega, approx_order=2)

    def _metal(self, temperature):
        E, nu, strain = (np.empty_like(temperature) for _ in range(3))
        start = np.array(float(np.mean(self.loads.start_temperature)))
        own = self.body.cell_material[self.nine]
        for index, one in enumerate(self.body.materials):
            hot = temperature[own == index]
            E[own == index], nu[own == index] = one.modulus_at(hot), one.poisson
            grown = [one.expansion_at(t) * (t - one.reference_temperature) for t in (hot, start)]
            strain[own == index] = grown[0] - grown[1]
        lam, mu = E * nu / (1 + nu) / (1 - 2 * nu), E / (2 + 2 * nu)
        self.stiffness = np.zeros((*E.shape, 6, 6))
        self.stiffness[..., :3, :3] = lam[..., None, None]
        for axis in range(3):
            self.stiffness[..., axis, axis] += 2 * mu
            self.stiffness[..., axis + 3, axis + 3] = mu
        self.prestress = np.zeros((*E.shape, 6))
        self.prestress[..., :3] = -((3 * lam + 2 * mu) * strain)[..., None]
        push = self.body.density[self.nine, None] * float(self.loads.acceleration[self.instant])
        self.push = np.stack((0 * E, 0 * E, push + 0 * E), axis=-1)

    def _at_points(self, _time, _places, mode=None, **_):
        if mode != "qp":
            return None
        return {
            "D": self.stiffness.reshape(-1, 6, 6),
            "s": self.prestress.reshape(-1, 6, 1),
            "f": self.push.reshape(-1, 3, 1),
        }

    def _assembled(self, term, **materials):
        """Return the vector of a term without unknown, or the stiffness for none."""
        metal = Material("m", function=Function("metal", self._at_points))
        first = Term.new("dw_lin_elastic(m.D, v, u)", self.volume, self.omega, m=metal, v=self.v, u=self.u)
        whole = first
        if term is not None:
            text, region = term
            given = materials or {"m": metal}
            whole = first + Term.new(text, self.volume, region, v=self.v, **given)
        problem = Problem("e", equations=Equations([Equation("e", whole)]), active_only=False)
        problem.time_update()
        problem.update_materials()
        self.u.set_constant(0.0)
        if term is None:
            return problem.equations.evaluate(mode="weak", dw_mode="matrix", asm_obj=problem.mtx_a)
        zero = np.zeros(self.tie.shape[0])
        return problem.equations.evaluate(mode="weak", dw_mode="vector", asm_obj=zero)

    def _pressed(self, side, column, pressure):
        along, values = self.points[:, column, 1], np.asarray(pressure)[self.instant]
        order = np.argsort(along, kind="stable")

        def pressing(_time, places, mode=None, **_):
            if mode != "qp":
                return None
            stress = np.zeros((len(places), 6, 1))
            stress[:, :3, 0] = -np.interp(places[:, 2], along[order], values[order])[:, None]
            return {"s": stress}

        material = Material(side, function=Function(side, pressing))
        return self._assembled((f"dw_surface_ltr({side}.s, v)", self.sides[side]), **{side: material})

    def _tie(self):
        places = self.field.coors
        r, z = np.hypot(places[:, 0], places[:, 1]), places[:, 2]
        theta = np.arctan2(places[:, 1], places[:, 0])
        on_axis, aft = r < SMALL, np.abs(z - self.points[-1, 0, 1]) < SMALL
        layer = np.where(on_axis, 0, np.rint(2 * theta / self.angle).astype(int))
        where = np.stack((np.rint(1e8 * np.where(on_axis, 0.0, r)), np.rint(1e8 * z), layer), axis=-1)
        _, node = np.unique(where, axis=0, return_inverse=True)
        node, number = node.ravel(), np.arange(len(places))
        parts = []
        for row, column, value, there in (
            (0, 0, np.cos(theta), ~on_axis),
            (1, 0, np.sin(theta), ~on_axis),
            (0, 1, -np.sin(theta), layer == 1),
            (1, 1, np.cos(theta), layer == 1),
            (2, 2, np.ones_like(theta), ~aft),
        ):
            parts.append((3 * number[there] + row, 3 * node[there] + column, value[there]))
        rows, columns, values = (np.concatenate(part) for part in zip(*parts, strict=True))
        tie = coo_matrix((values, (rows, columns)), shape=(3 * len(places), 3 * (node.max() + 1))).tocsc()
        return tie[:, np.flatnonzero(np.diff(tie.indptr))]

    def solved(self):
        """Return the movement (n_dofs, 3) of the primary case and of the total one."""
        K = self._assembled(None)
        pressed = self._pressed("outline", 0, self.loads.outline_pressure)
        pressed += self._pressed("inner", -1, self.loads.inner_pressure)
        loads = pressed + self._assembled(("dw_volume_lvf(m.f, v)", self.omega))
        # sfepy's residual carries forces and prestress of one sign on the stiffness' own side
        heat = -self._assembled(("dw_lin_prestress(m.s, v)", self.omega))
        lanes = splu((self.tie.T @ K @ self.tie).tocsc())
        primary, thermal = (self.tie @ lanes.solve(self.tie.T @ one) for one in (loads, heat))
        return primary.reshape(-1, 3), (primary + thermal).reshape(-1, 3)

    def on_rows(self, moved):
        """Return u_r and u_z on the rows (n_rows, n_across + 1, 2), of the wedge's first side."""
        count = 2 * self.rows.size
        return moved[:count:2, [0, 2]].reshape(*self.rows.shape, 2)

    def cell_stress(self, moved, *, thermal):
        """Return each nine-node cell's mean stress (m, 4): r, z, theta, rz, half way round."""
        slopes = self.field.get_mapping(self.omega, self.volume, "cell")[0].bfg
        own = self.field.get_econn("cell", self.omega)
        gradient = np.einsum("cqia,caj->cqij", slopes, moved[own])
        even = gradient + gradient.swapaxes(-1, -2)
        place = ((0, 0), (1, 1), (2, 2), (0, 1), (0, 2), (1, 2))
        strain = np.stack([even[..., i, j] * (0.5 if i == j else 1.0) for i, j in place], axis=-1)
        s = np.einsum("cqij,cqj->cqi", self.stiffness, strain) + (self.prestress if thermal else 0.0)
        s = np.average(s, axis=1, weights=self.volume.get_qp("3_8")[1])
        mean = np.stack([np.bincount(self.nine, one) / np.bincount(self.nine) for one in s.T], axis=-1)
        cos, sin = np.cos(0.5 * self.angle), np.sin(0.5 * self.angle)
        r = mean[:, 0] * cos**2 + mean[:, 1] * sin**2 + 2 * mean[:, 3] * sin * cos
        theta = mean[:, 0] * sin**2 + mean[:, 1] * cos**2 - 2 * mean[:, 3] * sin * cos
        return np.stack((r, mean[:, 2], theta, mean[:, 4] * cos + mean[:, 5] * sin), axis=-1)
