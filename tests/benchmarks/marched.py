"""What every rival marches: one body under one heating, and how far an answer is from another."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace
from pathlib import Path

import numpy as np

from optitip.evaluate.building import Tip, build_tip
from optitip.evaluate.conditions import conditions_of
from optitip.evaluate.heatings import expected_name
from optitip.evaluate.warming import heat_body, nose_sink, surface_of
from optitip.geometry.topology import Resolution
from optitip.heating.table import Heating
from optitip.inputs.study import Study, read_study
from optitip.properties.materials import Material
from optitip.solvers.body import HeatBody, Sink, Surface

STUDY = Path(__file__).parents[2] / "studies" / "coastal-egg"
# the pocket's air is shut in, so that nothing boils: no rival knows vapour that doesn't come back
DESIGN = {"sample.pocket.air": "sealed"}
_BETWEEN = np.arange(1, 16) / 16.0
"""Places within a step at which a course is read beside its ends: the coldest point's peak is a corner."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Marched:
    """A body, its borders and its start, as plain arrays.

    parts: the nodes of plug, band, base and slab, whose temperatures are compared.
    slab_volume: ``(n_slab,)`` [m3].
    """

    body: HeatBody
    surface: Surface
    sinks: tuple[Sink, ...]
    start: np.ndarray
    start_time: float
    end_time: float
    kinks: tuple[float, ...]
    parts: Mapping[str, np.ndarray]
    slab_volume: np.ndarray
    sample: Material

    @property
    def unknowns(self):
        """Return how many nodes there are."""
        return len(self.body.points)

    @property
    def stops(self):
        """Return the instants [s] at which the heating bends, the end with them."""
        inside = {time for time in self.kinks if self.start_time < time < self.end_time}
        return sorted(inside | {self.end_time})

    @property
    def node_material(self):
        """Return the index of each node's own material."""
        material = np.zeros(self.unknowns, dtype=np.int64)
        material[self.body.cells] = self.body.cell_material[:, None]
        return material


@dataclass(frozen=True, kw_only=True, eq=False)
class Course:
    """Temperatures [K] of all nodes (n, n_nodes) at a rival's own instants, and what it cost.

    slope, after: [K/s] just before and just after each instant, where the rival knows them; between its
    instants the answer is then the cubic through all four.
    """

    time: np.ndarray
    temperature: np.ndarray
    slope: np.ndarray | None = None
    after: np.ndarray | None = None
    steps: int = 0

    @property
    def instants(self):
        """Return the instants [s] at which the answer is read: within the steps too, where it has slopes."""
        if self.slope is None:
            return self.time
        between = self.time[:-1, None] + np.diff(self.time)[:, None] * _BETWEEN
        return np.sort(np.concatenate([self.time, between.ravel()]))

    def at(self, time, *, nodes):
        """Return the temperatures (n_at, n) [K] of some nodes at the instants above."""
        values = self.temperature[:, nodes]
        if self.slope is None:
            return values
        before = self.slope[:, nodes]
        after = before if self.after is None else self.after[:, nodes]
        row = np.clip(np.searchsorted(self.time, time, side="right") - 1, 0, self.time.size - 2)
        length = np.diff(self.time)[row, None]
        share = (time - self.time[row])[:, None] / length
        rise = values[row + 1] - values[row]
        bend = (1.0 - share) * (after[row] * length - rise) + share * (rise - before[row + 1] * length)
        return values[row] + share * (rise + (1.0 - share) * bend)


@dataclass(frozen=True, kw_only=True)
class Error:
    """How far one answer is from another: peak energy in the sample [%], the parts' peak temperatures [K]."""

    energy: float
    temperature: float

    def within(self, other):
        """Return whether neither is larger than in ``other``."""
        return self.energy <= other.energy and self.temperature <= other.temperature


def figures(marched: Marched, course: Course) -> dict[str, float]:
    """Return the peaks: the sample's energy [J], its coldest, mean and hottest point's, each part's [K]."""
    time = course.instants
    slab, volume = course.at(time, nodes=marched.parts["slab"]), marched.slab_volume
    stored = marched.sample.enthalpy_at(slab)
    courses = {
        "energy": (stored - stored[0]) @ volume,
        "sample coldest": slab.min(axis=1),
        "sample mean": slab @ volume / volume.sum(),
        "sample hottest": slab.max(axis=1),
    }
    for part in marched.parts.keys() - {"slab"}:
        courses[part] = course.at(time, nodes=marched.parts[part]).max(axis=1)
    return {name: _peak(time, values) for name, values in courses.items()}


def _peak(time, values) -> float:
    """Return how high the values peak, by a parabola through the highest three: the same for every rival."""
    top = int(np.argmax(values))
    if top in (0, len(values) - 1):
        return float(values[top])
    before, after = time[top - 1] - time[top], time[top + 1] - time[top]
    down, up = (values[top - 1] - values[top]) / before, (values[top + 1] - values[top]) / after
    curvature = (up - down) / (after - before)
    if curvature >= 0.0:
        return float(values[top])
    slope = down - curvature * before
    shift = float(np.clip(-slope / (2.0 * curvature), before, after))
    return float(values[top] + shift * (slope + curvature * shift))


def apart(found: Mapping[str, float], reference: Mapping[str, float]) -> Error:
    """Return how far the figures are from others: energy in per cent, the worst temperature in kelvin."""
    kelvin = [abs(found[name] - reference[name]) for name in reference if name != "energy"]
    energy = abs(found["energy"] / reference["energy"] - 1.0)
    return Error(energy=100.0 * energy, temperature=max(kelvin))


def study() -> Study:
    """Return the study whose tip is marched."""
    return read_study(STUDY).with_design(DESIGN)


def strips(factor: float, **counts) -> Resolution:
    """Return the usual resolution with ``factor`` times as many strips along the arc, as many cells across.

    counts: of single zones, in the place of what the factor gives.
    """
    usual = Resolution()
    across = {"across", "slab", "slab_first", "backing"}
    named = [one.name for one in fields(usual) if one.name not in across]
    even = {name: max(2 * round(0.5 * factor * getattr(usual, name)), 2) for name in named}
    return replace(usual, **(even | counts))


SIZES = {
    "usual": Resolution(),  # 731 unknowns: what a design is marched with
    "small": strips(1.25),  # 931
    "medium": strips(3.0, nose=28, pocket=52),  # 2,311
}


def marched_tip(resolution: Resolution) -> Marched:
    """Return the tip of the study at a resolution, under the expected state of the flow."""
    given = study()
    tip = build_tip(given.tables, folder=given.folder, resolution=resolution)
    conditions = conditions_of(given, tip)
    heating = conditions.heatings[expected_name(given.tables.flow)]
    return marched_of(tip, heating=heating, start=conditions.start, kinks=conditions.kinks)


def marched_of(tip: Tip, *, heating: Heating, start: float, kinks: Sequence[float]) -> Marched:
    """Return a built tip under one heating, starting at one temperature [K]: a full ring in a closed base."""
    slab, cells = tip.nodes_of("slab"), tip.cells_of("slab")
    volume = np.bincount(
        tip.mesh.cells[cells].T.ravel(),
        weights=tip.corner_volume[:, cells].ravel(),
        minlength=len(tip.mesh.points),
    )
    return Marched(
        # nothing boils in a sealed pocket, so its pressure says nothing; its air is a node no library has
        body=replace(heat_body(tip, filled=1.0, pocket_pressure=1e5, start=start), enclosure=None),
        surface=surface_of(tip, heating),
        sinks=(nose_sink(tip, start=start),),
        start=np.full(len(tip.mesh.points), start),
        start_time=float(heating.time[0]),
        end_time=float(heating.time[-1]),
        kinks=tuple(kinks),
        parts={part: tip.nodes_of(part) for part in ("plug", "band", "base", "slab")},
        slab_volume=volume[slab],
        sample=tip.sample,
    )
