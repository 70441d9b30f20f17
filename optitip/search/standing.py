"""Where a sweep stands, told from its folder alone: how far it is, how fast, and whether anybody is at it."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from itertools import pairwise
from pathlib import Path

import numpy as np

from optitip.errors import Outcome
from optitip.search.evaluated import Evaluated
from optitip.search.executors.face import States
from optitip.search.lock import Holder, holder_of
from optitip.search.records import Milestone, Stage, Stint
from optitip.search.run_folder import LOCK
from optitip.search.store import Store

_RECENT = 8  # milestones: a few generations, so that the pace is today's and no chance
_ROWS = 256
_PAUSE, _TIMES, _PAUSES = 60.0, 10.0, 3
"""A wait of more than a minute and ten times the usual is no work: the machine slept, or nobody swept.

The usual one is the longest but so many, which may be pauses themselves.
"""


class Writing(Enum):
    """Whether anybody is writing a run now; the value is what a person reads."""

    HERE = "a sweep is at work here"
    ELSEWHERE = "a sweep on another machine holds this run"
    NOBODY = "nobody is sweeping here now"
    FINISHED = "the sweep has finished"


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """Where a sweep stands.

    ``done`` of ``aimed`` evaluations of what the ``stage`` does, None where the aim isn't known yet; ``pace``
    in evaluations a second of work, None before it can be told; ``seconds_left`` of this stage.
    """

    stage: Stage
    writing: Writing
    holder: Holder | None
    stints: tuple[Stint, ...]
    tally: Mapping[tuple[States, Outcome], int]
    milestones: tuple[Milestone, ...]
    done: int
    aimed: int | None
    pace: float | None
    seconds_left: float | None
    last_written: float | None

    @property
    def searched(self) -> int:
        """Return how many designs the search has evaluated."""
        return self.count(States.SEARCH)

    def count(self, states: States) -> int:
        """Return how many evaluations there are over a choice of flow states."""
        return sum(count for (one, _), count in self.tally.items() if one is states)

    def failures(self) -> dict[Outcome, int]:
        """Return how many designs of the search have no answer, by outcome, the most frequent first."""
        found = {
            outcome: count
            for (states, outcome), count in self.tally.items()
            if states is States.SEARCH and outcome is not Outcome.ANSWERED
        }
        return dict(sorted(found.items(), key=lambda pair: -pair[1]))

    @property
    def ended(self) -> str:
        """Return how the last stint ended; empty while it runs."""
        last = self.stints[-1] if self.stints else None
        if last is None or self.writing in {Writing.HERE, Writing.ELSEWHERE}:
            return ""
        return last.ended or "cut off: its process was killed or met a mistake, or the power failed"


def standing_of(store: Store, folder: Path, *, evaluated: Evaluated | None = None) -> Standing:
    """Return where the sweep in ``folder`` stands, whose store is open.

    Whoever has read its evaluations already hands them on, which saves counting them again.
    """
    stints, milestones = tuple(store.stints()), tuple(store.milestones())
    tally = store.tally() if evaluated is None else _tally(evaluated)
    stint = stints[-1] if stints else None
    stage = stint.stage if stint else Stage.STARTING
    states = _STATES_OF.get(stage, States.SEARCH)
    done = sum(count for (one, _), count in tally.items() if one is states)
    aimed = stint.evaluations if stint else None
    if states is not States.SEARCH:
        aimed = store.asked_for().get(states, 0)
    times = store.times(last=_ROWS)
    pace = _pace(milestones, stints=stints, times=times, searching=states is States.SEARCH)
    holder = holder_of(folder / LOCK)
    return Standing(
        stage=stage,
        writing=_writing(holder, stint),
        holder=holder,
        stints=stints,
        tally=tally,
        milestones=milestones,
        done=done,
        aimed=aimed,
        pace=pace,
        seconds_left=_left(done, aimed, pace) if stage is not Stage.FINISHED else None,
        last_written=times[-1] if times else None,
    )


def _tally(evaluated: Evaluated) -> dict[tuple[States, Outcome], int]:
    states, outcomes = tuple(States), tuple(Outcome)
    codes = evaluated.states.astype(np.int64) * len(outcomes) + evaluated.outcomes
    found = zip(*np.unique(codes, return_counts=True), strict=True)
    return {
        (states[code // len(outcomes)], outcomes[code % len(outcomes)]): int(count) for code, count in found
    }


_STATES_OF = {Stage.CONFIRM: States.ALL, Stage.VERIFY: States.FINER}


def _writing(holder: Holder | None, stint: Stint | None) -> Writing:
    if stint is not None and stint.ended:  # its process may hold the lock a moment longer
        return Writing.FINISHED if stint.stage is Stage.FINISHED else Writing.NOBODY
    if holder is not None and holder.alive is None:
        return Writing.ELSEWHERE
    return Writing.HERE if holder is not None and holder.alive else Writing.NOBODY


def _left(done: int, aimed: int | None, pace: float | None) -> float | None:
    return None if aimed is None or not pace else max(aimed - done, 0) / pace


def _pace(
    milestones: Sequence[Milestone], *, stints: Sequence[Stint], times: Sequence[float], searching: bool
) -> float | None:
    """Return evaluations a second of work: of the last generations, or of the last rows without any.

    A generation counts whole, so that the time in which the next designs are thought of is in it.
    """
    starts = [stint.started for stint in stints]
    spans = [
        (after.reached - before.reached, after.searched - before.searched)
        for before, after in pairwise(milestones)
        if not any(before.reached < start <= after.reached for start in starts)
    ][-_RECENT:]
    if not spans or not searching:
        begun = starts[-1] if starts else -math.inf
        spans = [(after - before, 1) for before, after in pairwise(t for t in times if t >= begun)]
    return _at_work(spans)


def _at_work(spans: Sequence[tuple[float, int]]) -> float | None:
    """Return evaluations a second over spans of (seconds, evaluations), pauses left out."""
    known = [(seconds, count) for seconds, count in spans if count > 0 and seconds >= 0.0]
    if not known:
        return None
    # rows come batch by batch, most of them at once: the usual wait is a long one, past a few pauses
    waits = sorted((seconds / count for seconds, count in known), reverse=True)
    usual = waits[min(max(_PAUSES, len(waits) // 32), len(waits) - 1)]
    worked = [(s, n) for s, n in known if s <= _PAUSE or s / n <= _TIMES * usual]
    seconds, count = sum(s for s, _ in worked), sum(n for _, n in worked)
    return count / seconds if seconds > 0.0 else None
