"""A run's folder opened to be read: its store, its study, what that seeks and what it sets free."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from optitip.errors import UserMistakes
from optitip.inputs.study import Study, read_study
from optitip.inputs.study_tables import Sweep
from optitip.metrics.goals import Goals, Limit, parse_goals, parse_limit
from optitip.metrics.registry import UNITS
from optitip.search.run_folder import STUDY, read_run
from optitip.search.space import Space
from optitip.search.store import Store


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OpenRun:
    """A run that is read and never written, whether a sweep is writing it or not."""

    path: Path
    store: Store
    study: Study
    goals: Goals
    space: Space


@contextmanager
def run_to_read(path: Path) -> Iterator[OpenRun]:
    """Open the run in the folder ``path``; what is no run, or has lost its study, is a mistake."""
    with read_run(path) as store:
        study = read_study(path / STUDY)
        table = study.tables.sweep
        if table is None:
            raise UserMistakes.one(str(study.path), "it has no sweep", "Name the folder of a sweep")
        space = Space(table.free, table.options)
        yield OpenRun(path=path, store=store, study=study, goals=goals_of(study, table), space=space)


def goals_of(study: Study, table: Sweep) -> Goals:
    """Return what the study seeks and the limits it keeps."""
    return parse_goals(
        maximise=table.maximise, minimise=table.minimise, limits=study.tables.limits, units=UNITS
    )


def targets_of(study: Study) -> tuple[Limit, ...]:
    """Return what the study wants to reach, written like limits."""
    return tuple(parse_limit(name, text, units=UNITS) for name, text in study.tables.target.items())
