"""This project's own marches: plain, its flow states in one, and compiled in batches."""

from marched import Course, Marched

from optitip.solvers import batch
from optitip.solvers.assembly import assemble
from optitip.solvers.case import HeatCase
from optitip.solvers.march import march_together

TOLERANCE = 0.1  # [K], the one that designs are marched with


class Plain:
    """numpy and LAPACK, one design at a time."""

    name = "optitip, plain"
    first, tight = TOLERANCE, TOLERANCE / 64.0

    def __init__(self, marched: Marched) -> None:
        """Assemble the body."""
        self.marched = marched
        self.model = assemble(marched.body)

    def case(self, tolerance: float = TOLERANCE) -> HeatCase:
        """Return what the march is given."""
        given = self.marched
        return HeatCase(
            models=(self.model,),
            surfaces=(given.surface,),
            sinks=given.sinks,
            start=given.start,
            start_time=given.start_time,
            end_time=given.end_time,
            kinks=given.kinks,
            tolerance=tolerance,
        )

    def run(self, tolerance: float = TOLERANCE):
        """Return the history at a tolerance [K]."""
        return march_together(self.case(tolerance))[0]

    def read(self, history) -> Course:
        """Return the course, with the slopes that the march itself interpolates by."""
        return Course(
            time=history.time,
            temperature=history.temperature,
            slope=history.slope,
            after=history.slope_after,
            steps=history.steps,
        )


class Compiled(Plain):
    """The same in compiled lanes; a run is a whole batch of the one body: designs share no work in it."""

    name = "optitip, compiled"
    batch = 32

    def run(self, tolerance: float = TOLERANCE):
        """Return the first history of a batch."""
        answers = batch.march_batch([self.case(tolerance)] * self.batch)
        if not isinstance(answers[0], tuple):
            raise answers[0]
        return answers[0][0]


def is_compiled() -> bool:
    """Return whether batches are marched by compiled kernels here."""
    there = getattr(batch, "compiled_march", None)
    return there is not None and there() is not None
