"""How a person picks one member of a front: rules, each with the figure it ranks by.

Costs are the objectives with the sign that makes less better, (n, m), a row a member. Shares are costs in
parts of the front's range: 0 the best on the front, 1 the worst, 0 for all where they don't differ.
"""

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from optitip.arrays import FloatArray, IntArray
from optitip.errors import Mistake, UserMistakes
from optitip.metrics.goals import Goals, Limit, parse_limit
from optitip.metrics.registry import UNITS
from optitip.search.components import Components
from optitip.search.evaluated import Evaluated
from optitip.search.executors.face import States
from optitip.search.front import front_rows, spread

DIGITS = 9
"""Figures that agree in so many decimals are a tie: the order of the front then decides."""
_LIMIT = re.compile(r"\s*([\w.]+)\s*([<>]=.*)", re.DOTALL)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stored:
    """The front of what is stored: rows of the evaluations no other beats, and those that stand for them."""

    unbeaten: IntArray
    members: IntArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ranking:
    """Members in the order a rule puts them, the best first; ``figure`` (n,) is each member's own."""

    order: IntArray
    figure: FloatArray

    def tied(self) -> IntArray:
        """Return the members whose figure is that of the first one."""
        same = np.round(self.figure, DIGITS) == np.round(self.figure[self.order[0]], DIGITS)
        first: IntArray = self.order[same[self.order]]
        return first


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Knee:
    """How far each member stands ahead of the plane through the ends, and whether one is a knee.

    ``member`` is None where no member stands ahead of the ends. ``by_ends`` is False where the ends give no
    plane that falls in every objective, and one that weighs all alike takes its place.
    """

    ranking: Ranking
    member: int | None
    by_ends: bool


def stored_front(evaluated: Evaluated, components: Components) -> Stored:
    """Return the front of all that is stored; every unbeaten design is close to a member, see ``spread``."""
    unbeaten = front_rows(evaluated, components)
    confirmed = evaluated.of_states(States.ALL)[unbeaten]
    cost = components.cost(components.rows(evaluated.figures[unbeaten], metrics=evaluated.metrics))
    return Stored(unbeaten=unbeaten, members=unbeaten[spread(cost, first=confirmed)])


def shares(cost: FloatArray) -> FloatArray:
    """Return costs in parts of the front's range, (n, m).

    >>> shares(np.array([[1.0, 5.0], [3.0, 5.0], [2.0, 5.0]])).tolist()
    [[0.0, 0.0], [1.0, 0.0], [0.5, 0.0]]
    """
    reach = np.ptp(cost, axis=0)
    found: FloatArray = (cost - cost.min(axis=0)) / np.where(reach > 0.0, reach, 1.0)
    return found


def ends(cost: FloatArray) -> IntArray:
    """Return the member best in each objective, (m,); of several the one best in the rest, then the first."""
    rest = shares(cost).sum(axis=1)
    return np.array([np.lexsort((rest, column))[0] for column in cost.T], dtype=np.int64)


def knee(cost: FloatArray) -> Knee:
    """Return how far members stand ahead of the plane through the ends of the front, towards the best of all.

    d = (1 - n . s) / |n|, with n . s = 1 the plane through the ends, s the shares; objectives in which the
    members don't differ are left out. Positive is better than any mixture of the ends. Where the plane
    doesn't fall in every objective, n = (1, ..., 1) through the end that is nearest to the best of all.

    Source: Das 1999, Struct. Optim. 18, 107: the member farthest from the hull of the individual minima
    (as quoted in surveys; the text itself was not at hand).

    >>> found = knee(np.array([[0.0, 1.0], [0.25, 0.25], [1.0, 0.0]]))
    >>> found.member, round(float(found.ranking.figure[1]), 4)
    (1, 0.3536)
    """
    differing = np.ptp(cost, axis=0) > 0.0
    if differing.sum() < 2:
        nought = np.zeros(len(cost))
        return Knee(ranking=_ranked(-nought), member=None, by_ends=True)
    share = shares(cost[:, differing])
    at_ends = share[ends(cost[:, differing])]
    normal = _plane_through(at_ends)
    by_ends = normal is not None
    if normal is None:
        normal = np.ones(share.shape[1]) / at_ends.sum(axis=1).min()
    ahead = (1.0 - share @ normal) / np.sqrt(normal @ normal)
    ranking = Ranking(order=_ranked(-ahead).order, figure=ahead)
    first = int(ranking.order[0])
    is_knee = round(float(ahead[first]), DIGITS) > 0.0
    return Knee(ranking=ranking, member=first if is_knee else None, by_ends=by_ends)


def closest(cost: FloatArray, weights: FloatArray) -> Ranking:
    """Return members by their distance from the best of every objective, weighted: 0 the best, 1 the worst.

    d = sqrt(sum(w s^2) / sum(w)), s the shares, w the weights (m,).

    Source: compromise programming, Zeleny 1973, with the second power (from memory).

    >>> closest(np.array([[0.0, 1.0], [0.6, 0.8], [1.0, 0.0]]), np.array([3.0, 1.0])).figure.round(4).tolist()
    [0.5, 0.6557, 0.866]
    """
    distance = np.sqrt(shares(cost) ** 2 @ weights / weights.sum())
    return Ranking(order=_ranked(distance).order, figure=distance)


def best(cost: FloatArray, objective: int) -> Ranking:
    """Return members by one objective alone; ties by what the others reach."""
    column = cost[:, objective]
    return Ranking(order=np.lexsort((shares(cost).sum(axis=1), column)), figure=column)


def parse_weights(text: str, goals: Goals) -> FloatArray:
    """Return the weight of each objective, (m,); one that isn't named weighs nothing.

    ``text`` is like "sample.energy_peak=2, shell.mass=1". Raises all mistakes in it together.
    """
    names = [one.metric for one in goals.objectives]
    found: dict[str, float] = {}
    mistakes = []
    for part in text.split(","):
        name, _, number = (one.strip() for one in part.partition("="))
        if name not in names:
            problem = f"'{name}' is no objective of this run"
            mistakes.append(Mistake("--weights", problem, f"Name some of {', '.join(names)}"))
        elif name in found:
            mistakes.append(Mistake("--weights", f"'{name}' stands there twice", "Name it once"))
        else:
            found[name] = _weight(number)
            if not found[name] >= 0.0:
                problem = f"'{number}' is no weight of '{name}'"
                mistakes.append(Mistake("--weights", problem, f"Write {name}=2, or another number from 0"))
    if not mistakes and sum(found.values()) == 0.0:
        mistakes.append(Mistake("--weights", "nothing weighs anything", "Give one weight above 0"))
    if mistakes:
        raise UserMistakes(mistakes)
    return np.array([found.get(name, 0.0) for name in names])


def parse_limits(texts: tuple[str, ...], *, units: Mapping[str, str] = UNITS) -> tuple[Limit, ...]:
    """Return limits written like "shell.mass <= 150 g"; raises all mistakes in them together.

    >>> parse_limits(("shell.mass<=150 g",))[0].value
    0.15
    """
    found, mistakes = [], []
    for text in texts:
        place = f"--limit '{text}'"
        parts = _LIMIT.fullmatch(text)
        if parts is None:
            remedy = "Write it like 'shell.mass <= 150 g', a metric with <= or >="
            mistakes.append(Mistake(place, "this is no limit", remedy))
            continue
        try:
            found.append(parse_limit(parts[1], parts[2], units=units))
        except UserMistakes as error:
            mistakes += [Mistake(place, one.problem, one.remedy) for one in error.mistakes]
    if mistakes:
        raise UserMistakes(mistakes)
    return tuple(found)


def objective_named(name: str, goals: Goals) -> int:
    """Return the place of the objective on a metric."""
    names = [one.metric for one in goals.objectives]
    if name not in names:
        problem = f"'{name}' is no objective of this run"
        raise UserMistakes.one("--best", problem, f"Name one of {', '.join(names)}; --limit takes any metric")
    return names.index(name)


def _weight(text: str) -> float:
    """Return a finite number, or NaN."""
    try:
        value = float(text)
    except ValueError:
        return math.nan
    return value if math.isfinite(value) else math.nan


def _ranked(figure: FloatArray) -> Ranking:
    """Return members with the least figure first, ties in the order of the front."""
    return Ranking(order=np.argsort(np.round(figure, DIGITS), kind="stable"), figure=figure)


def _plane_through(at_ends: FloatArray) -> FloatArray | None:
    """Return n of the plane n . s = 1 through points (m, m), None unless every part of n is positive."""
    if np.linalg.cond(at_ends) > 1e9:
        return None
    normal: FloatArray = np.linalg.solve(at_ends, np.ones(len(at_ends))).astype(np.float64)
    return normal if (normal > 0.0).all() else None
