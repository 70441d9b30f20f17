"""The assembler of record: scikit-fem's own matrices, which the fast assembly has to equal.

Slow and imported by nothing that has to be fast; a new form or topology is first written here.
"""

import numpy as np
from scipy.sparse import csr_matrix
from skfem import (
    Basis,
    BilinearForm,
    ElementQuad0,
    ElementQuad1,
    ElementTriP0,
    ElementTriP1,
    LinearForm,
    MeshQuad,
    MeshTri,
)
from skfem.helpers import dot, grad

from optitip.arrays import FloatArray, IntArray
from optitip.solvers.body import HeatBody

CONDUCTION = BilinearForm(lambda u, v, w: 2.0 * np.pi * w.x[0] * w["k"] * dot(grad(u), grad(v)))
VOLUME = LinearForm(lambda v, w: 2.0 * np.pi * w.x[0] * w["k"] * v)


def reference_conduction(body: HeatBody, *, conductivity: FloatArray) -> tuple[csr_matrix, FloatArray]:
    """Return the conduction matrix (n, n) [W/K] and the nodes' volumes (n,) [m3] of a body, joints left out.

    K_ij = sum over cells of w k integral grad N_i . grad N_j 2 pi r dA; V_i = sum of w integral of
    N_i 2 pi r dA.

    conductivity: (m,) of each cell [W/(m K)]; w is the body's own cell weight.
    Source: the weak form of conduction in a body of revolution; assembled by scikit-fem.
    """
    collapsed = body.cells[:, 0] == body.cells[:, 3]
    size = len(body.points)
    stiffness, volume = csr_matrix((size, size)), np.zeros(size)
    for chosen, corners in ((~collapsed, 4), (collapsed, 3)):
        if not chosen.any():
            continue
        basis, space = _bases(body.points, body.cells[chosen][:, :corners])
        weight = space.interpolate(body.cell_weight[chosen])
        conducting = space.interpolate(body.cell_weight[chosen] * conductivity[chosen])
        stiffness = stiffness + _padded(CONDUCTION.assemble(basis, k=conducting), size)
        part = VOLUME.assemble(basis, k=weight)
        volume[: part.size] += part
    return stiffness, volume


def _bases(points: FloatArray, cells: IntArray) -> tuple[Basis, Basis]:
    """Return a basis of linear functions and one of cell constants."""
    four = cells.shape[1] == 4
    mesh = (MeshQuad if four else MeshTri)(points.T, cells.T)
    # order 3 on quadrilaterals takes the same 2 x 2 points as the fast assembly
    basis = Basis(mesh, ElementQuad1() if four else ElementTriP1(), intorder=3 if four else 4)
    return basis, basis.with_element(ElementQuad0() if four else ElementTriP0())


def _padded(matrix: csr_matrix, size: int) -> csr_matrix:
    """Return the matrix with room for the nodes that stand after its own."""
    return csr_matrix(
        (matrix.data, matrix.indices, np.pad(matrix.indptr, (0, size - matrix.shape[0]), "edge")),
        (size, size),
    )
