"""``optitip neighbours RUN [DESIGN ...]``: which designs hold when their lengths are a little off."""

import os
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Annotated

import numpy as np
import typer
from rich.markup import escape
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn
from rich.table import Table

from optitip.arrays import FloatArray
from optitip.cli.answers import complaints, console
from optitip.cli.tables import show_table, table
from optitip.errors import Stopped, UserMistakes
from optitip.metrics.goals import Goals, Sense
from optitip.metrics.registry import LABELS, UNITS
from optitip.metrics.values import Evaluation
from optitip.report.figures import figure_text
from optitip.report.words import clock_text, limit_text
from optitip.search import choice
from optitip.search.components import Components
from optitip.search.evaluated import Evaluated
from optitip.search.evaluators import study_evaluators
from optitip.search.executors.face import States, Task
from optitip.search.executors.make import ExecutorKind, make_executor
from optitip.search.front import costs
from optitip.search.neighbours import (
    Neighbour,
    Neighbourhood,
    free_lengths,
    neighbourhoods,
    ranked,
    steps_text,
    tolerance,
)
from optitip.search.reading import OpenRun, run_to_read
from optitip.search.records import Record
from optitip.search.stopping import interruption
from optitip.units import System, shown

WITHIN = "0.05 mm"
BROKEN_SHOWN = 3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Asked:
    """Which designs are looked round, by which goals; ``reach`` (m,) is the front's range of each objective.

    ``seconds`` is the CPU time [s] that a design took in every flow state, None before any was run.
    """

    goals: Goals
    records: tuple[Record, ...]
    reach: FloatArray
    seconds: float | None


def command(
    run: Annotated[Path, typer.Argument(help="The folder of a sweep's run.")],
    design: Annotated[
        list[str] | None, typer.Argument(help="Designs by name, or its beginning; else the front's own.")
    ] = None,
    within: Annotated[
        str, typer.Option(metavar="LENGTH", help="How far each free length is moved.")
    ] = WITHIN,
    candidates: Annotated[
        int, typer.Option(min=1, help="Of the front, how many: those closest to the best of all.")
    ] = 10,
    limit: Annotated[
        list[str] | None,
        typer.Option(metavar='"METRIC <= VALUE"', help="One more limit to keep; may be given again."),
    ] = None,
    workers: Annotated[
        int | None, typer.Option(min=1, help="Worker processes; as many as there are cores unless given.")
    ] = None,
    units: Annotated[System, typer.Option(help="Units of the answer.")] = System.METRIC,
) -> None:
    """Run the neighbours of a front's designs, every length a little off, and say which of them hold."""
    extra = choice.parse_limits(tuple(limit or ()))
    metres = tolerance(within)
    with run_to_read(run) as opened:
        goals = replace(opened.goals, limits=(*opened.goals.limits, *extra))
        asked = _asked(opened, goals, tuple(design or ()), candidates)
    count = workers or os.cpu_count() or 1
    _announce(opened, asked, within, count)
    begun = time.monotonic()
    with _Crew(opened, count) as crew:
        found = neighbourhoods(
            [record.design for record in asked.records],
            space=opened.space,
            goals=goals,
            within=metres,
            evaluate=crew.evaluate,
        )
    took = clock_text(time.monotonic() - begun)
    order = ranked(found, goals, asked.reach)
    out = console()
    show_table(out, _table([(asked.records[row], found[row]) for row in order], asked, within, units))
    for line in _lines([(asked.records[row], found[row]) for row in order], asked, within, units):
        out.print(line, markup=False)
    out.print(f"Took {took}; nothing of it is stored.", markup=False)


class _Crew:
    """Workers that evaluate designs of a run's study in every flow state, with a bar on the screen."""

    def __init__(self, run: OpenRun, workers: int) -> None:
        kind = ExecutorKind.SERIAL if workers == 1 else ExecutorKind.PROCESSES
        sweep = run.study.tables.sweep
        self._executor = make_executor(
            kind,
            factory=partial(study_evaluators, run.study.path.resolve()),
            workers=workers,
            time_limit=None if sweep is None else sweep.time_limit or None,
        )
        self._bar = Progress(
            TextColumn("neighbours"), BarColumn(), MofNCompleteColumn(), console=complaints(), transient=True
        )
        self._line = self._bar.add_task("", total=None)
        self._total = 0

    def __enter__(self) -> "_Crew":
        self._executor.__enter__()
        self._bar.start()
        return self

    def __exit__(self, *error: object) -> None:
        self._bar.stop()
        self._executor.__exit__(None, None, None)

    def evaluate(self, tasks: Sequence[Task]) -> list[Evaluation]:
        """Return the evaluations in the order of the tasks; raises ``Stopped`` after Ctrl-C."""
        answers: dict[int, Evaluation] = {}
        self._total += len(tasks)
        self._bar.update(self._line, total=self._total)
        with interruption() as interrupted:
            for index, evaluation in self._executor.evaluate(tasks, stopping=interrupted):
                answers[index] = evaluation
                self._bar.advance(self._line)
            if interrupted():
                raise Stopped("stopped; nothing of it is stored, the same command begins again")
        return [answers[index] for index in range(len(tasks))]


def _asked(run: OpenRun, goals: Goals, names: tuple[str, ...], most: int) -> _Asked:
    """Return the designs that are named, or those of the front that are closest to the best of all."""
    if not free_lengths(run.space):
        problem = "no length is free in this study"
        raise UserMistakes.one(str(run.path), problem, "There are no neighbours to run")
    evaluated = run.store.evaluated(goals.metrics)
    found = choice.stored_front(evaluated, Components(goals))
    front = run.store.records(evaluated.numbers[found.members].tolist())
    cost = np.array([costs(record, goals) for record in front]).reshape(len(front), len(goals.objectives))
    if names:
        records = [_named(run, name) for name in names]
    elif not front:
        raise UserMistakes.one(str(run.path), "no design keeps every limit", "Loosen one, or name a design")
    else:
        order = choice.closest(cost, np.ones(len(goals.objectives))).order.tolist()
        records = [front[row] for row in order[:most]]
    return _Asked(
        goals=goals,
        records=tuple(records),
        reach=np.ptp(cost, axis=0) if len(front) else np.ones(len(goals.objectives)),
        seconds=_seconds(evaluated),
    )


def _named(run: OpenRun, name: str) -> Record:
    found = run.store.numbers_of(name)
    names = {one for _, one in found}
    if len(names) == 1:
        return run.store.records([found[-1][0]])[0]
    problem = f"'{name}' begins {len(names)} designs" if names else f"there is no design '{name}' in this run"
    raise UserMistakes.one(str(run.path), problem, "Take one from 'optitip front', by its name")


def _seconds(evaluated: Evaluated) -> float | None:
    rows = evaluated.of_states(States.ALL)
    return float(evaluated.seconds[rows].mean()) if rows.any() else None


def _announce(run: OpenRun, asked: _Asked, within: str, workers: int) -> None:
    """Say ahead what is run, what is left alone, and about how long it takes."""
    lengths = free_lengths(run.space)
    each = 2 * len(lengths) + 3 + len(asked.goals.objectives) + len(asked.goals.limits)
    told = f"Up to {each} designs round each of {len(asked.records)}, {len(lengths)} lengths {within} off"
    if asked.seconds is not None:
        work = clock_text(each * len(asked.records) * asked.seconds / workers)
        told += f": about {work} of work once the workers have started"
    complaints().print(f"{told}.", markup=False)
    moved = {number.key for number in lengths}
    left = [key for key in run.space.keys if key not in moved]
    if left:
        complaints().print(f"Left as they are: {', '.join(left)}.", markup=False)


def _table(pairs: Sequence[tuple[Record, Neighbourhood]], asked: _Asked, within: str, units: System) -> Table:
    """Return each design with what its worst neighbours reach; in brackets what it has itself."""
    title = f"Worst of the neighbours, {within} off (and as drawn)"
    made = table(title, ("rank", False), ("design", False), ("neighbours\nthat hold", True))
    made.add_column("loses at most\n\\[% of the front]", justify="right")
    objectives = [one.metric for one in asked.goals.objectives]
    limited = list(dict.fromkeys(one.metric for one in asked.goals.limits))
    for name, kind in (*((name, "") for name in objectives), *((name, "worst state ") for name in limited)):
        unit = shown(0.0, UNITS[name], units)[1]
        made.add_column(f"{LABELS[name].strip()}\n{kind}\\[{unit or '-'}]", justify="right")
    for place, (record, one) in enumerate(pairs, start=1):
        chosen = " chosen" if place == 1 and one.holds(asked.goals) else ""
        held = f"{len(one.neighbours) - len(one.broken(asked.goals))} of {len(one.neighbours)}"
        lost, cells = "", [""] * (len(objectives) + len(limited))
        if one.centre.metrics is not None:
            lost = f"{100.0 * one.lost(asked.goals, asked.reach).max():.2g}"
            cells = [_expected_text(one, name, asked.goals, units) for name in objectives]
            cells += [_worst_state_text(one, name, asked.goals, units) for name in limited]
        made.add_row(f"{place}{chosen}", escape(record.design_id), held, lost, *cells)
    return made


def _expected_text(one: Neighbourhood, name: str, goals: Goals, units: System) -> str:
    """Return an objective as expected of the worst neighbour, and of the design itself."""
    there, here = one.worst_objective(name, goals), (one.centre.metrics or {})[name].expected
    return f"{figure_text(there, UNITS[name], units)} ({figure_text(here, UNITS[name], units)})"


def _worst_state_text(one: Neighbourhood, name: str, goals: Goals, units: System) -> str:
    """Return a limit's metric in the worst state of the worst neighbour, and of the design itself."""
    there, here = one.worst_limit(name, goals)
    return f"{figure_text(there, UNITS[name], units)} ({figure_text(here, UNITS[name], units)})"


def _lines(
    pairs: Sequence[tuple[Record, Neighbourhood]], asked: _Asked, within: str, units: System
) -> Iterator[str]:
    """Yield why the first is the choice, and what breaks the others."""
    first, best = pairs[0]
    goals = asked.goals
    if best.holds(goals):
        lost = 100.0 * best.lost(goals, asked.reach).max()
        yield (
            f"{first.design_id} is the most robust of these: all its {len(best.neighbours)} neighbours keep "
            f"every limit in every flow state, and none loses more than {lost:.2g} % of the front's range in "
            "an objective."
        )
    else:
        yield (
            f"None of these holds when its lengths are {within} off. Look for one with more room: "
            'optitip front with a tighter --limit, like "margin.smallest >= 0.1".'
        )
    for record, one in pairs:
        broken = one.broken(goals)
        for neighbour in broken[:BROKEN_SHOWN]:
            how = steps_text(neighbour.steps, one.lengths, within)
            yield f"  {record.design_id}, {how}: {_why(neighbour, goals, units)}"
        if len(broken) > BROKEN_SHOWN:
            yield f"  {record.design_id}: {len(broken) - BROKEN_SHOWN} more don't hold"
    yield (
        "Run were: each length alone to both sides, all together, and for each objective and limit the "
        "corner that these foretell as its worst; in between nothing was run."
    )


def _why(neighbour: Neighbour, goals: Goals, units: System) -> str:
    """Return why a neighbour doesn't hold."""
    metrics = neighbour.evaluation.metrics
    if metrics is None:
        return neighbour.evaluation.outcome.problem
    broken = [
        limit for limit in goals.limits if limit.metric in metrics and not limit.kept(metrics[limit.metric])
    ]
    said = []
    for limit in broken:
        value = metrics[limit.metric]
        worst = value.low if limit.sense is Sense.AT_LEAST else value.high
        said.append(f"{figure_text(worst, value.unit, units)} breaks {limit_text(limit, units)}")
    return ", ".join(said) or "a figure is lacking"
