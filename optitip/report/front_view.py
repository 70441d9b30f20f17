"""What the page of a sweep shows: charts and cells made of what the store holds."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from optitip.arrays import FloatArray, IntArray
from optitip.metrics.goals import Goals
from optitip.metrics.registry import LABELS, UNITS
from optitip.metrics.values import sides_text
from optitip.report import chart
from optitip.report.figures import spread_text
from optitip.search.choice import Stored, shares
from optitip.search.components import Components
from optitip.search.evaluated import EXPECTED, HIGH, LOW, Evaluated
from optitip.search.executors.face import States
from optitip.search.front import judged
from optitip.search.records import Milestone, Record
from optitip.search.space import Space
from optitip.search.verified import Verified
from optitip.units import System, shown

DOTS, MEMBERS, ROWS = 1500, 200, 60
"""Beaten designs and members drawn at most, and rows of the table: a page is to stay light."""
BRACKETS = 16


@dataclass(frozen=True, slots=True, kw_only=True)
class Member:
    """A dot of the front: its place, its name, its shade and the ends of its bracket."""

    x: float
    y: float
    title: str
    shade: str
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FrontChart:
    """The first objective over the last; of three the second one as shades, ``darkest`` to ``lightest``."""

    across: chart.Axis
    upward: chart.Axis
    beaten: str
    members: tuple[Member, ...]
    shade_label: str = ""
    darkest: str = ""
    lightest: str = ""
    sides: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class GrowthChart:
    """What the front covered after how many designs, as a polyline's points."""

    across: chart.Axis
    upward: chart.Axis
    points: str


@dataclass(frozen=True, slots=True, kw_only=True)
class FrontTable:
    """The front's members as cells; each header is a name and its unit."""

    headers: tuple[tuple[str, str], ...]
    rows: tuple[tuple[str, ...], ...]
    left_out: int


def front_chart(
    evaluated: Evaluated, found: Stored, *, front: Sequence[Record], goals: Goals, system: System
) -> FrontChart | None:
    """Return the chart of all designs and the front; None with less than two objectives or no front."""
    if len(goals.objectives) < 2 or len(found.members) == 0:
        return None
    names = [one.metric for one in goals.objectives]
    every = judged(evaluated, Components(goals))
    rows = _sifted(every.rows[every.answered], found.unbeaten)
    x, y = (_scaled(evaluated.values(name), name, system) for name in (names[-1], names[0]))
    members = found.members[_evenly(len(found.members), MEMBERS)]
    bracketed = set(members[_evenly(len(members), BRACKETS)].tolist())
    low, high = (_scaled(evaluated.values(names[0], side), names[0], system) for side in (LOW, HIGH))
    ends = np.array([side[row] for row in bracketed for side in (low, high)])
    along = chart.across(_label(names[-1], system), x[np.concatenate([rows, members])])
    up = chart.upward(_label(names[0], system), np.concatenate([y[rows], y[members], ends]))
    shade = _shades(evaluated, members, names, system)
    made = FrontChart(
        across=along,
        upward=up,
        beaten=chart.dots([along.at(one) for one in x[rows]], [up.at(one) for one in y[rows]]),
        members=tuple(
            Member(
                x=along.at(x[row]),
                y=up.at(y[row]),
                title=str(evaluated.design_ids[row]),
                shade=colour,
                low=up.at(low[row]) if row in bracketed else None,
                high=up.at(high[row]) if row in bracketed else None,
            )
            for row, colour in zip(members.tolist(), shade, strict=True)
        ),
        sides=sides_text([(one.evaluation.metrics or {})[names[0]] for one in front]),
    )
    if len(names) < 3:
        return made
    middle = _scaled(evaluated.values(names[1])[members], names[1], system)
    ends_of_it = [f"{one:.3g}" for one in (middle.min(), middle.max())]
    return replace(made, shade_label=_label(names[1], system), darkest=ends_of_it[0], lightest=ends_of_it[1])


def growth_chart(milestones: Sequence[Milestone]) -> GrowthChart | None:
    """Return how the front grew; None before there is anything to compare."""
    if len(milestones) < 2:
        return None
    searched = np.array([float(one.searched) for one in milestones])
    covered = np.array([100.0 * one.covered for one in milestones])
    along = chart.across("designs searched", searched, from_nought=True)
    up = chart.upward("covered [%]", covered, from_nought=True)
    points = " ".join(f"{along.at(x):g},{up.at(y):g}" for x, y in zip(searched, covered, strict=True))
    return GrowthChart(across=along, upward=up, points=points)


def front_cells(
    front: Sequence[Record], *, space: Space, goals: Goals, finer: dict[str, Verified], system: System
) -> FrontTable:
    """Return the members as cells: objectives with their brackets, states, finer grid, choices, numbers."""
    shown_ones = [front[row] for row in _evenly(len(front), ROWS).tolist()]
    names = [one.metric for one in goals.objectives]
    headers = [("design", "")]
    headers += [(LABELS[name].strip(), shown(0.0, UNITS[name], system)[1]) for name in names]
    headers += [("flow states", ""), ("finer grid", "")]
    headers += [(_short(key), "") for key in space.choices]
    headers += [(_short(number.key), number.unit) for number in space.numbers]
    rows = [tuple(_cells(one, names, space, finer, system)) for one in shown_ones]
    return FrontTable(headers=tuple(headers), rows=tuple(rows), left_out=len(front) - len(shown_ones))


def _cells(
    record: Record, names: Sequence[str], space: Space, finer: dict[str, Verified], system: System
) -> Iterator[str]:
    yield record.design_id
    for name in names:
        yield spread_text((record.evaluation.metrics or {})[name], system)
    yield "few: not confirmed" if record.states is States.SEARCH else "every"
    yield finer[record.design_id].rank.value if record.design_id in finer else "not run"
    for key in space.choices:
        yield str(record.design[key])
    for number in space.numbers:
        yield str(record.design[number.key]).removesuffix(number.unit).strip()


def _sifted(rows: IntArray, unbeaten: IntArray) -> IntArray:
    """Return an even share of the designs that some other beats."""
    beaten = rows[~np.isin(rows, unbeaten)]
    return beaten[_evenly(len(beaten), DOTS)]


def _evenly(count: int, most: int) -> IntArray:
    """Return up to ``most`` places of ``count``, the ends among them."""
    return np.unique(np.linspace(0, max(count - 1, 0), min(count, most)).round().astype(np.int64))


def _shades(evaluated: Evaluated, members: IntArray, names: Sequence[str], system: System) -> list[str]:
    if len(names) < 3:
        return [chart.shade(0.25)] * len(members)
    middle = _scaled(evaluated.values(names[1], EXPECTED)[members], names[1], system)
    return [chart.shade(share) for share in shares(middle[:, None])[:, 0].tolist()]


def _scaled(values: FloatArray, name: str, system: System) -> FloatArray:
    """Return SI values of a metric as a person reads them."""
    (zero, _), (one, _) = shown(0.0, UNITS[name], system), shown(1.0, UNITS[name], system)
    scaled: FloatArray = zero + values * (one - zero)
    return scaled


def _label(name: str, system: System) -> str:
    unit = shown(0.0, UNITS[name], system)[1]
    return f"{LABELS[name].strip()} [{unit}]" if unit else LABELS[name].strip()


def _short(key: str) -> str:
    return key.split(".", 1)[-1].replace(".", " ").replace("_", " ")
