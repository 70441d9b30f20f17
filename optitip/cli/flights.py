"""``optitip flights STUDY``: which flights reach the target, over Mach or motor, burn, slab and joint."""

import os
from collections.abc import Callable, Sequence
from functools import partial
from pathlib import Path
from typing import Annotated, TypeVar

import typer
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn

from optitip.cli.answers import complaints, console
from optitip.cli.flight_map_lines import LEGEND, assumption, map_lines, map_tables
from optitip.cli.places import placed_in
from optitip.cli.tables import show_table
from optitip.errors import UserMistakes
from optitip.evaluate.flight_map import Cell, Plan, cell_of, planned
from optitip.evaluate.sought import check_sources
from optitip.inputs.study import Study, read_study
from optitip.inputs.tip_tables import JointBuild
from optitip.metrics.values import Evaluation
from optitip.search.evaluators import study_evaluators
from optitip.search.executors.face import States, Task
from optitip.search.executors.make import ExecutorKind, make_executor
from optitip.units import System, UnitError, quantity

_T = TypeVar("_T")


def command(
    study: Annotated[Path, typer.Argument(help="A study file with a target, or the folder it is in.")],
    out: Annotated[
        Path | None, typer.Option(help="A folder for flights.png and flights.csv; none unless given.")
    ] = None,
    mach: Annotated[str, typer.Option(help="Peak Mach numbers, like '2, 2.5, 3'.")] = "",
    burn: Annotated[str, typer.Option(help="Lengths of burn, like '2 s, 3.5 s'.")] = "",
    slab: Annotated[str, typer.Option(help="Thicknesses of the slab, like '2 mm, 3 mm'.")] = "",
    joint: Annotated[str, typer.Option(help="Builds of the joint, like 'wetted, sprung'.")] = "",
    workers: Annotated[
        int | None, typer.Option(min=1, help="Worker processes; as many as there are cores unless given.")
    ] = None,
    units: Annotated[System, typer.Option(help="Units of the answer.")] = System.METRIC,
) -> None:
    """Say which flights reach the target: a map over Mach number or motor, burn, slab and joint."""
    read = read_study(study)
    asked = {
        "machs": _listed(mach, "--mach", partial(quantity, si="1")),
        "burns": _listed(burn, "--burn", partial(quantity, si="s")),
        "slabs": _listed(slab, "--slab", partial(quantity, si="m")),
    }
    with placed_in(read.path.name):
        check_sources(read)
        plan = planned(read, joints=_listed(joint, "--joint", _build), **asked)
    cells = _flown(read, plan, workers or os.cpu_count() or 1)
    written = [] if out is None else _written(cells, plan, study=read, folder=out, units=units)
    _show(cells, plan, study=read, units=units)
    if written:
        console().print(f"Wrote {', '.join(written)} in {out}", markup=False)


def _listed(words: str, option: str, read: Callable[[str], _T]) -> tuple[_T, ...]:
    """Return what an option lists between commas."""
    try:
        return tuple(read(word.strip()) for word in words.split(",") if word.strip())
    except UnitError as error:
        raise UserMistakes.one(f"optitip flights {option}", error.problem, error.remedy) from None


def _build(word: str) -> JointBuild:
    if word not in {one.value for one in JointBuild}:
        known = ", ".join(one.value for one in JointBuild)
        raise UnitError(f"'{word}' is no build of a joint", f"Name some of {known}")
    return JointBuild(word)


def _flown(study: Study, plan: Plan, workers: int) -> list[Cell]:
    """Return every flight with every build, run in all flow states."""
    factory = partial(study_evaluators, study.path.resolve())
    kind = ExecutorKind.SERIAL if workers == 1 else ExecutorKind.PROCESSES
    tasks = [Task(design=design, states=States.ALL) for design in plan.designs]
    made: dict[int, Evaluation] = {}
    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn())
    with (
        make_executor(kind, factory=factory, workers=workers) as executor,
        Progress(*columns, console=complaints(), transient=True) as bar,
    ):
        task = bar.add_task("flights", total=len(tasks))
        for index, evaluation in executor.evaluate(tasks, stopping=lambda: False):
            made[index] = evaluation
            bar.advance(task)
    return [cell_of(*pair, made[index], plan=plan) for index, pair in enumerate(plan.pairs)]


def _show(cells: Sequence[Cell], plan: Plan, *, study: Study, units: System) -> None:
    page = console()
    page.print(study.title, style="bold", markup=False)
    page.print()
    for line in map_lines(cells, plan, units):
        page.print(line, markup=False)
    page.print()
    for made in map_tables(cells, plan, units):
        show_table(page, made)
    page.print(LEGEND, markup=False)
    recorded = study.tables.flight is not None and study.tables.flight.ascent is None
    page.print(f"Note: {assumption(recorded=recorded)}", markup=False)


def _written(cells: Sequence[Cell], plan: Plan, *, study: Study, folder: Path, units: System) -> list[str]:
    from optitip.export.flight_maps import write_flight_map  # noqa: PLC0415 (plots import slowly)

    return write_flight_map(cells, plan, folder=folder, title=study.title, system=units)
