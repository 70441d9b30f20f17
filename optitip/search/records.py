"""What a run's store holds, a row each: what was asked for, what became of it, and the goes at it."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum

from optitip.metrics.values import Design, Evaluation
from optitip.search.executors.face import States


class Stage(Enum):
    """What a sweep is doing."""

    STARTING = "starting"
    SEARCH = "search"
    CONFIRM = "confirm the front"
    VERIFY = "run the front on a finer grid"
    FINISHED = "finished"


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """A design that was asked for, by the number of its turn."""

    number: int
    design_id: str
    design: Design
    states: States


@dataclass(frozen=True, slots=True, kw_only=True)
class Record:
    """A design and what became of it."""

    number: int
    design_id: str
    design: Design
    states: States
    evaluation: Evaluation


@dataclass(frozen=True, slots=True, kw_only=True)
class RunIdentity:
    """What a store belongs to; a sweep goes on only in the store of its own study and seed."""

    study_hash: str
    seed: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Stint:
    """One go at a sweep: when it began [s since 1970], with which versions, how far it got and how it ended.

    ``evaluations`` are those it aims at in all, None before it says so; ``stage`` is what it does, and
    ``ended`` why it does no more: empty while it runs, and of one that was killed.
    """

    number: int
    started: float
    versions: Mapping[str, str]
    evaluations: int | None
    stage: Stage
    ended: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Milestone:
    """How much of the box of objectives the front covered after so many designs, when [s since 1970]."""

    searched: int
    covered: float
    front_size: int
    reached: float
