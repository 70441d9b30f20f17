"""A file of numbers cut into cells, however it was saved: what parts the cells, where the rows begin."""

import csv
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from optitip.errors import Mistake, UserMistakes

LARGEST_FILE = 300_000_000  # bytes
BROKEN_SHARE = 0.02  # of the rows may be broken; beyond, the file is refused
_MARKS = ("\t", ";", ",", " ")
_COMMENT = re.compile(r"^\s*(?:(?:#|//|%|!)+|;+(?=\s*[A-Za-z]|\s*$))\s*")
_NUMBER = r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d+)?"
_CLOCK = r"[\d\-./]*[T ]?\d+:\d\d(?::\d\d(?:[.,]\d+)?)?Z?"
_NUMBER_LIKE = re.compile(
    rf"(?:{_NUMBER}\s*[A-Za-z°%'\"/²]{{0,6}}|nan|null|{_CLOCK}|\d{{1,4}}-\d\d?-\d+)", re.IGNORECASE
)
_GARBAGE = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\ufffd]")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sheet:
    """A file cut into columns of cells: ``lines`` are the line numbers of the rows.

    ``labels`` are the headers as written, empty without one; ``units`` those of a row of units under it.
    ``named`` counts the header's cells where they aren't as many as the rows', else it is None. ``broken``
    are the lines left out because their cells can't be told apart.
    """

    file: str
    labels: tuple[str, ...]
    units: tuple[str, ...]
    cells: tuple[Sequence[str], ...]
    lines: Sequence[int]
    named: int | None
    broken: tuple[int, ...]
    notes: tuple[str, ...]
    decimal_commas: bool
    """commas part no cells, so one inside a number can be its decimal mark"""


def text_of(path: Path) -> tuple[str, list[str]]:
    """Return a file's text with plain line ends, and notes on how it was read."""
    if not path.is_file():
        problem = "this is a folder" if path.is_dir() else f"there is no file '{path}'"
        raise UserMistakes.one(path.name or str(path), problem, "Give the path of a file of rows")
    try:
        size = path.stat().st_size
        content = path.read_bytes() if size <= LARGEST_FILE else b""
    except OSError as error:
        problem = f"the file can't be read ({error.strerror})"
        raise UserMistakes.one(path.name, problem, "Give a file you may read") from None
    if size > LARGEST_FILE:
        raise UserMistakes.one(path.name, f"the file has {size / 1e6:.0f} MB", "Cut the flight out of it")
    notes = []
    kept = content.rstrip(b"\0")  # what a card holds past the last row when the power goes
    if b"\0" in kept or content[:2] in {b"\xff\xfe", b"\xfe\xff"}:
        raise UserMistakes.one(path.name, "this is no text in UTF-8", "Save the rows as text in UTF-8")
    try:
        text = kept.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = kept.decode("cp1252", errors="replace")
        notes.append("the file is no UTF-8: its letters were read as Western European")
    return text.replace("\r\n", "\n").replace("\r", "\n"), notes


def cut_sheet(path: Path, *, from_line: int | None = None) -> Sheet:
    """Return the file's longest table of numbers in columns; rows before ``from_line`` (1 is the first) go.

    Lines before the rows, comments and a repeated header are passed over. Raises ``UserMistakes`` where
    there is no such table, or more than a fiftieth of its rows are broken.
    """
    text, notes = text_of(path)
    if not text.strip():
        raise UserMistakes.one(path.name, "the file is empty", "Give a file of rows of numbers")
    lines = text.split("\n")
    mark, width = _layout(lines, path.name)
    start = _first_row(lines, mark, width, path.name)
    first = start if from_line is None else max(start, from_line - 1)
    numbers, rows, broken = _rows(lines, first, mark, width, header=lines[start - 1] if start else "")
    if broken and broken[-1] >= len(lines) - 1 and not text.endswith("\n"):
        notes.append(f"line {broken.pop()}, the last, is half written and was left out")
    _check_broken(broken, len(rows), path.name, lines, width, mark)
    if broken:
        some = ", ".join(str(line) for line in broken[:5]) + (", ..." if len(broken) > 5 else "")
        count = f"{len(broken)} of {len(rows) + len(broken)} lines"
        notes.append(f"{count} are broken and were left out (line {some})")
    if not rows:
        problem = f"no row of numbers stands in line {first + 1} or later"
        raise UserMistakes.one(path.name, problem, "Give a smaller from_line, or leave it out")
    cells = _without_empty_tail(tuple(zip(*rows, strict=True)))
    labels, units, named = _header(lines[:start], mark, len(cells))
    above = [line for line in lines[:start] if line.strip() and not _COMMENT.match(line)]
    if len(above) > (2 if any(units) else 1):
        notes.append(f"the rows begin in line {start + 1}; what stands before the header was passed over")
    return Sheet(
        file=path.name,
        labels=tuple(printable(label) for label in labels),
        units=tuple(printable(unit) for unit in units),
        cells=cells,
        lines=numbers,
        named=named,
        broken=tuple(broken),
        notes=tuple(notes),
        decimal_commas=mark != ",",
    )


def _without_empty_tail(cells: tuple[Sequence[str], ...]) -> tuple[Sequence[str], ...]:
    """Return the columns without those past the last that holds anything."""
    last = len(cells)
    while last > 2 and not any(cell.strip() for cell in cells[last - 1]):
        last -= 1
    return cells[:last]


def printable(text: str) -> str:
    r"""Return a text out of a file without signs that a terminal would act on.

    >>> printable("alt\x1b[2J")
    'alt [2J'
    """
    return text if text.isprintable() else "".join(sign if sign.isprintable() else " " for sign in text)


def looks_like_number(cell: str) -> bool:
    """Return whether a cell is a number, maybe with its unit, a clock time or a date."""
    return bool(_NUMBER_LIKE.fullmatch(cell.strip()))


def _split(line: str, mark: str) -> list[str]:
    if '"' in line and len(line) < csv.field_size_limit():
        return next(csv.reader([line.strip()], delimiter=mark, skipinitialspace=True))
    return line.split() if mark == " " else line.split(mark)


def _share(line: str, mark: str) -> tuple[int, float]:
    """Return a line's count of cells, and the share of them that are numbers; 0 for no row of numbers."""
    if _COMMENT.match(line):
        return 0, 0.0
    cells = _split(line, mark)
    filled = [cell for cell in cells if cell.strip()]
    numbers = sum(looks_like_number(cell) for cell in filled)
    return (len(cells), numbers / len(filled)) if numbers >= 2 and 2 * numbers >= len(filled) else (0, 0.0)


def _layout(lines: Sequence[str], file: str) -> tuple[str, int]:
    """Return what parts the cells, and how many a row has, from lines at the start, middle and end."""
    middle = len(lines) // 2
    near = {*range(200), *range(middle - 100, middle + 100), *range(len(lines) - 100, len(lines))}
    sample = [lines[i] for i in sorted(near) if 0 <= i < len(lines) and lines[i].strip()]
    best, found = 0.0, ("", 0)
    for mark in _MARKS:
        shares = [_share(line, mark) for line in sample]
        widths = Counter(width for width, _ in shares if width)
        if widths:
            width = max(widths, key=lambda one: (widths[one], one))
            score = sum(share for one, share in shares if one == width)
            if score > best:
                best, found = score, (mark, width)
    if not found[1]:
        raise _no_table(file)
    return found


def _no_table(file: str) -> UserMistakes:
    remedy = "Give the recorder's rows as text, a column for each quantity"
    return UserMistakes.one(file, "there is no table of numbers in it", remedy)


def _first_row(lines: Sequence[str], mark: str, width: int, file: str) -> int:
    """Return the index of the first row that others follow."""
    for index, line in enumerate(lines):
        if _share(line, mark)[0] == width:
            following = [one for one in lines[index + 1 : index + 12] if one.strip()][:4]
            alike = sum(_share(one, mark)[0] == width for one in following)
            if 2 * alike >= len(following):
                return index
    raise _no_table(file)


def _header(
    above: Sequence[str], mark: str, width: int
) -> tuple[tuple[str, ...], tuple[str, ...], int | None]:
    """Return labels, units of a row of their own, and the header's count of cells where it is another."""
    filled = [line for line in above if line.strip(' \t,;"#')]
    while filled and _holds_numbers_alone(filled[-1], mark):
        filled.pop()  # a broken row right above the first whole one
    none = ("",) * width
    if not filled:
        return none, none, None
    last = _cells_of_header(filled[-1], mark, width)
    wordy = not any(looks_like_number(cell) for cell in last if not cell.isalpha())
    if len(last) != width or not wordy:
        miscounted = wordy and len(last) > 1 and mark != " " and not _COMMENT.match(filled[-1])
        return none, none, len(last) if miscounted else None
    if len(filled) > 1 and all(_is_unit(cell) for cell in last):
        names = _cells_of_header(filled[-2], mark, width)
        if len(names) == width and not any(looks_like_number(cell) for cell in names):
            return tuple(names), tuple(cell.strip("()[]{}<> ") for cell in last), None
    return tuple(last), none, None


def _holds_numbers_alone(line: str, mark: str) -> bool:
    return not _COMMENT.match(line) and all(
        looks_like_number(cell) for cell in _split(line, mark) if cell.strip()
    )


def _is_unit(cell: str) -> bool:
    return bool(re.fullmatch(r"[(\[{<]?[A-Za-zµ°%'\-]{0,5}(?:[/ ^*]*[A-Za-z\d²-]{0,5})?[)\]}>]?", cell))


def _cells_of_header(line: str, mark: str, width: int) -> list[str]:
    """Return the header's cells; where blanks part them a label may hold blanks of its own."""
    line = _COMMENT.sub("", line)
    if mark != " ":
        cells = [cell.strip() for cell in _split(line, mark)]
        while len(cells) > width and not cells[-1]:
            cells.pop()
        return cells
    joined = re.sub(r"\s+(?=[(\[{<])", "\x1f", line.strip())
    ways = (re.split(r"\s{2,}|\t", line.strip()), joined.split(), line.split())
    cells = next((way for way in ways if len(way) == width), ways[-1])
    return [cell.replace("\x1f", " ") for cell in cells]


def _rows(
    lines: Sequence[str], first: int, mark: str, width: int, *, header: str
) -> tuple[list[int], list[list[str]], list[int]]:
    """Return the rows with their line numbers, and the numbers of the broken lines."""
    body = lines[first:]
    cut = [_split(line, mark) for line in body] if any('"' in line for line in body[:200]) else None
    if cut is None:
        cut = [line.split() for line in body] if mark == " " else [line.split(mark) for line in body]
    dirty = bool(_GARBAGE.search("\n".join(body)))
    numbers: list[int] = []
    rows: list[list[str]] = []
    broken: list[int] = []
    for index, cells in enumerate(cut):
        line = body[index]
        if len(cells) == width and not (line[:1] in "#/%!; \t" and _COMMENT.match(line)):
            if dirty and _GARBAGE.search(line):
                broken.append(first + index + 1)
            elif not line.strip(' \t,;"') or line == header:
                continue
            else:
                numbers.append(first + index + 1)
                rows.append(cells)
        elif len(cells) > width and not any(cell.strip() for cell in cells[width:]):
            numbers.append(first + index + 1)
            rows.append(cells[:width])
        elif line.strip(' \t,;"') and not _COMMENT.match(line):
            broken.append(first + index + 1)
    return numbers, rows, broken


def _check_broken(
    broken: Sequence[int], rows: int, file: str, lines: Sequence[str], width: int, mark: str
) -> None:
    if len(broken) <= BROKEN_SHARE * (rows + len(broken)):
        return
    remedy = "Give each column one cell, with a point as decimal mark"
    told = [
        Mistake(
            f"{file}, line {line}",
            f"the row has {len(_split(lines[line - 1], mark))} cells, the others {width}",
            remedy,
        )
        for line in broken[:5]
    ]
    if len(broken) > len(told):
        problem = f"{len(broken)} of {rows + len(broken)} lines are broken, more than a fiftieth"
        told.append(Mistake(file, problem, "Get the file from the recorder once more"))
    raise UserMistakes(told)
