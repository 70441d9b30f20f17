"""How warm parts, joints and things inside became, each against the temperature it stands."""

from collections.abc import Iterator

import numpy as np

from optitip.arrays import IntArray
from optitip.evaluate.building import Tip
from optitip.evaluate.parts import SHELL_PARTS
from optitip.inputs.strength_tables import Inside, Place
from optitip.metrics.margins import Margin, ServicePeak, service_margin
from optitip.properties.joints import JOINT_RANGES
from optitip.solvers.history import History


def service_margins(tip: Tip, *, history: History, start: float) -> Iterator[Margin]:
    """Yield the margins of parts, of joints and, where the study names any, of things inside.

    start: [K] of the shell before the flight.
    """
    yield service_margin("margin.temperature", peaks=_part_peaks(tip, history=history, start=start))
    yield service_margin("margin.joint", peaks=_joint_peaks(tip, history=history, start=start))
    if tip.tables.strength.inside:
        inside = [_inside(tip, one, history=history, start=start) for one in tip.tables.strength.inside]
        yield service_margin("margin.inside", peaks=inside)


def _part_peaks(tip: Tip, *, history: History, start: float) -> list[ServicePeak]:
    """Return the hottest each part with a service limit became, backing included, the sample not.

    An insulator in the shell is judged by depth instead: its surface passes its limit on every fast flight.
    """
    peaks = []
    for piece in tip.parts.pieces:
        material = tip.materials[piece.material]
        by_depth = material.judged_by_depth and piece.part in SHELL_PARTS
        if material.service_limit is None or piece.part == "slab" or by_depth:
            continue
        name = f"{piece.part} ({material.name})"
        limit = material.service_limit
        peaks.append(_peak(tip, piece.nodes, history=history, part=name, limit=limit, start=start))
    return peaks


def _joint_peaks(tip: Tip, *, history: History, start: float) -> list[ServicePeak]:
    """Return the hotter face of each joint with a limit: the study's, or the build's of the sample joint."""
    given = tip.tables.strength.joint_limit
    build = tip.tables.sample.joint.build
    limits: dict[str, float | None] = dict.fromkeys(("plug", "base", "sample"), given)
    if given is None and tip.tables.sample.joint.conductance is None:
        limits["sample"] = JOINT_RANGES[build].limit
    return [
        _peak(
            tip,
            np.concatenate([pairs.first, pairs.second]),
            history=history,
            part=f"joint of the {pairs.name}",
            limit=limit,
            start=start,
        )
        for pairs in tip.mesh.joints
        if (limit := limits.get(pairs.name)) is not None
    ]


def _inside(tip: Tip, one: Inside, *, history: History, start: float) -> ServicePeak:
    """Return the hottest that a thing inside became: where it sits, the side that looks into the cavity."""
    if one.place is Place.POCKET:
        air = history.temperature[:, tip.parts.pocket.nodes].max(axis=1)
        air = air if history.pocket is None else history.pocket
        when = float(history.time[int(np.argmax(air))])
        return ServicePeak(
            part=one.name,
            limit=one.limit,
            start=start,
            peak=float(air.max()),
            axial=None,
            time=f"{when:.1f} s",
            seconds=when,
        )
    nodes = _side(tip, one.place)
    return _peak(tip, nodes, history=history, part=one.name, limit=one.limit, start=start)


def _side(tip: Tip, place: Place) -> IntArray:
    """Return the nodes of a part that look into the cavity."""
    if place is Place.SAMPLE:
        lining = tip.mesh.backing_rows if tip.mesh.backing_rows.size else tip.mesh.slab_rows
        return lining[:, -1]
    return np.intersect1d(tip.mesh.inner_edges, tip.nodes_of(place.value))


def _peak(
    tip: Tip, nodes: IntArray, *, history: History, part: str, limit: float, start: float
) -> ServicePeak:
    values = history.highest[nodes]
    hottest = int(nodes[int(np.argmax(values))])
    when = float(history.time[int(np.argmax(history.temperature[:, hottest]))])
    return ServicePeak(
        part=part,
        limit=limit,
        start=start,
        peak=float(values.max()),
        axial=float(tip.mesh.points[hottest, 1]),
        time=f"{when:.1f} s",
        seconds=when,
    )
