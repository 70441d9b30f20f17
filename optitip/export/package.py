"""A design as a package for the shop: drawings, card, DXF, STEP, tables, and the answer they show."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from optitip import __version__
from optitip.errors import Mistake, UserMistakes
from optitip.evaluate.as_made_sheet import blank_as_made
from optitip.evaluate.assess import check
from optitip.evaluate.building import Tip, build_tip
from optitip.evaluate.tolerances import spread_line, tolerances
from optitip.evaluate.turnable import Turnable, turnable
from optitip.evaluate.verdicts import against_making
from optitip.export.assessed import write_assessment
from optitip.export.coordinates import write_coordinates, write_part_coordinates
from optitip.export.dxf import Title, write_dxf
from optitip.export.files import write_bytes, write_text
from optitip.export.landing import check_landing, landing
from optitip.export.part_dxf import write_part_dxf
from optitip.export.parts.dimensions import DimensionUnits
from optitip.export.parts.part import TurnedPart
from optitip.export.parts.section import TipSection, section_of
from optitip.export.parts.turned import mass_note, turned_parts
from optitip.export.sheets.assembly_sheet import assembly_sheets
from optitip.export.sheets.lathe_card import lathe_card
from optitip.export.sheets.part_sheet import part_sheets
from optitip.export.sheets.sheet import Paper
from optitip.export.sheets.sheet_facts import SheetFacts, facts_of
from optitip.export.sheets.sheet_files import boxes_note, write_sheets
from optitip.export.sheets.template_sheet import template_sheets
from optitip.export.step import write_step
from optitip.export.study_file import write_design_study
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.inputs.study import OWN_MATERIALS, Study
from optitip.units import System

ANSWER = "answer"
SURE = ("study.toml", "as-made.toml", "drawing.pdf", "lathe-card.pdf", "template.pdf", "section.dxf")
_UNITS = {System.METRIC: DimensionUnits.MILLIMETRES, System.US: DimensionUnits.DUAL}


@dataclass(frozen=True, slots=True, kw_only=True)
class Package:
    """What was written: the ``files`` people open, those of the answer apart; what to know about them.

    ``section`` is the model's. ``broken`` are the rules of the lathe that the parts don't keep, ``against``
    the limits and margins.
    """

    files: tuple[Path, ...]
    answer: tuple[str, ...]
    section: TipSection
    broken: tuple[str, ...]
    against: tuple[str, ...]
    notes: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Job:
    """What all files of a package are made of."""

    study: Study
    tip: Tip
    section: TipSection
    parts: tuple[TurnedPart, ...]
    facts: Mapping[str, SheetFacts]
    title: Title
    paper: Paper
    system: System


def export_design(
    study: Study,
    *,
    design: Mapping[str, object],
    design_id: str,
    fingerprint: str,
    folder: Path,
    paper: Paper = Paper.A4,
    system: System = System.METRIC,
    even_so: bool = False,
    report: Callable[[str], None] = lambda _: None,
) -> Package:
    """Write a design's package into ``folder``.

    ``study`` has the design's values set already; ``design`` names the keys that were free, ``fingerprint``
    is that of the study they were free in: with ``design_id`` it is the drawing's revision. Raises
    UserMistakes for parts that can't be turned, unless ``even_so``: then their sheets say so; and for a file
    of the user's own in the way. All files land together at the end, or none does. ``report`` is told each
    piece of work as it begins.
    """
    check_landing(folder, sure=SURE)
    report("can it be turned")
    tip = build_tip(study.tables, folder=study.folder, resolution=DEFAULT_RESOLUTION)
    found = turnable(tip)
    _check_turnable(found, even_so=even_so, system=system)
    parts = turned_parts(tip)
    report("the answer it is drawn by")
    assessment = check(study)
    report("what its tolerances do")
    spread = spread_line(tolerances(study), units=system)
    report("drawings and files")
    against = tuple(against_making(assessment, system))
    facts = {
        part.name: facts_of(
            part, tip=tip, turned=found, study=study.title, design=design_id, fingerprint=fingerprint,
            notes=(spread,), against=against, system=system,
        )
        for part in parts
    }  # fmt: skip
    revision = f"Revision {fingerprint} / {design_id}"
    title = Title(design=design_id, study=study.title, version=__version__, notes=(revision, spread))
    job = _Job(
        study=study, tip=tip, section=section_of(tip), parts=parts, facts=facts, title=title, paper=paper,
        system=system,
    )  # fmt: skip
    with landing(folder) as waiting:
        files, left_out = _written(job, design=design, folder=waiting)
        answer = write_assessment(assessment, study=study, folder=waiting / ANSWER, system=system)
    return Package(
        files=tuple(folder / path.relative_to(waiting) for path in files),
        answer=tuple(answer),
        section=job.section,
        broken=tuple(one.said(system) for one in found.findings if not one.kept),
        against=against,
        notes=(
            spread,
            f"The parts are {mass_note(parts, tip=tip, system=system)}",
            *boxes_note(study.title),
            *left_out,
            *(f"Not judged: {found.missing[name]}" for name in found.unknown),
        ),
    )


def _written(job: _Job, *, design: Mapping[str, object], folder: Path) -> tuple[list[Path], list[str]]:
    """Write all but the answer; return the files, and what is left out of them."""
    solids, left_out = _solids(job, folder)
    made = write_text(folder, "as-made.toml", _as_made(job))
    drawn = [*_drawings(job, folder), *_shapes(job, folder)]
    # the last: its input files take no other file's name
    return [_design_study(job, design, folder), *drawn, *solids, made], left_out


def _as_made(job: _Job) -> str:
    finished = sum(part.mass for part in job.parts)
    return blank_as_made(job.study, units=job.system, finished=finished)


def _check_turnable(found: Turnable, *, even_so: bool, system: System) -> None:
    broken = [
        Mistake(one.place, one.problem.said(system), one.remedy) for one in found.findings if not one.kept
    ]
    if broken and not even_so:
        remedy = "Mend the design; --even-so draws it all the same and says so on every sheet"
        raise UserMistakes([*broken, Mistake("export", "it can't be turned, nothing was written", remedy)])


def _design_study(job: _Job, design: Mapping[str, object], folder: Path) -> Path:
    study = job.study
    path = write_design_study(
        study.raw,
        design=design,
        inputs=study.files(),
        study_title=study.title,
        design_id=job.title.design,
        version=__version__,
        folder=folder,
    )
    for own in study.own_materials():
        write_bytes(folder / OWN_MATERIALS, own.name, own.read_bytes())
    return path


def _drawings(job: _Job, folder: Path) -> list[Path]:
    """Write the drawing (parts, then assembly), the template at full size and the cards, as PDF and SVG."""
    whole = job.facts["shell"]
    drawn = [
        sheet
        for part in job.parts
        for sheet in part_sheets(part, facts=job.facts[part.name], paper=job.paper, system=job.system)
    ]
    drawn += assembly_sheets(job.tip, parts=job.parts, facts=whole, paper=job.paper, system=job.system)
    cards = [
        lathe_card(part, tip=job.tip, facts=job.facts[part.name], paper=job.paper, system=job.system)
        for part in job.parts
    ]
    template = template_sheets(job.section.outer, facts=whole, paper=job.paper, system=job.system)
    return [
        path
        for name, sheets in (("drawing", drawn), ("template", template), ("lathe-card", cards))
        for path in write_sheets(sheets, folder=folder, name=name, title=job.study.title)
    ]


def _shapes(job: _Job, folder: Path) -> list[Path]:
    """Write the model's section, and each part as it is turned: DXF and coordinates."""
    files = [
        write_dxf(job.section.profiles, title=_of_the_model(job.title), folder=folder),
        write_coordinates(job.section.outer, job.section.inner, folder=folder),
    ]
    for part in job.parts:
        files += write_part_dxf(part, title=job.title, folder=folder, units=_UNITS[job.system])
        files.append(write_part_coordinates(part, folder=folder))
    return files


def _of_the_model(title: Title) -> Title:
    note = "The model's section: no spigots, recesses, threads nor holes. Turn parts from their own files."
    return replace(title, notes=(note, *title.notes))


def _solids(job: _Job, folder: Path) -> tuple[list[Path], list[str]]:
    """Write the solids if there is what writes them; return what is left out too."""
    try:
        written = write_step(job.parts, sample=job.section.profiles, title=job.title, folder=folder)
    except UserMistakes as error:
        if any(one.place != "step" for one in error.mistakes):
            raise
        return [], [f"No STEP file: {one.problem}. {one.remedy}" for one in error.mistakes]
    return [written.path], [f"Not in the STEP file: {one}" for one in written.left_out]
