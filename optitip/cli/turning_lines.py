"""Whether the tip can be turned, as a person reads it."""

from optitip.evaluate.turnable import SMALLEST, Turnable
from optitip.inputs.turning_tables import Support
from optitip.metrics.registry import LABELS
from optitip.units import System, text

_SUPPORT = {
    Support.NONE: "with nothing behind the wall",
    Support.CORE: "over a core, so not judged",
    Support.MANDREL: "on a mandrel, so not judged",
}


def turning_lines(one: Turnable, units: System) -> list[str]:
    """Return one line where all is well, else one a broken rule; then what isn't judged, and advice."""
    broken = [finding for finding in one.findings if not finding.kept]
    lines = [finding.said(units) for finding in broken] or [_well(one)]
    lines += [f"Not judged, {name}: {one.missing[name]}." for name in one.unknown]
    lines += [f"{advice.said(units)}." for advice in one.advice]
    if one.push is not None:
        force, gives = (
            text(one.push.passive, "N", units, digits=2),
            text(one.push.deflection, "m", units, digits=2),
        )
        lines.append(
            f"The finishing tool pushes on the wall with some {force}, which gives way by {gives} "
            f"{_SUPPORT[one.support]}."
        )
    sawn = [
        f"{stock.part} {text(stock.length, 'm', units)} of {text(stock.bar.diameter, 'm', units)}"
        for stock in one.stock
    ]
    lines.append(f"Round bar to saw off, with what the chuck grips: {'; '.join(sawn)}.")
    return lines


def _well(one: Turnable) -> str:
    """Return the line of a tip that keeps every rule that is judged."""
    what = LABELS[one.smallest.name].removeprefix("turning: ")
    judged = "By all that is judged, yes" if SMALLEST in one.missing else "Yes"
    return f"{judged}. Nearest to its limit: {what}, {one.smallest.value:.2f} with 0 at the limit."
