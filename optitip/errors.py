"""Every exception the package raises, and the outcomes a design can have.

OptitipError
├── UserMistakes        a file or a command asks for something that can't be (exit code 2)
├── OutOfRange          the physics left its valid range                     (exit code 3)
├── Stopped             somebody stopped a sweep; what was done is kept      (exit code 130)
└── DesignFailure       this design can't be built or solved: an outcome, never a NaN

Anything else that is raised is a bug and stops loudly.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum


@dataclass(frozen=True, slots=True)
class Mistake:
    """One thing to put right: where it is, what is wrong, what to do.

    >>> print(Mistake("tip.band.length", "'12' has no unit", "Write it with one, like '12 mm'"))
    tip.band.length: '12' has no unit. Write it with one, like '12 mm'.
    """

    place: str
    problem: str
    remedy: str

    def __str__(self) -> str:
        """Return the one line a person reads."""
        return f"{self.place}: {self.problem.rstrip('.')}. {self.remedy.rstrip('.')}."


class Outcome(Enum):
    """What became of a design; the value is the message and the remedy."""

    ANSWERED = ("the design was built and solved", "Read its metrics")
    TIP_TOO_SHORT = (
        "the chained lengths run past the end of the tip",
        "Shorten the parts or turn a longer tip",
    )
    PLUG_TOO_LONG = ("the plug leaves no room for the cavity", "Shorten the plug or thin the wall at its end")
    WALL_TOO_THICK = ("the wall is thicker than the outline leaves room for", "Thin the wall or move it aft")
    WALL_TOO_THIN = ("the wall is thinner than anybody turns it", "Thicken it")
    INSERT_TOO_LONG = ("the insert leaves no plug aft of it", "Shorten the insert or lengthen the plug")
    BORE_TOO_WIDE = (
        "the bore is wider than the cavity it opens",
        "Narrow the bore or give the base a thickness",
    )
    FILLET_TOO_LARGE = ("the fillet does not fit in the corner of the cavity", "Make the fillet smaller")
    SLAB_OUTSIDE_BAND = ("the slab does not lie inside the band", "Shorten the slab or lengthen the band")
    SLAB_TOO_THICK = ("the slab is thicker than the cavity is wide", "Thin the slab or move the pocket aft")
    SLAB_CANNOT_GO_IN = (
        "the slab can't pass the opening",
        "Make the base a part of its own, or open it wider",
    )
    SLAB_CANNOT_COME_OUT = (
        "the slab can't pass the opening it has to come out by",
        "Let the base come off again, or open it wider",
    )
    SEAT_DOES_NOT_FIT = (
        "the flat seat leaves too little of the wall",
        "Take a narrower coupon, a thicker wall or a curved one",
    )
    CANNOT_BE_TURNED = (
        "no boring bar reaches all of the cavity",
        "Open the tip wider, shorten the cavity or make the base a part of its own",
    )
    WIRES_CANNOT_LEAVE = (
        "the wires can't leave the pocket",
        "Bore the base wider, leave a core in the lining or thin the bundle",
    )
    ROD_CANNOT_PASS = (
        "the tie rod can't pass the sample",
        "Thin what lines the wall, or take a thinner rod",
    )
    PROBE_CANNOT_REACH = (
        "no straight probe reaches the slab's back through the base",
        "Bore the base wider, or take a thinner probe",
    )
    MESH_FOLDED = ("the mesh folds over itself", "Soften the change of thickness or lengthen a taper")
    MARCH_STALLED = ("the heat march could not hold its tolerance", "Look for a jump in the heating")
    NOT_A_STUDY = ("the design is no study that can be read", "See the detail for the key")
    OUT_OF_RANGE = ("the physics left its valid range", "See the detail for the quantity and its range")
    WORKER_DIED = ("the process that evaluated the design died", "Look at the memory, or check it alone")
    TIME_LIMIT = ("the design took longer than the time limit", "Raise the limit, or check the design alone")

    @property
    def problem(self) -> str:
        """Return what is wrong."""
        return self.value[0]

    @property
    def remedy(self) -> str:
        """Return what to do about it."""
        return self.value[1]


class OptitipError(Exception):
    """The root of every exception that is not a bug."""


class UserMistakes(OptitipError):
    """One or more mistakes of the user's, reported together."""

    def __init__(self, mistakes: Iterable[Mistake]) -> None:
        """Keep the mistakes; the message is a line for each."""
        self.mistakes = tuple(mistakes)
        super().__init__("\n".join(str(mistake) for mistake in self.mistakes))

    def __reduce__(self) -> tuple[object, ...]:
        """Let the exception cross a process border with its fields."""
        return UserMistakes, (self.mistakes,)

    @classmethod
    def one(cls, place: str, problem: str, remedy: str) -> "UserMistakes":
        """Return the exception for a single mistake."""
        return cls([Mistake(place, problem, remedy)])


class OutOfRange(OptitipError):
    """The physics was asked for a value outside the range its source covers."""

    def __init__(self, place: str, problem: str, remedy: str) -> None:
        """Keep the one line a person reads."""
        self.mistake = Mistake(place, problem, remedy)
        super().__init__(str(self.mistake))

    def __reduce__(self) -> tuple[object, ...]:
        """Let the exception cross a process border with its fields."""
        return OutOfRange, (self.mistake.place, self.mistake.problem, self.mistake.remedy)


class Stopped(OptitipError):
    """Somebody stopped a sweep; the message says what is kept and how to go on."""


class DesignFailure(OptitipError):
    """One design can't be built or solved; ``place`` is the study key to change."""

    def __init__(self, outcome: Outcome, *, place: str, detail: str) -> None:
        """Keep the outcome with the key and the numbers behind it."""
        self.outcome = outcome
        self.place = place
        self.detail = detail
        super().__init__(str(self.mistake))

    @property
    def mistake(self) -> Mistake:
        """Return the failure as the line shown to somebody who asked for this one design."""
        return Mistake(self.place, f"{self.outcome.problem} ({self.detail})", self.outcome.remedy)

    def __reduce__(self) -> tuple[object, ...]:
        """Let the exception cross a process border with its fields."""
        return _rebuild_failure, (self.outcome, self.place, self.detail)


def _rebuild_failure(outcome: Outcome, place: str, detail: str) -> DesignFailure:
    return DesignFailure(outcome, place=place, detail=detail)
