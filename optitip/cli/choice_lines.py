"""A choice from a front in words: by which rule, why this one, what it gives up, and how to take it."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import Enum
from pathlib import Path

import numpy as np

from optitip.arrays import FloatArray
from optitip.errors import UserMistakes
from optitip.metrics.goals import Direction, Goals, Objective
from optitip.metrics.registry import LABELS, UNITS
from optitip.metrics.values import Bracketed
from optitip.report.figures import bracket_text, figure_text
from optitip.search import choice
from optitip.search.executors.face import States
from optitip.search.front import costs
from optitip.search.records import Record
from optitip.units import System, text

NO_KNEE = (
    "This front has no knee: no member stands ahead of the plane through its ends. "
    "Choose by --weights or --best."
)
_MOST = {Direction.MAXIMISE: "highest", Direction.MINIMISE: "lowest"}


class Rule(Enum):
    """How a member is chosen; the value heads the column of what it is ranked by."""

    KNEE = "ahead of\nthe ends"
    WEIGHTS = "from the\nbest of all"
    BEST = ""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Asked:
    """A rule as somebody asked for it: the weights (m,), or the objective that alone counts."""

    rule: Rule
    weights: FloatArray | None = None
    objective: int = 0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Chosen:
    """Members in the order of a rule, the first of them with the reason why it is the choice.

    ``figures`` are what each is ranked by, none for a rule whose figure is an objective; ``taken`` is False
    where the rule chooses none.
    """

    asked: Asked
    records: tuple[Record, ...]
    figures: tuple[str, ...]
    taken: bool
    why: tuple[str, ...]


def asked_for(*, knee: bool, weights: str | None, best: str | None, goals: Goals) -> Asked | None:
    """Return the rule that options ask for, None without one; two of them are a mistake."""
    given = [name for name, one in (("--knee", knee), ("--weights", weights), ("--best", best)) if one]
    if len(given) > 1:
        problem = f"{' and '.join(given)} are rules of their own"
        raise UserMistakes.one("optitip front", problem, "Give one of them")
    if knee:
        return Asked(rule=Rule.KNEE)
    if weights is not None:
        return Asked(rule=Rule.WEIGHTS, weights=choice.parse_weights(weights, goals))
    if best is not None:
        return Asked(rule=Rule.BEST, objective=choice.objective_named(best, goals))
    return None


def chosen(front: Sequence[Record], asked: Asked, goals: Goals, units: System) -> Chosen:
    """Return the members of a front in the order of a rule, and why the first of them is the choice."""
    cost = np.array([costs(record, goals) for record in front])
    if len(front) == 1:
        only = f"{front[0].design_id} is the only design on this front: there is nothing to choose between."
        return Chosen(asked=asked, records=tuple(front), figures=(), taken=True, why=(only,))
    taken = True
    if asked.rule is Rule.KNEE:
        found = choice.knee(cost)
        ranking, taken = found.ranking, found.member is not None
        why = _why_knee(front, found)
    elif asked.weights is not None:
        ranking = choice.closest(cost, asked.weights)
        why = _why_weights(front, ranking, asked.weights, goals)
    else:
        ranking = choice.best(cost, asked.objective)
        why = _why_best(front, ranking, goals.objectives[asked.objective], units)
    tied = [front[row].design_id for row in ranking.tied()[1:]]
    if taken and tied:
        why.append(f"The same figure has {', '.join(tied)}: of those the first along the front is taken.")
    order = ranking.order.tolist()
    return Chosen(
        asked=asked,
        records=tuple(front[row] for row in order),
        figures=() if asked.rule is Rule.BEST else tuple(f"{ranking.figure[row]:.3f}" for row in order),
        taken=taken,
        why=tuple(why),
    )


def choice_lines(
    one: Chosen, *, front: Sequence[Record], goals: Goals, run: Path, units: System
) -> Iterator[str]:
    """Yield why a member is the choice, what it gives up against the ends of the front, how to take it."""
    yield from one.why
    if not one.taken:
        return
    first = one.records[0]
    if first.states is States.SEARCH:
        yield (
            f"{first.design_id} is not confirmed: it ran in a search's few flow states only. Let the sweep "
            "finish before it is trusted."
        )
    if len(front) > 1:
        yield f"What {first.design_id} gives up against the ends of the front:"
        yield from _given_up(first, front, goals, units)
    yield f"{first.design_id} is {', '.join(f'{key} = {value}' for key, value in first.design.items())}."
    yield f"Take it: optitip export {run} {first.design_id} --out DIR"


def end_lines(front: Sequence[Record], goals: Goals, units: System) -> Iterator[str]:
    """Yield the best of each objective on a front."""
    if len(front) < 2:
        return
    cost = np.array([costs(record, goals) for record in front])
    yield "The ends of the front:"
    for objective, row in zip(goals.objectives, choice.ends(cost).tolist(), strict=True):
        value = _value(front[row], objective)
        named = f"{_MOST[objective.direction]} {LABELS[objective.metric].strip()}"
        yield f"  {named}: {bracket_text(value, units)} in {front[row].design_id}"


def how_to_choose(goals: Goals, run: Path) -> str:
    """Return the sentence that tells how one of a front is chosen."""
    first = goals.objectives[0].metric
    weights = ", ".join(f"{one.metric}={2 - min(n, 1)}" for n, one in enumerate(goals.objectives))
    return (
        f"Nothing is chosen for you. Where the front bends most: --knee; the closest to the best of all: "
        f'--weights "{weights}"; the best within limits: --best {first} --limit "METRIC <= VALUE"; which '
        f"hold as they are turned: optitip neighbours {run}"
    )


def _why_knee(front: Sequence[Record], found: choice.Knee) -> list[str]:
    if found.member is None:
        return [NO_KNEE]
    ahead = found.ranking.figure[found.member]
    plane = "the plane through the ends" if found.by_ends else "a plane that weighs every objective alike"
    why = (
        f"{front[found.member].design_id} is the knee: it stands {ahead:.3f} of the front's range ahead of "
        f"{plane}, farther than any other, so that going on from it to any end costs most for what it brings."
    )
    if not found.by_ends:
        why += " (The ends themselves give no plane that falls in every objective.)"
    return [why]


def _why_weights(
    front: Sequence[Record], ranking: choice.Ranking, weights: FloatArray, goals: Goals
) -> list[str]:
    first = int(ranking.order[0])
    pairs = list(zip(goals.objectives, weights.tolist(), strict=True))
    said = ", ".join(f"{LABELS[one.metric].strip()} {weight:g}" for one, weight in pairs if weight > 0.0)
    left = ", ".join(LABELS[one.metric].strip() for one, weight in pairs if weight == 0.0)
    return [
        f"{front[first].design_id} is closest to the best of every objective with the weights {said}"
        f"{f' ({left}: not weighed)' if left else ''}: d = {ranking.figure[first]:.3f}, where d = "
        "sqrt(sum(w s^2) / sum(w)) and s is how far an objective is from its best (0) to its worst (1) on "
        "this front."
    ]


def _why_best(
    front: Sequence[Record], ranking: choice.Ranking, objective: Objective, units: System
) -> list[str]:
    first = front[int(ranking.order[0])]
    here = _value(first, objective)
    why = [
        f"{first.design_id} is the best in {LABELS[objective.metric].strip()} of the members of this "
        f"front, as expected: {bracket_text(here, units)}."
    ]
    confirmed = [record for record in front if record.states is not States.SEARCH]
    if len(confirmed) < len(front):
        why.append("Which is best by its worst flow state isn't known before all are run in every state.")
        return why
    # of several as good at their worst the one that is best as expected
    by_worst = min(front, key=lambda one: (_worst(one, objective), objective.cost(_value(one, objective))))
    if by_worst is first:
        return [*why, "It is the best by its worst flow state too."]
    there = _value(by_worst, objective)
    return [
        *why,
        f"By its worst flow state {by_worst.design_id} is better: {_worst_text(there, objective, units)} "
        f"against {_worst_text(here, objective, units)}, with {bracket_text(there, units)} in all.",
    ]


def _worst(record: Record, objective: Objective) -> float:
    """Return the worst flow state's figure with the sign that makes less better."""
    value = _value(record, objective)
    return value.high if objective.direction is Direction.MINIMISE else -value.low


def _worst_text(value: Bracketed, objective: Objective, units: System) -> str:
    worst = value.high if objective.direction is Direction.MINIMISE else value.low
    return text(worst, value.unit, units)


def _given_up(record: Record, front: Sequence[Record], goals: Goals, units: System) -> Iterator[str]:
    cost = np.array([costs(one, goals) for one in front])
    share = choice.shares(cost)[[one is record for one in front].index(True)]
    for place, (objective, row) in enumerate(zip(goals.objectives, choice.ends(cost).tolist(), strict=True)):
        label = LABELS[objective.metric].strip()
        here, there = _value(record, objective), _value(front[row], objective)
        if share[place] == 0.0:
            yield f"  {label}: nothing, {bracket_text(here, units)} is the best"
            continue
        best = figure_text(there.expected, UNITS[objective.metric], units)
        yield (
            f"  {label}: {bracket_text(here, units)}, and the best is {best} in {front[row].design_id}; "
            f"{100.0 * share[place]:.0f} % of the way to the worst"
        )


def _value(record: Record, objective: Objective) -> Bracketed:
    return (record.evaluation.metrics or {})[objective.metric]
