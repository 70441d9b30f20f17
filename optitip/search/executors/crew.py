"""The workers behind an executor: a crew takes batches and says what becomes of each."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Protocol

from optitip.metrics.values import Evaluation
from optitip.search.executors.face import Task


class Said(Enum):
    """What a crew says of a batch."""

    BEGUN = "a worker began it"
    BACK = "its worker is gone, and it waits for another"
    ANSWERED = "it is done"
    RAISED = "it met a bug"
    DIED = "its worker died"


@dataclass(frozen=True, slots=True, kw_only=True)
class Report:
    """One thing a crew says of the batch with a ticket.

    ``fresh`` says of a batch that began that its worker has answered nothing yet, so that compiling may be
    part of it; ``deaths`` counts the workers that died under it, each of which had begun it if ``at_work``.
    """

    ticket: int
    said: Said
    evaluations: Sequence[Evaluation] = ()
    error: Exception | None = None
    fresh: bool = False
    deaths: int = 1
    at_work: bool = False


class Crew(Protocol):
    """Workers, each of which has one batch at a time."""

    @property
    def size(self) -> int:
        """Return how many batches are to be out at once."""

    def open(self) -> None:
        """Get ready."""

    def close(self, *, now: bool) -> None:
        """Let go of everything; ``now`` kills what still runs."""

    def start(self, tasks: Sequence[Task]) -> int:
        """Hand out a batch and return its ticket."""

    def hear(self, seconds: float) -> list[Report]:
        """Return what is said within ``seconds``, as soon as there is anything."""

    def end(self, ticket: int, *, hung: bool) -> None:
        """Take a batch back, of which nothing more is said; a worker that is ``hung`` in it is replaced."""
