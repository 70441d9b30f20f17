"""What an answer says of its limits, targets and margins, in sentences."""

from collections.abc import Iterable, Iterator

from optitip.evaluate.assessment import Assessment, LimitResult
from optitip.metrics.registry import UNITS
from optitip.units import System, text


def judged_lines(results: Iterable[LimitResult], word: str, units: System) -> list[str]:
    """Return a line for each limit or target: whether the worst flow state holds it."""
    lines = []
    for one in results:
        name, unit = one.limit.metric, UNITS[one.limit.metric]
        worst = "it has no value here" if one.worst is None else f"worst {text(one.worst, unit, units)}"
        verdict = "held" if one.held else "NOT held"
        if one.value is not None and one.worst != one.value.expected:
            worst = f"expected {text(one.value.expected, unit, units)}, {worst}"
        worst += f", flow {one.worst_state}" if one.worst_state else ""
        wanted = f"{one.limit.sense.value} {text(one.limit.value, unit, units)}"
        lines.append(f"{word} {name} {wanted}: {verdict} ({worst}).")
    return lines


def against_making(assessment: Assessment, units: System) -> Iterator[str]:
    """Yield what speaks against making a part: each limit that isn't held, and a margin below 0."""
    yield from judged_lines((one for one in assessment.limits if not one.held), "LIMIT", units)
    smallest = assessment.smallest_margin()
    if smallest is not None and smallest[1].value < 0.0:
        state, margin = smallest
        what = margin.name.removeprefix("margin.")
        yield (
            f"A MARGIN IS BELOW 0: {what} of the {margin.part}, {margin.value:.2f} (flow {state}): "
            f"{margin.said(units)}."
        )
