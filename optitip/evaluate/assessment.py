"""What one design did on one flight: outcome, metrics with their bracket, histories of each flow state."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from optitip.arrays import FloatArray, IntArray
from optitip.errors import Outcome
from optitip.evaluate.outside import Outside
from optitip.evaluate.turnable import Turnable
from optitip.geometry.assembly import Assembly
from optitip.metrics.accuracy import MetricError
from optitip.metrics.goals import Limit, Sense
from optitip.metrics.margins import Margin
from optitip.metrics.sample import SampleTrace
from optitip.metrics.values import Bracketed

SMALLEST = "margin.smallest"
ALIKE = 1e-9
"""of a figure: states that differ by less give it the same, however they were marched"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stations:
    """Heating and wall along the outline at one instant; arrays (n_s,).

    ``axial`` and ``radius`` [m] are the outline's; ``thickness`` [m] is that of the wall over the cavity, the
    shortest way in, and not a number where the part is solid. ``wall`` [K] is its outside and ``inside`` what
    looks into the cavity; ``highest`` [K] the outside's peak of the whole flight. Where a joint comes out
    there are two stations, fore and aft of it.
    """

    instant: str
    time: float
    arc_length: FloatArray
    axial: FloatArray
    radius: FloatArray
    thickness: FloatArray
    film: FloatArray
    recovery: FloatArray
    wall: FloatArray
    inside: FloatArray
    highest: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StressAt:
    """Von Mises stress [Pa] on the mesh (n_i, n_nodes) at the instants judged, ``time`` (n_i,) [s].

    ``loads`` of the loads alone, bending on its worse side among them; ``whole`` with that of temperature and
    without bending. Nought off the shell.
    """

    names: tuple[str, ...]
    time: FloatArray
    loads: FloatArray
    whole: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fields:
    """Temperature [K] on the mesh in time (n_t, n_nodes) with the mesh it stands on, and its stress."""

    points: FloatArray
    cells: IntArray
    zone: IntArray
    time: FloatArray
    temperature: FloatArray
    stress: StressAt | None = None
    """none while searching"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StateResult:
    """One flow state: the same design and flight, another boundary layer."""

    name: str
    metrics: Mapping[str, float]
    sample: SampleTrace
    band: FloatArray
    margins: tuple[Margin, ...]
    stations: tuple[Stations, ...]
    balance: float
    steps: int
    fields: Fields


@dataclass(frozen=True, slots=True, kw_only=True)
class LimitResult:
    """A limit of the study against the worst flow state; None where the metric has no value."""

    limit: Limit
    value: Bracketed | None

    @property
    def held(self) -> bool:
        """Return whether the worst state keeps the limit; a metric without a value doesn't."""
        return self.value is not None and self.limit.kept(self.value)

    @property
    def expected_held(self) -> bool:
        """Return whether the expected flow state keeps the limit; a metric without a value doesn't."""
        if self.value is None:
            return False
        return self.limit.past(self.value.expected) >= 0.0

    @property
    def worst(self) -> float | None:
        """Return the value of the worst flow state."""
        if self.value is None:
            return None
        return self.value.low if self.limit.sense is Sense.AT_LEAST else self.value.high

    @property
    def worst_state(self) -> str:
        """Return the name of the worst flow state; empty where all states give the same."""
        if self.value is None:
            return ""
        return self.value.low_state if self.limit.sense is Sense.AT_LEAST else self.value.high_state


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Assessment:
    """What one design did; without an answer, ``metrics`` and ``states`` are empty."""

    title: str
    fingerprint: str
    design: Mapping[str, object]
    outcome: Outcome
    detail: str = ""
    place: str = ""
    expected_state: str = ""
    metrics: Mapping[str, Bracketed] = field(default_factory=dict)
    missing: Mapping[str, str] = field(default_factory=dict)
    limits: tuple[LimitResult, ...] = ()
    targets: tuple[LimitResult, ...] = ()
    states: Mapping[str, StateResult] = field(default_factory=dict)
    outside: Outside | None = None
    errors: Mapping[str, MetricError] = field(default_factory=dict)
    """numerical errors by metric, where they were measured"""
    assembly: Assembly | None = None
    turnable: Turnable | None = None
    uncovered: tuple[str, ...] = ()
    """what no margin covers, with the key of the study that would"""
    warnings: tuple[str, ...] = ()

    @property
    def expected(self) -> StateResult:
        """Return the flow state that is expected."""
        return self.states[self.expected_state]

    def extremes(self, metric: str) -> tuple[str, str]:
        """Return the names of the flow states that give a metric its low and its high."""
        names = [name for name, state in self.states.items() if metric in state.metrics]
        if not names:  # an error is that of all flow states together
            return self.expected_state, self.expected_state
        values = [self.states[name].metrics[metric] for name in names]
        return names[int(np.argmin(values))], names[int(np.argmax(values))]

    def smallest_margin(self) -> tuple[str, Margin] | None:
        """Return the flow state and the margin that is smallest over all of them, of those that count."""
        least = [
            (name, margin)
            for name, state in self.states.items()
            for margin in state.margins
            if margin.name == SMALLEST
        ]
        if not least:
            return None
        name, worst = min(least, key=lambda pair: pair[1].value)
        return name, next(one for one in self.states[name].margins if one.name == worst.repeats)


def bracketed(
    states: Mapping[str, StateResult], *, expected: str, units: Mapping[str, str]
) -> dict[str, Bracketed]:
    """Return each metric's bracket over the flow states, of each metric apart, and which give its sides."""
    result = {}
    for name, middle in states[expected].metrics.items():
        values = {state.name: state.metrics[name] for state in states.values() if name in state.metrics}
        low, high = min(values, key=values.__getitem__), max(values, key=values.__getitem__)
        apart = values[high] - values[low] > ALIKE * max(abs(values[low]), abs(values[high]))
        result[name] = Bracketed(
            unit=units[name],
            low=values[low],
            expected=middle,
            high=values[high],
            low_state=low if apart else "",
            high_state=high if apart else "",
        )
    return result
