"""A study as something that turns designs into evaluations: what the workers of a search run."""

import time
from functools import partial
from pathlib import Path

from optitip.errors import Outcome
from optitip.evaluate.assess import assess
from optitip.evaluate.memory import keep_freed_memory
from optitip.inputs.study import Study, read_study
from optitip.metrics.values import Design, Evaluate, Evaluation


def evaluators_of(path: Path) -> tuple[Evaluate, Evaluate]:
    """Return how designs of the study in ``path`` are evaluated: over a search's flow states, and over all.

    Called once in each worker, it reads the study there.
    """
    keep_freed_memory()
    study = read_study(path)
    return partial(evaluate, study=study, searching=True), partial(evaluate, study=study, searching=False)


def evaluate(design: Design, *, study: Study, searching: bool) -> Evaluation:
    """Return the evaluation of one design, with the CPU time it took."""
    begin = time.process_time()
    assessment = assess(study, design=design, searching=searching)
    seconds = time.process_time() - begin
    if assessment.outcome is not Outcome.ANSWERED:
        detail = f"{assessment.place}: {assessment.detail}"
        return Evaluation(outcome=assessment.outcome, detail=detail, seconds=seconds)
    return Evaluation(outcome=Outcome.ANSWERED, metrics=assessment.metrics, seconds=seconds)
