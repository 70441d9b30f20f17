"""The reference enthalpy at which a compressible boundary layer follows the laws of an incompressible one."""

import numpy as np
from numpy.typing import ArrayLike

from optitip.arrays import FloatArray


def reference_enthalpy(edge: ArrayLike, *, recovery: ArrayLike, wall: ArrayLike) -> FloatArray:
    """Return Eckert's reference enthalpy [J/kg]: h* = (he + hw)/2 + 0.22 (haw - he).

    ``edge`` he, ``recovery`` haw and ``wall`` hw [J/kg] are of shapes that broadcast.

    Valid as the laws that take their properties at it; laminar and turbulent alike.

    Source: Eckert 1955, J. Aero. Sci. 22, 585.

    >>> float(reference_enthalpy(253e3, recovery=600e3, wall=300e3))  # 276.5e3 + 0.22 x 347e3
    352840.0
    """
    he, haw = np.asarray(edge, dtype=np.float64), np.asarray(recovery, dtype=np.float64)
    # the wall last: the columns of a film are its alone
    level: FloatArray = (0.5 * he + 0.22 * (haw - he)) + 0.5 * np.asarray(wall, dtype=np.float64)
    return level
