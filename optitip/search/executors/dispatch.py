"""Batches handed to a crew, whatever it is made of: deaths, hangs and stops are dealt with here."""

from collections import Counter, deque
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from types import TracebackType
from typing import Self

from optitip.errors import Outcome, UserMistakes
from optitip.metrics.values import Evaluation
from optitip.search.executors.crew import Crew, Report, Said
from optitip.search.executors.face import Task, batches
from optitip.search.executors.patience import Patience, WorkingClock

DEATHS_ALONE = 3
"""Deaths of its worker, with nothing else at work, after which a design is given up in a stint."""
DEATHS_THAT_END_IT = 24
TICK = 0.25
"""Seconds between looks at the clock and at whether to stop."""


class CrewExecutor:
    """Evaluates designs on a crew; one that kills or hangs its worker is an outcome, the others go on.

    ``time_limit`` [s] is the working time that a design has alone in its worker.
    """

    def __init__(self, crew: Crew, *, time_limit: float | None = None) -> None:
        """Keep the crew; it gets ready as the executor is entered."""
        if time_limit is not None and not time_limit > 0.0:
            raise UserMistakes.one("time limit", f"{time_limit:g} s is too short", "Give more than 0 s")
        self._crew = crew
        self._patience = Patience(time_limit)

    def __enter__(self) -> Self:
        """Get the crew ready."""
        self._crew.open()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Let the crew go; at once where something went wrong."""
        self._crew.close(now=error is not None)

    def evaluate(
        self, tasks: Sequence[Task], *, stopping: Callable[[], bool]
    ) -> Iterator[tuple[int, Evaluation]]:
        """Yield evaluations as they complete; no more batches are out than the crew asks for."""
        return _Round(tasks, self._crew, self._patience, stopping).run()


@dataclass(slots=True, kw_only=True)
class _Job:
    """A batch that is out; ``alone`` says that nothing else is, ``tried`` that some worker began it."""

    batch: list[int]
    alone: bool
    tried: bool = False
    begun: bool = False
    fresh: bool = False
    worked: float = 0.0


class _Round:
    """The tasks of one call, and where they are."""

    def __init__(
        self, tasks: Sequence[Task], crew: Crew, patience: Patience, stopping: Callable[[], bool]
    ) -> None:
        self._tasks, self._crew, self._patience, self._stopping = tasks, crew, patience, stopping
        self._waiting = deque(batches(tasks, workers=crew.size))
        self._suspects: deque[int] = deque()
        self._deaths: Counter[int] = Counter()
        self._deaths_in_a_row = 0
        self._jobs: dict[int, _Job] = {}

    def run(self) -> Iterator[tuple[int, Evaluation]]:
        """Yield what completes until all is done, or nothing runs any more."""
        clock = WorkingClock()
        try:
            while self._send():
                reports = self._crew.hear(TICK)
                worked = clock.tick()
                for job in self._jobs.values():
                    job.worked += worked if job.begun else 0.0
                results = [pair for report in reports for pair in self._take(report)]
                results += self._give_up_the_late()
                self._send()  # the workers first, whoever stores the results can wait
                yield from results
        finally:
            for ticket in list(self._jobs):
                self._crew.end(ticket, hung=False)

    def _send(self) -> bool:
        """Hand out what can be, and return whether anything is out.

        A design that may have killed its worker runs while nothing else does, so that no other is blamed, and
        no other's memory kills it.
        """
        if self._stopping():
            for ticket in [ticket for ticket, job in self._jobs.items() if not job.begun]:
                self._take_back(ticket, hung=False)
            return bool(self._jobs)
        quiet = bool(self._suspects) or any(job.alone for job in self._jobs.values())
        while self._waiting and not quiet and len(self._jobs) < self._crew.size:
            self._start(self._waiting.popleft(), alone=False)
        if self._suspects and not self._jobs:
            self._start([self._suspects.popleft()], alone=True)
        return bool(self._jobs)

    def _start(self, batch: list[int], *, alone: bool) -> None:
        ticket = self._crew.start([self._tasks[index] for index in batch])
        self._jobs[ticket] = _Job(batch=batch, alone=alone)

    def _take_back(self, ticket: int, *, hung: bool) -> None:
        self._crew.end(ticket, hung=hung)
        del self._jobs[ticket]

    def _take(self, report: Report) -> Iterator[tuple[int, Evaluation]]:
        """Yield what a report answers."""
        job = self._jobs[report.ticket]
        if report.said in {Said.BEGUN, Said.BACK}:
            job.begun, job.fresh, job.worked = report.said is Said.BEGUN, report.fresh, 0.0
            job.tried |= job.begun
            return
        del self._jobs[report.ticket]
        if report.error is not None:
            raise report.error
        if report.said is Said.DIED:
            job.tried |= report.at_work
            yield from self._bury(job, report.deaths)
            return
        self._deaths_in_a_row = 0
        self._patience.learn(worked=job.worked, designs=len(job.batch), fresh=job.fresh)
        yield from zip(job.batch, report.evaluations, strict=True)

    def _bury(self, job: _Job, deaths: int) -> Iterator[tuple[int, Evaluation]]:
        """Put the designs of a dead worker where they are tried again, or yield the one that is given up."""
        # a worker that dies before it begins says nothing against a design, and more against the machine
        self._deaths_in_a_row += deaths if job.tried else DEATHS_ALONE
        if self._deaths_in_a_row >= DEATHS_THAT_END_IT:
            problem = "worker processes die one after the other, and nothing comes back"
            raise UserMistakes.one("workers", problem, "Look at the memory, or use fewer")
        if job.alone and job.tried:
            self._deaths[job.batch[0]] += deaths
        if job.alone and self._deaths[job.batch[0]] >= DEATHS_ALONE:
            detail = f"with nothing else at work its process died {self._deaths[job.batch[0]]} times"
            yield job.batch[0], Evaluation(outcome=Outcome.WORKER_DIED, detail=detail, seconds=job.worked)
        elif job.tried or job.alone:
            self._suspects.extend(job.batch)
        else:
            self._waiting.appendleft(job.batch)

    def _give_up_the_late(self) -> Iterator[tuple[int, Evaluation]]:
        """Yield the designs that had their time alone; those of a batch that had it run alone next."""
        for ticket, job in list(self._jobs.items()):
            if not job.begun or not self._patience.is_over(
                worked=job.worked, designs=len(job.batch), fresh=job.fresh
            ):
                continue
            self._take_back(ticket, hung=True)
            if len(job.batch) > 1:
                self._waiting.extendleft([index] for index in reversed(job.batch))
                continue
            detail = f"alone in its process it was not done after {self._patience.limit:g} s"
            yield job.batch[0], Evaluation(outcome=Outcome.TIME_LIMIT, detail=detail, seconds=job.worked)
