"""A study as something that turns designs into evaluations: what the workers of a search run."""

import time
from collections.abc import Sequence
from functools import partial
from pathlib import Path

from optitip.errors import Outcome
from optitip.evaluate.assess import assess_many
from optitip.evaluate.assessment import Assessment
from optitip.evaluate.memory import keep_freed_memory
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.geometry.topology import Resolution
from optitip.inputs.study import Study, read_study
from optitip.metrics.values import Design, Evaluate, Evaluation


def evaluators_of(path: Path) -> tuple[Evaluate, Evaluate, Evaluate]:
    """Return how designs of the study in ``path`` are evaluated.

    First over a search's flow states, then over all, then over all on a grid of half the cells' size.
    Called once in each worker, it reads the study there.
    """
    keep_freed_memory()
    study = read_study(path)
    return (
        partial(evaluate, study=study, searching=True),
        partial(evaluate, study=study, searching=False),
        partial(evaluate_finer, study=study),
    )


def evaluate_finer(designs: Sequence[Design], *, study: Study) -> list[Evaluation]:
    """Return evaluations over all flow states on the finer grid, one by one: a batch would take memory."""
    finer = DEFAULT_RESOLUTION.refined(2)
    return [
        evaluation
        for design in designs
        for evaluation in evaluate([design], study=study, searching=False, resolution=finer)
    ]


def evaluate(
    designs: Sequence[Design],
    *,
    study: Study,
    searching: bool,
    resolution: Resolution = DEFAULT_RESOLUTION,
) -> list[Evaluation]:
    """Return the evaluations of some designs, each with its even part of the CPU time they took."""
    begin = time.process_time()
    assessments = assess_many(study, designs=designs, searching=searching, resolution=resolution)
    seconds = (time.process_time() - begin) / max(len(designs), 1)
    return [_evaluation(one, seconds=seconds) for one in assessments]


def _evaluation(assessment: Assessment, *, seconds: float) -> Evaluation:
    if assessment.outcome is not Outcome.ANSWERED:
        detail = f"{assessment.place}: {assessment.detail}"
        return Evaluation(outcome=assessment.outcome, detail=detail, seconds=seconds)
    return Evaluation(outcome=Outcome.ANSWERED, metrics=assessment.metrics, seconds=seconds)
