"""What one march is given: a design under the heatings of its flow states."""

from dataclasses import dataclass

import numpy as np

from optitip.arrays import FloatArray, frozen
from optitip.solvers.assembly import HeatModel
from optitip.solvers.body import Sink, Surface


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HeatCase:
    """One design under the heatings of its flow states: they march on the steps the worst of them needs.

    models: one a state, all of one topology and of the same materials; often one object repeated.
    surfaces: one a state, on the same nodes; their times and wall temperatures may differ.
    sinks: constant temperatures behind conductances, the same in all states.
    start: ``(n_nodes,)`` [K]. start_time, end_time [s]. kinks: instants [s] a step must end on; all knots of
    a coarse table belong among them, those of a fine one need not. tolerance [K]: bound on the error estimate
    of each step, the root mean square over the worst region of the worst state.
    condensed: one a state, the share of the vapour leaving that condenses on the body's cold side.
    """

    models: tuple[HeatModel, ...]
    surfaces: tuple[Surface, ...]
    sinks: tuple[Sink, ...] = ()
    start: FloatArray
    start_time: float = 0.0
    end_time: float
    kinks: tuple[float, ...] = ()
    tolerance: float = 0.1
    condensed: tuple[float, ...] | None = None

    def __post_init__(self) -> None:
        """Freeze the start and hold the states to one another."""
        object.__setattr__(self, "start", frozen(self.start))
        if self.condensed is None:
            object.__setattr__(self, "condensed", (0.0,) * len(self.models))
        first, states = self.models[0], len(self.models)
        alike = all(
            one.joints.both is first.joints.both or np.array_equal(one.joints.both, first.joints.both)
            for one in self.models
        )
        alike &= all(one.tables == first.tables for one in self.models)
        alike &= all(np.array_equal(one.nodes, self.surfaces[0].nodes) for one in self.surfaces)
        if not alike or len(self.surfaces) != states or len(self.shares) != states:
            raise ValueError("a case: its states don't share one topology, its materials and its surface")
        if self.start.shape != first.volume.shape:
            raise ValueError("a case: its start isn't one temperature a node")

    @property
    def shares(self) -> tuple[float, ...]:
        """Return the share of the vapour that condenses, one a state."""
        return () if self.condensed is None else self.condensed

    def stops(self) -> list[float]:
        """Return the instants [s] that steps end on, the end last."""
        inside = {time for time in self.kinks if self.start_time < time < self.end_time}
        return sorted(inside | {self.end_time})
