"""Tables for a terminal: side by side where it is wide enough, else one line a cell."""

from rich import box
from rich.console import Console
from rich.table import Table
from rich.text import Text

NARROW = 64  # columns; below, a table's cells would be cut


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
    """Print a table; on a narrow terminal each row as lines of header and cell."""
    if out.width >= NARROW:
        out.print(made)
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


def _plain(cell: str) -> str:
    return " ".join(Text.from_markup(cell).plain.split())
