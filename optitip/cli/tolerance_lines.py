"""What tolerances do to an answer, as a person reads it in a terminal."""

import math
from collections.abc import Callable

from rich.console import Console
from rich.table import Table

from optitip.cli.tables import show_table, table
from optitip.evaluate.assessment import SMALLEST
from optitip.evaluate.tolerances import (
    COLDEST,
    ENERGY,
    FIGURES,
    MASS,
    Lever,
    LeverEnd,
    Spread,
    Tolerances,
    range_text,
    spread_line,
)
from optitip.metrics.registry import UNITS
from optitip.report.figures import figure_text
from optitip.units import System, shown

HEADERS = {ENERGY: "energy", COLDEST: "coldest", SMALLEST: "smallest\nmargin", MASS: "shell\nmass"}
CAPTION = (
    "Each lever at either end, all else as drawn: by how much the figures change. Energy and coldest point "
    "in the expected flow state, the smallest margin in the worst. Squares: the root of their sum."
)


def show_tolerances(out: Console, told: Tolerances, *, units: System) -> None:
    """Print the levers as a table, and how far they take the answer together."""
    out.print()
    show_table(out, tolerances_table(told, units))
    for line in tolerance_lines(told, units):
        out.print(line, markup=False)


def tolerances_table(told: Tolerances, units: System) -> Table:
    """Return a row of changes for each end of each lever, then what all of them come to together."""
    headers = [_header(name, units) for name in FIGURES]
    columns = (("lever", False), ("from", True), ("to", True), *((header, True) for header in headers))
    made = table("Within the tolerances", *columns, caption=CAPTION)
    for lever in told.levers:
        unit = rf"\[{shown(0.0, lever.unit, units)[1]}]"
        for words, end in zip((lever.name, unit), lever.ends, strict=True):
            drawn = "" if words == unit else _values(lever, lever.drawn, units)
            to = _values(lever, end.values, units)
            made.add_row(words, drawn, to, *(_change(end, name, told, units) for name in FIGURES))
    figures = told.spreads
    rows: list[tuple[str, str, Callable[[Spread], float]]] = [
        ("as drawn", "", lambda one: one.nominal),
        ("worst case", "low", lambda one: one.worst[0]),
        ("", "high", lambda one: one.worst[1]),
        ("squares", "low", lambda one: one.root[0]),
        ("", "high", lambda one: one.root[1]),
    ]
    for words, side, value in rows:
        cells = [_said(value(figures[name]), name, units) if name in figures else "" for name in FIGURES]
        made.add_row(words, "", side, *cells, style="" if side else "bold")
    return made


def tolerance_lines(told: Tolerances, units: System) -> list[str]:
    """Return the spread in one sentence, what to watch, and what is no part of it."""
    lines = [f"{spread_line(told, units=units)}."]
    if told.levers:
        likely = range_text(told.spreads[ENERGY].root, ENERGY, units)
        lines.append(
            "Worst case: every lever at its worse end at once, the sides added. Levers independent of each "
            f"other would come to {likely}, the root of the sum of the squares."
        )
    watched = told.watched
    if watched is not None:
        lines.append(f"Worth watching: the {watched.name}, {_moves(watched, told, units)}.")
    lines += [
        f"NOT in the spread: the {lever.name} at {_values(lever, end.values, units)} "
        f"{shown(0.0, lever.unit, units)[1]}: {end.outcome.problem} ({end.detail})."
        for lever, end in told.failed
    ]
    lines += [
        f"Can't be turned: the {lever.name} at {_values(lever, end.values, units)} "
        f"{shown(0.0, lever.unit, units)[1]}. {one.said(units)}"
        for lever in told.levers
        for end in lever.ends
        for one in end.unturned
    ]
    lines += [f"No lever: the {name}, for {why}." for name, why in told.still.items()]
    return lines


def _moves(lever: Lever, told: Tolerances, units: System) -> str:
    """Return by how much a lever moves the energy, and the next one beside it."""
    nominal = told.spreads[ENERGY].nominal

    def said(one: Lever) -> str:
        below, above = (shown(side, UNITS[ENERGY], units)[0] for side in one.sides(ENERGY, nominal=nominal))
        return f"-{below:.3g} to +{above:.3g} {shown(0.0, UNITS[ENERGY], units)[1]}"

    others = [one for one in told.levers if one.source is not lever.source]
    line = f"which moves the energy by {said(lever)}"
    if not others:
        return line
    second = max(others, key=lambda one: max(one.sides(ENERGY, nominal=nominal)))
    return f"{line}; the next, the {second.name}, by {said(second)}"


def _header(name: str, units: System) -> str:
    unit = shown(0.0, UNITS[name], units)[1]
    return rf"{HEADERS[name]}" + (rf" \[{unit}]" if unit else "")


def _values(lever: Lever, values: tuple[float, ...], units: System) -> str:
    """Return what a lever stands at, fore and aft apart where they differ."""
    said = [f"{shown(value, lever.unit, units)[0]:.4g}" for value in values]
    return "/".join(dict.fromkeys(said))


def _change(end: LeverEnd, name: str, told: Tolerances, units: System) -> str:
    """Return by how much a figure changes at an end of a lever; a dash where that has no answer."""
    if name not in told.spreads:
        return ""
    if end.figures is None or name not in end.figures:
        return "-"
    nominal = told.spreads[name].nominal
    unit = "K difference" if UNITS[name] == "K" else UNITS[name]
    change = shown(end.figures[name] - nominal, unit, units)[0]
    said = f"{change:+.{_decimals(name, nominal, units)}f}"
    return "0" if float(said) == 0.0 else said


def _decimals(name: str, nominal: float, units: System) -> int:
    """Return how many decimals a change is told with: those of four digits of the figure itself."""
    if name in {SMALLEST, COLDEST}:
        return 2 if name == SMALLEST else 1
    size = abs(shown(nominal, UNITS[name], units)[0])
    return max(0, 3 - math.floor(math.log10(size))) if size > 0.0 else 1


def _said(value: float, name: str, units: System) -> str:
    return f"{value:.2f}" if name == SMALLEST else figure_text(value, UNITS[name], units)
