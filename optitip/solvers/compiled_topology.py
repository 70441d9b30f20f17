"""What all lanes of a compiled march share: places of entries, pairs, borders, regions."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from optitip.arrays import BoolArray, IntArray
from optitip.solvers.assembly import HeatModel
from optitip.solvers.body import Sink, Surface
from optitip.solvers.compiled_band import GROUP
from optitip.solvers.compiled_layout import VAPOUR, Places, as_record, joined, places, upwards
from optitip.solvers.compiled_surface import HELD
from optitip.solvers.lanes import WIDTH


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LaneTopology:
    """The shared index with its places, and where each entry of a lane's own band stands in flat order."""

    at: Places
    record: Places
    index: IntArray
    band_entries: IntArray
    region_entries: IntArray
    row_count: int
    whole_count: int


def topology_key(model: HeatModel, *, surface: Surface, sinks: Sequence[Sink]) -> tuple[object, ...]:
    """Return what two cases must have in common to share lanes."""
    return (
        model.stiffness.shape,
        model.joints.both.tobytes(),
        model.node_material.tobytes(),
        len(model.tables),
        model.region_mean.tobytes(),
        surface.nodes.tobytes(),
        tuple(sink.nodes.tobytes() for sink in sinks),
        b"" if model.enclosure is None else model.enclosure.nodes.tobytes(),
        model.cold_side.nodes.tobytes(),
    )


def topology_of(
    model: HeatModel,
    *,
    pattern: BoolArray,
    boils: BoolArray,
    melts: BoolArray,
    surface: Surface,
    sinks: Sequence[Sink],
    wall_steps: int,
    condensing: bool,
) -> LaneTopology:
    """Return the shared index of all cases like this one.

    pattern: ``(width + 1, n_nodes)`` where any case's band has an entry. boils: ``(n_materials,)``, in any
    case; melts: the same. wall_steps: the most wall columns to pass in a bucket. condensing: whether
    vapour condenses in any.
    """
    column, offset = np.nonzero(pattern.T)
    row = column + offset - (pattern.shape[0] - 1)
    skyline = _skyline(model, row=row, column=column)
    product = _product(row, column)
    sides = [sink.nodes for sink in sinks] + ([model.cold_side.nodes] if condensing else [])
    borders = 2 + len(sides)
    faces = _NONE if model.enclosure is None else model.enclosure.nodes
    region, region_node = np.nonzero(model.region_mean)
    index: dict[str, IntArray] = {
        "material": model.node_material,
        "boils": _spending(model, boils=boils),
        **skyline,
        "entry_material": model.node_material[column],
        **product,
        "joint_first": model.joints.first,
        "joint_second": model.joints.second,
        "outer": surface.nodes,
        "sink": _joined(sides),
        "sink_border": np.repeat(np.arange(2, borders), [side.size for side in sides]),
        "face": faces,
        "region_start": np.searchsorted(region, np.arange(model.regions.size + 1)),
        "region_node": region_node,
        "boiling_node": np.flatnonzero(boils[model.node_material]),
        "melting_node": np.flatnonzero(melts[model.node_material]),
    }
    counts = {
        "nodes": model.volume.size,
        "column_groups": skyline["first"].size,
        "materials": boils.size,
        "joints": model.joints.first.size,
        "outers": surface.nodes.size,
        "sink_nodes": index["sink"].size,
        "borders": borders,
        "sums": borders + (faces.size > 0),
        "faces": faces.size,
        "colds": sides[-1].size if condensing else 0,
        "regions": model.regions.size,
        "wall_steps": wall_steps,
        "boiling_nodes": index["boiling_node"].size,
        "melting_nodes": index["melting_node"].size,
        "trace_size": borders + (faces.size > 0) + 2 * model.regions.size,
    }
    start = skyline["start"]
    rows = _row_sizes(
        counts,
        entries=column.size,
        matrix=int(start[-1]),
        bench=int(np.diff(start).max()),
        members=region.size,
    )
    whole = _whole_sizes(counts)
    at = places(counts, rows=rows, whole=whole, index={key: part.size for key, part in index.items()})
    return LaneTopology(
        at=at,
        record=as_record(at),
        index=joined(index),
        band_entries=column * pattern.shape[0] + offset,
        region_entries=region * model.volume.size + region_node,
        row_count=sum(rows.values()),
        whole_count=sum(whole.values()),
    )


def _spending(model: HeatModel, *, boils: BoolArray) -> IntArray:
    """Return 0 for a material that spends no heat for good, 1 for one that does, 2 for the cold side's."""
    spending = boils.astype(np.int64)
    spending[model.node_material[model.cold_side.nodes]] *= VAPOUR
    return spending


def _joined(arrays: Sequence[IntArray]) -> IntArray:
    return np.concatenate([_NONE, *arrays])


def _skyline(model: HeatModel, *, row: IntArray, column: IntArray) -> dict[str, IntArray]:
    """Return each group of columns' first row and start, and the places of band entries and joints in it."""
    nodes = model.volume.size
    low = np.minimum(model.joints.first, model.joints.second)
    high = np.maximum(model.joints.first, model.joints.second)
    groups = -(-nodes // GROUP)
    first = GROUP * np.arange(groups)
    np.minimum.at(first, np.concatenate([column, high]) // GROUP, np.concatenate([row, low]))
    first -= first % 2
    start = np.concatenate([[0], np.cumsum(GROUP * (GROUP * np.arange(1, groups + 1) - first))])
    order = np.argsort(high // GROUP, kind="stable")

    def place(row: IntArray, column: IntArray) -> IntArray:
        group = column // GROUP
        return np.asarray(start[group] + GROUP * (row - first[group]) + column % GROUP)

    return {
        "first": first,
        "start": start,
        "entry_start": np.searchsorted(column // GROUP, np.arange(groups + 1)),
        "entry_place": place(row, column),
        "joint_start": np.searchsorted((high // GROUP)[order], np.arange(groups + 1)),
        "joint_order": order,
        "joint_place": place(low[order], high[order]),
    }


def _product(row: IntArray, column: IntArray) -> dict[str, IntArray]:
    """Return each row's entries and columns of the whole symmetric matrix."""
    entry = np.arange(row.size)
    off = row != column
    rows, columns = np.concatenate([row, column[off]]), np.concatenate([column, row[off]])
    order = np.lexsort((columns, rows))
    return {
        "product_start": np.searchsorted(rows[order], np.arange(row.max() + 2)),
        "product": np.stack([np.concatenate([entry, entry[off]])[order], columns[order]], axis=1).ravel(),
    }


def _row_sizes(
    counts: dict[str, int], *, entries: int, matrix: int, bench: int, members: int
) -> dict[str, int]:
    """Return how many rows of numbers each place takes; those written across are padded to whole vectors."""
    nodes, sums, materials = upwards(counts["nodes"], step=WIDTH), counts["sums"], counts["materials"]
    faces, colds = counts["faces"], counts["colds"]
    joints, sinks, outers = counts["joints"], counts["sink_nodes"], counts["outers"]
    sizes = {"stiffness": entries, "matrix": matrix, "bench": bench, "region_volume": members}
    sizes |= dict.fromkeys(_BY_NODE, nodes) | dict.fromkeys(_BY_MATERIAL, materials)
    sizes |= dict.fromkeys(_BY_SUM, sums) | dict.fromkeys(_BY_JOINT, joints)
    sizes |= {"sink_conductance": sinks, "sink_temperature": sinks, "area": outers, "radiator": outers}
    sizes |= {"rate_slope": outers, "border_loss": 2 * outers + sinks}
    sizes |= {"held": 2 * HELD * outers, "edge_warming": outers + sinks}
    sizes |= {"region_weight": counts["regions"], "trace": upwards(counts["trace_size"], step=WIDTH)}
    sizes |= {"cold_area": colds} | dict.fromkeys(_BY_FACE, faces)
    sizes |= {"put_boiled": upwards(counts["boiling_nodes"], step=WIDTH)}
    return sizes | dict.fromkeys(_SINGLE, 1)


def _whole_sizes(counts: dict[str, int]) -> dict[str, int]:
    return {"table": counts["materials"], "held_row": 2} | dict.fromkeys(_SINGLE_WHOLE, 1)


_NONE = np.empty(0, dtype=np.int64)
_BY_NODE = (
    *("volume", "first_enthalpy", "first_evaporated", "enthalpy", "evaporated", "temperature", "tau"),
    *("temperature_slope", "tau_slope", "boiling", "enthalpy_per_x", "diagonal", "rate", "inverse"),
    *("right", "solved", "first_gain", "mixed", "last", "trial", "warming", "highest"),
    *("before_temperature", "column", "pocket_gain", "leaving"),
)
_BY_MATERIAL = (
    *("lowest", "per_spacing", "saturated", "latent", "least_slope", "per_end", "endless", "scale"),
)
_BY_FACE = (*("face_film", "face_radiator", "by_pocket", "by_face"),)
_BY_SUM = (
    *("sum_mass", "crossed", "rate_sum", "rate_slope_sum", "right_sum", "first_gain_sum", "mixed_sum"),
    *("last_sum", "trial_sum"),
)
_BY_JOINT = (*("joint_area", "joint_conductance", "joint_gap_rate", "joint_gap_reference", "joint_slope"),)
_SINGLE = (
    *("length", "time", "end", "instant", "error", "pivot", "share", "slope_scale", "around"),
    *("around_rise", "before_time", "per_length", "net", "gross", "fresh", "young", "case_time"),
    *("case_length", "case_tried", "case_tolerance", "case_span", "case_next", "bucket_origin"),
    *("bucket_scale", "bucket_last", "pocket_pivot", "condensing", "supply", "spent", "given"),
)
_SINGLE_WHOLE = (
    *("times", "time_address", "held_set", "film_address", "film_bytes", "film_node_bytes"),
    *("wall_table", "bucket_table", "recovery_address", "absorbed_address", "around_address"),
    *("absorbs", "film_here", "film_following", "recovery_here", "recovery_following", "absorbed_here"),
    *("absorbed_following", "case", "temperature_address", "warming_address", "leaving_address"),
    *("trace_address", "boiled_address", "put_temperature", "put_warming", "put_leaving", "put_trace"),
    *("put_evaporated", "scratch_address", "case_status", "case_fresh", "case_cut", "case_steps"),
    *("case_rejected", "case_rows", "case_capacity", "case_stop", "case_stops", "stops_address"),
    *("instants_address",),
)
