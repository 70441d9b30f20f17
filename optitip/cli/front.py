"""``optitip front RUN``: the front of what is stored, filtered, as CSV, and a choice by a named rule."""

import time
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Annotated

import numpy as np
import typer
from rich.console import Console

from optitip.cli.answers import complaints, console
from optitip.cli.choice_lines import (
    Asked,
    Chosen,
    asked_for,
    choice_lines,
    chosen,
    end_lines,
    how_to_choose,
)
from optitip.cli.fronts import ROWS_SHOWN, TITLE, evenly, front_table, kept_lines
from optitip.cli.tables import show_table
from optitip.cli.verified_lines import verified_lines
from optitip.errors import Outcome, UserMistakes
from optitip.metrics.goals import Goals, Limit, Sense
from optitip.report.words import limit_text, progress_line, state_line, target_lines
from optitip.search.choice import Stored, parse_limits, stored_front
from optitip.search.components import Components
from optitip.search.evaluated import Evaluated
from optitip.search.executors.face import States
from optitip.search.plainly import said_plainly
from optitip.search.reading import OpenRun, run_to_read, targets_of
from optitip.search.records import Record
from optitip.search.run_folder import front_table as front_table_as_csv
from optitip.search.standing import Writing, standing_of
from optitip.search.verified import Verified, verify
from optitip.units import System

ON_THE_SCREEN = "-"


def command(
    run: Annotated[Path, typer.Argument(help="The folder of a sweep's run.")],
    limit: Annotated[
        list[str] | None,
        typer.Option(metavar='"METRIC <= VALUE"', help="One more limit to keep; may be given again."),
    ] = None,
    knee: Annotated[
        bool, typer.Option("--knee", help="Choose where the front bends most, far ahead of its ends.")
    ] = False,
    weights: Annotated[
        str | None,
        typer.Option(metavar='"METRIC=2, METRIC=1"', help="Choose the closest to the best of all."),
    ] = None,
    best: Annotated[
        str | None, typer.Option(metavar="METRIC", help="Choose the best in one objective.")
    ] = None,
    csv: Annotated[
        str | None, typer.Option(metavar="FILE", help="Write the whole front as CSV; - shows it.")
    ] = None,
    units: Annotated[System, typer.Option(help="Units of the answer.")] = System.METRIC,
) -> None:
    """Show the front of a run, finished or under way; filter it, and choose a design by a rule."""
    extra = parse_limits(tuple(limit or ()))
    with run_to_read(run) as opened:
        goals = replace(opened.goals, limits=(*opened.goals.limits, *extra))
        asked = asked_for(knee=knee, weights=weights, best=best, goals=goals)
        read = _read(opened, goals, extra)
        if csv is not None:
            _write_csv(csv, read)
        if csv != ON_THE_SCREEN:
            _show(console(), read, asked, units)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Read:
    """What the store says of a front: ``extra`` are the limits that the study doesn't have."""

    run: OpenRun
    goals: Goals
    extra: tuple[Limit, ...]
    evaluated: Evaluated
    found: Stored
    front: tuple[Record, ...]
    finer: Mapping[str, Record]


def _read(run: OpenRun, goals: Goals, extra: tuple[Limit, ...]) -> _Read:
    evaluated = run.store.evaluated(goals.metrics)
    for one in extra:
        answered = evaluated.values(one.metric)[evaluated.with_outcome(Outcome.ANSWERED)]
        if len(answered) and not np.isfinite(answered).any():
            problem = "no design of this run has this metric"
            raise UserMistakes.one(f"--limit '{one.metric}'", problem, "Leave it out")
    found = stored_front(evaluated, Components(goals))
    finer = run.store.records(evaluated.numbers[evaluated.of_states(States.FINER)].tolist())
    return _Read(
        run=run,
        goals=goals,
        extra=extra,
        evaluated=evaluated,
        found=found,
        front=tuple(run.store.records(evaluated.numbers[found.members].tolist())),
        finer={record.design_id: record for record in finer},
    )


def _write_csv(name: str, read: _Read) -> None:
    """Write all designs that no other beats, or show them."""
    every = read.run.store.records(read.evaluated.numbers[read.found.unbeaten].tolist())
    verified = verify(every, finer=read.finer, goals=read.goals)
    table = front_table_as_csv(every, read.run.space, verified=verified)
    if name == ON_THE_SCREEN:
        typer.echo(table, nl=False)
        return
    with said_plainly(Path(name)):
        Path(name).write_text(table, encoding="utf-8", newline="")
    complaints().print(f"Wrote {len(every)} designs that no other beats into {name}.", markup=False)


def _show(out: Console, read: _Read, asked: Asked | None, units: System) -> None:
    for line in _where_lines(read, units):
        out.print(line, markup=False)
    if not read.front:
        return
    verified = verify(read.front, finer=read.finer, goals=read.goals)
    ranked = None if asked is None else chosen(read.front, asked, read.goals, units)
    rows = evenly(read.front, read.goals) if ranked is None else ranked.records[:ROWS_SHOWN]
    ahead = ({} if ranked is None else _rank_columns(ranked)) | _columns(rows, verified)
    few = any(record.states is States.SEARCH for record in rows)
    title = f"{TITLE}{' that were run' if few else ''}{', ranked' if ranked is not None else ''}"
    also = [one.metric for one in read.extra]
    show_table(out, front_table(rows, read.run.space, read.goals, units, title=title, ahead=ahead, also=also))
    for line in _after_lines(read, ranked, verified, units):
        out.print(line, markup=False)


def _where_lines(read: _Read, units: System) -> Iterator[str]:
    """Yield how far the run is, and how much of it this front is."""
    now, standing = time.time(), standing_of(read.run.store, read.run.path, evaluated=read.evaluated)
    yield f"{read.run.study.title}. {state_line(standing, now=now)}"
    if standing.writing is not Writing.FINISHED:
        yield f"{progress_line(standing, now=now)} So this front may still change."
    yield from _idle_lines(read, units)
    if not read.evaluated.with_outcome(Outcome.ANSWERED).any():
        yield "No design has an answer yet."
        return
    if not read.front:
        yield from kept_lines(read.evaluated, read.goals, units)
        return
    unbeaten, members = len(read.found.unbeaten), len(read.front)
    yield f"No other beats {unbeaten} of {standing.searched:,} designs; {members} of them stand for all."


def _idle_lines(read: _Read, units: System) -> Iterator[str]:
    """Yield which further limits are looser than one of the study's own."""
    for one in read.extra:
        for own in read.run.goals.limits:
            tighter = own.value >= one.value if own.sense is Sense.AT_LEAST else own.value <= one.value
            if (own.metric, own.sense) == (one.metric, one.sense) and tighter:
                yield f"{limit_text(one, units)} changes nothing: the study has {limit_text(own, units)}."


def _rank_columns(ranked: Chosen) -> dict[str, list[str]]:
    """Return what stands ahead of members that are ranked: the place, the chosen one marked, the figure."""
    places = [str(place) for place in range(1, min(len(ranked.records), ROWS_SHOWN) + 1)]
    if ranked.taken:
        places[0] += " chosen"
    columns = {"rank": places}
    if ranked.figures:
        columns[ranked.asked.rule.value] = list(ranked.figures[:ROWS_SHOWN])
    return columns


def _columns(rows: Sequence[Record], verified: Mapping[str, Verified]) -> dict[str, list[str]]:
    """Return which flow states each ran in, unless all ran in every one, and what the finer grid says."""
    columns = {}
    if any(record.states is States.SEARCH for record in rows):
        columns["flow\nstates"] = [
            "few: not\nconfirmed" if record.states is States.SEARCH else "every" for record in rows
        ]
    if any(record.design_id in verified for record in rows):
        columns["finer\ngrid"] = [
            verified[record.design_id].rank.value if record.design_id in verified else "not run"
            for record in rows
        ]
    return columns


def _after_lines(
    read: _Read, ranked: Chosen | None, verified: Mapping[str, Verified], units: System
) -> Iterator[str]:
    """Yield what is left out, what the finer grid says, and the choice or how one is made."""
    if len(read.front) > ROWS_SHOWN:
        how = "evenly spread between these" if ranked is None else "ranked after these"
        yield f"{len(read.front) - ROWS_SHOWN} more are {how}; --csv FILE writes all."
    few = sum(record.states is States.SEARCH for record in read.front)
    if few:
        yield (
            f"{few} of {len(read.front)} ran in a search's few flow states only and are not confirmed: the "
            "others may take them off the front."
        )
    yield from verified_lines(verified, goals=read.goals, units=units)
    yield from target_lines(read.front, targets_of(read.run.study), run=read.run.path, units=units)
    if ranked is None:
        yield from end_lines(read.front, read.goals, units)
        yield how_to_choose(read.goals, read.run.path)
    else:
        yield from choice_lines(ranked, front=read.front, goals=read.goals, run=read.run.path, units=units)
