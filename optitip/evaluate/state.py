"""One flow state of a built tip: march, stress, metrics, stations."""

from collections.abc import Mapping

import numpy as np

from optitip.arrays import FloatArray, IntArray
from optitip.evaluate.assessment import Fields, StateResult, Stations
from optitip.evaluate.building import Tip
from optitip.evaluate.conditions import Conditions
from optitip.evaluate.parts import SHELL_PARTS
from optitip.evaluate.strength import Shell, margins_of
from optitip.evaluate.warming import along
from optitip.heating.table import Heating
from optitip.metrics.sample import sample_metrics, set_fraction, trace_sample
from optitip.metrics.shell import mass_metrics, part_metrics
from optitip.solvers.history import History


def state_of(
    tip: Tip,
    shell: Shell,
    *,
    name: str,
    conditions: Conditions,
    heating: Heating,
    history: History,
    outside: Mapping[str, float],
    searching: bool,
) -> StateResult:
    """Return one flow state of a built tip from its march: stress, metrics; its stations where not searching.

    ``outside`` are the metrics of the outside, which are the same in all flow states.
    """
    margins = margins_of(
        tip,
        shell,
        history=history,
        heating=heating,
        flight=conditions.flight,
        start=conditions.start,
        sample_start=conditions.sample_start,
    )
    slab = tip.nodes_of("slab")
    volume = _slab_volume(tip, slab)
    trace = trace_sample(
        history.time,
        history.temperature[:, slab],
        slope=history.slope[:, slab],
        volume=volume,
        material=tip.sample,
        evaporated=history.evaporated[:, slab],
        lift_off=conditions.lift_off,
    )
    contact = next(pairs for pairs in tip.mesh.joints if pairs.name == "sample")
    metrics = {
        **sample_metrics(
            trace,
            landing=conditions.landing,
            contact_area=tip.share * float(contact.area.sum()),
            mass=tip.sample.density * float(volume.sum()),
            warm_above=tip.tables.sample.warm_above,
            material=tip.sample,
            setting=set_fraction(history.highest[slab][None], volume),
        ),
        **_shell_metrics(tip, history),
        **{margin.name: margin.value for margin in margins},
        **outside,
        "balance.residual": history.balance,
    }
    return StateResult(
        name=name,
        metrics=metrics,
        sample=trace,
        band=history.temperature[:, tip.nodes_of("band")].max(axis=1),
        margins=margins,
        stations=() if searching else _stations(tip, history=history, heating=heating, conditions=conditions),
        balance=history.balance,
        steps=history.steps,
        fields=Fields(
            points=tip.mesh.points,
            cells=tip.mesh.cells,
            zone=tip.mesh.cell_zone,
            time=history.time,
            temperature=history.temperature,
        ),
    )


def _slab_volume(tip: Tip, slab: IntArray) -> FloatArray:
    """Return the real slab's volume at each of its nodes [m3]: its share of the circumference."""
    cells = tip.cells_of("slab")
    corners = tip.mesh.cells[cells].T.ravel()
    weights = tip.corner_volume[:, cells].ravel()
    whole = np.bincount(corners, weights=weights, minlength=len(tip.mesh.points))
    return np.asarray(whole[slab] * tip.share)


def _shell_metrics(tip: Tip, history: History) -> dict[str, float]:
    cells = np.concatenate([tip.cells_of(part) for part in SHELL_PARTS])
    corners = tip.corner_volume[:, cells]
    volume = corners.sum(axis=0)
    axial = (corners * tip.mesh.points[tip.mesh.cells[cells], 1].T).sum(axis=0) / volume
    density = np.array([one.density for one in tip.materials])[tip.cell_material[cells]]
    peaks = {part: float(history.highest[tip.nodes_of(part)].max()) for part in SHELL_PARTS}
    return {**mass_metrics(density=density, volume=volume, axial=axial), **part_metrics(peaks)}


def _stations(
    tip: Tip, *, history: History, heating: Heating, conditions: Conditions
) -> tuple[Stations, ...]:
    """Return heating and wall along the outline at burnout and when the band is hottest."""
    band = history.temperature[:, tip.nodes_of("band")].max(axis=1)
    moments = {"band hottest": float(history.time[int(np.argmax(band))])}
    if conditions.flight is not None:
        moments = {"burnout": conditions.flight.events["burnout"], **moments}
    nodes, arc = tip.mesh.outer, tip.mesh.outer_arc
    result = []
    for name, time in moments.items():
        wall = history.temperature_at(np.array([time]), nodes=nodes)[0]
        row = min(int(np.searchsorted(heating.time, time)), len(heating.time) - 1)
        film = along(arc, heating.arc_length, heating.film[row][None])[0]
        recovery = along(arc, heating.arc_length, heating.recovery[row][None, :, None])[0, :, 0]
        result.append(
            Stations(
                instant=name,
                time=time,
                arc_length=arc,
                axial=tip.mesh.points[nodes, 1],
                film=np.array([np.interp(t, heating.wall, h) for t, h in zip(wall, film, strict=True)]),
                recovery=recovery,
                wall=wall,
            )
        )
    return tuple(result)
