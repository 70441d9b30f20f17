"""Figures as a person reads them: three or four digits, the unit, the bracket."""

from optitip.metrics.values import Bracketed
from optitip.units import System, shown


def figure_text(value: float, unit: str, units: System) -> str:
    """Return a value of an SI unit in ``units`` without its unit, in three or four digits.

    >>> figure_text(1234.56, "J", System.METRIC), figure_text(0.0123, "m", System.METRIC)
    ('1235', '12.3')
    """
    number = shown(value, unit, units)[0]
    if number == 0.0:
        return "0"
    if abs(number) >= 1e5 or abs(number) < 1e-3:
        return f"{number:.1e}"
    return f"{number:.0f}" if abs(number) >= 100.0 else f"{number:.3g}"


def spread_text(value: Bracketed, units: System) -> str:
    """Return a metric with its bracket and no unit; one number where low and high read the same.

    >>> spread_text(Bracketed(unit="J", low=356.0, expected=1218.0, high=1449.0), System.METRIC)
    '1218 (356 to 1449)'
    """
    low, middle, high = (
        figure_text(one, value.unit, units) for one in (value.low, value.expected, value.high)
    )
    return middle if low == high else f"{middle} ({low} to {high})"


def bracket_text(value: Bracketed, units: System) -> str:
    """Return a metric with its unit and bracket.

    >>> bracket_text(Bracketed(unit="J", low=356.0, expected=1218.0, high=1449.0), System.METRIC)
    '1218 J (356 to 1449)'
    """
    unit = shown(value.expected, value.unit, units)[1]
    middle, *rest = spread_text(value, units).split(" ", 1)
    return " ".join(part for part in (middle, unit, *rest) if part)
