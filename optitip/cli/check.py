"""``optitip check STUDY``: the answer in one sentence with its bracket, and what limits it."""

from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Any

import typer

from optitip.cli.answer_page import show_assessment
from optitip.cli.answers import NO_TRANSITION, complaints, console
from optitip.cli.as_made_lines import show_as_made
from optitip.cli.places import placed_in
from optitip.cli.refined_lines import show_errors
from optitip.cli.tolerance_lines import show_tolerances
from optitip.evaluate.as_made import AsMade, as_made, as_made_mapping
from optitip.evaluate.assess import check
from optitip.evaluate.assessment import Assessment
from optitip.evaluate.levers import base_swing, joint_swing
from optitip.evaluate.record import as_json
from optitip.evaluate.refined import refined
from optitip.evaluate.tolerances import Tolerances, as_mapping, tolerances
from optitip.evaluate.ways import Ways, ways
from optitip.evaluate.ways import as_mapping as ways_mapping
from optitip.inputs.as_made import Measured, read_as_made
from optitip.inputs.study import Study, read_study
from optitip.units import System

AS_MADE = "as-made"


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
    measured: Annotated[
        Path | None,
        typer.Option("--as-made", help="A TOML file of what was measured: predict with the part as it is."),
    ] = None,
    seek: Annotated[
        bool,
        typer.Option(
            "--ways/--no-ways",
            help="For a target that is missed, say what would reach it: some seconds more.",
        ),
    ] = True,
    units: Annotated[System, typer.Option(help="Units of the answer.")] = System.METRIC,
) -> None:
    """Say how much heat the study's own design brings into its sample, and how sure that is."""
    read = read_study(study)
    readings = None if measured is None else read_as_made(measured)
    with placed_in(read.path.name):
        answer = _answered(read, refine=refine, within=within, readings=readings, seek=seek)
    written = None if out is None else _written(answer, study=read, folder=out, units=units)
    if json:
        typer.echo(as_json(answer.assessment, beside=answer.beside))
        return
    show_assessment(
        console(),
        answer.assessment,
        tables=read.tables,
        swing=joint_swing(read),
        base=base_swing(read),
        ways=answer.ways,
        units=units,
    )
    show_errors(console(), answer.assessment, units=units)
    if answer.tolerances is not None:
        show_tolerances(console(), answer.tolerances, units=units)
    if answer.made is not None:
        show_as_made(console(), answer.made, drawn=answer.assessment, units=units)
    if written is not None:
        if "transition.png" not in written:
            console().print(NO_TRANSITION)
        console().print(f"Wrote {', '.join(written)} in {out}", markup=False)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Answer:
    """The design as drawn, and what was asked for beside it."""

    assessment: Assessment
    tolerances: Tolerances | None
    made: AsMade | None
    ways: tuple[Ways, ...]

    @property
    def beside(self) -> dict[str, Any]:
        """Return what was asked for as JSON has it."""
        told: dict[str, Any] = {} if self.tolerances is None else {"tolerances": as_mapping(self.tolerances)}
        told |= {"ways": {"targets": ways_mapping(self.ways)}} if self.ways else {}
        return told if self.made is None else {**told, "as_made": as_made_mapping(self.made)}


def _answered(study: Study, *, refine: bool, within: bool, readings: Measured | None, seek: bool) -> _Answer:
    """Return the answer and what was asked for beside it; errors and tolerances are those of the drawing."""
    assessment = check(study)
    with complaints().status("") as status:

        def report(said: str) -> None:
            status.update(f"{said} ...")

        if refine:
            assessment = refined(study, base=assessment, report=report)
        told = made = None
        found: tuple[Ways, ...] = ()
        if seek and any(one.value is not None and not one.expected_held for one in assessment.targets):
            report("what would reach the target")
            found = ways(study, base=assessment)
        if within:
            report("each lever of the tolerances")
            told = tolerances(study)
        if readings is not None:
            report("the part as made")
            made = as_made(study, measured=readings)
    return _Answer(assessment=assessment, tolerances=told, made=made, ways=found)


def _written(answer: _Answer, *, study: Study, folder: Path, units: System) -> list[str]:
    """Write the answer, and that of the part as made into a folder inside; return the files' names."""
    from optitip.export.assessed import write_assessment  # noqa: PLC0415 (plots import slowly)

    written = write_assessment(
        answer.assessment, study=study, folder=folder, system=units, beside=answer.beside
    )
    if answer.made is None:
        return written
    made = answer.made
    inside = write_assessment(made.assessment, study=made.study, folder=folder / AS_MADE, system=units)
    return [*written, *(f"{AS_MADE}/{name}" for name in inside)]
