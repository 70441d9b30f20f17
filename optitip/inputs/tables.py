"""CSV tables whose header names each column with its unit, read into SI arrays."""

import csv
import difflib
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from optitip.arrays import FloatArray, frozen
from optitip.errors import Mistake, UserMistakes
from optitip.inputs.digits import Digits, plain_digits, plain_numbers
from optitip.units import UnitError, number, scale, split_header, text

_SHOWN = 5  # mistakes of one kind that are told one by one
_ROUND_BRACKETS = re.compile(r"\s*(.*?)\s*\(([^()]*)\)\s*")


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """What a column may hold: its SI unit, whether it must be there, and what its cells must satisfy.

    ``gaps`` lets a cell be empty (no reading): it comes back as NaN. ``lowest`` and ``highest`` are SI.
    """

    unit: str
    required: bool = True
    increasing: bool = False
    gaps: bool = False
    aliases: tuple[str, ...] = ()
    lowest: float | None = None
    highest: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sheet:
    """A file cut into cells: ``lines`` are the line numbers of ``rows``."""

    file: str
    header: list[str]
    header_line: int
    lines: list[int]
    rows: list[list[str]]

    def place(self, line: int, label: str) -> str:
        return f'{self.file}, line {line}, column "{label}"'


@dataclass(frozen=True, slots=True, kw_only=True)
class _Found:
    """A column asked for, found at ``index`` under the header ``label``."""

    name: str
    label: str
    index: int
    offset: float
    factor: float


def read_table(
    path: str | Path, *, columns: Mapping[str, Column], least_rows: int = 2, ignore_others: bool = False
) -> dict[str, FloatArray]:
    """Return the columns of a CSV file as SI arrays (n,), by the names in ``columns``.

    The cells are parted by commas, semicolons or tabs; lines that start with ``#`` are comments; the
    first other line names each column with its unit, ``time [s]``. Columns may stand in any order; an
    optional one that isn't there is left out of the result. Raises ``UserMistakes`` with all mistakes.
    """
    text_of_it, file = _text(Path(path)), Path(path).name
    digits = plain_digits(text_of_it)
    if digits is not None and len(digits.numbers) >= least_rows:
        quick = _quickly(digits, file=file, columns=columns, ignore_others=ignore_others)
        if quick is not None:
            return quick
    sheet = _cut(text_of_it, file=file)
    found, mistakes = _match(sheet, columns=columns, ignore_others=ignore_others)
    if len(sheet.rows) < least_rows:
        count = len(sheet.rows)
        problem = f"there {'is 1 row' if count == 1 else f'are {count} rows'} of numbers"
        mistakes.append(Mistake(sheet.file, problem, f"Give at least {least_rows}"))
    ragged = list(_ragged(sheet))
    if ragged:
        raise UserMistakes([*mistakes, *_few(ragged, place=sheet.file)])
    cells = list(zip(*sheet.rows, strict=True)) if sheet.rows else [()] * len(sheet.header)
    result: dict[str, FloatArray] = {}
    for column in found:
        values, wrong = _convert(cells[column.index], column, columns[column.name], sheet)
        mistakes.extend(_few(wrong, place=f'{sheet.file}, column "{column.label}"'))
        result[column.name] = frozen(values)
    if mistakes:
        raise UserMistakes(mistakes)
    return result


def _quickly(
    digits: Digits, *, file: str, columns: Mapping[str, Column], ignore_others: bool
) -> dict[str, FloatArray] | None:
    """Return the columns of a file without anything odd; None where something is, to be told line by line."""
    header = _header(digits.header, digits.mark)
    sheet = _Sheet(file=file, header=header, header_line=digits.line, lines=[], rows=[])
    found, mistakes = _match(sheet, columns=columns, ignore_others=ignore_others)
    if mistakes or len(header) != digits.numbers.shape[1]:
        return None
    result = {one.name: one.offset + one.factor * digits.numbers[:, one.index] for one in found}
    if not all(_all_right(values, columns[name]) for name, values in result.items()):
        return None
    return {name: frozen(values) for name, values in result.items()}


def _all_right(values: FloatArray, column: Column) -> bool:
    """Return whether all values lie within the column's limits, rising where they must."""
    lowest, highest = _lowest(column), column.highest
    if (lowest is not None and values.min() < lowest) or (highest is not None and values.max() > highest):
        return False
    return not column.increasing or bool((np.diff(values) > 0.0).all())


def _lowest(column: Column) -> float | None:
    return 0.0 if column.lowest is None and column.unit == "K" else column.lowest


def _header(line: str, mark: str) -> list[str]:
    header = _split(line, mark)
    while header and not header[-1]:
        header.pop()
    return header


def _cut(content: str, *, file: str) -> _Sheet:
    numbered = [
        (count, line)
        for count, line in enumerate(content.split("\n"), start=1)
        if line.strip(' \t,;"') and not line.lstrip(' \t"').startswith("#")
    ]
    if not numbered:
        raise UserMistakes.one(file, "the file is empty", "Give a header and rows of numbers")
    (header_line, first), *body = numbered
    mark = max(",;\t", key=first.count)
    header = _header(first, mark)
    rows = [_split(line, mark) for _, line in body]
    return _Sheet(
        file=file,
        header=header,
        header_line=header_line,
        lines=[count for count, _ in body],
        rows=[_without_empty_tail(row, len(header)) for row in rows],
    )


def _text(path: Path) -> str:
    """Return the file's text with plain line ends."""
    if not path.is_file():
        problem = "this is a folder" if path.is_dir() else f"there is no file '{path}'"
        raise UserMistakes.one(path.name or str(path), problem, "Give the path of a CSV file")
    try:
        content = path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        problem = f"the file can't be read ({error.strerror})"
        raise UserMistakes.one(path.name, problem, "Give a file you may read") from None
    except UnicodeDecodeError:
        content = "\0"
    if "\0" in content:
        raise UserMistakes.one(path.name, "this is no text in UTF-8", "Save the table as CSV in UTF-8")
    return content.replace("\r\n", "\n").replace("\r", "\n")


def _split(line: str, mark: str) -> list[str]:
    # the csv module refuses a cell of above 131,072 characters: no such cell is a number
    quoted = '"' in line and len(line) < csv.field_size_limit()
    cells = next(csv.reader([line], delimiter=mark)) if quoted else line.split(mark)
    return [cell.strip() for cell in cells]


def _without_empty_tail(row: list[str], width: int) -> list[str]:
    """Drop the empty cells that a spreadsheet leaves past the header's last column."""
    return row[:width] if len(row) > width and not any(row[width:]) else row


def _key(name: str) -> str:
    return re.sub(r"[\s_\-]+", " ", name.strip()).casefold()


def _match(
    sheet: _Sheet, *, columns: Mapping[str, Column], ignore_others: bool
) -> tuple[list[_Found], list[Mistake]]:
    """Return which header stands for which column asked for, and what is wrong with the header."""
    place = f"{sheet.file}, line {sheet.header_line}"
    if all(_is_number(cell) for cell in sheet.header):
        names = ",".join(f"{name} [{column.unit}]" for name, column in columns.items() if column.required)
        remedy = f"Name each column with its unit in the first line, like '{names}'"
        raise UserMistakes.one(place, "the first line holds numbers, not names", remedy)
    names_of = {_key(alias): name for name, c in columns.items() for alias in (name, *c.aliases)}
    found: dict[str, _Found] = {}
    mistakes: list[Mistake] = []
    for index, label in enumerate(sheet.header):
        written, unit = split_header(label)
        name = names_of.get(_key(written))
        here = sheet.place(sheet.header_line, label)
        if name is None:
            mistakes.extend(_unknown(here, label, names_of, ignore=ignore_others))
        elif name in found:
            problem = f"this is '{name}' a second time, after \"{found[name].label}\""
            mistakes.append(Mistake(here, problem, "Keep one of the two"))
        else:
            offset, factor = _scale(here, unit, columns[name].unit, mistakes)
            found[name] = _Found(name=name, label=label, index=index, offset=offset, factor=factor)
    present = ", ".join(f'"{label}"' for label in sheet.header)
    for name, column in columns.items():
        if column.required and name not in found:
            wanted = f"{name} [{column.unit}]"
            mistakes.append(
                Mistake(place, f"column '{wanted}' is missing", f"Add it; the file has {present}")
            )
    return list(found.values()), mistakes


def _scale(place: str, unit: str, si: str, mistakes: list[Mistake]) -> tuple[float, float]:
    try:
        return scale(unit, si)
    except UnitError as error:
        mistakes.append(Mistake(place, error.problem, error.remedy))
        return 0.0, 1.0


def _unknown(place: str, label: str, names_of: Mapping[str, str], *, ignore: bool) -> Iterator[Mistake]:
    """Yield the mistake in a header that is none of the columns asked for, if it is one."""
    bracketed = _ROUND_BRACKETS.fullmatch(label)
    if bracketed is not None and _key(bracketed[1]) in names_of:
        remedy = f"Write the unit in square brackets, '{bracketed[1]} [{bracketed[2]}]'"
        yield Mistake(place, "the column has no unit", remedy)
        return
    if ignore:
        return
    near = difflib.get_close_matches(_key(split_header(label)[0]), names_of, n=1)
    known = ", ".join(dict.fromkeys(names_of.values()))
    remedy = f"Did you mean '{names_of[near[0]]}'" if near else f"Take it out; known here: {known}"
    yield Mistake(place, "the column is unknown", remedy)


def _ragged(sheet: _Sheet) -> Iterator[Mistake]:
    width = len(sheet.header)
    for line, row in zip(sheet.lines, sheet.rows, strict=True):
        if len(row) != width:
            problem = f"the row has {len(row)} cells, the header {width}"
            remedy = "Give each column one cell, with a point as decimal mark"
            yield Mistake(f"{sheet.file}, line {line}", problem, remedy)


def _convert(
    cells: Sequence[str], found: _Found, column: Column, sheet: _Sheet
) -> tuple[FloatArray, Iterable[Mistake]]:
    """Return a column's SI values and its mistakes; cells are read one by one only to find the wrong ones."""
    filled = [cell or "nan" for cell in cells] if column.gaps else cells
    raw = plain_numbers(filled)
    if raw is None or np.isinf(raw).any() or (not column.gaps and np.isnan(raw).any()):
        return np.empty(0), _wrong_cells(filled, found, column, sheet)
    values = found.offset + found.factor * raw
    return values, _wrong_values(values, cells, found, column, sheet)


def _wrong_cells(cells: Sequence[str], found: _Found, column: Column, sheet: _Sheet) -> Iterator[Mistake]:
    for line, cell in zip(sheet.lines, cells, strict=True):
        place = sheet.place(line, found.label)
        if not cell:
            yield Mistake(place, "the cell is empty", "Fill it in, or take the row out")
        elif re.fullmatch(r"[+-]?\d+,\d+", cell):
            yield Mistake(place, f"'{cell}' is no number", "Write the decimal mark as a point")
        elif not _is_number(cell) and not (column.gaps and cell.casefold() == "nan"):
            yield Mistake(place, f"'{cell[:40]}' is no number", "Write digits, like 12 or 1.5e6")


def _is_number(cell: str) -> bool:
    try:
        number(cell)
    except UnitError:
        return False
    return cell.isascii()


def _wrong_values(
    values: FloatArray, cells: Sequence[str], found: _Found, column: Column, sheet: _Sheet
) -> Iterator[Mistake]:
    """Yield the cells outside the column's limits, then those that don't rise where they must."""
    limits = ((_lowest(column), -1.0, "below"), (column.highest, 1.0, "above"))
    for limit, sign, word in limits:
        if limit is None:
            continue
        for row in np.flatnonzero(sign * values > sign * limit).tolist():
            problem = f"'{cells[row]}' is {word} {text(limit, column.unit)}"
            remedy = "Put the number right, or the unit in the header"
            yield Mistake(sheet.place(sheet.lines[row], found.label), problem, remedy)
    if column.increasing:
        for row in (np.flatnonzero(~(np.diff(values) > 0.0)) + 1).tolist():
            problem = f"'{cells[row]}' does not rise above the '{cells[row - 1]}' before it"
            remedy = "Sort the rows and take doubled ones out"
            yield Mistake(sheet.place(sheet.lines[row], found.label), problem, remedy)


def _few(mistakes: Iterable[Mistake], *, place: str) -> Iterator[Mistake]:
    """Yield the first few mistakes, and one that counts the others."""
    others = 0
    for count, mistake in enumerate(mistakes):
        if count < _SHOWN:
            yield mistake
        else:
            others += 1
    if others:
        yield Mistake(place, f"{others} more mistakes of this kind follow", "Put the same right there")
