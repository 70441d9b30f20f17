"""A finished sweep as a picture: all its designs, and the front among them."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from optitip.arrays import BoolArray
from optitip.export.pictures.plots import plot_front
from optitip.export.pictures.traces import Measure
from optitip.metrics.goals import Goals
from optitip.metrics.registry import LABELS, UNITS
from optitip.metrics.values import sides_text
from optitip.search.components import Components
from optitip.search.evaluated import EXPECTED, HIGH, LOW, Evaluated
from optitip.search.front import judged
from optitip.search.records import Record
from optitip.units import System

BRACKETS_SHOWN = 16
DOTS_SHOWN = 20_000
"""Of a long search every so manieth beaten design is drawn; the front always."""


def picture_front(
    evaluated: Evaluated,
    *,
    front: Sequence[Record],
    goals: Goals,
    folder: Path,
    title: str,
    system: System = System.METRIC,
) -> Path | None:
    """Draw the first two objectives of all designs, the third as colour; None with fewer than two.

    ``evaluated`` holds the metrics of the goals' ``Components``. Of the front, ``BRACKETS_SHOWN`` members
    have their bracket over the flow states drawn, evenly along it.
    """
    names = [one.metric for one in goals.objectives]
    found = judged(evaluated, Components(goals))
    shown = evaluated.rows(found.rows[found.answered])
    members = np.isin(shown.design_ids, [record.design_id for record in front])
    shown, members = _sifted(shown, members)
    if len(names) < 2 or len(shown) == 0:
        return None
    measures = [_measure(name, shown, front=front) for name in names[:3]]
    measures[0] = _thinned(measures[0], along=_places(shown, front))
    measures[-1] = _thinned(measures[-1], along=[])
    return plot_front(
        measures[-1],
        measures[0],
        colour=measures[1] if len(measures) > 2 else None,
        on_front=members,
        folder=folder,
        title=title,
        system=system,
    )


def _sifted(shown: Evaluated, members: BoolArray) -> tuple[Evaluated, BoolArray]:
    """Return the members of the front and an even share of the others, in their order."""
    others = np.flatnonzero(~members)
    step = len(others) // DOTS_SHOWN + 1
    kept = np.sort(np.concatenate([np.flatnonzero(members), others[::step]]))
    return shown.rows(kept), members[kept]


def _places(shown: Evaluated, front: Sequence[Record]) -> list[int]:
    place = {name: row for row, name in enumerate(shown.design_ids.tolist())}
    return [place[record.design_id] for record in front]


def _thinned(measure: Measure, *, along: Sequence[int]) -> Measure:
    """Return the measure with brackets left at a few of the rows ``along``, evenly taken from them."""
    places = np.unique(np.linspace(0, max(len(along) - 1, 0), BRACKETS_SHOWN).round().astype(int))
    rows = np.array(along, dtype=np.int64)[places] if along else np.array([], dtype=np.int64)
    low, high = measure.values.copy(), measure.values.copy()
    if measure.low is not None and measure.high is not None:
        low[rows], high[rows] = measure.low[rows], measure.high[rows]
    return replace(measure, low=low, high=high)


def _measure(name: str, shown: Evaluated, *, front: Sequence[Record]) -> Measure:
    return Measure(
        label=LABELS[name].strip(),
        unit=UNITS[name],
        values=shown.values(name, EXPECTED),
        low=shown.values(name, LOW),
        high=shown.values(name, HIGH),
        sides=sides_text([(record.evaluation.metrics or {})[name] for record in front]),
    )
