"""How warm parts, joints and things inside became, each against the temperature it stands."""

from collections.abc import Iterator

import numpy as np

from optitip.arrays import IntArray
from optitip.evaluate.building import Tip
from optitip.evaluate.parts import SHELL_PARTS
from optitip.inputs.strength_tables import Inside, Place
from optitip.metrics.exposure import coupler_margin, exposure_margin, life_share, radial_growth
from optitip.metrics.margins import Margin, ServicePeak, service_margin
from optitip.properties.joints import JOINT_RANGES
from optitip.solvers.history import History

HOTTEST = 16
"""nodes of a piece whose time in the heat is counted: the worst is among the hottest"""


def service_margins(tip: Tip, *, history: History, start: float) -> Iterator[Margin]:
    """Yield the margins of parts, joints, things inside, the base's growth and tempers, where there are any.

    start: [K] of the shell before the flight.
    """
    yield service_margin("margin.temperature", peaks=_part_peaks(tip, history=history, start=start))
    yield service_margin("margin.joint", peaks=_joint_peaks(tip, history=history, start=start))
    if tip.tables.strength.inside:
        inside = [_inside(tip, one, history=history, start=start) for one in tip.tables.strength.inside]
        yield service_margin("margin.inside", peaks=inside)
    if tip.tables.strength.coupler_clearance is not None:
        yield _coupler(tip, tip.tables.strength.coupler_clearance, history=history, start=start)
    yield from _exposures(tip, history)


def _coupler(tip: Tip, clearance: float, *, history: History, start: float) -> Margin:
    """Return the margin of the base's growth into what it slides into, which counts as cold."""
    end = tip.mesh.rows[-1]
    elastic = tip.materials[int(tip.parts.node_material[end[0]])].elastic
    assert elastic is not None  # a shell without strength isn't built
    radius, axial = tip.mesh.points[end[0]]
    mean = history.temperature[:, end].mean(axis=1)
    return coupler_margin(
        radial_growth(elastic, radius=float(radius), temperature=mean, start=start),
        time=history.time,
        clearance=clearance,
        axial=float(axial),
        factor=1.0,
    )


def _exposures(tip: Tip, history: History) -> Iterator[Margin]:
    """Yield the smallest margin of the tempers of all pieces of the shell that have one, if any has."""
    found = []
    for piece in tip.parts.pieces:
        rule = tip.materials[piece.material].exposure
        if rule is None or piece.part not in SHELL_PARTS:
            continue
        hottest = piece.nodes[np.argsort(-history.highest[piece.nodes], kind="stable")[:HOTTEST]]
        share = life_share(history.time, allowed=rule.time_at(history.temperature[:, hottest]))
        worst = int(np.argmax(share))
        found.append(
            exposure_margin(
                float(share[worst]),
                flights=tip.tables.strength.flights,
                allowed=(rule.time, rule.temperature),
                part=f"{piece.part} ({tip.materials[piece.material].name})",
                axial=float(tip.mesh.points[hottest[worst], 1]),
            )
        )
    if found:
        yield min(found, key=lambda one: one.value)


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
    """Return the hotter face of each joint with a limit: the study's, or the build's of the sample joint.

    The build's counts beside a conductance of its own too: glue is as hot whatever was measured through it.
    """
    given = tip.tables.strength.joint_limit
    build = tip.tables.sample.joint.build
    limits: dict[str, float | None] = dict.fromkeys(("plug", "base", "sample"), given)
    if given is None:
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
