"""What is sought: the metrics to raise or lower, and the limits a design has to keep."""

import difflib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum

from optitip.errors import Mistake, UserMistakes
from optitip.metrics.values import Bracketed
from optitip.units import UnitError, quantity


class Direction(Enum):
    """Which way a metric is wanted."""

    MAXIMISE = "maximise"
    MINIMISE = "minimise"


class Sense(Enum):
    """On which side of its value a limit allows."""

    AT_LEAST = ">="
    AT_MOST = "<="


@dataclass(frozen=True, slots=True, kw_only=True)
class Objective:
    """A metric wanted high or low; its expected value counts."""

    metric: str
    direction: Direction

    def cost(self, value: Bracketed) -> float:
        """Return the expected value with the sign that makes less better."""
        return value.expected if self.direction is Direction.MINIMISE else -value.expected


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """A bound on a metric [its SI unit]; the worst flow state has to keep it.

    >>> limit = Limit(metric="margin.yield", sense=Sense.AT_LEAST, value=0.0)
    >>> limit.excess(Bracketed(unit="1", low=-0.25, expected=0.5, high=1.0))
    0.25
    """

    metric: str
    sense: Sense
    value: float

    def past(self, value: float) -> float:
        """Return by how much a value is inside the limit, below 0 for outside.

        >>> Limit(metric="shell.mass", sense=Sense.AT_MOST, value=0.5).past(0.75)
        -0.25
        """
        return value - self.value if self.sense is Sense.AT_LEAST else self.value - value

    def excess(self, value: Bracketed) -> float:
        """Return by how much the worst flow state breaks the limit; zero or less keeps it."""
        return self.value - value.low if self.sense is Sense.AT_LEAST else value.high - self.value

    def kept(self, value: Bracketed) -> bool:
        """Return whether the worst flow state keeps the limit."""
        return self.excess(value) <= 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Goals:
    """All objectives and limits of a search."""

    objectives: tuple[Objective, ...]
    limits: tuple[Limit, ...] = ()

    @property
    def metrics(self) -> tuple[str, ...]:
        """Return the metrics the goals speak of, each once."""
        named = [goal.metric for goal in self.objectives] + [limit.metric for limit in self.limits]
        return tuple(dict.fromkeys(named))


def parse_limit(metric: str, text: str, *, units: Mapping[str, str]) -> Limit:
    """Return the limit that ``text`` sets on ``metric``; ``units`` gives each metric's SI unit.

    >>> parse_limit("sample.energy_peak", ">= 2 kJ", units={"sample.energy_peak": "J"}).value
    2000.0
    """
    place = f"limits.'{metric}'"
    if metric not in units:
        raise UserMistakes([_unknown(place, metric, units)])
    written = text.strip()
    sense = next((one for one in Sense if written.startswith(one.value)), None)
    if sense is None:
        raise UserMistakes.one(
            place, f"'{text}' starts with neither >= nor <=", "Write it like '>= 0' or '<= 150 degC'"
        )
    try:
        value = quantity(written[len(sense.value) :].strip(), units[metric])
    except UnitError as error:
        raise UserMistakes.one(place, error.problem, error.remedy) from None
    return Limit(metric=metric, sense=sense, value=value)


def parse_goals(
    *, maximise: Sequence[str], minimise: Sequence[str], limits: Mapping[str, str], units: Mapping[str, str]
) -> Goals:
    """Return the goals of a study, or raise all that is wrong with them together."""
    mistakes = list(_mistakes_of_objectives(maximise, minimise, units))
    parsed = []
    for metric, text in limits.items():
        try:
            parsed.append(parse_limit(metric, text, units=units))
        except UserMistakes as error:
            mistakes.extend(error.mistakes)
    if mistakes:
        raise UserMistakes(mistakes)
    objectives = [Objective(metric=metric, direction=Direction.MAXIMISE) for metric in maximise]
    objectives += [Objective(metric=metric, direction=Direction.MINIMISE) for metric in minimise]
    return Goals(objectives=tuple(objectives), limits=tuple(parsed))


def _mistakes_of_objectives(
    maximise: Sequence[str], minimise: Sequence[str], units: Mapping[str, str]
) -> Iterator[Mistake]:
    named = [*maximise, *minimise]
    if not named:
        yield Mistake("sweep", "nothing is sought", "Name a metric under maximise or minimise")
    for key, metrics in (("maximise", maximise), ("minimise", minimise)):
        for metric in metrics:
            if metric not in units:
                yield _unknown(f"sweep.{key}", metric, units)
    for metric in sorted({metric for metric in named if named.count(metric) > 1}):
        yield Mistake("sweep", f"'{metric}' is sought twice", "Name it once, under maximise or minimise")


def _unknown(place: str, metric: str, known: Iterable[str]) -> Mistake:
    names = sorted(known)
    near = difflib.get_close_matches(metric, names, n=1)
    remedy = f"Did you mean '{near[0]}'" if near else f"Name one of {', '.join(names)}"
    return Mistake(place, f"'{metric}' is no metric", remedy)
