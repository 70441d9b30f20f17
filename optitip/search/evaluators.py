"""A study's evaluators by the flow states they run: what a worker loads, whichever command started it."""

from collections.abc import Mapping
from pathlib import Path

from optitip.evaluate.evaluator import evaluators_of
from optitip.metrics.values import Evaluate
from optitip.search.executors.face import States


def study_evaluators(path: Path) -> Mapping[States, Evaluate]:
    """Return the evaluators of the study in ``path``; called once in each worker."""
    return dict(zip((States.SEARCH, States.ALL, States.FINER), evaluators_of(path), strict=True))
