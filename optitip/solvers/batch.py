"""Many designs' heat marches at one call: compiled where numba is there, else one by one."""

from collections.abc import Callable, Sequence
from functools import lru_cache
from typing import TypeAlias, cast

from optitip.errors import DesignFailure, Outcome, OutOfRange
from optitip.solvers.case import HeatCase
from optitip.solvers.history import History
from optitip.solvers.march import march_together

Marched: TypeAlias = tuple[History, ...] | DesignFailure
# how many states march side by side in the compiled kernels; a batch of as many, or more, costs least a piece
LANES = 8


def march_batch(cases: Sequence[HeatCase]) -> list[Marched]:
    """Return each case's histories, one a state, in the order given, or why that case has none.

    The equations, the steps and the outcomes are those of ``march_together``; the compiled kernels (the extra
    ``fast``) agree with it to round-off. A case that fails doesn't touch the others, and one that starts
    outside its materials' tables fails too.

    Valid as ``march_together``; a case of more states than ``LANES`` marches alone.

    Source: as ``march_together``.
    """
    march_lanes = compiled_march()
    if march_lanes is None:
        return [_alone(case) for case in cases]
    fitting = [case for case in cases if len(case.models) <= LANES]
    done = iter(march_lanes(fitting))
    return [next(done) if len(case.models) <= LANES else _alone(case) for case in cases]


@lru_cache(maxsize=1)
def compiled_march() -> Callable[[Sequence[HeatCase]], list[Marched]] | None:
    """Return the compiled march of cases, or none where numba isn't installed."""
    try:
        from optitip.solvers.compiled import march_lanes  # noqa: PLC0415 (an optional extra, slow to import)
    except ModuleNotFoundError as missing:
        if missing.name not in {"numba", "llvmlite"}:
            raise
        return None
    return cast("Callable[[Sequence[HeatCase]], list[Marched]]", march_lanes)


def _alone(case: HeatCase) -> Marched:
    try:
        return march_together(case)
    except DesignFailure as failure:
        return failure
    except OutOfRange as failure:
        return out_of_range(failure)


def out_of_range(failure: OutOfRange) -> DesignFailure:
    """Return a start outside the materials' tables as a case's own failure."""
    return DesignFailure(Outcome.OUT_OF_RANGE, place=failure.mistake.place, detail=failure.mistake.problem)
