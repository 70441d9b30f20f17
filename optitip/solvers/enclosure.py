"""The closed pocket as one more unknown outside the band: what its faces take, and the bordered solve.

q_i = A_i (film (T_n - T_i) + emissivity_i sigma (T_n^4 - T_i^4)),   C dT_n/dt = -sum of q_i
"""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from optitip.arrays import FloatArray
from optitip.solvers.body import Enclosure
from optitip.solvers.surface import STEFAN_BOLTZMANN


class Facing(NamedTuple):
    """Heat into each face [W], its gain per kelvin of the pocket and its loss per kelvin of its own [W/K]."""

    heat: FloatArray
    by_pocket: FloatArray
    by_face: FloatArray


class PocketFlux:
    """The enclosures of all states; faces ``(n_states, n)``, the pocket's temperature ``(n_states, 1)``."""

    def __init__(self, enclosures: Sequence[Enclosure]) -> None:
        """Lay out the conductances; the faces are the same nodes in all states."""
        self.nodes = enclosures[0].nodes
        area = np.stack([one.area for one in enclosures])
        self._film = area * np.array([one.film for one in enclosures])[:, None]
        emissivity = np.stack([one.emissivity for one in enclosures])
        self._radiator = area * emissivity * STEFAN_BOLTZMANN
        self.heat_capacity = np.array([one.heat_capacity for one in enclosures])[:, None]

    def heat(self, faces: FloatArray, *, pocket: FloatArray) -> FloatArray:
        """Return the heat into each face [W], positive into the body."""
        heat: FloatArray = self._film * (pocket - faces)
        faces_squared = faces * faces
        faces_squared *= faces_squared
        heat += self._radiator * (pocket**4 - faces_squared)
        return heat

    def facing(self, faces: FloatArray, *, pocket: FloatArray) -> Facing:
        """Return the heat with both its slopes."""
        return Facing(
            self.heat(faces, pocket=pocket),
            self._film + 4.0 * self._radiator * pocket**3,
            self._film + 4.0 * self._radiator * (faces * faces * faces),
        )


class Border(NamedTuple):
    """The row and the column that border the band of one state: [A u; v d] with u = -gain, v = -loss.

    gain ``(n,)``: A^-1 of the column at all nodes, negated; loss ``(n_faces,)``; pivot: d - v A^-1 u.
    """

    gain: FloatArray
    loss: FloatArray
    pivot: float

    def solve(self, x: FloatArray, *, faces: FloatArray, right: float) -> float:
        """Return the pocket's part of the solution, the band's own ``x`` corrected in place."""
        rise = (right + float(self.loss @ faces)) / self.pivot
        x += rise * self.gain
        return rise
