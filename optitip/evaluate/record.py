"""An assessment as JSON: null with a reason, never NaN."""

import json
from collections.abc import Mapping
from dataclasses import asdict
from types import MappingProxyType
from typing import Any

from optitip import __version__
from optitip.evaluate.assess import NOT_MEASURED
from optitip.evaluate.assessment import Assessment, LimitResult, StateResult
from optitip.geometry.assembly import Assembly
from optitip.metrics.accuracy import MetricError
from optitip.metrics.margins import Margin
from optitip.metrics.registry import MEANINGS, UNITS
from optitip.units import written

SCHEMA = 2


NOT_ASKED: Mapping[str, Any] = MappingProxyType(
    {
        "tolerances": {"levers": None, "spreads": None, "reason": "not asked for: check --tolerances does"},
        "ways": {"targets": None, "reason": "no target is missed in the expected flow state, or --no-ways"},
        "as_made": {"metrics": None, "reason": "no part was measured: check --as-made reads one"},
    }
)
"""What a check tells beside the assessment when it is asked"""


def as_json(assessment: Assessment, *, beside: Mapping[str, Any] = NOT_ASKED) -> str:
    """Return the assessment as one JSON document, SI throughout.

    ``beside`` is what was asked for beside it, by the keys of ``NOT_ASKED``.
    """
    document = {**as_mapping(assessment), **NOT_ASKED, **beside}
    return json.dumps(document, indent=1, allow_nan=False)


def as_mapping(assessment: Assessment) -> dict[str, Any]:
    """Return the assessment as plain mappings, lists and numbers."""
    return {
        "schema": SCHEMA,
        "version": __version__,
        "study": {"title": assessment.title, "fingerprint": assessment.fingerprint},
        "design": dict(assessment.design),
        "outcome": {
            "name": assessment.outcome.name.lower(),
            "problem": assessment.outcome.problem,
            "detail": assessment.detail,
            "place": assessment.place,
        },
        "expected_state": assessment.expected_state or None,
        "metrics": {name: _metric(assessment, name) for name in UNITS},
        "targets": [_limit(limit) for limit in assessment.targets],
        "limits": [_limit(limit) for limit in assessment.limits],
        "states": {name: _state(state) for name, state in assessment.states.items()},
        "outside": None if assessment.outside is None else asdict(assessment.outside),
        "assembly": None if assessment.assembly is None else _assembly(assessment.assembly),
        "uncovered": list(assessment.uncovered),
        "warnings": list(assessment.warnings),
    }


def _assembly(one: Assembly) -> dict[str, Any]:
    """Return how it goes together; the lap of a thread is the drawing's and the lathe's."""
    return {key: value for key, value in asdict(one).items() if key != "lap"}


def _metric(assessment: Assessment, name: str) -> dict[str, Any]:
    value = assessment.metrics.get(name)
    if value is None:
        reason = assessment.missing.get(name, assessment.outcome.problem)
        empty = dict.fromkeys(("low", "expected", "high", "error"))
        return {"unit": written(UNITS[name]), "meaning": MEANINGS[name], **empty, "reason": reason}
    return {
        "unit": written(UNITS[name]),
        "meaning": MEANINGS[name],
        "low": value.low,
        "expected": value.expected,
        "high": value.high,
        "low_state": value.low_state or None,
        "high_state": value.high_state or None,
        **_error(assessment.errors.get(name), reason=assessment.missing.get(name, NOT_MEASURED)),
    }


def _error(error: MetricError | None, *, reason: str) -> dict[str, Any]:
    if error is None:
        return {"error": None, "reason": reason}
    return {
        "error": error.total,
        "error_parts": {part.value: value for part, value in error.parts.items()},
        "order": error.order,
        "converged": error.converged,
    }


def _limit(result: LimitResult) -> dict[str, Any]:
    limit = result.limit
    return {
        "metric": limit.metric,
        "sense": limit.sense.value,
        "value": limit.value,
        "unit": written(UNITS[limit.metric]),
        "worst": result.worst,
        "worst_state": result.worst_state or None,
        "held": result.held,
    }


def _margin(margin: Margin) -> dict[str, Any]:
    return {
        "name": margin.name,
        "value": margin.value,
        "part": margin.part,
        "axial": margin.axial,
        "time": margin.time,
        "detail": margin.said(),
    }


def _state(state: StateResult) -> Mapping[str, Any]:
    trace = state.sample
    return {
        "metrics": dict(state.metrics),
        "time": trace.time.tolist(),
        "sample": {
            "coldest": trace.coldest.tolist(),
            "mean": trace.mean.tolist(),
            "hottest": trace.hottest.tolist(),
            "energy": trace.energy.tolist(),
            "latent": trace.latent.tolist(),
        },
        "band": state.band.tolist(),
        "stations": [
            {
                "instant": one.instant,
                "time": one.time,
                "arc_length": one.arc_length.tolist(),
                "axial": one.axial.tolist(),
                "film": one.film.tolist(),
                "recovery": one.recovery.tolist(),
                "wall": one.wall.tolist(),
                "inside": one.inside.tolist(),
                "highest": one.highest.tolist(),
            }
            for one in state.stations
        ],
        "balance": state.balance,
        "steps": state.steps,
        "margins": [_margin(margin) for margin in state.margins],
    }
