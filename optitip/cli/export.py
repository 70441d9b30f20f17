"""``optitip export STUDY`` or ``export RUN DESIGN``: a design as a package for the shop."""

from collections.abc import Iterator
from pathlib import Path
from typing import Annotated

import typer

from optitip.cli.answers import complaints, console
from optitip.cli.outside_lines import outside_lines
from optitip.cli.places import placed_in
from optitip.errors import UserMistakes
from optitip.evaluate.outside import outside_of_study
from optitip.evaluate.sought import check_sources
from optitip.export.package import ANSWER, Package, export_design
from optitip.export.sheets.sheet import Paper
from optitip.inputs.study import Study, read_study
from optitip.metrics.registry import LABELS
from optitip.metrics.values import sides_text
from optitip.report.figures import bracket_text
from optitip.search.records import Record
from optitip.search.run_folder import STORE, read_run
from optitip.units import System, text

OWN_DESIGN = "as-written"
_SHOWN = (".pdf", ".dxf", ".csv", ".step", ".toml")


def command(
    source: Annotated[Path, typer.Argument(help="A study, or the folder of a sweep's run.")],
    design: Annotated[
        str | None, typer.Argument(help="Of a run: the design's name, or its beginning.")
    ] = None,
    out: Annotated[Path | None, typer.Option(help="The folder to write into.")] = None,
    sheet: Annotated[Paper, typer.Option(help="The paper that drawings are made for.")] = Paper.A4,
    units: Annotated[System, typer.Option(help="Units of drawings and figures.")] = System.METRIC,
    even_so: Annotated[
        bool, typer.Option("--even-so", help="Draw it though a rule of the lathe is broken, and say so.")
    ] = False,
) -> None:
    """Write what a shop needs of a design: drawings, lathe card, DXF, STEP, coordinates, and its answer."""
    study = read_study(source)
    with placed_in(study.path.name):
        check_sources(study)
    if (source / STORE).is_file():
        chosen = _chosen(source, design)
        name, values = chosen.design_id, study.expanded(chosen.design)
        figures = list(_figures(chosen, study, units))
        folder = source / "designs" / name if out is None else out
    else:
        if design is not None:
            raise UserMistakes.one(
                str(source), "this is no run of a sweep", "Name a run's folder, or no design"
            )
        name, values, figures = OWN_DESIGN, {}, []
        folder = study.folder / "export" if out is None else out
    own = study.with_design(values)
    with placed_in(study.path.name), complaints().status("") as status:
        package = export_design(
            own,
            design=values,
            design_id=name,
            fingerprint=study.fingerprint(),
            folder=folder,
            paper=sheet,
            system=units,
            even_so=even_so,
            report=lambda said: status.update(f"{said} ..."),
        )
    _show([*figures, *_told(package, folder, own, units)])


def _figures(record: Record, study: Study, units: System) -> Iterator[str]:
    """Yield what a design of a run reached in what its sweep sought, and the flow states it is from."""
    sought = study.tables.sweep
    for name in () if sought is None else (*sought.maximise, *sought.minimise):
        value = (record.evaluation.metrics or {}).get(name)
        if value is not None:
            sides = sides_text([value])
            yield f"{LABELS[name].strip()}: {bracket_text(value, units)}{sides and '; ' + sides}"


def _told(package: Package, folder: Path, study: Study, units: System) -> Iterator[str]:
    """Yield what was written, what it says, and what to beware of."""
    shown = [path.name for path in package.files if path.suffix in _SHOWN]
    yield f"Wrote {', '.join(shown)} in {folder}"
    yield f"and the answer it was drawn by in {folder / ANSWER}: {', '.join(package.answer)}"
    within = text(package.section.error, "m", units, digits=2)
    yield f"Lines and tangent arcs only, within {within} of the design's curves."
    yield from (f"{one}." for one in package.notes)
    with placed_in(study.path.name):
        outside = outside_of_study(study)
    yield from outside_lines(outside, units)
    yield from (f"Note: {one}." for one in outside.warnings)
    yield from package.against
    yield from (f"CAN'T BE TURNED AS DRAWN: {one}" for one in package.broken)
    yield "Caution: check the drawing against the part in hand before metal is cut."
    yield "Caution: a thin wall can fail in the chuck; guard the lathe and follow the shop's rules."


def _show(lines: list[str]) -> None:
    out = console()
    for line in lines:
        out.print(line, markup=False)


def _chosen(run: Path, name: str | None) -> Record:
    """Return the last record of the design whose name begins as given."""
    if name is None:
        raise UserMistakes.one(str(run), "no design is named", "Take one from front.csv, by its name")
    with read_run(run) as store:
        found = store.numbers_of(name)
        names = {one for _, one in found}
        if len(names) == 1:
            return store.records([found[-1][0]])[0]
    if not names:
        raise UserMistakes.one(
            str(run), f"there is no design '{name}' in this run", "Take one from front.csv"
        )
    raise UserMistakes.one(str(run), f"'{name}' begins {len(names)} designs", "Give more of its name")
