"""What a recorder wrote of a flight: channels, each with its own times, in SI."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum
from pathlib import Path

import numpy as np

from optitip.arrays import FloatArray, frozen
from optitip.errors import Mistake, UserMistakes
from optitip.inputs.guessed_units import with_axis, with_units
from optitip.inputs.guesses import CHANNELS, LOOK, Columns, Taken, by_labels, by_shape
from optitip.inputs.labels import SI, TIME, unit_scale
from optitip.inputs.log_columns import LogColumns
from optitip.inputs.mapped import by_map, columns_named
from optitip.inputs.rows import check_cells, clean_times, missing_rows
from optitip.inputs.sampling import own_samples
from optitip.inputs.sheets import cut_sheet, printable
from optitip.units import UnitError

FEWEST_ROWS = 10


class Quantity(Enum):
    """What a channel holds; the value is its word in a study."""

    ALTITUDE = "altitude"
    PRESSURE = "pressure"
    SPEED = "speed"
    MACH = "mach"
    ACCELERATION = "acceleration"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Channel:
    """One column of a recorder's file: ``time`` (n,) [s] of the file's own clock, strictly rising.

    ``values`` (n,) are SI: altitude [m], pressure [Pa], speed [m/s], mach [1], acceleration [m/s2] along
    the body's axis as the sensor gives it, its level at rest not yet settled. ``label`` is the column as it
    was written.
    """

    quantity: Quantity
    time: FloatArray
    values: FloatArray
    file: str
    label: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Recording:
    """The channels of one file, and what a person should know about how it was read."""

    channels: tuple[Channel, ...]
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ColumnRead:
    """A column of the file: its number from 1, label, content, what it was taken for (or nothing) and why."""

    number: int
    label: str
    holds: str
    taken_for: str
    unit: str
    why: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Survey:
    """A recording with all that led to it: each column, the count of rows, the map that says the same."""

    recording: Recording
    columns: tuple[ColumnRead, ...]
    rows: int
    map: Mapping[str, str]


def read_recording(path: Path, *, columns: LogColumns | None) -> Recording:
    """Return the channels of a recorder's file; ``columns`` is the study's map, None has all of it guessed.

    Raises ``UserMistakes`` where a column that is needed can't be told.
    """
    return survey_file(path, columns=columns).recording


def survey_file(path: Path, *, columns: LogColumns | None) -> Survey:
    """Return the recording of a file and how each of its columns was taken."""
    named = columns if columns is not None else LogColumns()
    sheet = cut_sheet(path, from_line=named.from_line)
    all_columns = Columns(sheet, named.missing)
    chosen, mapped = _chosen(all_columns, named)
    notes = [*sheet.notes, *check_cells(all_columns, chosen)]
    if len(sheet.lines) < FEWEST_ROWS:
        count = len(sheet.lines)
        problem = f"there {'is 1 row' if count == 1 else f'are {count} rows'} of numbers"
        raise UserMistakes.one(sheet.file, problem, f"Give at least {FEWEST_ROWS}")
    notes += clean_times(all_columns, chosen[TIME])
    _check_units(all_columns, chosen)
    found, dropped = with_units(all_columns, chosen)
    found = with_axis(all_columns, found, choose=not mapped)
    channels = [_channel(all_columns, found, quantity) for quantity in Quantity if quantity.value in found]
    notes += [note for _, said in channels for note in said]
    notes += missing_rows(all_columns, found)
    notes += [f"{all_columns.named(one.index)}: {one.why}" for one in found.values() if one.guessed]
    return Survey(
        recording=Recording(channels=tuple(channel for channel, _ in channels), notes=tuple(notes)),
        columns=tuple(_read(all_columns, index, found, dropped) for index in range(len(sheet.cells))),
        rows=len(sheet.lines),
        map={one.quantity: _as_map(all_columns, one) for one in found.values()},
    )


def _chosen(columns: Columns, named: LogColumns) -> tuple[dict[str, Taken], bool]:
    """Return the columns taken, by quantity, and whether the study's map named them."""
    sheet = columns.sheet
    found = by_map(columns, named)
    if not found and sheet.named is not None:
        problem = f"the rows have {len(sheet.cells)} cells, the header {sheet.named}"
        remedy = "Give each column one cell, with a point as decimal mark, or name columns by number"
        raise UserMistakes.one(f"{sheet.file}, line {sheet.lines[0]}", problem, remedy)
    mapped = bool(set(found) & set(CHANNELS))
    # what the study leaves out of its map stays unread, but for the time
    found = by_labels(columns, [TIME] if mapped else [TIME, *CHANNELS]) | found
    found = by_shape(columns, found)
    if not set(found) & set(CHANNELS):
        raise UserMistakes.one(sheet.file, "no column can be told to be the altitude or a pressure", LOOK)
    return found, mapped


def _check_units(columns: Columns, found: Mapping[str, Taken]) -> None:
    """Raise for units written that aren't of their quantity's kind."""
    mistakes = []
    for one in found.values():
        if one.unit:
            try:
                unit_scale(one.unit, SI[one.quantity])
            except UnitError as error:
                place = f"{columns.sheet.file}, {columns.named(one.index)}"
                mistakes.append(Mistake(place, error.problem, error.remedy))
    if mistakes:
        raise UserMistakes(mistakes)


def _channel(columns: Columns, found: Mapping[str, Taken], quantity: Quantity) -> tuple[Channel, list[str]]:
    """Return a quantity's channel, and the notes on what was left out of it."""
    taken, time = found[quantity.value], found[TIME]
    zero, second = unit_scale(time.unit, SI[TIME])
    offset, factor = unit_scale(taken.unit, SI[quantity.value])
    values = columns.values(taken.index)
    known = np.isfinite(values)
    own = own_samples(values[known])
    notes = []
    cells = columns.cells(taken.index)
    name = columns.named(taken.index)
    if cells.filled:
        notes.append(f"{name}: fill values that mean no reading, left out: {cells.filled}")
    if not own.all():
        notes.append(
            f"{name}: {int((~own).sum())} of {own.size} readings repeat the one before and were left out"
        )
    channel = Channel(
        quantity=quantity,
        time=frozen((zero + second * columns.values(time.index)[known])[own]),
        values=frozen((offset + factor * values[known])[own]),
        file=columns.sheet.file,
        label=columns.sheet.labels[taken.index] or f"column {taken.index + 1}",
    )
    return channel, notes


def columns_of(path: Path) -> tuple[ColumnRead, ...]:
    """Return what the columns of a file hold, none of them taken for anything."""
    columns = Columns(cut_sheet(path), ())
    return tuple(_read(columns, index, {}, {}) for index in range(len(columns.sheet.cells)))


def _read(columns: Columns, index: int, found: Mapping[str, Taken], dropped: Mapping[int, str]) -> ColumnRead:
    told = columns.labels[index].quantity
    taken = next((one for one in found.values() if one.index == index), None)
    unused = f"another column is taken as the {told}" if told in found else "not used"
    return ColumnRead(
        number=index + 1,
        label=columns.sheet.labels[index],
        holds=_content(columns, index),
        taken_for=taken.quantity if taken else "",
        unit=taken.unit if taken else "",
        why=taken.why if taken else dropped.get(index, unused),
    )


def _content(columns: Columns, index: int) -> str:
    """Return the reach of a column's numbers, or its first cell if it holds other things."""
    cells = columns.cells(index)
    known = cells.values[np.isfinite(cells.values)]
    if cells.clock or known.size < cells.wrong.size or not known.size:
        first = next((cell.strip() for cell in columns.sheet.cells[index] if cell.strip()), "nothing")
        return printable(first[:24])
    return " to ".join(_short(float(end)) for end in (known.min(), known.max()))


def _short(number: float) -> str:
    """Return a number in six digits, or whole where it has more before its point.

    >>> _short(2167462.0), _short(0.0505)
    ('2167462', '0.0505')
    """
    return f"{number:.0f}" if 1e5 <= abs(number) < 1e12 else f"{number:.6g}"


def _as_map(columns: Columns, taken: Taken) -> str:
    """Return what the study would say of a column."""
    label = columns.sheet.labels[taken.index]
    name = columns.labels[taken.index].name if label.endswith("]") else ""
    name = name or label
    said = f"{name} [{taken.unit}]"
    plain = name and name.isprintable() and not set(name) & set("[]")
    if plain and columns_named(columns, said) == [taken.index]:
        return said
    return f"column {taken.index + 1} [{taken.unit}]"
