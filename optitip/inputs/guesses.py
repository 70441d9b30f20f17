"""Which column of a recorder's file holds what: by the labels, else by its course."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from optitip.arrays import BoolArray, FloatArray
from optitip.errors import UserMistakes
from optitip.inputs.cells import Cells, read_cells, unit_inside
from optitip.inputs.labels import TIME, Label, read_label, unit_as_written
from optitip.inputs.shapes import alike, rise, start_level, tame
from optitip.inputs.sheets import Sheet

CHANNELS = ("altitude", "pressure", "speed", "mach", "acceleration")
LOOK = "Run 'optitip log FILE' to see its columns, then say which is which in flight.columns"
_FEWEST = 5  # readings of a column that can be told by its shape
_AIR = {"Pa": (5e4, 1.085e5), "hPa": (500.0, 1085.0)}  # where a flight starts


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """A column and what it is taken for; ``unit`` is empty until it is known."""

    index: int
    quantity: str
    unit: str
    why: str
    guessed: bool = False
    """the unit is nowhere written"""


class Columns:
    """The columns of a sheet, each turned into numbers when it is first asked for."""

    def __init__(self, sheet: Sheet, missing: Sequence[float]) -> None:
        """Keep the sheet and the values that mean no reading."""
        self.sheet = sheet
        self.labels = [
            read_label(label, unit_row=unit) if label or unit else _label_inside(cells)
            for label, unit, cells in zip(sheet.labels, sheet.units, sheet.cells, strict=True)
        ]
        self._missing = tuple(missing)
        self._cells: dict[int, Cells] = {}
        self._kept: BoolArray | None = None
        self._times: dict[int, FloatArray] = {}

    def keep(self, rows: BoolArray, *, time: int, times: FloatArray) -> None:
        """Show from now on only the ``rows`` (n,) kept, with ``times`` (kept,) for the column ``time``."""
        self._kept = rows
        self._times = {time: times}

    def cells(self, index: int, *, quantity: str = "") -> Cells:
        """Return a column as numbers; the usual fills are readings where the quantity is time."""
        if index not in self._cells:
            self._cells[index] = read_cells(
                self.sheet.cells[index],
                decimal_commas=self.sheet.decimal_commas,
                missing=self._missing,
                usual_fills=quantity != TIME,
            )
        return self._cells[index]

    def values(self, index: int) -> FloatArray:
        """Return a column's numbers (n,), NaN where there is none, of the rows kept."""
        if index in self._times:
            return self._times[index]
        values = self.cells(index).values
        return values if self._kept is None else values[self._kept]

    def named(self, index: int) -> str:
        """Return how a person finds the column."""
        label = self.sheet.labels[index]
        return f'column "{label}"' if label else f"column {index + 1}"

    def numeric(self) -> list[int]:
        """Return the columns that are numbers throughout and not always the same one."""
        return [index for index in range(len(self.sheet.cells)) if self.moves(index)]

    def moves(self, index: int) -> bool:
        """Return whether a column is numbers throughout and not always the same one."""
        cells = self.cells(index)
        known = cells.values[np.isfinite(cells.values)]
        return cells.wrong.size == 0 and known.size >= _FEWEST and float(np.ptp(known)) > 0.0


def _label_inside(cells: Sequence[str]) -> Label:
    """Return what the unit inside the cells of a column without a label says."""
    return replace(read_label(unit_inside(cells)), name="")


def by_labels(columns: Columns, quantities: Sequence[str]) -> dict[str, Taken]:
    """Return the columns that the labels tell to be one of ``quantities``, by quantity."""
    found: dict[str, Taken] = {}
    for quantity in quantities:
        ranked = sorted(
            (label.rank, index) for index, label in enumerate(columns.labels) if label.quantity == quantity
        )
        if ranked:
            best = [index for rank, index in ranked if rank == ranked[0][0]]
            index, why = _chosen(columns, quantity, best if quantity != "acceleration" else _all(ranked))
            found[quantity] = taken_as(columns, index, quantity, why)
    return found


def _all(ranked: Sequence[tuple[int, int]]) -> list[int]:
    return [index for rank, index in ranked if rank < ranked[0][0] + 4]


def taken_as(columns: Columns, index: int, quantity: str, why: str) -> Taken:
    """Return a column taken for a quantity, with the unit its label or its cells name."""
    label = columns.labels[index]
    if columns.cells(index, quantity=quantity).clock:
        return Taken(index=index, quantity=quantity, unit="", why=why)
    unit = label.unit if label.quantity == quantity else ""
    if not unit and (inside := columns.cells(index, quantity=quantity).unit):
        unit = unit_as_written(inside, quantity)
        why += f"; '{inside}' stands behind each number" if unit else ""
    return Taken(index=index, quantity=quantity, unit=unit, why=why)


def _chosen(columns: Columns, quantity: str, indices: list[int]) -> tuple[int, str]:
    """Return which of several columns of one quantity is taken, and why."""
    if len(indices) == 1:
        return indices[0], "by its name"
    if quantity == TIME:
        return indices[0], "the first of the columns of that name"
    moving = [index for index in indices if columns.cells(index).wrong.size or columns.moves(index)]
    if len(moving) == 1:
        return moving[0], "by its name; the others of that name never change"
    moving = moving or indices
    if quantity == "acceleration":
        return moving[0], "by its name"  # the axis is settled once the time is known
    first = columns.sheet.labels[moving[0]]
    same = [index for index in moving if first and columns.sheet.labels[index] == first]
    for other in same[1:]:
        if not np.array_equal(columns.values(same[0]), columns.values(other), equal_nan=True):
            place = f"{columns.sheet.file}, column {other + 1}"
            problem = f"this is '{first}' a second time, after column {same[0] + 1}, with other values"
            remedy = f'Say which by number, like flight.columns.{quantity} = "column {other + 1} [unit]"'
            raise UserMistakes.one(place, problem, remedy)
    return moving[0], f"by its name; first of {len(moving)} such columns"


def by_shape(columns: Columns, found: Mapping[str, Taken]) -> dict[str, Taken]:
    """Return ``found`` with the columns added that only their course tells."""
    result = dict(found)
    if TIME in result and set(result) & set(CHANNELS):
        return result
    free = [index for index in columns.numeric() if index not in {one.index for one in found.values()}]
    if TIME not in result:
        index = _rising_column(columns, free)
        if index is None:
            problem = "no column can be told to be the time: none rises from row to row"
            raise UserMistakes.one(columns.sheet.file, problem, LOOK)
        result[TIME] = Taken(index=index, quantity=TIME, unit="", why="it rises evenly from row to row")
        free.remove(index)
    if not set(result) & set(CHANNELS):
        result |= _heights_and_rates(columns, free, columns.values(result[TIME].index))
    return result


def _rising_column(columns: Columns, free: Sequence[int]) -> int | None:
    """Return the column that rises throughout with the most even steps; a row's plain number comes last."""
    ranked = []
    for index in free:
        values = columns.values(index)
        steps = np.diff(values[np.isfinite(values)])
        if steps.size and np.mean(steps < 0.0) < 0.02 and steps.sum() > 0.0 and np.mean(steps == 0.0) < 0.98:
            middle = float(np.quantile(steps[steps > 0.0], 0.5))
            uneven = float(np.mean(np.abs(steps - middle) > 0.5 * middle))
            counts_rows = bool(np.all(steps == 1.0))
            ranked.append((counts_rows, round(uneven, 1), index))
    return min(ranked)[2] if ranked else None


def _heights_and_rates(columns: Columns, free: Sequence[int], time: FloatArray) -> dict[str, Taken]:
    """Return altitude, pressure, speed and acceleration by their course; they hang together by rates."""
    found: dict[str, Taken] = {}
    clean = {index: tame(_filled(time, columns.values(index))) for index in free}
    for index, values in clean.items():
        level, low = start_level(values), float(values.min())
        unit = next((unit for unit, (least, most) in _AIR.items() if least < level < most), "")
        falls = 0.0 < low < 0.997 * level and float(values.max()) < 1.02 * level
        if unit and falls and "pressure" not in found:
            why = f"it starts at {level:.5g}, as air does in {unit}, and falls on the way up"
            found["pressure"] = Taken(index=index, quantity="pressure", unit=unit, why=why, guessed=True)
    others = [index for index in clean if index not in {one.index for one in found.values()}]
    pairs = [(alike(clean[a], clean[b], time), a, b) for a in others for b in others if a != b]
    best = max(pairs, default=(0.0, -1, -1))
    if best[0] > 0.9:
        found["altitude"] = _seen(best[1], "altitude", f"column {best[2] + 1} goes as its rate of change")
        found["speed"] = _seen(best[2], "speed", f"it goes as the rate of change of column {best[1] + 1}")
    elif "pressure" not in found and (humps := [index for index in others if _climbs(clean[index])]):
        found["altitude"] = _seen(humps[0], "altitude", "it climbs steadily to one highest value")
    rates = clean[found["speed"].index] if "speed" in found else None
    left = [index for index in others if index not in {one.index for one in found.values()}]
    if rates is not None and left:
        likeness, index = max((abs(alike(rates, clean[one], time)), one) for one in left)
        if likeness > 0.6:
            words = "it goes as the rate of change of the speed"
            found["acceleration"] = _seen(index, "acceleration", words)
    return found


def _seen(index: int, quantity: str, why: str) -> Taken:
    return Taken(index=index, quantity=quantity, unit="", why=why)


def _filled(time: FloatArray, values: FloatArray) -> FloatArray:
    known = np.isfinite(values) & np.isfinite(time)
    return np.asarray(np.interp(time, time[known], values[known]), dtype=np.float64)


def _climbs(values: FloatArray) -> bool:
    top = int(np.argmax(values))
    steps = np.diff(values[: top + 1 : max(1, top // 60)])
    return steps.size > 20 and bool(np.mean(steps < -1e-3 * np.ptp(values)) < 0.1) and rise(values) > 0.0
