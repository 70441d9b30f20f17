"""Many marches at once: the one face of the plain and the compiled path."""

from collections.abc import Sequence

from optitip.errors import DesignFailure
from optitip.solvers.case import HeatCase
from optitip.solvers.history import History
from optitip.solvers.march import march_together


def march_batch(cases: Sequence[HeatCase]) -> list[tuple[History, ...] | DesignFailure]:
    """Return each case's histories, or why it has none; one that fails doesn't disturb the others."""
    return [_tried(case) for case in cases]


def _tried(case: HeatCase) -> tuple[History, ...] | DesignFailure:
    try:
        return march_together(case)
    except DesignFailure as failure:
        return failure
