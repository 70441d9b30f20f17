"""Vapour that condenses on the cold side: part of the latent heat spent comes back elsewhere in the body.

q_j = g A_j (T_s - T_j): T_s where the cold side boils, g such that the supply is used up, at most
``CONDENSING_FILM``
"""

from collections.abc import Sequence

import numpy as np

from optitip.arrays import FloatArray
from optitip.solvers.assembly import HeatModel

# W/(m2 K): steam on a cold wall gives 5,000 to 15,000, less with air in it; from memory
CONDENSING_FILM = 5000.0


class Condensing:
    """Sets the conductance of the cold side step by step, from the vapour its material lost just before.

    What hasn't condensed stays in the pocket, and what the cold side can't take stays vapour.
    """

    def __init__(self, models: Sequence[HeatModel], *, shares: Sequence[float]) -> None:
        """Take the cold side of each state and the share of the vapour that may condense there."""
        sides = [model.cold_side for model in models]
        self.nodes = sides[0].nodes
        tables = models[0].node_tables
        self._area = np.stack([side.area for side in sides])
        # resin of the shell that decomposes gives nothing into the pocket
        own = np.isin(models[0].node_material, models[0].node_material[self.nodes])
        self._volume = np.stack([np.where(own, model.volume, 0.0) for model in models])
        self._share = np.array(shares)
        self.works = bool(self._share.any()) and tables.boils and self.nodes.size > 0
        self.temperature = models[0].boiling_temperature()[self.nodes]
        """``(n,)`` [K] of the vapour: where the cold side's own material boils"""
        self._supply = np.zeros(len(models))

    def conductance(
        self, cold: FloatArray, *, spent: FloatArray, given: FloatArray, length: float
    ) -> FloatArray:
        """Return the conductance ``(n_states, n)`` [W/K] for the next step.

        cold: ``(n_states, n)`` [K] now. spent: ``(n_states, n_nodes)`` [J/m3] and given: ``(n_states,)`` [J]
        in the step just done, of ``length`` [s].
        """
        self._supply += self._share * (spent * self._volume).sum(axis=1) - given
        np.maximum(self._supply, 0.0, out=self._supply)
        reach = (self._area * np.maximum(self.temperature - cold, 0.0)).sum(axis=1)
        film = np.full_like(reach, CONDENSING_FILM)
        taken = reach * length
        np.divide(self._supply, taken, out=film, where=self._supply < CONDENSING_FILM * taken)
        open_ = (self._supply > 0.0)[:, None] & (cold < self.temperature)
        return np.where(open_, film[:, None] * self._area, 0.0)
