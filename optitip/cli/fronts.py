"""The front as a table and what it reaches, for every command that shows one."""

from collections.abc import Iterable, Iterator, Mapping, Sequence

from rich.markup import escape
from rich.table import Table

from optitip.cli.tables import table
from optitip.metrics.goals import Goals, Sense
from optitip.metrics.registry import LABELS, UNITS
from optitip.metrics.values import sides_text
from optitip.report.figures import spread_text
from optitip.report.words import limit_text
from optitip.search.components import Components
from optitip.search.evaluated import Evaluated
from optitip.search.front import judged
from optitip.search.records import Record
from optitip.search.space import Space
from optitip.units import System, shown, text

ROWS_SHOWN = 20
TITLE = "The front: expected, low to high over the flow states"


def evenly(front: Sequence[Record], goals: Goals) -> list[Record]:
    """Return a front best of the first objective first, thinned evenly where it is long."""
    first = goals.objectives[0]
    records = sorted(front, key=lambda record: first.cost((record.evaluation.metrics or {})[first.metric]))
    if len(records) > ROWS_SHOWN:
        step = (len(records) - 1) / (ROWS_SHOWN - 1)
        records = [records[round(step * place)] for place in range(ROWS_SHOWN)]
    return records


def front_table(
    records: Sequence[Record],
    space: Space,
    goals: Goals,
    units: System,
    *,
    title: str = TITLE,
    ahead: Mapping[str, Sequence[str]] | None = None,
    also: Sequence[str] = (),
) -> Table:
    """Return designs as a table in the order they come; ``ahead`` are cells before the objectives, by header.

    ``also`` are further metrics to show.
    """
    made = table(title, caption=_sides_of(records, goals) or None)
    made.add_column("design", no_wrap=True)
    before = ahead or {}
    for header in before:
        made.add_column(escape(header))
    wanted = {one.metric: f", {one.direction.value}" for one in goals.objectives}
    names = list(dict.fromkeys([*wanted, *also]))
    for name in names:
        unit = shown(0.0, UNITS[name], units)[1]
        made.add_column(f"{LABELS[name].strip()}\n\\[{unit or '-'}]{wanted.get(name, '')}", justify="right")
    for key in space.choices:
        made.add_column(key.split(".", 1)[-1].replace(".", "\n"))
    for place, record in enumerate(records):
        metrics = record.evaluation.metrics or {}
        figures = [spread_text(metrics[name], units) if name in metrics else "" for name in names]
        cells = [escape(column[place]) for column in before.values()]
        choices = [escape(str(record.design[key])) for key in space.choices]
        made.add_row(record.design_id, *cells, *figures, *choices)
    return made


def kept_lines(evaluated: Evaluated, goals: Goals, units: System) -> Iterator[str]:
    """Yield how many designs keep each limit by itself, and what the nearest has where none does."""
    found = judged(evaluated, Components(goals))
    if not found.answered.any():
        return
    yield "No design keeps every limit. Of those that have an answer:"
    for limit, excess in zip(goals.limits, found.excess[found.answered].T, strict=True):
        kept = int((excess <= 0.0).sum())
        line = f"  {kept:,} of {len(excess):,} keep {limit_text(limit, units)}"
        if kept == 0:
            outside = -excess.min() if limit.sense is Sense.AT_LEAST else excess.min()
            nearest = text(limit.value + outside, UNITS[limit.metric], units, digits=3)
            line += f"; the nearest has {nearest} in its worst flow state"
        yield line


def _sides_of(front: Iterable[Record], goals: Goals) -> str:
    """Return which flow states give low and high of each objective, over all of the front."""
    metrics = [record.evaluation.metrics or {} for record in front]
    said = {one.metric: sides_text(values[one.metric] for values in metrics) for one in goals.objectives}
    lines = [f"{LABELS[name].strip()}: {sides}." for name, sides in said.items() if sides]
    return "\n".join(line[:1].upper() + line[1:] for line in lines)
