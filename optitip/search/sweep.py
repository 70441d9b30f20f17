"""A sweep: designs are proposed, evaluated and stored batch by batch; the front is confirmed at the end."""

import time
from collections import Counter
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import NoReturn

import numpy as np

from optitip.arrays import IntArray
from optitip.errors import Mistake, Outcome, Stopped, UserMistakes
from optitip.inputs.study_tables import LedBy
from optitip.metrics.goals import Goals
from optitip.metrics.values import Design
from optitip.search.components import Components
from optitip.search.evaluated import Evaluated, joined
from optitip.search.executors.face import Executor, States, Task
from optitip.search.front import archive_of, covered, front_rows, judged, spread
from optitip.search.lead import Lead, as_begun, chosen_lead
from optitip.search.proposals import first_count, next_count, propose
from optitip.search.quasi_random import drawn
from optitip.search.records import Asked, Record, Stage
from optitip.search.space import Space
from optitip.search.stopping import End, interruption, stalled
from optitip.search.store import Store
from optitip.search.verified import Verified, members_to_verify, verify

now = time.time
PROBES = 12
"""Members of the front run over all flow states after each quarter of a search, ahead of its end."""
ENDS = 8
"""Members at an end of the front that are run over all flow states together."""


_STAGES = {States.SEARCH: Stage.SEARCH, States.ALL: Stage.CONFIRM, States.FINER: Stage.VERIFY}


@dataclass(frozen=True, slots=True, kw_only=True)
class Aim:
    """How far a search goes: so many designs, or until an hour [s since 1970], or until it has stalled.

    ``stalled``: how many designs may come without the front growing, 0 for as many as there are.
    """

    evaluations: int
    seed: int
    lead: LedBy = LedBy.BY_COST
    until: float | None = None
    stalled: int = 0

    def __post_init__(self) -> None:
        """Refuse a budget of nothing."""
        if self.evaluations < 1:
            raise UserMistakes.one("sweep.evaluations", f"{self.evaluations} is too few", "Ask for 1 or more")


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
    ``verified`` is what a finer grid says of its members, by design; ``end`` is why the search ended.
    """

    front: tuple[Record, ...]
    verified: Mapping[str, Verified]
    unbeaten: int
    searched: int
    confirmed: int
    failures: Mapping[Outcome, int]
    end: End


def sweep(
    *,
    space: Space,
    goals: Goals,
    store: Store,
    executor: Executor,
    aim: Aim,
    report: Callable[[Progress], None] = lambda _: None,
    say: Callable[[str], None] = lambda _: None,
    heard: Callable[[], None] = lambda: None,
) -> Swept:
    """Return the front after as many different designs as ``aim`` tells, those in the store included.

    The same space, goals and seed give the same front however many workers there are and however often the
    sweep was stopped and taken up again before its end. One that ended at its hour, or is given more designs,
    goes on from what it has, which isn't what it would have had. ``say`` is told in words what was decided.
    ``heard`` is called as a Ctrl-C comes; ``Stopped`` is raised once what runs is done.
    """
    with interruption(heard) as interrupted, executor:
        work = _Sweep(space, goals, store, executor, aim, report, say, interrupted)
        try:
            found = work.confirm(work.search())
        except KeyboardInterrupt:
            store.note(ended="stopped at once by hand")
            raise
        store.note(stage=Stage.FINISHED, ended=found.end.value)
        return found


class _Sweep:
    """The evaluations so far, and the two stages that add to them."""

    def __init__(
        self,
        space: Space,
        goals: Goals,
        store: Store,
        executor: Executor,
        aim: Aim,
        report: Callable[[Progress], None],
        say: Callable[[str], None],
        interrupted: Callable[[], bool],
    ) -> None:
        self._space, self._goals, self._store, self._executor = space, goals, store, executor
        self._aim, self._report, self._say, self._interrupted = aim, report, say, interrupted
        self._components = Components(goals)
        self._lead: Lead | None = None
        self._due = store.unanswered()
        self._evaluated = self._stored({one.number for one in self._due})
        self._counts = Counter({states: int(self._evaluated.of_states(states).sum()) for states in States})
        self._failures = self._stored_failures()
        self._started, self._here = time.monotonic(), 0
        self._covered, self._front_size = 0.0, 0
        self._warned = False

    def search(self) -> End:
        """Evaluate new designs until there are as many as asked for, or another reason to end; return it."""
        self._enter(Stage.SEARCH)
        if not self._run(self._due, until=self._aim.until):
            return End.UNTIL
        self._measure()
        while (searched := self._counts[States.SEARCH]) < self._aim.evaluations:
            if stalled(self._store.milestones(), searched=searched, patience=self._aim.stalled):
                return End.STALLED
            # until none is due: a sweep that was cut off between them and what follows asks once more
            while probes := self._probes():
                if not self._run(self._store.ask(probes, States.ALL), until=self._aim.until):
                    return End.UNTIL
            designs = self._next_designs()
            if not designs:
                return End.NO_MORE
            if not self._run(self._store.ask(designs, States.SEARCH), until=self._aim.until):
                return End.UNTIL
            self._check_metrics()
            self._measure()
        return End.BUDGET

    def confirm(self, end: End) -> Swept:
        """Run the members of the front over all flow states until every one that stays on it was."""
        self._enter(Stage.CONFIRM)
        while True:
            unbeaten = front_rows(self._evaluated, self._components)
            members = self._spread(unbeaten)
            due = self._to_confirm(members, unbeaten=unbeaten)
            if len(due) == 0:
                break
            numbers = self._evaluated.numbers[due].tolist()
            designs = [record.design for record in self._store.records(numbers)]
            self._run(self._store.ask(designs, States.ALL))
        records = self._store.records(self._evaluated.numbers[members].tolist())
        return Swept(
            front=tuple(records),
            verified=self._verified(records),
            unbeaten=len(unbeaten),
            searched=self._counts[States.SEARCH],
            confirmed=self._counts[States.ALL],
            failures=dict(self._failures),
            end=end,
        )

    def _spread(self, unbeaten: IntArray) -> IntArray:
        columns = self._components.rows(self._evaluated.figures[unbeaten], metrics=self._evaluated.metrics)
        first = self._evaluated.of_states(States.ALL)[unbeaten]
        return unbeaten[spread(self._components.cost(columns), first=first)]

    def _to_confirm(self, members: IntArray, *, unbeaten: IntArray) -> IntArray:
        """Return the members that ran in a search's few states only; with an end those next to it as well.

        An end that falls makes room for its neighbour: run together they take one turn, not one each.
        """
        unconfirmed = ~self._evaluated.of_states(States.ALL)
        due = set(members[unconfirmed[members]].tolist())
        cost = self._components.cost(
            self._components.rows(self._evaluated.figures[unbeaten], metrics=self._evaluated.metrics)
        )
        for column in cost.T:
            nearest = unbeaten[np.argsort(column, kind="stable")]
            if len(nearest) and nearest[0] in due:
                due |= set(nearest[unconfirmed[nearest]][:ENDS].tolist())
        return np.array(sorted(due), dtype=np.int64)

    def _verified(self, members: Sequence[Record]) -> dict[str, Verified]:
        """Run members of the front on the finer grid, those done already left out, and compare."""
        self._enter(Stage.VERIFY)
        due = members_to_verify(members, self._goals, confirmed=self._counts[States.ALL])
        done = set(self._names(States.FINER))
        self._run(self._store.ask([one.design for one in due if one.design_id not in done], States.FINER))
        finer = self._evaluated.of_states(States.FINER)
        records = self._store.records(self._evaluated.numbers[finer].tolist())
        return verify(due, finer={record.design_id: record for record in records}, goals=self._goals)

    def _stored(self, due: Collection[int]) -> Evaluated:
        """Return the evaluations in the store that stay, with their points."""
        evaluated = self._store.evaluated(self._components.metrics)
        points = self._space.points_of([design for _, design in self._store.designs()])
        stays = ~np.isin(evaluated.numbers, list(due))
        return evaluated.at(points).rows(stays)

    def _stored_failures(self) -> Counter[Outcome]:
        outcomes = tuple(Outcome)
        codes = self._evaluated.outcomes[self._evaluated.of_states(States.SEARCH)].tolist()
        return Counter(outcomes[code] for code in codes if outcomes[code] is not Outcome.ANSWERED)

    def _names(self, states: States) -> list[str]:
        names: list[str] = self._evaluated.design_ids[self._evaluated.of_states(states)].tolist()
        return names

    def _enter(self, stage: Stage) -> None:
        self._started, self._here = time.monotonic(), 0
        self._store.note(evaluations=self._aim.evaluations, stage=stage)

    def _next_designs(self) -> Sequence[Design]:
        searched = self._counts[States.SEARCH]
        if searched == 0:
            designs = drawn(self._space, first_count(self._aim.evaluations), seed=self._aim.seed)
            unique = {tuple(design.items()): design for design in designs}
            return list(unique.values())
        lead = self._led_by()
        archive = archive_of(self._evaluated, components=self._components, space=self._space)
        count = min(next_count(searched, lead=lead), self._aim.evaluations - searched)
        known = set(self._names(States.SEARCH))
        return propose(
            archive,
            space=self._space,
            components=self._components,
            known=known,
            count=count,
            seed=self._aim.seed,
            lead=lead,
        )

    def _led_by(self) -> Lead:
        """Return what leads this run's search: decided once, by what the designs of its opening cost."""
        if self._lead is None:
            searched = self._evaluated.of_states(States.SEARCH)
            chosen = chosen_lead(self._aim.lead, seconds=float(np.median(self._evaluated.seconds[searched])))
            self._lead = Lead[self._store.decide("lead", chosen.lead.name)]
            self._say(chosen.said if self._lead is chosen.lead else as_begun(self._lead))
        return self._lead

    def _probes(self) -> list[Design]:
        """Return members of the front to run over all flow states now, to learn what these take away.

        It depends on the evaluations alone, so that a sweep taken up again asks for the same ones.
        """
        quarters = 4 * self._counts[States.SEARCH] // self._aim.evaluations
        due = PROBES * quarters - self._counts[States.ALL]
        if due <= 0 or not self._goals.limits:
            return []
        rows = front_rows(self._evaluated, self._components)
        members = rows[self._evaluated.of_states(States.SEARCH)[rows]]
        step = max(len(members) // due, 1)
        numbers = self._evaluated.numbers[members[::step][:due]].tolist()
        return [record.design for record in self._store.records(numbers)]

    def _run(self, asked: Sequence[Asked], *, until: float | None = None) -> bool:
        """Evaluate and store what was asked for; return whether all of it was done before ``until``.

        Leaves with ``Stopped`` when somebody wants to.
        """
        tasks = [Task(design=one.design, states=one.states) for one in asked]
        fresh: list[Evaluated] = []

        def stopping() -> bool:
            return self._interrupted() or (until is not None and now() >= until)

        try:
            for index, evaluation in self._executor.evaluate(tasks, stopping=stopping):
                record = self._store.add(asked[index], evaluation)
                fresh.append(self._row(record))
                self._counts[record.states] += 1
                self._tell(record, left=len(tasks) - len(fresh))
        finally:
            self._evaluated = joined([self._evaluated, *fresh])
        if self._interrupted():
            self._stop()
        return len(fresh) == len(tasks)

    def _row(self, record: Record) -> Evaluated:
        return Evaluated.of_one(
            record.evaluation,
            number=record.number,
            design_id=record.design_id,
            states=record.states,
            metrics=self._components.metrics,
            point=self._space.point_of(record.design),
        )

    def _stop(self) -> NoReturn:
        done = min(self._counts[States.SEARCH], self._aim.evaluations)
        self._store.note(ended="stopped by hand")
        raise Stopped(
            f"stopped after {done} of {self._aim.evaluations} evaluations; all of them are kept in "
            f"{self._store.path}. Give the same command again to go on."
        )

    def _tell(self, record: Record, *, left: int) -> None:
        outcome = record.evaluation.outcome
        if record.states is States.SEARCH and outcome is not Outcome.ANSWERED:
            self._failures[outcome] += 1
        self._here += 1
        done = self._counts[record.states]
        total = self._aim.evaluations if record.states is States.SEARCH else done + left
        pace = (time.monotonic() - self._started) / self._here
        self._report(
            Progress(
                stage=_STAGES[record.states],
                done=done,
                total=total,
                seconds_left=pace * (total - done),
                failures=dict(self._failures),
                covered=self._covered,
                front_size=self._front_size,
            )
        )

    def _measure(self) -> None:
        """Write down how much the front covers; by the figures of the search, so that it never shrinks."""
        searched = self._evaluated.rows(self._evaluated.of_states(States.SEARCH))
        if len(searched) == 0:
            return
        archive = archive_of(searched, components=self._components, space=self._space)
        self._covered = covered(archive, opening=first_count(self._aim.evaluations))
        self._front_size = len(archive.front())
        self._warn_of_limits(searched)
        self._store.reach(searched=len(searched), covered=self._covered, front_size=self._front_size)

    def _warn_of_limits(self, searched: Evaluated) -> None:
        """Say early that no design keeps every limit yet: a night's search may have none to show."""
        found = judged(searched, self._components)
        if self._warned or self._front_size or not found.answered.any():
            return
        self._warned = True
        kept = (found.excess[found.answered] <= 0.0).sum(axis=0).tolist()
        fewest = min(range(len(kept)), key=kept.__getitem__)
        self._say(
            f"None of the first {len(searched):,} designs keeps every limit; "
            f"{self._goals.limits[fewest].metric} is kept by {kept[fewest]:,}. A limit that no design can "
            "keep leaves no front: loosen it, or free what moves it."
        )

    def _check_metrics(self) -> None:
        """Complain of a metric that no answered design has."""
        rows = self._evaluated.rows(self._evaluated.with_outcome(Outcome.ANSWERED))
        given = np.isfinite([rows.values(name) for name in self._goals.metrics])
        if len(rows) == 0 or given.all(axis=0).any():
            return
        remedy = "Leave it out, or give the study what it needs"
        lacking = [name for name, has in zip(self._goals.metrics, given, strict=True) if not has.any()]
        if lacking:
            raise UserMistakes(
                Mistake(f"sweep, '{name}'", "no design of this study has this metric", remedy)
                for name in lacking
            )
