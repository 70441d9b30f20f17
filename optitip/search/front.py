"""The front: of all evaluations that keep the limits, those that no other beats in every objective."""

from collections.abc import Iterable, Sequence

import numpy as np

from optitip.arrays import FloatArray
from optitip.metrics.goals import Goals
from optitip.search.archive import Archive
from optitip.search.components import Components
from optitip.search.executors.face import States
from optitip.search.pareto import hypervolume, non_dominated
from optitip.search.response import features
from optitip.search.space import Space
from optitip.search.store import Record

APART = 0.025
"""Of the front's range in some objective: members closer to each other than that say the same to a person."""


def has_figures(record: Record, goals: Goals) -> bool:
    """Return whether the evaluation gave every metric the goals speak of."""
    metrics = record.evaluation.metrics
    return metrics is not None and all(name in metrics for name in goals.metrics)


def costs(record: Record, goals: Goals) -> FloatArray:
    """Return the objectives of a record that has figures, (m,): less is better."""
    metrics = record.evaluation.metrics or {}
    return np.array([objective.cost(metrics[objective.metric]) for objective in goals.objectives])


def excesses(record: Record, goals: Goals) -> FloatArray:
    """Return by how much the worst flow state breaks each limit, (k,); zero or less keeps it."""
    metrics = record.evaluation.metrics or {}
    return np.array([limit.excess(metrics[limit.metric]) for limit in goals.limits])


def keeps_limits(record: Record, goals: Goals) -> bool:
    """Return whether a record has figures and its worst flow state keeps every limit."""
    return has_figures(record, goals) and bool((excesses(record, goals) <= 0.0).all())


def latest(records: Iterable[Record]) -> list[Record]:
    """Return one record a design, in the order they were asked for: over all flow states where it was run.

    What a finer grid said of a design stays apart: others, not run there, would be compared with it.
    """
    kept: dict[str, Record] = {}
    for record in records:
        if record.states is States.FINER:
            continue
        if record.design_id not in kept or record.states is States.ALL:
            kept[record.design_id] = record
    return list(kept.values())


def front(records: Iterable[Record], goals: Goals) -> list[Record]:
    """Return the records no other beats, best in the first objective at the head, ties in order of number.

    Objectives take the expected value, limits the worst flow state; a design evaluated over all flow
    states counts with those figures.
    """
    able = [record for record in latest(records) if keeps_limits(record, goals)]
    if not able:
        return []
    cost = np.array([costs(record, goals) for record in able])
    rows = sorted(non_dominated(cost).tolist(), key=lambda row: (cost[row, 0], able[row].number))
    return [able[row] for row in rows]


def spread(records: Sequence[Record], goals: Goals) -> list[Record]:
    """Return the members of a front that stand ``APART`` of its range from each other in some objective.

    Those run over all flow states already are taken first, then the rest in their order, so that every
    member of the front lies within ``APART`` of one that is returned.
    """
    if not records:
        return []
    cost = np.array([costs(record, goals) for record in records])
    reach = np.ptp(cost, axis=0)
    scaled = (cost - cost.min(axis=0)) / np.where(reach > 0.0, reach, 1.0)
    order = sorted(range(len(records)), key=lambda row: records[row].states is not States.ALL)
    kept: list[int] = []
    for row in order:
        if not kept or np.abs(scaled[kept] - scaled[row]).max(axis=1).min() > APART:
            kept.append(row)
    return [records[row] for row in sorted(kept)]


def archive_of(records: Sequence[Record], *, goals: Goals, space: Space) -> Archive:
    """Return the designs of records as arrays for the choice of the next ones, a row each.

    A design that was run over all flow states stands with those figures. The limits of the others are
    drawn in by what all states took from designs like them, so that the search aims at what will last.
    """
    rows = latest(records)
    answered = np.array([has_figures(record, goals) for record in rows], dtype=np.bool_)
    cost = np.zeros((len(rows), len(goals.objectives)))
    excess = np.zeros((len(rows), len(goals.limits)))
    parts = Components(goals)
    components = np.full((len(rows), len(parts.names)), np.nan)
    for row, record in enumerate(rows):
        if answered[row]:
            cost[row], excess[row] = costs(record, goals), excesses(record, goals)
            components[row] = parts.row(record.evaluation.metrics or {})
    points = space.points_of([record.design for record in rows])
    searched = np.array([record.states is States.SEARCH for record in rows], dtype=np.bool_)
    searched &= answered
    excess[searched] += _taken_by_all_states(points[searched], records=records, goals=goals, space=space)
    return Archive(points=points, cost=cost, excess=excess, components=components, answered=answered)


def _taken_by_all_states(
    points: FloatArray, *, records: Sequence[Record], goals: Goals, space: Space
) -> FloatArray:
    """Return how much nearer to each limit all flow states would bring designs at points (n, d), (n, k).

    It is the mean over the designs run both ways, each weighted with 1 / distance^2.

    Source: Shepard 1968, inverse distance weighting, from memory.
    """
    seen: dict[States, dict[str, Record]] = {states: {} for states in States}
    for record in records:
        if has_figures(record, goals):
            seen[record.states][record.design_id] = record
    both = [name for name in seen[States.SEARCH] if name in seen[States.ALL]]
    if not both:
        return np.zeros((len(points), len(goals.limits)))
    run_both_ways = [(seen[States.SEARCH][name], seen[States.ALL][name]) for name in both]
    gaps = np.array([excesses(every, goals) - excesses(few, goals) for few, every in run_both_ways])
    known = space.points_of([few.design for few, _ in run_both_ways])
    options = [len(options) for options in space.choices.values()]
    apart = features(points, options=options)[:, None, :] - features(known, options=options)[None, :, :]
    weight = 1.0 / ((apart**2).sum(axis=2) + 1e-9)
    taken: FloatArray = np.maximum(weight @ gaps / weight.sum(axis=1)[:, None], 0.0)
    return taken


def covered(archive: Archive, *, opening: int) -> float:
    """Return the share of the box of objectives that the front dominates, for showing progress.

    The box spans what the first ``opening`` designs reached, so the figure only grows as a search goes on
    and may pass one.
    """
    first = archive.cost[:opening][archive.answered[:opening]]
    if len(first) == 0:
        return 0.0
    worst, span = first.max(axis=0), np.ptp(first, axis=0) + 1e-12
    scaled = (archive.cost[archive.front()] - worst) / span
    return hypervolume(scaled, reference=np.zeros(len(worst)))
