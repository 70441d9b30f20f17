"""What a march leaves behind: temperatures in time, where the heat went, and how well it adds up."""

from dataclasses import dataclass

from optitip.arrays import FloatArray, IntArray
from optitip.solvers.dense import between_steps


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class History:
    """One body under one heating, at the march's own instants.

    time ``(n,)`` [s]. temperature ``(n, n_nodes)`` [K]; slope and slope_after ``(n, n_nodes)`` [K/s] its rate
    of change just before and just after each instant.
    evaporated ``(n, n_nodes)`` [J/m3] latent heat that has left with the vapour; condensed ``(n,)`` [J] what
    of it the cold side got back since the start. pocket ``(n,)`` [K] the closed pocket's temperature, if any.
    regions ``(n_regions,)``; sensible, latent ``(n, n_regions)`` [J] taken up by each region since the start.
    convected, radiated ``(n,)`` [J] through the surface since the start, what it absorbed among the radiated;
    sunk ``(n, n_sinks)`` [J]: all positive into the body. closure: what the nodes gained less what crossed
    the borders, as the march summed it, over the integral of |q| (insulated: over what warms the body by
    1 K); balance: the same with the border's heat integrated afresh from the temperatures.
    highest ``(n_nodes,)`` [K] each node's highest temperature, between the steps included.
    steps, rejected: counts.
    """

    time: FloatArray
    temperature: FloatArray
    slope: FloatArray
    slope_after: FloatArray
    highest: FloatArray
    evaporated: FloatArray
    condensed: FloatArray
    pocket: FloatArray | None
    regions: IntArray
    sensible: FloatArray
    latent: FloatArray
    convected: FloatArray
    radiated: FloatArray
    sunk: FloatArray
    closure: float
    balance: float
    steps: int
    rejected: int

    @property
    def heat_in(self) -> FloatArray:
        """Return all heat that entered less all that left since the start ``(n,)`` [J]."""
        total: FloatArray = self.convected + self.radiated + self.sunk.sum(axis=1)
        return total

    def temperature_at(self, time: FloatArray, *, nodes: IntArray | None = None) -> FloatArray:
        """Return the temperatures ``(n_at, n)`` [K] of all or some nodes at any instants of the march [s]."""
        fields = (self.temperature, self.slope, self.slope_after)
        values, slopes, after = fields if nodes is None else (each.take(nodes, axis=1) for each in fields)
        return between_steps(time, time=self.time, values=values, slopes=slopes, after=after)
