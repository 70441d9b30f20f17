"""Cells of a recorder's file as numbers: units and fills among them, decimal commas, clock times."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from optitip.arrays import BoolArray, FloatArray, IntArray
from optitip.inputs.digits import plain_numbers

_EMPTY = frozenset({"", "nan", "null", "none", "na", "n/a", "-", "--", "---", "inf", "-inf", "+inf", "#n/a"})
_WITH_UNIT = re.compile(r"([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)\s*([A-Za-zµ°%'\"][\w/°'\"²^]*)")
_CLOCK = re.compile(
    r"(?:(\d{1,4}[-./]\d{1,2}[-./]\d{1,4})?[T ]+|)(\d{1,3}):(\d\d)(?::(\d\d(?:[.,]\d*)?))?\s*([AaPp][Mm])?"
    r"\s*(?:Z|UTC|[+-]\d\d:?\d\d)?"
)
# what recorders write where there is no reading; taken so only where the value stands apart from the others
FILLS = (
    *(2147483647.0, -2147483648.0, 4294967295.0, 65535.0, 32767.0, -32768.0),
    *(-9999.0, 9999.0, -999.0, 999.0, 99999.0, -99999.0),
)
_BEYOND = 1e30  # no reading, and its square would be none
_APART = 5.0  # times the steps between readings


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cells:
    """A column as numbers (n,), NaN where there is none; ``wrong`` are the rows that hold something else."""

    values: FloatArray
    wrong: IntArray
    unit: str
    """what stands behind each number in its cell, if anything"""
    filled: int
    """readings left out because they are fills"""
    clock: bool
    """the cells are clock times, in seconds from midnight or, with dates, from the first day's"""


def read_cells(
    cells: Sequence[str], *, decimal_commas: bool, missing: Sequence[float] = (), usual_fills: bool = True
) -> Cells:
    """Return the cells as numbers; ``missing`` are values that mean no reading, beside the usual ones."""
    plain = _floats(cells)
    if plain is None and cells and _CLOCK.fullmatch(_first_filled(cells)):
        return _clock(cells)
    unit = ""
    if plain is None and decimal_commas:
        joined = "".join(cells)
        if "," in joined and not re.search(r"\d\.\d", joined):
            cells = [cell.replace(",", ".") for cell in cells]
            plain = _floats(cells)
    if plain is None:
        unit = unit_inside(cells)
        plain, wrong = _one_by_one(cells, unit)
    else:
        wrong = np.empty(0, dtype=np.int64)
    values = np.where(np.abs(plain) < _BEYOND, plain, np.nan)  # not for what isn't finite either
    fills = fills_in(values, missing, usual=FILLS if usual_fills else ())
    values[fills] = np.nan
    return Cells(values=values, wrong=wrong, unit=unit, filled=int(fills.sum()), clock=False)


def fills_in(values: FloatArray, missing: Sequence[float], *, usual: Sequence[float] = FILLS) -> BoolArray:
    """Return which values (n,) mean no reading: those told, and the usual fills where they stand apart.

    >>> fills_in(np.array([1.0, 2.0, -9999.0, 3.0]), ()).tolist()
    [False, False, True, False]
    >>> fills_in(np.array([65533.0, 65534.0, 65535.0, 65536.0]), ()).tolist()
    [False, False, False, False]
    """
    told = np.isin(values, np.array(list(missing), dtype=np.float64))
    like = np.isin(values, np.array(usual)) & ~told
    others = np.flatnonzero(~like & ~told & np.isfinite(values))
    if not like.any() or others.size < 2:
        return told
    step = float(np.quantile(np.abs(np.diff(values[others])), 0.999))
    before = np.clip(np.searchsorted(others, np.flatnonzero(like)) - 1, 0, None)
    like[like] = np.abs(values[like] - values[others[before]]) > max(_APART * step, 1e-9)
    return np.asarray(told | like)


def _first_filled(cells: Sequence[str]) -> str:
    return next((cell.strip() for cell in cells if cell.strip().casefold() not in _EMPTY), "")


def _floats(cells: Sequence[str]) -> FloatArray | None:
    """Return the cells as floats, or None if a cell is no plainly written number and no usual gap."""
    numbers = plain_numbers(cells)
    if numbers is not None:
        return numbers
    return plain_numbers(["nan" if cell.strip().casefold() in _EMPTY else cell for cell in cells])


def unit_inside(cells: Sequence[str]) -> str:
    """Return what stands behind the number in the first cell that holds anything.

    >>> unit_inside(["", "2450'", "2451'"])
    "'"
    """
    match = _WITH_UNIT.fullmatch(_first_filled(cells))
    return match[2] if match else ""


def _one_by_one(cells: Sequence[str], unit: str) -> tuple[FloatArray, IntArray]:
    """Return the numbers before ``unit``, and the rows that hold neither such a number nor a gap."""
    values = np.full(len(cells), np.nan)
    wrong = []
    for row, cell in enumerate(cells):
        text = cell.strip()
        if unit and text.endswith(unit):
            text = text[: -len(unit)].rstrip()
        if text.casefold() in _EMPTY:
            continue
        try:
            values[row] = float(text) if text.isascii() and "_" not in text else np.nan
        except ValueError:
            values[row] = np.nan
        if not np.isfinite(values[row]):
            wrong.append(row)
    return values, np.array(wrong, dtype=np.int64)


def _clock(cells: Sequence[str]) -> Cells:
    """Return clock times in seconds; without dates a fall by half a day is midnight."""
    matches = [_CLOCK.fullmatch(cell.strip()) for cell in cells]
    first = next(match for match in matches if match)
    days = {match[1]: _day(match[1]) for match in matches if match and match[1]} if first[1] else {}
    start = min((day for day in days.values() if day is not None), default=0)
    values = np.full(len(cells), np.nan)
    for row, match in enumerate(matches):
        if match is None or (match[1] is None) != (first[1] is None):
            continue
        day = (days.get(match[1]) or start) - start if match[1] else 0
        values[row] = 86400.0 * day + _seconds(match)
    wrong = [
        row
        for row in np.flatnonzero(np.isnan(values)).tolist()
        if cells[row].strip().casefold() not in _EMPTY
    ]
    if not first[1]:
        known = np.isfinite(values)
        falls = np.concatenate([[0.0], np.cumsum(np.diff(values[known]) < -43200.0)])
        values[known] += 86400.0 * falls
    return Cells(values=values, wrong=np.array(wrong, dtype=np.int64), unit="", filled=0, clock=True)


def _seconds(match: "re.Match[str]") -> float:
    """Return the seconds from midnight; two numbers alone are minutes and seconds where they are no hours."""
    hours, minutes = int(match[2]), int(match[3])
    seconds = float((match[4] or "0").replace(",", "."))
    if match[5]:
        hours = hours % 12 + (12 if match[5].casefold() == "pm" else 0)
    return 3600.0 * hours + 60.0 * minutes + seconds


def _day(written: str) -> int | None:
    """Return the number of a day; year first, or last with the day before the month unless that can't be."""
    parts = [int(part) for part in re.split(r"[-./]", written)]
    year_first = parts[0] > 31
    year, month, day = (parts[0], parts[1], parts[2]) if year_first else (parts[2], parts[1], parts[0])
    if month > 12:
        month, day = day, month
    try:
        return date(year if year > 99 else 2000 + year, month, day).toordinal()
    except ValueError:
        return None
