"""The numerical error of an answer: the same design on finer grids, with tighter steps, under finer heating.

Each part is measured apart: the error on the grid is the difference to what grids ever finer tend to, that of
steps and of the heating's stations the difference that finer ones make, grown by what these leave themselves.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import partial
from types import MappingProxyType

from optitip.evaluate.assess import check_refined
from optitip.evaluate.assessment import Assessment
from optitip.inputs.study import Study
from optitip.metrics.accuracy import MetricError, Part, settled
from optitip.metrics.registry import UNITS
from optitip.metrics.values import Bracketed

TIGHTER = 8.0
"""The tolerance on a step is divided by this: of third order as they are, an eighth of their error stays"""

RUNS: Mapping[str, Callable[[Study], Assessment]] = MappingProxyType(
    {
        "tighter steps": partial(check_refined, tighter=TIGHTER),
        "finer heating table": partial(check_refined, heating=2),
        "cells cut in 2": partial(check_refined, grid=2),
        "cells cut in 4": partial(check_refined, grid=4),
    }
)
"""What is run beside the answer itself, the quickest first"""
TEMPERATURES = tuple(
    f"{place}_peak"
    for place in (
        *(f"sample.temperature_{which}" for which in ("coldest", "mean", "hottest")),
        *(f"{part}.temperature" for part in ("plug", "band", "base")),
    )
)


def refined(study: Study, *, base: Assessment, report: Callable[[str], None] = lambda _: None) -> Assessment:
    """Return an answered assessment of the study's own design with the error of each of its metrics.

    report: is told each of ``RUNS`` as it begins.
    """
    answers = []
    for said, run in RUNS.items():
        report(said)
        answers.append(run(study))
    steps, heating, *finer = answers
    grids = [base, *finer]
    errors = {
        name: _worst(
            [
                _error(
                    [one.states[state].metrics[name] for one in grids],
                    steps=steps.states[state].metrics[name],
                    heating=heating.states[state].metrics[name],
                )
                for state in base.states
                if all(_has(one, state, name) for one in (*grids, steps, heating))
            ]
        )
        for name in base.metrics
    }
    return _told(base, {name: one for name, one in errors.items() if one is not None})


def _told(base: Assessment, errors: Mapping[str, MetricError]) -> Assessment:
    """Return the assessment with the errors, and those of energy and temperature among its metrics."""
    energy = errors["sample.energy_peak"].total
    temperature = max(one.total for name, one in errors.items() if name in TEMPERATURES)
    told = {
        name: Bracketed(unit=UNITS[name], low=value, expected=value, high=value)
        for name, value in (("error.energy", energy), ("error.temperature", temperature))
    }
    missing = {name: why for name, why in base.missing.items() if name not in told}
    return replace(base, errors=errors, metrics={**base.metrics, **told}, missing=missing)


def _has(assessment: Assessment, state: str, name: str) -> bool:
    return state in assessment.states and name in assessment.states[state].metrics


def _worst(errors: Sequence[MetricError]) -> MetricError | None:
    return max(errors, key=lambda one: (not one.converged, one.total), default=None)


def _error(values: Sequence[float], *, steps: float, heating: float) -> MetricError:
    grid, order, converged = settled(values)
    parts = {
        Part.GRID: grid,
        Part.STEPS: abs(values[0] - steps) * TIGHTER / (TIGHTER - 1.0),
        Part.HEATING: abs(values[0] - heating) * 4.0 / 3.0,
    }
    return MetricError(total=sum(parts.values()), parts=parts, order=order, converged=converged)
