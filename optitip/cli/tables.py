"""Tables for a terminal: side by side where it is wide enough, else in pieces, else one line a cell."""

from collections.abc import Iterator, Sequence

from rich import box
from rich.cells import cell_len
from rich.console import Console
from rich.table import Column, Table
from rich.text import Text

NARROW = 64  # columns; below, a row becomes lines of header and cell
_BETWEEN = 3  # from one cell to the next


def table(title: str, *columns: tuple[str, bool], caption: str | None = None) -> Table:
    """Return an empty table under a plain title; each column is its header and whether it stands right."""
    made = Table(
        title=Text(title, style="bold"),
        title_justify="left",
        box=box.SIMPLE_HEAD,
        pad_edge=False,
        caption=caption,
        caption_justify="left",
    )
    for header, right in columns:
        made.add_column(header, justify="right" if right else "left", vertical="top", overflow="fold")
    return made


def show_table(out: Console, made: Table) -> None:
    """Print a table with every figure whole; on a narrow terminal each row as lines of header and cell.

    Columns that find no room side by side follow in further tables, the first column at the head of each.
    """
    if out.width >= NARROW:
        pieces = list(_pieces(made, width=out.width))
        if len(pieces) == 1:
            pieces[0].caption = made.caption
        for piece in pieces:
            out.print(piece)
        if len(pieces) > 1 and made.caption:
            out.print(str(made.caption), style="table.caption", markup=False)
        return
    out.print(str(made.title), style="bold", markup=False)
    headers = [_plain(str(column.header)) for column in made.columns]
    for row in zip(*(column.cells for column in made.columns), strict=True):
        out.print()
        for header, cell in zip(headers, row, strict=True):
            if said := _plain(str(cell)):
                out.print(f"{header} {said}".strip(), markup=False)
    if made.caption:
        out.print()
        out.print(str(made.caption), markup=False)


def _pieces(made: Table, *, width: int) -> Iterator[Table]:
    """Yield a table in as few tables as have room for the longest word of each column."""
    first, *others = made.columns
    columns, title = [first], str(made.title)
    for column in others:
        if len(columns) > 1 and sum(map(_longest_word, [*columns, column])) > _room(len(columns) + 1, width):
            yield _piece(columns, title=title, width=width)
            columns, title = [first], f"{made.title}, further columns"
        columns.append(column)
    yield _piece(columns, title=title, width=width)


def _piece(columns: Sequence[Column], *, title: str, width: int) -> Table:
    """Return a table of some columns; the widest wrap first, none below its longest word."""
    made = table(title)
    widths, least = [_longest_line(column) for column in columns], [_longest_word(one) for one in columns]
    room = _room(len(columns), width)
    wraps = sum(widths) > room >= sum(least)
    while wraps and sum(widths) > room:
        above = [have if have > low else 0 for have, low in zip(widths, least, strict=True)]
        widths[above.index(max(above))] -= 1
    for column, given in zip(columns, widths, strict=True):
        fixed = given if wraps else None
        made.add_column(
            column.header,
            justify=column.justify,
            vertical=column.vertical,
            no_wrap=column.no_wrap,
            width=fixed,
            overflow="fold",
        )
    for row in zip(*(column.cells for column in columns), strict=True):
        made.add_row(*row)
    return made


def _room(count: int, width: int) -> int:
    """Return what so many columns have for their cells: one stands free at each end of a line."""
    return width - _BETWEEN * count + 1


def _longest_word(column: Column) -> int:
    texts = _texts(column)
    parts = [line if column.no_wrap else word for text in texts for line in text for word in line.split()]
    return max((cell_len(part) for part in parts), default=1)


def _longest_line(column: Column) -> int:
    return max((cell_len(line) for text in _texts(column) for line in text), default=1)


def _texts(column: Column) -> list[list[str]]:
    """Return the lines of the header and of each cell, as shown."""
    return [Text.from_markup(str(cell)).plain.splitlines() for cell in (column.header, *column.cells)]


def _plain(cell: str) -> str:
    return " ".join(Text.from_markup(cell).plain.split())
