"""What the plots show, as plain arrays: nothing here needs matplotlib."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from optitip.arrays import FloatArray, IntArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SampleTrace:
    """What one flow state did to the sample: arrays (n,) over ``time`` [s]; temperatures [K], energy [J].

    ``peak`` [J] is the energy's own, which may lie between two of the times.
    """

    state: str
    time: FloatArray
    coldest: FloatArray
    mean: FloatArray
    hottest: FloatArray
    wall: FloatArray
    energy: FloatArray
    peak: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FlightTrace:
    """A flight's altitude above sea level [m] and Mach number, arrays (n,) over ``time`` [s]."""

    time: FloatArray
    altitude: FloatArray
    mach: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Section:
    """A mesh to colour: ``points`` (n, 2) columns r, z [m], ``cells`` (m, 4), ``parts`` (m,) with names.

    Edges between unlike parts are drawn; a part without a name is drawn and not labelled.
    """

    points: FloatArray
    cells: IntArray
    parts: IntArray
    part_names: Mapping[int, str]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Measure:
    """One axis of a front: ``values`` (n,) in the SI ``unit``, with their bracket where there is one."""

    label: str
    unit: str
    values: FloatArray
    low: FloatArray | None = None
    high: FloatArray | None = None
    sides: str = ""
    """which flow states give low and high, in words"""


def from_lift_off(trace: SampleTrace) -> SampleTrace:
    """Return the trace from lift-off on, at 0 s; one that begins later stays whole."""
    since = trace.time >= 0.0
    arrays = ("time", "coldest", "mean", "hottest", "wall", "energy")
    return replace(trace, **{name: getattr(trace, name)[since] for name in arrays})


def trace_of(traces: Sequence[SampleTrace], state: str) -> SampleTrace:
    """Return the trace of one flow state."""
    [trace] = [one for one in traces if one.state == state]
    return trace


def bracket(traces: Sequence[SampleTrace], time: FloatArray, key: str) -> tuple[FloatArray, FloatArray]:
    """Return the lowest and the highest of all states at ``time`` (n,), each state interpolated there."""
    values = np.array([np.interp(time, one.time, getattr(one, key)) for one in traces])
    return values.min(axis=0), values.max(axis=0)


def peak_sides(traces: Sequence[SampleTrace], key: str) -> str:
    """Return which states give the lowest and the highest peak, in words; none with a single state."""
    peaks = {one.state: float(getattr(one, key).max()) for one in traces}
    low, high = min(peaks, key=peaks.__getitem__), max(peaks, key=peaks.__getitem__)
    return "" if low == high else f"peak low {low}, high {high}"


def part_edges(section: Section) -> IntArray:
    """Return the edges (k, 2) that the cells on their two sides don't share as one part, off the axis."""
    ends = np.stack([section.cells, np.roll(section.cells, -1, axis=1)], axis=-1).reshape(-1, 2)
    owner = np.repeat(section.parts, 4)
    real = ends[:, 0] != ends[:, 1]
    ends, owner = np.sort(ends[real], axis=1), owner[real]
    edges, index = np.unique(ends, axis=0, return_inverse=True)
    lowest, highest = np.full(len(edges), np.iinfo(np.int64).max), np.full(len(edges), -1)
    np.minimum.at(lowest, index.ravel(), owner)
    np.maximum.at(highest, index.ravel(), owner)
    single = np.bincount(index.ravel(), minlength=len(edges)) == 1
    on_axis = np.all(section.points[edges, 0] == 0.0, axis=1)
    wanted: IntArray = edges[((lowest != highest) | single) & ~on_axis]
    return wanted


def triangles(section: Section) -> IntArray:
    """Return the cells as triangles (k, 3), those with a doubled corner left out."""
    found = np.vstack([section.cells[:, [0, 1, 2]], section.cells[:, [0, 2, 3]]])
    three = (found[:, 0] != found[:, 1]) & (found[:, 1] != found[:, 2]) & (found[:, 2] != found[:, 0])
    kept: IntArray = found[three]
    return kept
