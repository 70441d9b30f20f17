"""The columns of a recorder's file that the study names in flight.columns."""

import difflib

from optitip.errors import Mistake, UserMistakes
from optitip.inputs.guesses import CHANNELS, Columns, Taken, taken_as
from optitip.inputs.labels import TIME, split_map
from optitip.inputs.log_columns import LogColumns


def by_map(columns: Columns, named: LogColumns) -> dict[str, Taken]:
    """Return the columns the study names, by quantity; all that can't be found are mistakes together."""
    found: dict[str, Taken] = {}
    mistakes: list[Mistake] = []
    for quantity in (TIME, *CHANNELS):
        said = getattr(named, quantity)
        if said is None:
            continue
        name, number, unit = split_map(said)
        place = f"{columns.sheet.file}, flight.columns.{quantity}"
        index = (
            _numbered(columns, number, place, mistakes)
            if number
            else _labelled(columns, name, place, mistakes)
        )
        if index is not None:
            taken = taken_as(columns, index, quantity, "as the study says")
            found[quantity] = Taken(
                index=index, quantity=quantity, unit=unit or taken.unit, why="as the study says"
            )
    if mistakes:
        raise UserMistakes(mistakes)
    return found


def _numbered(columns: Columns, number: int, place: str, mistakes: list[Mistake]) -> int | None:
    count = len(columns.sheet.cells)
    if 1 <= number <= count:
        return number - 1
    mistakes.append(Mistake(place, f"there is no column {number}", f"Give one of 1 to {count}"))
    return None


def _labelled(columns: Columns, name: str, place: str, mistakes: list[Mistake]) -> int | None:
    """Return the column whose label, whole or without its unit, is ``name``."""
    whole = [" ".join(label.split()).casefold() for label in columns.sheet.labels]
    short = [" ".join(label.name.split()).casefold() for label in columns.labels]
    wanted = " ".join(name.split()).casefold()
    hits = [i for i, label in enumerate(whole) if label == wanted]
    hits = hits or [i for i, label in enumerate(short) if label == wanted]
    if len(hits) == 1:
        return hits[0]
    if hits:
        numbers = " and ".join(str(index + 1) for index in hits)
        problem = f"columns {numbers} share the name '{name}'"
        mistakes.append(Mistake(place, problem, f"Name it by number, like 'column {hits[-1] + 1}'"))
        return None
    near = difflib.get_close_matches(wanted, [*whole, *short], n=1)
    shown = [label for label in columns.sheet.labels if label]
    known = (
        "; ".join(shown[:12])
        if shown
        else f"no header: say 'column 1' to 'column {len(columns.sheet.cells)}'"
    )
    remedy = f"Did you mean '{near[0]}'" if near else f"The file has {known}"
    mistakes.append(Mistake(place, f"there is no column '{name}'", remedy))
    return None
