"""Plain scikit-fem: its own assembly of k(T) at every step, SuperLU, TR-BDF2 with steps of its own choice.

Lumped heat capacity, tables by interpolation, the exact slopes of film and radiation, nodes in the order in
which SuperLU fills in least: what somebody who knows the library writes. It has no march of its own.
"""

import numpy as np
from marched import Marched
from nodal import Assembled
from skfem import Basis, BilinearForm, ElementQuad1, LinearForm, MeshQuad
from skfem.helpers import dot, grad

CONDUCTION = BilinearForm(lambda u, v, w: 2.0 * np.pi * w.x[0] * w.k * dot(grad(u), grad(v)))
VOLUME = LinearForm(lambda v, w: 2.0 * np.pi * w.x[0] * v)


class ScikitFem(Assembled):
    """scikit-fem's matrices on the same nodes."""

    name = "scikit-fem"

    def __init__(self, marched: Marched) -> None:
        """Make the basis: 2 x 2 Gauss points, the apex's quadrilaterals with two corners in one."""
        points, cells = marched.body.points, marched.body.cells
        mesh = MeshQuad(np.ascontiguousarray(points.T), np.ascontiguousarray(cells.T))
        self.basis = Basis(mesh, ElementQuad1(), intorder=3)
        super().__init__(marched, volume=VOLUME.assemble(self.basis))

    def conduction(self, conductivity):
        """Return the conduction matrix [W/K]."""
        return CONDUCTION.assemble(self.basis, k=self.basis.interpolate(conductivity))
