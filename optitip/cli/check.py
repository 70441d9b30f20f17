"""``optitip check STUDY``: the answer in one sentence with its bracket, and what limits it."""

from pathlib import Path
from typing import Annotated

import typer

from optitip.cli.answer_page import show_assessment
from optitip.cli.answers import NO_TRANSITION, complaints, console
from optitip.cli.places import placed_in
from optitip.cli.refined_lines import show_errors
from optitip.cli.tolerance_lines import show_tolerances
from optitip.evaluate.assess import check
from optitip.evaluate.levers import base_swing, joint_swing
from optitip.evaluate.record import as_json
from optitip.evaluate.refined import refined
from optitip.evaluate.tolerances import Tolerances, as_mapping, tolerances
from optitip.inputs.study import Study, read_study
from optitip.units import System


def command(
    study: Annotated[Path, typer.Argument(help="A study file, or the folder it is in.")],
    json: Annotated[bool, typer.Option("--json", help="Print everything as JSON (SI) instead.")] = False,
    out: Annotated[Path | None, typer.Option(help="A folder for fields (VTU + PVD), plots and JSON.")] = None,
    refine: Annotated[
        bool, typer.Option("--refine", help="Measure the numerical error of each figure: half a minute more.")
    ] = False,
    within: Annotated[
        bool,
        typer.Option(
            "--tolerances", help="Say how far a part within its tolerances may be off: some seconds more."
        ),
    ] = False,
    units: Annotated[System, typer.Option(help="Units of the answer.")] = System.METRIC,
) -> None:
    """Say how much heat the study's own design brings into its sample, and how sure that is."""
    read = read_study(study)
    with placed_in(read.path.name):
        assessment = check(read)
        if refine:
            with complaints().status("") as status:
                assessment = refined(read, base=assessment, report=lambda said: status.update(f"{said} ..."))
        told = _tolerances(read) if within else None
    beside = {} if told is None else {"tolerances": as_mapping(told)}
    if out is not None:
        from optitip.export.assessed import write_assessment  # noqa: PLC0415 (plots import slowly)

        written = write_assessment(assessment, study=read, folder=out, system=units, beside=beside)
    if json:
        typer.echo(as_json(assessment, beside=beside))
        return
    show_assessment(
        console(),
        assessment,
        tables=read.tables,
        swing=joint_swing(read),
        base=base_swing(read),
        units=units,
    )
    show_errors(console(), assessment, units=units)
    if told is not None:
        show_tolerances(console(), told, units=units)
    if out is not None:
        if "transition.png" not in written:
            console().print(NO_TRANSITION)
        console().print(f"Wrote {', '.join(written)} in {out}", markup=False)


def _tolerances(study: Study) -> Tolerances:
    with complaints().status("within the tolerances ..."):
        return tolerances(study)
