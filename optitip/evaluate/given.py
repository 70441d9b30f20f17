"""The given outline, which the vehicle flew with: where a study has it, and what is wrong with it."""

from pathlib import Path

from optitip.errors import Mistake, UserMistakes
from optitip.evaluate.sources import outline_of, outline_size
from optitip.geometry.outline import Outline
from optitip.inputs.defaults import TIP_RADIUS_SHARE
from optitip.inputs.study import SHAPE_KEYS, Study
from optitip.inputs.study_tables import OutlineShape, StudyTables, Vehicle
from optitip.metrics.outside import BALLAST, MARGIN
from optitip.units import text

SAME = 1e-9  # of a length: the same text in another unit


def given_outline(tables: StudyTables) -> OutlineShape:
    """Return the outline the vehicle flew with: the study's own unless it gives one."""
    return tables.outline if tables.outline.given is None else tables.outline.given


def untouched(tables: StudyTables, *, folder: Path) -> bool:
    """Return whether the outline is the given one, however its lengths are written."""
    given = tables.outline.given
    return given is None or _sizes(given, folder) == _sizes(tables.outline, folder)


def outside_is_free(study: Study) -> bool:
    """Return whether some design of the study's sweep may differ from the given outline."""
    sweep = study.tables.sweep
    free = set() if sweep is None else SHAPE_KEYS & sweep.keys
    return bool(free) or not untouched(study.tables, folder=study.folder)


def outside_mistakes(study: Study) -> list[Mistake]:
    """Return what is wrong with the given outline and the vehicle, and the metrics sought without one."""
    mistakes = []
    vehicle = study.tables.vehicle
    if vehicle is None or vehicle.mass is None:
        mistakes += [
            Mistake(
                "vehicle",
                f"'{name}' is sought, and the vehicle's masses aren't given",
                "Add [vehicle] with mass, centre_of_mass, replaced_mass and replaced_centre_of_mass",
            )
            for name in sorted(_sought(study.tables) & {MARGIN, BALLAST})
        ]
    try:
        if vehicle is not None or outside_is_free(study):
            mistakes += _stations_mistakes(
                vehicle, whole_nose(given_outline(study.tables), folder=study.folder)
            )
    except UserMistakes as error:
        mistakes += [_placed(one, study.tables) for one in error.mistakes]
    return mistakes


def _stations_mistakes(vehicle: Vehicle | None, nose: Outline) -> list[Mistake]:
    part = None if vehicle is None else vehicle.replaced_centre_of_mass
    if part is None or part <= nose.turned_length:
        return []
    ends = text(nose.turned_length, "m")
    problem = f"{text(part, 'm')} lies aft of the given nose, which ends {ends} from its nose point"
    return [Mistake("vehicle.replaced_centre_of_mass", problem, "Measure from the nose point")]


def _placed(mistake: Mistake, tables: StudyTables) -> Mistake:
    """Return a mistake of the given outline where the study has it."""
    if tables.outline.given is None or not mistake.place.startswith("outline."):
        return mistake
    place = mistake.place.replace("outline.", "outline.given.", 1)
    return Mistake(place, mistake.problem, mistake.remedy)


def whole_nose(table: OutlineShape, *, folder: Path) -> Outline:
    """Return the outline of the whole nose, not just of what is turned of it."""
    diameter, _ = outline_size(table, folder=folder)
    radius = TIP_RADIUS_SHARE * diameter if table.tip_radius is None else table.tip_radius
    return outline_of(table, folder=folder, turned_length=None, tip_radius=radius)


def _sizes(table: OutlineShape, folder: Path) -> tuple[object, ...]:
    """Return what makes two outlines the same, to a nanometre."""
    diameter, length = outline_size(table, folder=folder)
    radius = table.tip_radius
    if radius is None and table.profile is None:
        radius = TIP_RADIUS_SHARE * diameter
    lengths = (None if one is None else round(one / SAME) for one in (diameter, length, radius))
    profile = None if table.profile is None else folder / table.profile
    return (table.family, table.exponent, profile, *lengths)


def _sought(tables: StudyTables) -> set[str]:
    """Return the metrics that limits, targets and a sweep's objectives name."""
    sweep = tables.sweep
    objectives = () if sweep is None else (*sweep.maximise, *sweep.minimise)
    return {*tables.limits, *tables.target, *objectives}
