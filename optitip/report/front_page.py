"""``front.html`` in a run's folder: one file that shows a sweep, no server and no network behind it."""

import math
import os
import time
import traceback
from contextlib import suppress
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from optitip.errors import UserMistakes
from optitip.report import chart, words
from optitip.report.front_view import front_cells, front_chart, growth_chart
from optitip.search.choice import stored_front
from optitip.search.components import Components
from optitip.search.executors.face import States
from optitip.search.plainly import said_plainly
from optitip.search.reading import OpenRun, run_to_read, targets_of
from optitip.search.standing import Writing, standing_of
from optitip.search.verified import Rank, verify
from optitip.units import System

PAGE, TEMPLATE = "front.html", "front_page.html"
SECONDS = 15
"""From one page to the next while a sweep is at work: how often it is written, and a browser looks."""
SHARE = 0.01
"""Of the sweeping process' time that its page takes at most."""
_TEMPLATES = Environment(
    loader=FileSystemLoader(Path(__file__).parent),
    autoescape=True,
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
)


class KeptPage:
    """The page of a sweep at work, written again from time to time, the seldomer the longer it takes."""

    def __init__(self, folder: Path, *, units: System = System.METRIC) -> None:
        """Keep the folder; nothing is written yet."""
        self._folder, self._units = folder, units
        self._due = 0.0

    def keep_up(self) -> None:
        """Write the page if it is due.

        One that can't be written now stops no sweep: the next one may. Nor does a bug, which is told at once:
        the page isn't tried again, and the sweep's last one ends it loudly.
        """
        if time.monotonic() < self._due:
            return
        begun = time.process_time()
        try:
            with suppress(UserMistakes):
                write_page(self._folder, units=self._units)
        except Exception:  # noqa: BLE001 (a night's search is worth more than its picture)
            traceback.print_exc()
            self._due = math.inf
            return
        took = time.process_time() - begun
        self._due = time.monotonic() + max(float(SECONDS), took / SHARE)


def write_page(folder: Path, *, units: System = System.METRIC, now: float | None = None) -> Path:
    """Write the page of the run in ``folder`` as its store has it now, and return its path.

    Whoever reads the file meanwhile has the old one or the new one whole.
    """
    path = folder / PAGE
    with run_to_read(folder) as run:
        page = page_text(run, units=units, now=time.time() if now is None else now)
    beside = path.with_name(f"{PAGE}.{os.getpid()}")
    with said_plainly(folder):
        try:
            beside.write_text(page, encoding="utf-8")
            beside.replace(path)
        finally:
            beside.unlink(missing_ok=True)
    return path


def page_text(run: OpenRun, *, units: System, now: float) -> str:
    """Return the page of an open run as HTML; whatever a study names is text on it and nothing else."""
    goals, store = run.goals, run.store
    evaluated = store.evaluated(goals.metrics)
    standing = standing_of(store, run.path, evaluated=evaluated)
    found = stored_front(evaluated, Components(goals))
    front = store.records(evaluated.numbers[found.members].tolist())
    finer = store.records(evaluated.numbers[evaluated.of_states(States.FINER)].tolist())
    verified = verify(front, finer={record.design_id: record for record in finer}, goals=goals)
    at_work = standing.writing in {Writing.HERE, Writing.ELSEWHERE}
    return _TEMPLATES.get_template(TEMPLATE).render(
        title=run.study.title,
        refresh=SECONDS if at_work else None,
        at_work=at_work,
        finished=standing.writing is Writing.FINISHED,
        written=time.strftime("%Y-%m-%d %H:%M:%S", time.localtime(now)),
        state=words.state_line(standing, now=now),
        progress=words.progress_line(standing, now=now),
        share=_share(standing.done, standing.aimed),
        counts=words.counts_line(standing),
        growth=words.growth_line(standing),
        stint=words.stints_line(standing),
        failures=_failures(words.failures_by_problem(standing), standing.searched),
        unbeaten=len(found.unbeaten),
        chart=front_chart(evaluated, found, front=front, goals=goals, system=units),
        grown=growth_chart(standing.milestones),
        table=front_cells(front, space=run.space, goals=goals, finer=verified, system=units),
        unconfirmed=sum(record.states is States.SEARCH for record in front),
        members=len(front),
        verified=len(verified),
        changed=sum(one.rank is not Rank.KEPT for one in verified.values()),
        limits=words.limit_lines(goals, units),
        targets=list(words.target_lines(front, targets_of(run.study), run=run.path, units=units)),
        run=str(run.path),
        cautions=(*words.CAUTIONS, words.INDICATIVE),
        paper=chart,
    )


def _share(done: int, aimed: int | None) -> float | None:
    """Return how much of the stage is done in per cent, None while its aim isn't known."""
    return None if not aimed else round(min(100.0 * done / aimed, 100.0), 1)


def _failures(found: dict[str, int], searched: int) -> list[tuple[str, int, float]]:
    """Return problems with their counts and these in per cent of all designs."""
    return [(problem, count, round(100.0 * count / searched, 1)) for problem, count in found.items()]
