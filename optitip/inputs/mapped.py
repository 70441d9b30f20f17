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
        _, number, unit = split_map(said)
        place = f"{columns.sheet.file}, flight.columns.{quantity}"
        index = (_labelled if number is None else _numbered)(columns, said, place, mistakes)
        earlier = next((name for name, one in found.items() if one.index == index), None)
        if index is not None and earlier is not None:
            problem = f"the column is that of flight.columns.{earlier} too"
            mistakes.append(Mistake(place, problem, "Name each column once"))
        elif index is not None:
            taken = taken_as(columns, index, quantity, "as the study says")
            found[quantity] = Taken(
                index=index, quantity=quantity, unit=unit or taken.unit, why="as the study says"
            )
    if mistakes:
        raise UserMistakes(mistakes)
    return found


def _numbered(columns: Columns, said: str, place: str, mistakes: list[Mistake]) -> int | None:
    number, count = split_map(said)[1], len(columns.sheet.cells)
    if number and number <= count:
        return number - 1
    mistakes.append(Mistake(place, f"there is no column {number}", f"Give one of 1 to {count}"))
    return None


def columns_named(columns: Columns, said: str) -> list[int]:
    """Return the columns a map's text names: by the label as it stands, by its name, then in any case."""
    name = _plain(split_map(said)[0])
    whole = [_plain(label) for label in columns.sheet.labels]
    short = [_plain(label.name) for label in columns.labels]
    attempts = (
        (whole, _plain(said)),
        (whole, name),
        (short, name),
        ([label.casefold() for label in whole], name.casefold()),
        ([label.casefold() for label in short], name.casefold()),
    )
    found = ([i for i, label in enumerate(labels) if label == wanted] for labels, wanted in attempts)
    return next((hits for hits in found if hits), [])


def _plain(label: str) -> str:
    return "".join(label.split())


def _labelled(columns: Columns, said: str, place: str, mistakes: list[Mistake]) -> int | None:
    hits = columns_named(columns, said)
    name = split_map(said)[0]
    if len(hits) == 1:
        return hits[0]
    if hits:
        numbers = " and ".join(str(index + 1) for index in hits)
        problem = f"columns {numbers} share the name '{name}'"
        mistakes.append(Mistake(place, problem, f"Name it by number, like 'column {hits[-1] + 1}'"))
        return None
    names = [*columns.sheet.labels, *(label.name for label in columns.labels)]
    near = difflib.get_close_matches(name, names, n=1)
    shown = [label for label in columns.sheet.labels if label]
    known = (
        "; ".join(shown[:12])
        if shown
        else f"no header: say 'column 1' to 'column {len(columns.sheet.cells)}'"
    )
    remedy = f"Did you mean '{near[0]}'" if near else f"The file has {known}"
    mistakes.append(Mistake(place, f"there is no column '{name}'", remedy))
    return None
