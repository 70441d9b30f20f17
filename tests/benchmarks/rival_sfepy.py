"""sfepy: its compiled terms assemble k(T) at every step, r in the coefficient; all else as for scikit-fem.

sfepy's own steppers know neither TR-BDF2 nor a bound on the error, so they would lose by more. The matrix's
pattern is made once and filled anew, the material is a function of the point, both as its manual has it.
"""

import numpy as np
from marched import Marched
from nodal import Assembled
from sfepy.base.base import output
from sfepy.discrete import Equation, Equations, FieldVariable, Function, Integral, Material, Problem
from sfepy.discrete.fem import FEDomain, Field, Mesh
from sfepy.terms import Term

output.set_output(quiet=True)


class Sfepy(Assembled):
    """sfepy's matrices on the same nodes."""

    name = "sfepy"

    def __init__(self, marched: Marched) -> None:
        """Make the field, its term with 2 x 2 Gauss points and the matrix to fill."""
        cells = marched.body.cells.astype(np.int32)
        groups = np.zeros(len(cells), dtype=np.int32)
        mesh = Mesh.from_data("tip", marched.body.points, None, [cells], [groups], ["2_4"])
        omega = FEDomain("domain", mesh).create_region("omega", "all")
        field = Field.from_args("field", np.float64, "scalar", omega, approx_order=1)
        unknown = FieldVariable("u", "unknown", field)
        virtual = FieldVariable("v", "test", field, primary_var_name="u")
        integral = Integral("i", order=3)
        mapping = field.get_mapping(omega, integral, "cell")[0]
        self._cells, self._shape = cells, mapping.bf[0, :, 0, :]
        self._conductivity = np.ones(marched.unknowns)
        material = Material("m", function=Function("conducting", self._at_points))
        term = Term.new("dw_laplace(m.k, v, u)", integral, omega, m=material, v=virtual, u=unknown)
        self._problem = Problem("heat", equations=Equations([Equation("heat", term)]), active_only=False)
        self._problem.time_update()
        # lumped: each corner takes its shape function's share of the ring
        points = marched.body.points[cells]
        ring = 2.0 * np.pi * (points[:, :, 0] @ self._shape.T) * mapping.det[:, :, 0, 0]
        super().__init__(marched, volume=np.bincount(cells.ravel(), (ring @ self._shape).ravel()))

    def _at_points(self, _time, coordinates, mode=None, **_):
        if mode != "qp":
            return None
        k = (self._conductivity[self._cells] @ self._shape.T).ravel()
        return {"k": (2.0 * np.pi * coordinates[:, 0] * k).reshape(-1, 1, 1)}

    def conduction(self, conductivity):
        """Return the conduction matrix [W/K]."""
        self._conductivity = conductivity
        problem = self._problem
        problem.mtx_a.data[:] = 0.0
        problem.equations.time_update_materials(None, mode="force", problem=problem)
        return problem.equations.evaluate(mode="weak", dw_mode="matrix", asm_obj=problem.mtx_a)
