"""The flow states of a built tip: stress of all together, then the metrics and stations of each."""

from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np

from optitip.arrays import FloatArray
from optitip.evaluate.assessment import Fields, StateResult, Stations, StressAt
from optitip.evaluate.bent import bent_nodes
from optitip.evaluate.building import Tip
from optitip.evaluate.conditions import Conditions
from optitip.evaluate.depths import depth_metrics
from optitip.evaluate.parts import SHELL_PARTS
from optitip.evaluate.shell import Shell
from optitip.evaluate.strength import Judged, judged
from optitip.evaluate.warming import along
from optitip.evaluate.weights import Weights
from optitip.geometry.sides import nearest_edge
from optitip.heating.table import Heating
from optitip.metrics.sample import sample_metrics, set_fraction, trace_sample
from optitip.metrics.shell import part_metrics
from optitip.solvers.elastic_cells import nodal_average
from optitip.solvers.elastic_lines import von_mises
from optitip.solvers.history import History


def flown_states(
    tip: Tip,
    shell: Shell,
    *,
    names: Sequence[str],
    conditions: Conditions,
    histories: Sequence[History],
    weights: Weights,
    as_built: Mapping[str, float],
    folder: Path,
    searching: bool,
    ending: str = "",
) -> dict[str, StateResult]:
    """Return flow states of a built tip from their marches: stress, metrics; stations where not searching.

    names: of the flow states; ``ending`` follows each in what is returned. ``as_built`` are the metrics of
    the tip itself, its outside and how it is turned, the same in all; ``folder`` is the study's.
    """
    heatings = [conditions.heatings[name] for name in names]
    strengths = judged(
        tip,
        shell,
        histories=histories,
        heatings=heatings,
        flight=conditions.flight,
        start=conditions.start,
        weights=weights,
        folder=folder,
    )
    return {
        name + ending: _state_of(
            tip,
            shell,
            name=name + ending,
            conditions=conditions,
            heating=heating,
            history=history,
            strength=strength,
            weights=weights,
            as_built=as_built,
            searching=searching,
        )
        for name, heating, history, strength in zip(names, heatings, histories, strengths, strict=True)
    }


def _state_of(
    tip: Tip,
    shell: Shell,
    *,
    name: str,
    conditions: Conditions,
    heating: Heating,
    history: History,
    strength: Judged,
    weights: Weights,
    as_built: Mapping[str, float],
    searching: bool,
) -> StateResult:
    slab = tip.nodes_of("slab")
    trace = trace_sample(
        history.time,
        history.temperature.take(slab, axis=1),
        slope=history.slope.take(slab, axis=1),
        volume=weights.slab_volume,
        material=tip.sample,
        evaporated=history.evaporated.take(slab, axis=1),
        lift_off=conditions.lift_off,
    )
    metrics = {
        **sample_metrics(
            trace,
            landing=conditions.landing,
            contact_area=weights.contact_area,
            mass=weights.slab_mass,
            warm_above=tip.tables.sample.warm_above,
            material=tip.sample,
            setting=set_fraction(history.highest[slab][None], weights.slab_volume),
        ),
        **weights.shell,
        "assembly.opening_room": tip.assembly.opening_room,
        "assembly.bar_overhang": tip.assembly.bar_overhang,
        **part_metrics({part: float(history.highest[tip.nodes_of(part)].max()) for part in SHELL_PARTS}),
        **depth_metrics(tip, history),
        **{margin.name: margin.value for margin in strength.margins},
        **strength.metrics,
        **as_built,
        "balance.residual": history.balance,
    }
    return StateResult(
        name=name,
        metrics=metrics,
        sample=trace,
        band=history.temperature[:, tip.nodes_of("band")].max(axis=1),
        margins=strength.margins,
        stations=() if searching else _stations(tip, history=history, heating=heating, conditions=conditions),
        balance=history.balance,
        steps=history.steps,
        fields=Fields(
            points=tip.mesh.points,
            cells=tip.mesh.cells,
            zone=tip.mesh.cell_zone,
            time=history.time,
            temperature=history.temperature,
            stress=None if searching else _stress_at(tip, shell, strength),
        ),
    )


def _stress_at(tip: Tip, shell: Shell, strength: Judged) -> StressAt:
    loads, whole = (
        nodal_average(shell.body.cells, at_reduced_points=field)
        for field in (strength.stress.primary, strength.stress.total)
    )
    bent = bent_nodes(tip, strength.bending, strength.clamp)
    return StressAt(
        names=strength.moments.names,
        time=strength.moments.time,
        loads=np.maximum(von_mises(loads + bent), von_mises(loads - bent)),
        whole=von_mises(whole),
    )


def _stations(
    tip: Tip, *, history: History, heating: Heating, conditions: Conditions
) -> tuple[Stations, ...]:
    """Return heating and wall along the outline at burnout and when the band is hottest."""
    band = history.temperature[:, tip.nodes_of("band")].max(axis=1)
    moments = {"band hottest": float(history.time[int(np.argmax(band))])}
    if conditions.flight is not None:
        moments = {"burnout": conditions.flight.events["burnout"], **moments}
    nodes, arc = tip.mesh.outer, tip.mesh.outer_arc
    thickness = _wall_over_cavity(tip)
    result = []
    for name, time in moments.items():
        wall, inside = (
            history.temperature_at(np.array([time]), nodes=side)[0] for side in (nodes, tip.mesh.rows[:, -1])
        )
        row = min(int(np.searchsorted(heating.time, time)), len(heating.time) - 1)
        film = along(arc, heating.arc_length, heating.film[row][None])[0]
        recovery = along(arc, heating.arc_length, heating.recovery[row][None, :, None])[0, :, 0]
        result.append(
            Stations(
                instant=name,
                time=time,
                arc_length=arc,
                axial=tip.mesh.points[nodes, 1],
                radius=tip.mesh.points[nodes, 0],
                thickness=thickness,
                film=np.array([np.interp(t, heating.wall, h) for t, h in zip(wall, film, strict=True)]),
                recovery=recovery,
                wall=wall,
                inside=inside,
                highest=history.highest[nodes],
            )
        )
    return tuple(result)


def _wall_over_cavity(tip: Tip) -> FloatArray:
    """Return the wall's thickness at the outline's nodes [m], not a number where the part is solid."""
    mesh = tip.mesh
    thickness = nearest_edge(mesh.points[mesh.outer], points=mesh.points, edges=mesh.inner_edges)
    return np.where(np.isin(mesh.rows[:, -1], mesh.inner_edges), thickness, np.nan)
