"""A sweep: designs are proposed, evaluated and stored batch by batch; the front is confirmed at the end."""

import signal
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from enum import Enum
from types import FrameType

from optitip.errors import Mistake, Outcome, Stopped, UserMistakes
from optitip.metrics.goals import Goals
from optitip.metrics.values import Design
from optitip.search.executors.face import Executor, States, Task
from optitip.search.front import archive_of, covered, front, has_figures, spread
from optitip.search.proposals import first_count, next_count, propose
from optitip.search.space import Space
from optitip.search.store import Asked, Record, Store
from optitip.search.verified import Verified, members_to_verify, verify

PROBES = 12
"""Members of the front run over all flow states after each quarter of a search, ahead of its end."""


class Stage(Enum):
    """What a sweep is doing."""

    SEARCH = "search"
    CONFIRM = "confirm the front"
    VERIFY = "run the front on a finer grid"


_STAGES = {States.SEARCH: Stage.SEARCH, States.ALL: Stage.CONFIRM, States.FINER: Stage.VERIFY}


@dataclass(frozen=True, slots=True, kw_only=True)
class Progress:
    """How far a stage is; ``seconds_left`` is None until something was evaluated since the start.

    ``covered`` is the share of the box of objectives that the front dominates, see ``front.covered``.
    """

    stage: Stage
    done: int
    total: int
    seconds_left: float | None
    failures: Mapping[Outcome, int]
    covered: float
    front_size: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Swept:
    """What a finished sweep found; every member of the front was run over all flow states.

    ``front`` stands for all ``unbeaten`` designs: each of them is close to a member, see ``front.spread``.
    ``verified`` is what a finer grid says of its members, by design.
    """

    front: tuple[Record, ...]
    verified: Mapping[str, Verified]
    unbeaten: int
    searched: int
    confirmed: int
    failures: Mapping[Outcome, int]


def sweep(
    *,
    space: Space,
    goals: Goals,
    store: Store,
    executor: Executor,
    evaluations: int,
    seed: int,
    report: Callable[[Progress], None] = lambda _: None,
) -> Swept:
    """Return the front after ``evaluations`` different designs, those already in the store included.

    The same space, goals and seed give the same front however many workers there are and however often the
    sweep was stopped and taken up again. Raises ``Stopped`` after Ctrl-C, once what runs is done.
    """
    if evaluations < 1:
        raise UserMistakes.one("sweep.evaluations", f"{evaluations} is too few", "Ask for 1 or more")
    with _interruption() as stopping, executor:
        work = _Sweep(space, goals, store, executor, evaluations, seed, report, stopping)
        work.search()
        return work.confirm()


class _Sweep:
    """The records so far, and the two stages that add to them."""

    def __init__(
        self,
        space: Space,
        goals: Goals,
        store: Store,
        executor: Executor,
        evaluations: int,
        seed: int,
        report: Callable[[Progress], None],
        stopping: Callable[[], bool],
    ) -> None:
        self._space, self._goals, self._store, self._executor = space, goals, store, executor
        self._evaluations, self._seed = evaluations, seed
        self._report, self._stopping = report, stopping
        self._records: dict[States, dict[int, Record]] = {states: {} for states in States}
        self._failures: Counter[Outcome] = Counter()
        for record in store.records():
            self._keep(record)
        self._started, self._here = time.monotonic(), 0
        self._covered, self._front_size = 0.0, 0

    def search(self) -> None:
        """Evaluate new designs until there are as many as asked for, or no new one is left."""
        self._run(self._store.unanswered())
        self._measure()
        while len(self._records[States.SEARCH]) < self._evaluations:
            self._run(self._store.ask(self._probes(), States.ALL))
            designs = self._next_designs()
            if not designs:
                return
            self._run(self._store.ask(designs, States.SEARCH))
            self._check_metrics()
            self._measure()

    def confirm(self) -> Swept:
        """Run the members of the front over all flow states until every one that stays on it was."""
        self._started, self._here = time.monotonic(), 0
        while True:
            unbeaten = front(self._ordered(), self._goals)
            members = spread(unbeaten, self._goals)
            designs = [member.design for member in members if member.states is not States.ALL]
            if not designs:
                break
            self._run(self._store.ask(designs, States.ALL))
        return Swept(
            front=tuple(members),
            verified=self._verified(members),
            unbeaten=len(unbeaten),
            searched=len(self._searched()),
            confirmed=len(self._records[States.ALL]),
            failures=dict(self._failures),
        )

    def _verified(self, members: Sequence[Record]) -> dict[str, Verified]:
        """Run members of the front on the finer grid, those done already left out, and compare."""
        self._started, self._here = time.monotonic(), 0
        done = {record.design_id for record in self._records[States.FINER].values()}
        due = members_to_verify(members, self._goals, confirmed=len(self._records[States.ALL]))
        self._run(self._store.ask([one.design for one in due if one.design_id not in done], States.FINER))
        finer = {record.design_id: record for record in self._records[States.FINER].values()}
        return verify(due, finer=finer, goals=self._goals)

    def _keep(self, record: Record) -> None:
        self._records[record.states][record.number] = record
        if record.states is States.SEARCH and record.evaluation.outcome is not Outcome.ANSWERED:
            self._failures[record.evaluation.outcome] += 1

    def _searched(self) -> list[Record]:
        return [record for _, record in sorted(self._records[States.SEARCH].items())]

    def _ordered(self) -> list[Record]:
        return self._searched() + [record for _, record in sorted(self._records[States.ALL].items())]

    def _next_designs(self) -> Sequence[Design]:
        records = self._searched()
        left = self._evaluations - len(records)
        known = {record.design_id for record in records}
        if not records:
            drawn = self._space.draw(first_count(self._evaluations), seed=self._seed)
            unique = {tuple(design.items()): design for design in drawn}
            return list(unique.values())
        archive = archive_of(self._ordered(), goals=self._goals, space=self._space)
        count = min(next_count(len(records)), left)
        return propose(archive, space=self._space, known=known, count=count, seed=self._seed)

    def _probes(self) -> list[Design]:
        """Return members of the front to run over all flow states now, to learn what these take away.

        It depends on the records alone, so that a sweep taken up again asks for the same ones.
        """
        quarters = 4 * len(self._records[States.SEARCH]) // self._evaluations
        due = PROBES * quarters - len(self._records[States.ALL])
        members = [one for one in front(self._ordered(), self._goals) if one.states is States.SEARCH]
        if due <= 0 or not members or not self._goals.limits:
            return []
        step = max(len(members) // due, 1)
        return [member.design for member in members[::step][:due]]

    def _run(self, asked: Sequence[Asked]) -> None:
        """Evaluate and store what was asked for; leave with ``Stopped`` when somebody wants to."""
        tasks = [Task(design=one.design, states=one.states) for one in asked]
        missing = len(tasks)
        for index, evaluation in self._executor.evaluate(tasks, stopping=self._stopping):
            record = self._store.add(asked[index], evaluation)
            self._keep(record)
            self._here += 1
            missing -= 1
            self._tell(record.states, missing)
        if missing or self._stopping():
            done = min(len(self._records[States.SEARCH]), self._evaluations)
            raise Stopped(
                f"stopped after {done} of {self._evaluations} evaluations; all of them are kept in "
                f"{self._store.path}. Give the same command again to go on."
            )

    def _tell(self, states: States, missing: int) -> None:
        done = len(self._records[states])
        stage = _STAGES[states]
        total = self._evaluations if states is States.SEARCH else done + missing
        pace = (time.monotonic() - self._started) / self._here
        self._report(
            Progress(
                stage=stage,
                done=done,
                total=total,
                seconds_left=pace * (total - done),
                failures=dict(self._failures),
                covered=self._covered,
                front_size=self._front_size,
            )
        )

    def _measure(self) -> None:
        records = self._searched()
        if records:
            archive = archive_of(records, goals=self._goals, space=self._space)
            self._covered = covered(archive, opening=first_count(self._evaluations))
            self._front_size = len(archive.front())

    def _check_metrics(self) -> None:
        """Complain of a metric that no answered design has."""
        answered = [record for record in self._searched() if record.evaluation.metrics is not None]
        if not answered or any(has_figures(record, self._goals) for record in answered):
            return
        given = [record.evaluation.metrics or {} for record in answered]
        lacking = [name for name in self._goals.metrics if not any(name in metrics for metrics in given)]
        if lacking:
            remedy = "Leave it out, or give the study what it needs"
            raise UserMistakes(
                Mistake(f"sweep, '{name}'", "no design of this study has this metric", remedy)
                for name in lacking
            )


@contextmanager
def _interruption() -> Iterator[Callable[[], bool]]:
    """Give a question that is answered yes after the first Ctrl-C; the second one stops at once."""
    asked_to_stop = threading.Event()
    if threading.current_thread() is not threading.main_thread():
        yield asked_to_stop.is_set
        return

    def note(number: int, place: FrameType | None) -> None:  # noqa: ARG001 (the system calls it with both)
        if asked_to_stop.is_set():
            raise KeyboardInterrupt
        asked_to_stop.set()

    before = signal.signal(signal.SIGINT, note)
    try:
        yield asked_to_stop.is_set
    finally:
        signal.signal(signal.SIGINT, before)
