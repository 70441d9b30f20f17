"""Where everything stands in the memory of the compiled march: three arrays and a tuple of places.

``rows`` (float64) and ``whole`` (int64) hold eight lanes a row, ``index`` what all lanes share: the topology.
A place is the first row, or the first entry, of its kind. Kernels take the three arrays and the places.
"""

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from optitip.arrays import FloatArray, IntArray
from optitip.solvers.lanes import WIDTH

VAPOUR = 2
"""marks the material whose spent heat is vapour that may condense; 1 marks others that spend heat"""


class Places(NamedTuple):
    """Counts, then first rows in ``rows``, in ``whole``, and first entries in ``index``; see the comments."""

    # counts; joints are pairs of nodes, column_groups four columns of the matrix each; sums are the
    # borders' heats and, where there are faces, the pocket's temperature; colds the last of the sink nodes
    nodes: int
    column_groups: int
    materials: int
    joints: int
    outers: int
    sink_nodes: int
    borders: int
    sums: int
    faces: int
    colds: int
    regions: int
    wall_steps: int
    boiling_nodes: int
    melting_nodes: int
    trace_size: int
    # rows: the body
    stiffness: int
    volume: int
    lowest: int
    per_spacing: int
    saturated: int
    latent: int
    least_slope: int
    per_end: int
    endless: int
    joint_area: int
    joint_conductance: int
    joint_gap_rate: int
    joint_gap_reference: int
    sink_conductance: int
    sink_temperature: int
    area: int
    radiator: int
    bucket_origin: int
    bucket_scale: int
    bucket_last: int
    sum_mass: int
    face_film: int
    face_radiator: int
    cold_area: int
    condensing: int
    region_volume: int
    region_weight: int
    first_enthalpy: int
    first_evaporated: int
    # rows: the state and what it says
    enthalpy: int
    evaporated: int
    crossed: int
    temperature: int
    tau: int
    temperature_slope: int
    tau_slope: int
    boiling: int
    scale: int
    enthalpy_per_x: int
    diagonal: int
    rate: int
    rate_slope: int
    rate_sum: int
    rate_slope_sum: int
    joint_slope: int
    border_loss: int
    held: int
    by_pocket: int
    by_face: int
    supply: int
    spent: int
    given: int
    # rows: the step
    matrix: int
    bench: int
    column: int
    inverse: int
    pocket_gain: int
    pocket_pivot: int
    right: int
    right_sum: int
    solved: int
    first_gain: int
    first_gain_sum: int
    mixed: int
    mixed_sum: int
    last: int
    last_sum: int
    trial: int
    trial_sum: int
    length: int
    time: int
    end: int
    instant: int
    error: int
    pivot: int
    # rows: the surface at the instant set
    share: int
    slope_scale: int
    around: int
    around_rise: int
    # rows: the record
    warming: int
    highest: int
    before_temperature: int
    leaving: int
    edge_warming: int
    per_length: int
    before_time: int
    put_boiled: int
    trace: int
    net: int
    gross: int
    fresh: int
    young: int
    # rows: the cases, one a column
    case_time: int
    case_length: int
    case_tried: int
    case_tolerance: int
    case_span: int
    case_next: int
    # whole: the lanes
    table: int
    times: int
    time_address: int
    held_set: int
    held_row: int
    film_address: int
    film_bytes: int
    film_node_bytes: int
    wall_table: int
    bucket_table: int
    recovery_address: int
    absorbed_address: int
    around_address: int
    absorbs: int
    film_here: int
    film_following: int
    recovery_here: int
    recovery_following: int
    absorbed_here: int
    absorbed_following: int
    case: int
    temperature_address: int
    warming_address: int
    leaving_address: int
    trace_address: int
    boiled_address: int
    put_temperature: int
    put_warming: int
    put_leaving: int
    put_trace: int
    put_evaporated: int
    scratch_address: int
    # whole: the cases
    case_status: int
    case_fresh: int
    case_cut: int
    case_steps: int
    case_rejected: int
    case_rows: int
    case_capacity: int
    case_stop: int
    case_stops: int
    stops_address: int
    instants_address: int
    # index
    material: int
    boils: int
    first: int
    start: int
    entry_start: int
    entry_place: int
    entry_material: int
    product_start: int
    product: int
    joint_first: int
    joint_second: int
    joint_start: int
    joint_order: int
    joint_place: int
    outer: int
    sink: int
    sink_border: int
    face: int
    region_start: int
    region_node: int
    boiling_node: int
    melting_node: int


def aligned(rows: int) -> FloatArray:
    """Return zeros ``(rows, WIDTH)`` that start on a 64-byte line, as a vector's load wants."""
    zeros = on_lines(rows, width=WIDTH)
    zeros[:] = 0.0
    return zeros


def on_lines(rows: int, *, width: int) -> FloatArray:
    """Return room for rows of whole vectors, on 64-byte lines: a vector across two of them costs twice."""
    raw = np.empty(rows * width + WIDTH)
    shift = (-raw.ctypes.data // raw.itemsize) % WIDTH
    return raw[shift : shift + rows * width].reshape(rows, width)


def as_record(at: Places) -> Places:
    """Return the places as a record, taken by its address: a tuple of as many compiles thrice as long."""
    kind = np.dtype([(name, np.int64) for name in Places._fields])
    record: Places = np.array([tuple(at)], dtype=kind)[0]
    return record


def upwards(count: int, *, step: int) -> int:
    """Return the count rounded up to whole steps.

    >>> upwards(637, step=8)
    640
    """
    return -(-count // step) * step


def places(
    counts: Mapping[str, int], *, rows: Mapping[str, int], whole: Mapping[str, int], index: Mapping[str, int]
) -> Places:
    """Return the places of kinds of the given sizes, each array filled from its beginning."""
    found = dict(counts)
    for sizes in (rows, whole, index):
        ends = np.cumsum(list(sizes.values()))
        found |= dict(zip(sizes, (ends - list(sizes.values())).tolist(), strict=True))
    return Places(**found)


def joined(parts: Mapping[str, IntArray]) -> IntArray:
    """Return the parts of the shared index behind one another."""
    return np.concatenate([np.asarray(part, dtype=np.int64) for part in parts.values()])
