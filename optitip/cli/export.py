"""``optitip export STUDY`` or ``export RUN DESIGN``: a design as files for the lathe."""

from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Annotated

import typer

from optitip.cli.answers import console
from optitip.cli.figures import bracket_text
from optitip.cli.outside_lines import outside_lines
from optitip.cli.places import placed_in
from optitip.errors import UserMistakes
from optitip.evaluate.outside import outside_of_study
from optitip.evaluate.sought import check_sources
from optitip.export.machining import export_design
from optitip.inputs.study import Study, read_study
from optitip.metrics.registry import LABELS
from optitip.metrics.values import Design, sides_text
from optitip.search.run_folder import STORE, read_run
from optitip.search.store import Record
from optitip.units import System, text

OWN_DESIGN = "as-written"


def command(
    source: Annotated[Path, typer.Argument(help="A study, or the folder of a sweep's run.")],
    design: Annotated[
        str | None, typer.Argument(help="Of a run: the design's name, or its beginning.")
    ] = None,
    out: Annotated[Path | None, typer.Option(help="The folder to write into.")] = None,
) -> None:
    """Write a design's profile (DXF), its coordinates (CSV) and the design as a study of its own."""
    study = read_study(source)
    with placed_in(study.path.name):
        check_sources(study)
    if (source / STORE).is_file():
        chosen = _chosen(source, design)
        name, values = chosen.design_id, dict(chosen.design)
        figures = list(_figures(chosen, study))
        folder = source / "designs" / name if out is None else out
    else:
        if design is not None:
            raise UserMistakes.one(
                str(source), "this is no run of a sweep", "Name a run's folder, or no design"
            )
        name, values, figures = OWN_DESIGN, {}, []
        folder = study.folder / "export" if out is None else out
    _export(study.with_design(values), values, name, folder, figures=figures)


def _figures(record: Record, study: Study) -> Iterator[str]:
    """Yield what a design of a run reached in what its sweep sought, and the flow states it is from."""
    sought = study.tables.sweep
    for name in () if sought is None else (*sought.maximise, *sought.minimise):
        value = (record.evaluation.metrics or {}).get(name)
        if value is not None:
            sides = sides_text([value])
            yield f"{LABELS[name].strip()}: {bracket_text(value, System.METRIC)}{sides and '; ' + sides}"


def _export(study: Study, values: Design, name: str, folder: Path, *, figures: Iterable[str]) -> None:
    with placed_in(study.path.name):
        files, section = export_design(study, design=values, design_id=name, folder=folder)
        outside = outside_of_study(study)
    out = console()
    for line in figures:
        out.print(line, markup=False)
    out.print(f"Wrote {', '.join(path.name for path in files)} in {folder}", markup=False)
    out.print(
        f"Lines and tangent arcs only, within {text(section.error, 'm', digits=2)} of the design's curves.",
        markup=False,
    )
    for line in (*outside_lines(outside, System.METRIC), *(f"Note: {one}." for one in outside.warnings)):
        out.print(line, markup=False)
    out.print("Caution: check the drawing against the part in hand before metal is cut.")


def _chosen(run: Path, name: str | None) -> Record:
    """Return the last record of the design whose name begins as given."""
    if name is None:
        raise UserMistakes.one(str(run), "no design is named", "Take one from front.csv, by its name")
    with read_run(run) as store:
        records = [record for record in store.records() if record.design_id.startswith(name)]
    names = sorted({record.design_id for record in records})
    if not names:
        raise UserMistakes.one(
            str(run), f"there is no design '{name}' in this run", "Take one from front.csv"
        )
    if len(names) > 1:
        raise UserMistakes.one(str(run), f"'{name}' begins {len(names)} designs", "Give more of its name")
    return records[-1]
