"""Shape functions of the nine-node quadrilateral, and its strain tables on axisymmetric cells."""

from dataclasses import dataclass

import numpy as np

from optitip.arrays import FloatArray, read_only
from optitip.errors import DesignFailure, Outcome

# Gauss points along a line; tensored over a cell they run along the rows first, across second.
_ROOT_THIRD = 1.0 / np.sqrt(3.0)
_ROOT_SIXTH = np.sqrt(0.6)
LINE_REDUCED = np.array([-_ROOT_THIRD, _ROOT_THIRD])
LINE_FULL = np.array([-_ROOT_SIXTH, 0.0, _ROOT_SIXTH])
LINE_FULL_WEIGHT = np.array([5.0, 8.0, 5.0]) / 9.0
# Pressure, radius and tangent on a curved edge make a seventh power: four points.
LINE_EDGE, LINE_EDGE_WEIGHT = np.polynomial.legendre.leggauss(4)
# Carries a linear function from the two reduced points of a line to its three nodes.
LINE_CARRY = 0.5 * (1.0 + np.outer([-1.0, 0.0, 1.0], 1.0 / LINE_REDUCED))


def line_shape(place: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the three quadratic shape functions (n, 3) on [-1, 1] and their derivatives.

    >>> line_shape(np.array([0.5]))[0].tolist()
    [[-0.125, 0.75, 0.375]]
    """
    x = np.asarray(place)
    value = np.stack((0.5 * x * (x - 1.0), 1.0 - x * x, 0.5 * x * (x + 1.0)), axis=-1)
    return value, np.stack((x - 0.5, -2.0 * x, x + 0.5), axis=-1)


def _cell_shape(along: FloatArray, across: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return the nine shape functions (n, 9) at tensored points and their derivatives (n, 2, 9)."""
    value_along, slope_along = line_shape(along)
    value_across, slope_across = line_shape(across)
    value = np.kron(value_along, value_across)
    slope = np.stack((np.kron(slope_along, value_across), np.kron(value_along, slope_across)), axis=1)
    return np.asarray(value, dtype=np.float64), slope


FULL, FULL_SLOPE = _cell_shape(LINE_FULL, LINE_FULL)
FULL_WEIGHT = np.outer(LINE_FULL_WEIGHT, LINE_FULL_WEIGHT).ravel()
REDUCED, REDUCED_SLOPE = _cell_shape(LINE_REDUCED, LINE_REDUCED)
# the nine Gauss points, then the four reduced ones
POINTS, POINTS_SLOPE = np.concatenate((FULL, REDUCED)), np.concatenate((FULL_SLOPE, REDUCED_SLOPE))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StrainTable:
    """Strain per movement at the points of each cell, and the points' radius and area.

    Args:
        strain: (m, n_points, 4, 18): e_r, e_z, e_theta, gamma_rz per (u_r, u_z) of the nine nodes in turn.
        radius: (m, n_points) [m].
        area: Jacobian determinant (m, n_points) [m2].
    """

    strain: FloatArray
    radius: FloatArray
    area: FloatArray


def strain_table(corners: FloatArray, *, value: FloatArray, slope: FloatArray) -> StrainTable:
    """Return the strain table of cells at given points of the reference cell.

    e_r = du_r/dr, e_z = du_z/dz, e_theta = u_r/r, gamma_rz = du_r/dz + du_z/dr.

    Args:
        corners: r and z of the nine nodes (m, 9, 2) [m].
        value: shape functions at the points (n, 9), inside the cell so that r > 0.
        slope: their derivatives (n, 2, 9).

    Raises DesignFailure (the mesh folds over itself) where a cell's area is not positive at a point.
    Source: the axisymmetric strains of any text on elasticity (Timoshenko & Goodier).
    """
    J = slope @ corners[:, None]
    area = J[..., 0, 0] * J[..., 1, 1] - J[..., 0, 1] * J[..., 1, 0]
    radius = corners[:, :, 0] @ value.T
    if not np.all(area > 0.0):
        cell = int(np.argmin(area.min(axis=1)))
        r, z = corners[cell, 4]
        raise DesignFailure(
            Outcome.MESH_FOLDED,
            place="tip",
            detail=f"a stress cell at r {r * 1e3:.2f} mm, z {z * 1e3:.2f} mm",
        )
    inverse = np.empty_like(J)
    inverse[..., 0, 0], inverse[..., 0, 1] = J[..., 1, 1], -J[..., 0, 1]
    inverse[..., 1, 0], inverse[..., 1, 1] = -J[..., 1, 0], J[..., 0, 0]
    gradient = (inverse / area[..., None, None]) @ slope
    strain = np.zeros((*area.shape, 4, 18))
    strain[..., 0, 0::2] = strain[..., 3, 1::2] = gradient[..., 0, :]
    strain[..., 1, 1::2] = strain[..., 3, 0::2] = gradient[..., 1, :]
    strain[..., 2, 0::2] = value / radius[..., None]
    return StrainTable(strain=read_only(strain), radius=read_only(radius), area=read_only(area))


def unit_stiffness(poisson: FloatArray) -> FloatArray:
    """Return the stress per strain for unit modulus, (n, 4, 4) in the order r, z, theta, rz.

    sigma = E/((1+nu)(1-2nu)) [(1-2nu) e + nu tr(e) 1], tau = E/(2(1+nu)) gamma.

    >>> unit_stiffness(np.array([0.25]))[0, 0].round(3).tolist()
    [1.2, 0.4, 0.4, 0.0]
    """
    nu = np.asarray(poisson)[:, None, None]
    direct = np.zeros((4, 4))
    direct[:3, :3] = np.eye(3)
    trace = np.zeros((4, 4))
    trace[:3, :3] = 1.0
    shear = np.diag([0.0, 0.0, 0.0, 0.5])
    return (direct + shear + nu / (1.0 - 2.0 * nu) * trace) / (1.0 + nu)
