"""A motor's thrust curve from two columns, however they were saved."""

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from optitip.arrays import FloatArray, frozen
from optitip.errors import Mistake, UserMistakes
from optitip.inputs.guesses import Columns, Taken, taken_as
from optitip.inputs.labels import SI, TIME, unit_scale
from optitip.inputs.rows import check_cells
from optitip.inputs.sheets import Sheet, cut_sheet
from optitip.units import UnitError

THRUST = "thrust"
_USUAL = {TIME: "s", THRUST: "N"}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ThrustCurve:
    """Thrust (n,) [N] against ``time`` (n,) [s] from ignition, and what to know of how it was read."""

    time: FloatArray
    thrust: FloatArray
    notes: tuple[str, ...]


def read_thrust(path: Path) -> ThrustCurve:
    """Return the thrust curve in a file of two columns or more, its burn from time zero to the first end.

    Header, comments, separators and units are taken as they come; units that are nowhere written are s and
    N, and a note says so. Zeros after the burn are left out; a curve that begins later than time zero rises
    from nothing there. Raises ``UserMistakes`` for what is no curve.
    """
    sheet = cut_sheet(path)
    if sheet.broken:
        problem = f"the row has not {len(sheet.cells)} cells, like the others"
        remedy = "Give each column one cell, with a point as decimal mark"
        raise UserMistakes.one(f"{sheet.file}, line {sheet.broken[0]}", problem, remedy)
    columns = Columns(sheet, ())
    found = {quantity: _column(columns, quantity) for quantity in (TIME, THRUST)}
    check_cells(columns, found)
    time, thrust = (_values(columns, found[quantity]) for quantity in (TIME, THRUST))
    _check_times(columns, found[TIME], time)
    last = int(np.max(np.flatnonzero(thrust != 0.0), initial=0)) + 2
    time, thrust = time[:last], thrust[:last]
    if time[0] > 0.0:
        time, thrust = np.append(0.0, time), np.append(0.0, thrust)
    unsaid = [f"{one.quantity} in {_USUAL[one.quantity]}" for one in found.values() if not one.unit]
    notes = [f"{sheet.file}: no unit is written; read as {' and '.join(unsaid)}"] if unsaid else []
    return ThrustCurve(time=frozen(time), thrust=frozen(thrust), notes=tuple(notes))


def _column(columns: Columns, quantity: str) -> Taken:
    """Return the column of time or thrust: by its label, or the first and the second of two."""
    sheet = columns.sheet
    told = [index for index, label in enumerate(columns.labels) if label.quantity == quantity]
    others = {label.quantity for label in columns.labels} & {TIME, THRUST}
    if len(told) > 1:
        first, second = (columns.named(index) for index in told[:2])
        raise UserMistakes.one(
            sheet.file, f"{first} and {second} are both the {quantity}", "Keep one of the two"
        )
    if told:
        return taken_as(columns, told[0], quantity, "by its name")
    if not others and len(sheet.cells) == 2:
        return taken_as(columns, 0 if quantity == TIME else 1, quantity, "by its place")
    place = f"{sheet.file}, line {max(sheet.lines[0] - 1, 1)}"
    wanted = f"{quantity} [{_USUAL[quantity]}]"
    shown = ", ".join(f'"{label}"' for label in sheet.labels if label) or f"{len(sheet.cells)} without a name"
    raise UserMistakes.one(place, f"column '{wanted}' is missing", f"Add it; the file has {shown}")


def _values(columns: Columns, taken: Taken) -> FloatArray:
    sheet = columns.sheet
    try:
        offset, factor = unit_scale(taken.unit or _USUAL[taken.quantity], SI[taken.quantity])
    except UnitError as error:
        place = f"{sheet.file}, line {max(sheet.lines[0] - 1, 1)}, {columns.named(taken.index)}"
        raise UserMistakes.one(place, error.problem, error.remedy) from None
    values = offset + factor * columns.cells(taken.index, quantity=TIME).values
    empty = np.flatnonzero(np.isnan(values))
    if empty.size:
        place = f"{sheet.file}, line {sheet.lines[empty[0]]}, {columns.named(taken.index)}"
        raise UserMistakes.one(place, "the cell is empty", "Fill it in, or take the row out")
    return values


def _check_times(columns: Columns, taken: Taken, time: FloatArray) -> None:
    """Raise for times that don't rise, each by its line."""
    sheet: Sheet = columns.sheet
    cells = sheet.cells[taken.index]
    mistakes = [
        Mistake(
            f"{sheet.file}, line {sheet.lines[row]}, {columns.named(taken.index)}",
            f"'{cells[row].strip()}' does not rise above the '{cells[row - 1].strip()}' before it",
            "Sort the rows and take doubled ones out",
        )
        for row in (np.flatnonzero(~(np.diff(time) > 0.0)) + 1).tolist()[:5]
    ]
    if mistakes:
        raise UserMistakes(mistakes)
