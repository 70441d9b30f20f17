"""``optitip sweep STUDY --out RUN``: many designs, and the front of those no other beats."""

import os
from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from functools import partial
from pathlib import Path
from typing import Annotated

import tomli_w
import typer
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TaskID, TextColumn

from optitip.cli.answers import complaints, console
from optitip.cli.fronts import ROWS_SHOWN, evenly, front_table, kept_lines
from optitip.cli.hours import next_hour
from optitip.cli.outside_lines import front_lines
from optitip.cli.places import placed_in
from optitip.cli.tables import show_table
from optitip.cli.verified_lines import verified_lines
from optitip.errors import Stopped, UserMistakes
from optitip.evaluate.given import outside_is_free
from optitip.evaluate.sought import check_sources
from optitip.export.swept import picture_front
from optitip.inputs.study import OWN_MATERIALS, Study, read_study
from optitip.inputs.study_tables import Sweep
from optitip.metrics.goals import Goals
from optitip.report.front_page import PAGE, KeptPage, write_page
from optitip.report.words import target_lines
from optitip.search.components import Components
from optitip.search.evaluators import study_evaluators
from optitip.search.executors.face import Executor
from optitip.search.executors.make import ExecutorKind, make_executor
from optitip.search.reading import goals_of, targets_of
from optitip.search.records import RunIdentity, Stage, Stint
from optitip.search.run_folder import RunFolder, input_names, run_folder
from optitip.search.space import Space
from optitip.search.sweep import Aim, Swept, sweep
from optitip.search.sweep import Progress as Progressed
from optitip.units import System

AT_ONCE = "stopped at once; what was evaluated is kept. Give the same command again to go on."


def command(
    study: Annotated[Path, typer.Argument(help="A study file with a sweep table, or the folder it is in.")],
    out: Annotated[Path | None, typer.Option(help="The run's folder; runs/NAME beside the study.")] = None,
    evaluations: Annotated[
        int | None, typer.Option(min=1, help="How many designs; the study's number unless given.")
    ] = None,
    workers: Annotated[
        int | None, typer.Option(min=1, help="Worker processes; as many as there are cores unless given.")
    ] = None,
    cluster: Annotated[
        str | None,
        typer.Option(metavar="ADDRESS", help="Evaluate on the workers of a dask scheduler, tcp://host:8786."),
    ] = None,
    until: Annotated[
        str | None, typer.Option(metavar="HH:MM", help="Search no longer than to this hour, like 07:00.")
    ] = None,
    units: Annotated[System, typer.Option(help="Units of the answer.")] = System.METRIC,
) -> None:
    """Search the free numbers and choices for the best trades; the same command again goes on."""
    read = read_study(study)
    table = _sweep_of(read)
    with placed_in(read.path.name):
        space, goals = Space(table.free, table.options), goals_of(read, table)
        check_sources(read)
    folder = _default_folder(read) if out is None else out
    names = input_names(list(read.all_files().values()))
    names |= {f"{OWN_MATERIALS}/{path.name}": path for path in read.own_materials()}
    identity = RunIdentity(study_hash=read.fingerprint(), seed=table.seed)
    with run_folder(folder, study_text=_study_text(read, names), inputs=names, identity=identity) as run:
        end = None if until is None else next_hour(until, now=datetime.now())
        aim = Aim(
            evaluations=evaluations or table.evaluations,
            seed=table.seed,
            lead=table.lead,
            until=None if end is None else end.timestamp(),
            stalled=table.stalled,
        )
        executor = _executor(read.path, workers=workers, cluster=cluster, time_limit=table.time_limit or None)
        page = KeptPage(folder, units=units)
        for line in (*_ahead(folder, aim), *_other_versions(run.store.stints())):
            complaints().print(line, markup=False)
        try:
            found = _run(space, goals, run, aim, executor, page)
        except Stopped as stopped:
            run.log(str(stopped))
            write_page(folder, units=units)
            raise
        except KeyboardInterrupt:
            raise Stopped(AT_ONCE) from None
        run.write_front(found.front, space, verified=found.verified)
        evaluated = run.store.evaluated(Components(goals).metrics)
        picture_front(
            evaluated,
            front=found.front,
            goals=goals,
            folder=folder,
            title=read.title,
            system=units,
        )
        write_page(folder, units=units)
        run.log(f"{found.end.value}: {found.searched} designs, {len(found.front)} on the front")
    _show(found, space, goals, units)
    if not found.front:
        for line in kept_lines(evaluated, goals, units):
            console().print(line, markup=False)
        console().print("Loosen a limit, widen a range, or ask for more designs.")
        return
    figures = [record.evaluation.metrics or {} for record in found.front]
    for line in verified_lines(found.verified, goals=goals, units=units):
        console().print(line, markup=False)
    for line in target_lines(found.front, targets_of(read), run=folder, units=units):
        console().print(line, markup=False)
    for line in front_lines(figures, free=outside_is_free(read), units=units):
        console().print(line, markup=False)
    console().print(
        f"The whole front is in {folder / 'front.csv'}, drawn in front.png. "
        f"Choose by a rule: optitip front {folder}. "
        f"Take one: optitip export {folder} DESIGN --out DIR",
        markup=False,
    )


def _ahead(folder: Path, aim: Aim) -> Iterator[str]:
    """Yield what somebody who leaves it alone wants to know."""
    yield f"Watch it from beside: optitip watch {folder}, or open {folder / PAGE}."
    if aim.until is not None:
        hour = f"{datetime.fromtimestamp(aim.until):%Y-%m-%d at %H:%M}"
        yield f"The search ends on {hour} at the latest; its front is run after that."


def _sweep_of(study: Study) -> Sweep:
    table = study.tables.sweep
    if table is None or not table.keys:
        raise UserMistakes.one(
            f"{study.path.name}, sweep",
            "nothing is free in this study",
            'Add [sweep.free] with ranges like "tip.band.thickness" = ["0.8 mm", "2 mm"]',
        )
    return table


def _default_folder(study: Study) -> Path:
    return study.folder / "runs" / study.path.resolve().parent.name


def _study_text(study: Study, names: Mapping[str, Path]) -> str:
    """Return the study as it stands in the run's folder, its file names those of the copies there."""
    beside = {path: name for name, path in names.items()}
    return tomli_w.dumps(study.with_files_named(beside))


def _executor(study: Path, *, workers: int | None, cluster: str | None, time_limit: float | None) -> Executor:
    """Return what evaluates the designs: a cluster, worker processes, or this process alone."""
    factory = partial(study_evaluators, study.resolve())
    if cluster is not None:
        return make_executor(ExecutorKind.CLUSTER, factory=factory, address=cluster, time_limit=time_limit)
    count = workers or os.cpu_count() or 1
    kind = ExecutorKind.SERIAL if count == 1 else ExecutorKind.PROCESSES
    return make_executor(kind, factory=factory, workers=count, time_limit=time_limit)


def _run(space: Space, goals: Goals, run: RunFolder, aim: Aim, executor: Executor, page: KeptPage) -> Swept:
    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TextColumn("{task.fields[left]}  {task.fields[said]}"),
    )
    run.log(f"started: {aim.evaluations} designs, seed {aim.seed}")
    with Progress(*columns, console=complaints(), transient=True) as bar:
        task = bar.add_task("starting", total=aim.evaluations, left="", said="")
        return sweep(
            space=space,
            goals=goals,
            store=run.store,
            executor=executor,
            aim=aim,
            report=partial(_shown, bar, task, page),
            say=partial(_said, run),
            heard=partial(bar.console.print, "Stopping after what runs; Ctrl-C again stops now."),
        )


def _other_versions(stints: Sequence[Stint]) -> Iterator[str]:
    """Yield a line if a run goes on with other versions than it was begun with."""
    first, now = stints[0].versions, stints[-1].versions
    changed = {name: (was, now.get(name, "none")) for name, was in first.items() if now.get(name) != was}
    if changed:
        said = "; ".join(f"{name} {was}, now {here}" for name, (was, here) in changed.items())
        yield f"This run was begun with {said}: its figures may not all be of one kind."


def _said(run: RunFolder, line: str) -> None:
    """Print and log what was decided."""
    complaints().print(line, markup=False)
    run.log(line)


def _shown(bar: Progress, task: TaskID, page: KeptPage, progress: Progressed) -> None:
    """Show progress in the terminal, and from time to time on the run's page."""
    page.keep_up()
    left = "" if progress.seconds_left is None else f"{_clock(progress.seconds_left)} left"
    failed = sum(progress.failures.values())
    said = f"{progress.front_size} on the front, {failed} without an answer"
    if progress.stage is Stage.CONFIRM:
        said = "all flow states"
    bar.update(
        task,
        description=progress.stage.value,
        completed=progress.done,
        total=progress.total,
        left=left,
        said=said,
    )


def _clock(seconds: float) -> str:
    minutes, rest = divmod(round(seconds), 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours}:{minutes:02d}:{rest:02d}" if hours else f"{minutes}:{rest:02d}"


def _show(found: Swept, space: Space, goals: Goals, units: System) -> None:
    out = console()
    failed = sum(found.failures.values())
    ended = f"{found.searched} designs evaluated, {failed} of them have no answer: {found.end.value}."
    if found.front:
        ended += (
            f" No other beats {found.unbeaten}; "
            f"the {len(found.front)} that stand for them were run in every flow state."
        )
    out.print(ended, markup=False)
    for outcome, count in sorted(found.failures.items(), key=lambda pair: -pair[1]):
        out.print(f"  {count} because {outcome.problem}", markup=False)
    if not found.front:
        return
    show_table(out, front_table(evenly(found.front, goals), space, goals, units))
    if len(found.front) > ROWS_SHOWN:
        out.print(f"{len(found.front) - ROWS_SHOWN} more, evenly spread between these, stand in front.csv.")
