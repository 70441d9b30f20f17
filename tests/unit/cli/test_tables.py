"""Tables on a terminal: each figure stands whole, however wide the table is."""

import io
import re

import numpy as np
import pytest
from rich.console import Console

from optitip.cli.tables import show_table, table


def _shown(made, width):
    page = io.StringIO()
    show_table(Console(file=page, width=width, highlight=False), made)
    return page.getvalue()


def _random_table(seed):
    """Return a table as a front has it, and its words: names that don't wrap, figures with brackets."""
    drawn = np.random.default_rng(seed)
    made = table("A table")
    made.add_column("design", no_wrap=True)
    count, rows = int(drawn.integers(2, 14)), int(drawn.integers(1, 6))
    for place in range(count):
        made.add_column(f"column {place}\n\\[degC], maximise", justify="right")
    words = []
    for row in range(rows):
        cells = [f"{row}3ed9dd5b3"]
        for _ in range(count):
            low, middle, high = drawn.uniform(-1e4, 1e4, 3).round(int(drawn.integers(0, 5)))
            cells.append(f"{middle} ({low} to {high})")
        made.add_row(*cells)
        words += " ".join(cells).split()
    return made, words


@pytest.mark.parametrize("width", [40, 64, 72, 80, 100, 140])
@pytest.mark.parametrize("seed", range(20))
def test_every_word_of_a_table_stands_whole_within_the_terminal(seed, width):
    made, words = _random_table(seed)
    shown = _shown(made, width)
    assert "…" not in shown
    assert set(words) <= set(shown.split())
    assert max(len(line.rstrip()) for line in shown.splitlines()) <= width


def test_what_finds_no_room_follows_in_a_further_table_with_the_rows_named_again():
    made = table("Ranked", caption="Low from laminar.")
    for header in ("design", *(f"figure{place}" for place in range(12))):
        made.add_column(header)
    made.add_row("587bfe4ab57e", *(f"{place}.12345" for place in range(12)))
    shown = _shown(made, 80)
    assert shown.count("587bfe4ab57e") == 2
    assert re.findall(r"Ranked.*", shown.replace(" \n", "\n"))[1].strip() == "Ranked, further columns"
    assert shown.count("Low from laminar.") == 1


def test_a_table_that_has_room_is_one():
    made = table("Short", ("a", False), ("b", True))
    made.add_row("x", "1")
    assert _shown(made, 80).count("Short") == 1
    assert "further" not in _shown(made, 80)
