from types import SimpleNamespace

from rich.console import Console

from optitip.cli.refined_lines import show_errors
from optitip.metrics.accuracy import MetricError, Part
from optitip.units import System


def _error(total, *, order, converged):
    parts = {Part.GRID: total, Part.STEPS: 0.0, Part.HEATING: 0.0}
    return MetricError(total=total, parts=parts, order=order, converged=converged)


def _printed(errors):
    out = Console(width=100, record=True)
    show_errors(out, SimpleNamespace(errors=errors), units=System.METRIC)
    return out.export_text()


def test_errors_of_temperatures_are_differences_and_what_does_not_settle_is_said():
    said = _printed(
        {
            "plug.temperature_peak": _error(0.21, order=2.0, converged=True),
            "margin.shakedown": _error(1.8, order=None, converged=False),
        }
    )
    assert "0.21 K" in said
    assert "NOT settled on finer grids: shakedown margin; it moved by 1.8" in said
    assert "-273" not in said


def test_an_answer_whose_errors_were_not_measured_says_nothing_of_them():
    assert _printed({}) == ""
