"""A part as it was made beside the drawn one, as a person reads it in a terminal."""

from collections.abc import Iterator

from rich.console import Console
from rich.table import Table

from optitip.cli.tables import show_table, table
from optitip.evaluate.as_made import AsMade, MassCheck
from optitip.evaluate.assessment import Assessment
from optitip.evaluate.verdicts import judged_lines
from optitip.inputs.as_made import MEASURABLE
from optitip.metrics.registry import LABELS, UNITS
from optitip.metrics.values import Bracketed
from optitip.report.figures import figure_text, spread_text
from optitip.units import System, shown, text

COMPARED = (
    "sample.energy_peak",
    "sample.energy_landing",
    "sample.temperature_coldest_peak",
    "band.temperature_peak",
    "margin.smallest",
    "shell.mass",
)
CAPTION = "Expected, and from low to high over the flow states; the change is that of the expected figure."


def show_as_made(out: Console, made: AsMade, *, drawn: Assessment, units: System) -> None:
    """Print what was measured against the drawing, both predictions side by side, and what still holds."""
    out.print()
    if made.lengths or made.outside or made.wall is not None:
        show_table(out, measured_table(made, units))
    else:
        out.print(f"As made, {made.file}: no length was measured, each is taken as drawn.", markup=False)
    for line in measured_lines(made, units):
        out.print(line, markup=False)
    out.print()
    show_table(out, compared_table(made, drawn, units))
    for line in held_lines(made, drawn, units):
        out.print(line, markup=False)


def measured_table(made: AsMade, units: System) -> Table:
    """Return what was measured beside what is drawn."""
    unit = shown(0.0, "m", units)[1]
    columns = (("measured", False), ("drawn", True), ("made", True), ("off", True))
    found = table(rf"As made, {made.file}: lengths in {unit}", *columns)
    rows = [(MEASURABLE[key], drawn, read) for key, drawn, read in made.lengths]
    rows += [(f"outside, {place.split(', ')[-1]}", drawn, read) for place, drawn, read in made.outside]
    if made.wall is not None:
        ends = zip(("fore", "aft"), made.wall.drawn, (made.wall.fore, made.wall.aft), strict=True)
        rows += [(f"wall of the band, {end}, by its readings", drawn, read) for end, drawn, read in ends]
    for words, drawn, read in rows:
        found.add_row(words, *(_length(one, units) for one in (drawn, read)), _off(read - drawn, units))
    return found


def measured_lines(made: AsMade, units: System) -> Iterator[str]:
    """Yield how the readings of the wall fit a straight wall, and what the balance says."""
    wall = made.wall
    if wall is not None:
        how = (
            "near each other: both ends are moved by their mean"
            if wall.alike
            else "fitted straight from fore to aft by least squares"
        )
        count = "1 reading of the wall" if wall.count == 1 else f"{wall.count} readings of the wall"
        yield (
            f"{count}, {how}; {_length(wall.residual, units)} {shown(0.0, 'm', units)[1]} off it (root mean "
            f"square), {_length(wall.worst, units)} at most."
        )
    beyond = [
        f"{what} ({_off(off, units)} of {_length(allowed, units)} {shown(0.0, 'm', units)[1]})"
        for what, off, allowed in made.beyond
    ]
    if beyond:
        yield f"Beyond its tolerance: {'; '.join(beyond)}."
    if made.outside:
        yield "The outside stays as drawn in the prediction; a bore read beside it gives the wall."
    for one in made.masses:
        yield _mass_line(one, units)


def _mass_line(one: MassCheck, units: System) -> str:
    said = [text(mass, "kg", units) for mass in (one.predicted, one.balance)]
    line = f"The {one.what} as made should weigh {said[0]}; on the balance it is {said[1]}"
    share = 100.0 * one.difference / one.predicted
    line += f", {share:+.1f} %."
    if one.wall is None:
        return line
    thicker = "thicker" if one.wall >= 0.0 else "thinner"
    return (
        f"{line} A band {text(abs(one.wall), 'm', units, digits=2)} {thicker} all along would explain it; "
        "the prediction leaves out threads, spigots and holes."
    )


def compared_table(made: AsMade, drawn: Assessment, units: System) -> Table:
    """Return the main metrics as drawn and as made, each with its bracket."""
    columns = (("metric", False), ("unit", False), ("as drawn", True), ("as made", True), ("change", True))
    found = table("As drawn and as made", *columns, caption=CAPTION)
    for name in COMPARED:
        before, after = drawn.metrics.get(name), made.assessment.metrics.get(name)
        if before is None or after is None:
            continue
        unit = shown(0.0, UNITS[name], units)[1]
        cells = [_bracket(one, units) for one in (before, after)]
        found.add_row(
            LABELS[name].strip(), unit, *cells, _change(name, after.expected - before.expected, units)
        )
    return found


def held_lines(made: AsMade, drawn: Assessment, units: System) -> list[str]:
    """Return how targets and limits fare as made, and which of them are lost or won against the drawing."""
    lines = []
    for word in ("Target", "Limit"):
        before, after = (one.targets if word == "Target" else one.limits for one in (drawn, made.assessment))
        said = judged_lines(after, f"As made, {word.lower()}", units)
        for was, now, line in zip(before, after, said, strict=True):
            turned = (
                ""
                if was.held == now.held
                else " As drawn it is NOT held."
                if now.held
                else " As drawn it is held."
            )
            lines.append(line + turned)
    return lines


def _length(value: float, units: System) -> str:
    number, unit = shown(value, "m", units)
    return f"{number:.{3 if unit == 'mm' else 5}f}"


def _off(value: float, units: System) -> str:
    said = _length(value, units)
    return "0" if float(said) == 0.0 else f"+{said}" if value > 0.0 else said


def _bracket(value: Bracketed, units: System) -> str:
    if value.unit == "1":
        ends = [f"{one:.2f}" for one in (value.low, value.expected, value.high)]
        return ends[1] if ends[0] == ends[2] else f"{ends[1]} ({ends[0]} to {ends[2]})"
    return spread_text(value, units)


def _change(name: str, change: float, units: System) -> str:
    unit = "K difference" if UNITS[name] == "K" else UNITS[name]
    if unit == "1":
        return f"{change:+.3f}"
    said = figure_text(change, unit, units)
    return f"+{said}" if change > 0.0 else said
