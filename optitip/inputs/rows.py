"""The rows of a recorder's file: which can be trusted, and what is said of those left out."""

from collections.abc import Mapping

import numpy as np

from optitip.errors import Mistake, UserMistakes
from optitip.inputs.guesses import Columns, Taken
from optitip.inputs.labels import SI, TIME, unit_scale
from optitip.inputs.sampling import gaps_of, rising, spread_equal
from optitip.inputs.sheets import BROKEN_SHARE, printable

_SHOWN = 5  # mistakes of one kind that are told one by one


def check_cells(columns: Columns, found: Mapping[str, Taken]) -> list[str]:
    """Raise for cells that are no number; in a file with broken lines a few of them are broken, too."""
    sheet = columns.sheet
    mistakes: list[Mistake] = []
    rows: set[int] = set()
    for one in found.values():
        wrong = columns.cells(one.index, quantity=one.quantity).wrong.tolist()
        rows.update(wrong)
        for row in wrong[:_SHOWN]:
            cell = sheet.cells[one.index][row].strip()
            place = f"{sheet.file}, line {sheet.lines[row]}, {columns.named(one.index)}"
            comma = "," in cell and cell.replace(",", "", 1).lstrip("+-").isdigit()
            remedy = "Write the decimal mark as a point" if comma else "Write digits, like 12 or 1.5e6"
            mistakes.append(Mistake(place, f"'{printable(cell[:40])}' is no number", remedy))
        if len(wrong) > _SHOWN:
            problem = f"{len(wrong) - _SHOWN} more cells of {columns.named(one.index)} are none"
            mistakes.append(Mistake(sheet.file, problem, "Put the same right there"))
    count = len(sheet.lines) + len(sheet.broken)
    if mistakes and (not sheet.broken or len(rows) + len(sheet.broken) > BROKEN_SHARE * count):
        raise UserMistakes(mistakes)
    return [f"lines with something that is no number, left out there: {len(rows)}"] if rows else []


def clean_times(columns: Columns, taken: Taken) -> list[str]:
    """Leave out the rows without a time of their own, and return the notes on them."""
    sheet = columns.sheet
    raw = columns.values(taken.index)
    known = np.isfinite(raw)
    times = raw[known]
    equal = np.concatenate([[False], np.diff(times) == 0.0])
    notes = []
    if np.mean(equal) > BROKEN_SHARE:
        times = spread_equal(times)
        notes.append(
            "the time is written more coarsely than the rows follow: rows of one time were spread evenly"
        )
    later = rising(times) if times.size else np.empty(0, dtype=bool)
    behind = int((~later).sum())
    if behind > max(1.0, BROKEN_SHARE * times.size):
        row = int(np.flatnonzero(known)[np.argmax(~later)])
        place = f"{sheet.file}, line {sheet.lines[row]}, {columns.named(taken.index)}"
        cell = printable(sheet.cells[taken.index][row].strip()[:40])
        problem = f"'{cell}' does not rise above the times before it"
        remedy = "Sort the rows; or say with flight.columns.from_line where the flight's own rows begin"
        raise UserMistakes.one(place, problem, remedy)
    rows = known.copy()
    rows[known] = later
    columns.keep(rows, time=taken.index, times=times[later])
    if behind:
        notes.append(f"rows whose time does not rise, left out: {behind}")
    untimed = int((~known).sum()) - columns.cells(taken.index).wrong.size
    if untimed:
        notes.append(f"rows without a time, left out: {untimed}")
    return notes


def missing_rows(columns: Columns, found: Mapping[str, Taken]) -> list[str]:
    """Return the note on rows that are missing between the others."""
    time = columns.values(found[TIME].index) * unit_scale(found[TIME].unit, SI[TIME])[1]
    gaps = gaps_of(time)
    if gaps is None or gaps.count > 0.02 * time.size:
        return []
    where = f"the longest for {gaps.longest:.3g} s from {gaps.begins:.5g} s on"
    return [f"missing rows: about {gaps.rows}, places: {gaps.count}, {where}"]
