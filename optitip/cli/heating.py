"""``optitip heating STUDY``: what the air does to the surface, as tables that can be read back, and drawn."""

from collections.abc import Iterator
from pathlib import Path
from typing import Annotated

import numpy as np
import typer
from rich.table import Table

from optitip.cli.answers import NO_TRANSITION, console
from optitip.cli.places import placed_in
from optitip.cli.tables import show_table, table
from optitip.errors import UserMistakes
from optitip.evaluate.exposed import Exposed, Spread, exposed, film_spread, recovery_spread
from optitip.evaluate.sought import check_sources
from optitip.export.heated import write_heatings
from optitip.inputs.study import read_study
from optitip.report.figures import figure_text
from optitip.units import System, shown, text

QUANTITIES = {"film": "W/(m2 K)", "recovery": "K"}
NO_BRACKET = "A heating table has no bracket: how sure this is depends on the table alone."


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
    for made in heating_tables(found, units):
        show_table(page, made)
        page.print()
    page.print(f"Films are those at a wall of {text(found.wall, 'K', units)}. {_sides(found)}", markup=False)
    for note in found.warnings:
        page.print(f"Note: {note}.", markup=False)
    if "transition.png" not in written:
        page.print(NO_TRANSITION)
    page.print(f"Wrote {', '.join(written)} in {folder}", markup=False)
    page.print(
        'Each table can be read back: [flow] heating_table = "FILE", beside the flight or without one.',
        markup=False,
    )


def heating_tables(found: Exposed, units: System) -> Iterator[Table]:
    """Yield a table for each named instant: films and recovery temperatures at the named places."""
    places = np.array(list(found.places.values()))
    names = tuple(shown(0.0, unit, units)[1] for unit in QUANTITIES.values())
    for word, time in found.instants.items():
        at = {"time": np.array([time]), "arc_length": places}
        spreads = (film_spread(found, **at), recovery_spread(found, **at))
        made = table(
            f"{word[:1].upper()}{word[1:]}, {time:.4g} s",
            ("", False),
            (f"film\n\\[{names[0]}]", True),
            ("low to high", True),
            (f"recovery\n\\[{names[1]}]", True),
            ("low to high", True),
        )
        for column, place in enumerate(found.places):
            cells = [
                cell
                for spread, unit in zip(spreads, QUANTITIES.values(), strict=True)
                for cell in _cells(spread, column, unit, units)
            ]
            made.add_row(place, *cells)
        yield made


def _cells(spread: Spread, column: int, unit: str, units: System) -> tuple[str, str]:
    """Return the expected figure and its bracket; none where both ends read the same."""
    low, expected, high = (
        figure_text(float(side[0, column]), unit, units)
        for side in (spread.low, spread.expected, spread.high)
    )
    return expected, "" if low == high else f"{low} to {high}"


def _sides(found: Exposed) -> str:
    """Return which flow states give the lowest and the highest films."""
    if len(found.heatings) == 1:
        return NO_BRACKET
    time, arc_length = (np.array(list(named.values())) for named in (found.instants, found.places))
    film = film_spread(found, time=time, arc_length=arc_length)
    low, high = (" or ".join(names) for names in (film.low_states, film.high_states))
    return f"The lowest are from {low}, the highest from {high}."


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
