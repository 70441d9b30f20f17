"""A finished sweep as a picture: all its designs, and the front among them."""

from collections.abc import Collection, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from optitip.export.pictures.plots import plot_front
from optitip.export.pictures.traces import Measure
from optitip.metrics.goals import Goals
from optitip.metrics.registry import LABELS, UNITS
from optitip.metrics.values import sides_text
from optitip.search.front import has_figures, latest
from optitip.search.store import Record
from optitip.units import System

BRACKETS_SHOWN = 16


def picture_front(
    records: Sequence[Record],
    *,
    front: Sequence[Record],
    goals: Goals,
    folder: Path,
    title: str,
    system: System = System.METRIC,
) -> Path | None:
    """Draw the first two objectives of all designs, the third as colour; None with fewer than two.

    Of the front, ``BRACKETS_SHOWN`` members have their bracket over the flow states drawn, evenly along it.
    """
    names = [one.metric for one in goals.objectives]
    shown = [record for record in latest(records) if has_figures(record, goals)]
    if len(names) < 2 or not shown:
        return None
    members = {record.design_id for record in front}
    measures = [_measure(name, shown, members=members) for name in names[:3]]
    measures[0] = _thinned(measures[0], along=[shown.index(record) for record in front])
    measures[-1] = _thinned(measures[-1], along=[])
    return plot_front(
        measures[-1],
        measures[0],
        colour=measures[1] if len(measures) > 2 else None,
        on_front=np.array([record.design_id in members for record in shown]),
        folder=folder,
        title=title,
        system=system,
    )


def _thinned(measure: Measure, *, along: Sequence[int]) -> Measure:
    """Return the measure with brackets left at a few of the rows ``along``, evenly taken from them."""
    places = np.unique(np.linspace(0, max(len(along) - 1, 0), BRACKETS_SHOWN).round().astype(int))
    rows = np.array(along, dtype=np.int64)[places] if along else np.array([], dtype=np.int64)
    low, high = measure.values.copy(), measure.values.copy()
    if measure.low is not None and measure.high is not None:
        low[rows], high[rows] = measure.low[rows], measure.high[rows]
    return replace(measure, low=low, high=high)


def _measure(name: str, records: Sequence[Record], *, members: Collection[str]) -> Measure:
    found = [(record.evaluation.metrics or {})[name] for record in records]
    return Measure(
        label=LABELS[name].strip(),
        unit=UNITS[name],
        values=np.array([one.expected for one in found]),
        low=np.array([one.low for one in found]),
        high=np.array([one.high for one in found]),
        sides=sides_text(
            [value for value, record in zip(found, records, strict=True) if record.design_id in members]
        ),
    )
