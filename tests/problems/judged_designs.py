"""What is asked of any design whatever: a named outcome, finite metrics, temperatures that physics allows."""

import math
from dataclasses import dataclass

import numpy as np

from optitip.errors import Outcome
from optitip.evaluate.assess import assess_many
from optitip.evaluate.building import build_tip
from optitip.evaluate.conditions import conditions_of
from optitip.geometry.mesh import DEFAULT_RESOLUTION

WARM_AIR = 1.0  # [W/(m2 K)]: the weakest film that bounds what sunlight may add


@dataclass(frozen=True, kw_only=True)
class Judged:
    """One draw: what became of it, what is wrong with it (nothing, if all is well), its worst figures."""

    outcome: Outcome
    place: str
    detail: str = ""
    faults: tuple[str, ...] = ()
    balance: float = 0.0
    overshoot: float = 0.0
    span: float = 0.0
    jacobian: float = 1.0
    steps: int = 0
    energy: float = 0.0


def judged(study, designs):
    """Return the judgement on each design of one study; an exception is a crash and goes through."""
    assessments = assess_many(study, designs=designs, searching=True)
    return [_judged(study, one) for one in assessments]


def _judged(study, assessment):
    if assessment.outcome is not Outcome.ANSWERED:
        faults = () if assessment.place and assessment.detail else ("an outcome without a place or a reason",)
        return Judged(
            outcome=assessment.outcome, place=assessment.place, detail=assessment.detail, faults=faults
        )
    given = study.with_design(assessment.design)
    tip = build_tip(given.tables, folder=given.folder, resolution=DEFAULT_RESOLUTION)
    conditions = conditions_of(given, tip)
    limits = {name: bounds(tip, conditions, conditions.heatings[name]) for name in conditions.heatings}
    within = [limits.get(name, limits[next(reversed(limits))]) for name in assessment.states]
    low, high = min(one[0] for one in within), max(one[1] for one in within)
    overshoot = max(beyond(one.fields.temperature, bounds=(low, high)) for one in assessment.states.values())
    peaks = [assessment.metrics[f"{part}.temperature_peak"].high for part in ("plug", "band", "base")]
    peaks.append(assessment.metrics["sample.temperature_hottest_peak"].high)
    return Judged(
        outcome=assessment.outcome,
        place="",
        faults=tuple(_faults(assessment, tip)),
        balance=max(abs(state.balance) for state in assessment.states.values()),
        overshoot=max(overshoot, beyond(peaks, bounds=(low, high))),
        span=high - low,
        jacobian=tip.mesh.smallest_jacobian,
        steps=max(state.steps for state in assessment.states.values()),
        energy=assessment.metrics["sample.energy_peak"].expected,
    )


def _faults(assessment, tip):
    for name, value in assessment.metrics.items():
        if not all(math.isfinite(one) for one in (value.low, value.expected, value.high)):
            yield f"{name} is {value.low}, {value.expected}, {value.high}"
    if not tip.mesh.smallest_jacobian > 0.0:
        yield f"a corner's Jacobian is {tip.mesh.smallest_jacobian}"
    if assessment.metrics["shell.mass"].expected <= 0.0:
        yield "the shell weighs nothing"
    if assessment.metrics["sample.energy_peak"].expected < 0.0:
        yield "a peak below what it began with"


def bounds(tip, conditions, heating):
    """Return the coldest and the hottest that heat can make a tip [K]: its starts and what is around it.

    What is absorbed whatever the wall does may warm it beyond, until film or radiation takes it away.
    """
    nose = tip.tables.tip.base.nose_temperature
    around = [conditions.start, conditions.sample_start, *([] if nose is None else [nose])]
    outside = [heating.recovery.min(), heating.recovery.max(), heating.surroundings.min()]
    if conditions.flight is not None:
        outside += [conditions.flight.temperature.min(), conditions.flight.temperature.max()]
    hottest = max(*around, *outside, heating.surroundings.max())
    absorbed = float(heating.absorbed.max())
    if absorbed > 0.0:
        hottest = _beside(hottest, absorbed=absorbed, film=heating.film)
    return min(*around, *outside), hottest


def _beside(hottest, *, absorbed, film):
    weakest = float(film.min())
    return math.inf if weakest < WARM_AIR else hottest + absorbed / weakest


def beyond(temperature, *, bounds):
    """Return how far temperatures lie outside their bounds [K], 0 within."""
    low, high = bounds
    return max(0.0, low - float(np.min(temperature)), float(np.max(temperature)) - high)
