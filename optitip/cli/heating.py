"""``optitip heating STUDY``: what the air does to the surface, as tables that can be read back, and drawn."""

from pathlib import Path
from typing import Annotated

import numpy as np
import typer
from rich.table import Table

from optitip.cli.answers import console, placed_in
from optitip.cli.figures import spread_text
from optitip.cli.tables import show_table, table
from optitip.errors import UserMistakes
from optitip.evaluate.exposed import Exposed, Spread, exposed, film_spread, recovery_spread
from optitip.evaluate.sought import check_sources
from optitip.export.heated import write_heatings
from optitip.inputs.study import read_study
from optitip.metrics.values import Bracketed
from optitip.units import System, shown, text

NO_BRACKET = "A heating table has no bracket: how sure this is depends on the table alone."
NO_PICTURE = "No picture of the transition: the heating table has no Reynolds numbers."


def command(
    study: Annotated[Path, typer.Argument(help="A study file, or the folder it is in.")],
    out: Annotated[
        Path | None, typer.Option(help="The folder to write into; heating beside the study.")
    ] = None,
    units: Annotated[
        System, typer.Option(help="Units of answer and pictures; tables are SI.")
    ] = System.METRIC,
    state: Annotated[
        str | None, typer.Option(help="Write the table of this flow state alone, by its name.")
    ] = None,
) -> None:
    """Write film and recovery temperature along the surface in time as tables and pictures."""
    read = read_study(study)
    with placed_in(read.path.name):
        check_sources(read)
        found = exposed(read)
    states = _chosen(found, state)
    folder = read.folder / "heating" if out is None else out
    written = write_heatings(found, study=read, states=states, folder=folder, system=units)
    page = console()
    page.print(read.title, style="bold", markup=False)
    page.print()
    show_table(page, heating_table(found, units))
    page.print()
    if len(found.heatings) == 1:
        page.print(NO_BRACKET)
    for note in found.warnings:
        page.print(f"Note: {note}.", markup=False)
    if "transition.png" not in written:
        page.print(NO_PICTURE)
    page.print(f"Wrote {', '.join(written)} in {folder}", markup=False)
    page.print(
        'Each table can be read back: [flow] heating_table = "FILE", beside the flight or without one.',
        markup=False,
    )


def heating_table(found: Exposed, units: System) -> Table:
    """Return films and recovery temperatures at the named places and instants, expected and low to high."""
    at = {
        "time": np.array(list(found.instants.values())),
        "arc_length": np.array(list(found.places.values())),
    }
    film, recovery = film_spread(found, **at), recovery_spread(found, **at)
    film_unit, recovery_unit = (shown(0.0, unit, units)[1] for unit in ("W/(m2 K)", "K"))
    bracket = len(found.heatings) > 1
    made = table(
        "Film and recovery temperature" + (": expected (low to high over the flow states)" * bracket),
        ("when", False),
        ("where", False),
        (f"film\n\\[{film_unit}]", True),
        (f"recovery\n\\[{recovery_unit}]", True),
        caption=f"Films at a wall of {text(found.wall, 'K', units)}; {_sides(film, found)}",
    )
    for row, (word, time) in enumerate(found.instants.items()):
        for column, place in enumerate(found.places):
            said = f"{word}, {time:.4g} s" if column == 0 else ""
            cells = (
                spread_text(_bracketed(spread, row, column, unit), units)
                for spread, unit in ((film, "W/(m2 K)"), (recovery, "K"))
            )
            made.add_row(said, place, *cells)
        made.add_section()
    return made


def _bracketed(spread: Spread, row: int, column: int, unit: str) -> Bracketed:
    low, expected, high = (float(side[row, column]) for side in (spread.low, spread.expected, spread.high))
    return Bracketed(unit=unit, low=low, expected=expected, high=high)


def _sides(film: Spread, found: Exposed) -> str:
    """Return which flow states give the lowest and the highest films."""
    if len(found.heatings) == 1:
        return f"of the {found.expected}."
    low, high = (" or ".join(names) or "any" for names in (film.low_states, film.high_states))
    return f"lowest from {low}, highest from {high}."


def _chosen(found: Exposed, state: str | None) -> list[str]:
    """Return the flow states whose tables are written."""
    if state is None:
        return list(found.heatings)
    if state not in found.heatings:
        problem = f"there is no flow state '{state}' here"
        raise UserMistakes.one(
            "optitip heating --state", problem, f"Name one of: {', '.join(found.heatings)}"
        )
    return [state]
