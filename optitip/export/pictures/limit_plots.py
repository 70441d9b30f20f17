"""Pictures of what fails first: the stress and the heat, each where and when it is nearest to its limit."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from optitip.arrays import FloatArray
from optitip.evaluate.assessment import Assessment, StateResult
from optitip.export.pictures.section_plots import STRESS, TEMPERATURE, Strip, plot_section
from optitip.export.pictures.traces import Section
from optitip.metrics.margins import CAP, Margin
from optitip.metrics.registry import LABELS
from optitip.units import System

OF_LOADS = ("margin.yield",)
OF_ALL = ("margin.strain",)
OF_HEAT = ("margin.temperature", "margin.joint", "margin.inside")
LOADS = replace(STRESS, label="von Mises stress of the loads, on the side where bending adds to them")
_NEAR = 1e-3  # [m] along the axis


def picture_limits(
    assessment: Assessment, *, section: Section, shell: Sequence[int], folder: Path, system: System
) -> Iterator[Path]:
    """Draw the stress of the loads and of all together, and the heat, each where it is nearest its limit.

    shell: the numbers of the parts that bear.
    """
    bears = np.isin(section.parts, shell)
    metal = replace(section, cells=section.cells[bears], parts=section.parts[bears])
    drawn = (
        ("loads.png", metal, OF_LOADS, LOADS),
        ("stress.png", metal, OF_ALL, STRESS),
        ("heat.png", section, OF_HEAT, TEMPERATURE),
    )
    for name, what, margins, field in drawn:
        strip = _strip(assessment, margins)
        if strip is not None:
            yield plot_section(
                what, [strip], field=field, folder=folder, name=name, title=assessment.title, system=system
            )


def _strip(assessment: Assessment, names: Sequence[str]) -> Strip | None:
    """Return the section when one of some margins is smallest, in the flow state where it is.

    Of several that are capped alike the one with the highest figures is drawn. What has no single place, like
    the air of the pocket, is drawn without a mark.
    """
    pairs = [
        (state, one)
        for state in assessment.states.values()
        for one in state.margins
        if one.name in names and one.seconds is not None
    ]
    if not pairs:
        return None
    fields = [_values(*pair) for pair in pairs]
    least = min(range(len(pairs)), key=lambda place: (pairs[place][1].value, -float(fields[place].max())))
    (state, margin), values = pairs[least], fields[least]
    single = len(assessment.states) == 1
    value = f"over {CAP:g}" if margin.value >= CAP else f"{margin.value:.2f}"
    title = f"{LABELS[margin.name]} {value}: {margin.part}, {margin.time}"
    return Strip(
        title=title if single else f"{title}; flow {state.name}",
        values=values,
        mark=None if margin.axial is None else _mark(state, margin.axial, values),
    )


def _values(state: StateResult, margin: Margin) -> FloatArray:
    fields, time = state.fields, margin.seconds or 0.0
    if fields.stress is None or margin.name in OF_HEAT:
        return np.asarray(fields.temperature[int(np.argmin(np.abs(fields.time - time)))])
    row = int(np.argmin(np.abs(fields.stress.time - time)))
    return np.asarray((fields.stress.loads if margin.name in OF_LOADS else fields.stress.whole)[row])


def _mark(state: StateResult, axial: float, values: FloatArray) -> tuple[float, float]:
    """Return r and z [m] of the highest value near the station [m] that a margin is from."""
    points = np.asarray(state.fields.points)
    apart = np.abs(points[:, 1] - axial)
    near = apart <= max(_NEAR, float(apart.min()))
    r, z = points[near][int(np.argmax(values[near]))]
    return float(r), float(z)
