"""The numerical errors of an answer as a person reads them in a terminal."""

from rich.console import Console
from rich.table import Table

from optitip.cli.tables import show_table, table
from optitip.evaluate.assessment import Assessment
from optitip.metrics.accuracy import MetricError, Part
from optitip.metrics.registry import LABELS, UNITS
from optitip.units import System, difference_text

SHOWN = (
    *("sample.energy_peak", "sample.energy_landing", "sample.energy_latent"),
    *(f"sample.temperature_{which}_peak" for which in ("coldest", "mean", "hottest")),
    *(f"{part}.temperature_peak" for part in ("plug", "band", "base")),
    *("shell.mass", "margin.yield", "margin.shakedown", "margin.buckling", "margin.temperature"),
)
RESIDUAL = "balance.residual"
"""is round-off and step error itself: it settles to nought, in no order"""
CAPTION = (
    "In the flow state where each is worst. Order: with what power of the cells' size the error falls, two "
    "where grids settle as they should."
)


def show_errors(out: Console, assessment: Assessment, *, units: System) -> None:
    """Print the numerical error of the main metrics, and which of them don't settle on finer grids."""
    if not assessment.errors:
        return
    out.print()
    show_table(out, errors_table(assessment, units))
    for line in unsettled_lines(assessment, units):
        out.print(line, markup=False)


def errors_table(assessment: Assessment, units: System) -> Table:
    """Return the errors as a table, a row for each of the main metrics that has one."""
    columns = (("metric", False), ("error", True), *((part.value, True) for part in Part), ("order", True))
    made = table("Numerical errors, from finer grids, steps and heating", *columns, caption=CAPTION)
    for name in SHOWN:
        error = assessment.errors.get(name)
        if error is None or error.total == 0.0:
            continue
        figures = [difference_text(error.total, UNITS[name], units)]
        figures += [difference_text(error.parts[part], UNITS[name], units) for part in Part]
        made.add_row(LABELS[name].strip(), *figures, _order(error))
    return made


def unsettled_lines(assessment: Assessment, units: System) -> list[str]:
    """Return a line for each metric whose values on finer grids don't settle."""
    return [
        f"NOT settled on finer grids: {LABELS[name].strip()}; it moved by "
        f"{difference_text(error.parts[Part.GRID], UNITS[name], units)} and may move further."
        for name, error in assessment.errors.items()
        if not error.converged and name in LABELS and name != RESIDUAL
    ]


def _order(error: MetricError) -> str:
    if not error.converged:
        return "none"
    return "" if error.order is None else f"{error.order:.1f}"
