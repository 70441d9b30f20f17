"""Where a sweep stands, in plain sentences: the same on a terminal and on the page."""

from collections.abc import Iterator, Sequence
from datetime import datetime
from pathlib import Path

from optitip.metrics.goals import Goals, Limit
from optitip.metrics.registry import UNITS
from optitip.report.figures import bracket_text
from optitip.search.executors.face import States
from optitip.search.records import Record, Stage
from optitip.search.standing import Standing, Writing
from optitip.units import System, text

CAUTIONS = (
    "Engineering estimates: check them before metal or people depend on them.",
    "The tip comes back hot; a closed pocket holds pressure; flown food isn't for eating.",
)
INDICATIVE = "Setting and log reduction are indicative only: food that has flown is never safe to eat."
GO_ON = "The same command goes on from here; nothing is lost."
_BARS = " ▁▂▃▄▅▆▇█"
_DOING = {
    Stage.STARTING: "starting the workers",
    Stage.SEARCH: "searching",
    Stage.CONFIRM: "running the front in every flow state",
    Stage.VERIFY: "running the front on a finer grid",
    Stage.FINISHED: "finished",
}


def clock_text(seconds: float) -> str:
    """Return a span of time as a clock shows it, or in days.

    >>> clock_text(75.0), clock_text(3725.0), clock_text(2e5)
    ('1:15', '1:02:05', '2.3 days')
    """
    if seconds >= 86400.0:
        return f"{seconds / 86400.0:.1f} days"
    minutes, rest = divmod(round(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02d}:{rest:02d}" if hours else f"{minutes}:{rest:02d}"


def state_line(standing: Standing, *, now: float) -> str:
    """Return in a sentence whether anybody is at it, and how the last go ended."""
    said = standing.writing.value
    holder = standing.holder
    if standing.writing is Writing.HERE and holder is not None:
        said += f" (process {holder.process})"
    if standing.writing is Writing.ELSEWHERE and holder is not None:
        said = f"a sweep on the machine '{holder.host}' (process {holder.process}) holds this run"
    if standing.ended:
        said += f": {standing.ended}" if standing.writing is Writing.FINISHED else _cut(standing.ended)
    line = f"{said[:1].upper()}{said[1:]}."
    if standing.writing is Writing.NOBODY:
        line += f" {GO_ON}"
    if standing.writing is Writing.HERE and standing.last_written is not None:
        quiet = now - standing.last_written
        usual = 1.0 / standing.pace if standing.pace else 0.0
        if quiet > max(120.0, 50.0 * usual):
            line += f" It has written nothing for {clock_text(quiet)}."
    return line


def _cut(ended: str) -> str:
    return f"; the last stint was {ended}"


def progress_line(standing: Standing, *, now: float) -> str:
    """Return what the sweep is doing, how much of it is done, how fast, and when that will be over."""
    doing = _DOING[standing.stage]
    if standing.stage is Stage.FINISHED:
        return f"{standing.searched:,} designs evaluated."
    of = "" if standing.aimed is None else f" of {standing.aimed:,}"
    line = f"{doing[:1].upper()}{doing[1:]}: {standing.done:,}{of} done"
    if standing.pace:
        line += f", {pace_text(standing.pace)}"
    if standing.seconds_left is not None and standing.writing is Writing.HERE:
        over = datetime.fromtimestamp(now + standing.seconds_left)
        line += f", {clock_text(standing.seconds_left)} left (about {over:%H:%M})"
    elif standing.seconds_left:
        line += f"; about {clock_text(standing.seconds_left)} of work is left"
    return f"{line}."


def pace_text(pace: float) -> str:
    """Return evaluations a second so that the number is a handy one.

    >>> pace_text(12.3), pace_text(0.5), pace_text(0.001)
    ('12 a second', '30 a minute', '3.6 an hour')
    """
    for factor, unit in ((1.0, "a second"), (60.0, "a minute")):
        if pace * factor >= 1.0:
            return f"{pace * factor:.2g} {unit}"
    return f"{pace * 3600.0:.2g} an hour"


def counts_line(standing: Standing) -> str:
    """Return how many evaluations there are of each kind."""
    every, finer = standing.count(States.ALL), standing.count(States.FINER)
    return (
        f"{standing.searched:,} designs searched, {every:,} run in every flow state, "
        f"{finer:,} on the finer grid."
    )


def failures_by_problem(standing: Standing) -> dict[str, int]:
    """Return how many designs of the search have no answer, by what is wrong, the most frequent first."""
    return {outcome.problem: count for outcome, count in standing.failures().items()}


def failure_lines(standing: Standing) -> Iterator[str]:
    """Yield how many designs have no answer, and why, the most frequent first."""
    failures = failures_by_problem(standing)
    if failures:
        yield f"{sum(failures.values()):,} of {standing.searched:,} designs have no answer:"
        yield from (f"  {count:,} because {problem}" for problem, count in failures.items())


def limit_lines(goals: Goals, units: System) -> list[str]:
    """Return the limits of a search, each as a person reads it."""
    return [limit_text(one, units) for one in goals.limits]


def limit_text(limit: Limit, units: System) -> str:
    """Return a limit with its unit.

    >>> from optitip.metrics.goals import Sense
    >>> limit_text(Limit(metric="shell.mass", sense=Sense.AT_MOST, value=0.15), System.METRIC)
    'shell.mass <= 150 g'
    """
    return f"{limit.metric} {limit.sense.value} {text(limit.value, UNITS[limit.metric], units)}"


def target_lines(
    front: Sequence[Record], targets: Sequence[Limit], *, run: Path, units: System
) -> Iterator[str]:
    """Yield for each target of the study how many of a front reach it, and the nearest where none does."""
    for target in targets:
        values = {
            record.design_id: record.evaluation.metrics[target.metric]
            for record in front
            if record.evaluation.metrics is not None and target.metric in record.evaluation.metrics
        }
        if not values:
            continue
        past = {name: target.past(value.expected) for name, value in values.items()}
        reached, always = sum(one >= 0.0 for one in past.values()), sum(map(target.kept, values.values()))
        line = f"Target {limit_text(target, units)}: "
        if reached:
            few = any(record.states is States.SEARCH for record in front)
            ran = "every flow state that was run" if few else "every flow state"
            yield f"{line}{reached} of {len(front)} reach it as expected, {always} in {ran}."
            continue
        name = max(past, key=past.__getitem__)
        yield (
            f"{line}NOT reached by any of {len(front)}, as expected; the nearest has "
            f"{bracket_text(values[name], units)}: {name}. "
            f"What would get there: optitip check {run}"
        )


def stints_line(standing: Standing) -> str:
    """Return which go at the sweep this is, when it began, and with which versions."""
    if not standing.stints:
        return "No stint yet."
    last = standing.stints[-1]
    begun = datetime.fromtimestamp(last.started)
    versions = ", ".join(f"{name} {version}" for name, version in last.versions.items() if version != "none")
    which = f"Stint {last.number} of {len(standing.stints)}"
    return f"{which}, begun {begun:%Y-%m-%d %H:%M}, with {versions}."


def growth_curve(standing: Standing, *, width: int = 40) -> str:
    """Return how the front grew as a row of bars; each is what it covered after an equal share of designs."""
    stones = standing.milestones
    most = max((one.covered for one in stones), default=0.0)
    if len(stones) < 2 or most <= 0.0:
        return ""
    bars = []
    for place in range(1, width + 1):
        reached = [one.covered for one in stones if one.searched <= stones[-1].searched * place / width]
        share = max(reached, default=0.0) / most
        bars.append(_BARS[round(share * (len(_BARS) - 1))])
    return "".join(bars)


def growth_line(standing: Standing) -> str:
    """Return how much the front covers, and how that grew of late."""
    if not standing.milestones:
        return "The front hasn't been measured yet."
    last = standing.milestones[-1]
    half = [one for one in standing.milestones if one.searched <= last.searched / 2]
    line = (
        f"{last.front_size:,} designs on the front; it covers {100.0 * last.covered:.0f} % of the box that "
        "the first designs spanned"
    )
    if half and half[-1].covered > 0.0:
        grown = 100.0 * (last.covered / half[-1].covered - 1.0)
        line += f" and has grown by {grown:.2g} % since {half[-1].searched:,} designs"
    return f"{line}."
