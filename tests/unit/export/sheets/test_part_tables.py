"""Where the tables of arcs stand on further sheets: side by side, then below each other."""

from sheet_checks import blemishes

from optitip.export.sheets.part_tables import ArcTable, table_sheets
from optitip.export.sheets.sheet import Paper
from optitip.export.sheets.sheet_blocks import Column


def table(rows, *, width):
    columns = (Column(head="No.", width=8.0), Column(head="Z from A", width=width - 8.0))
    return ArcTable(name="Outside, mm", columns=columns, rows=tuple((f"{n}", f"{n}.5") for n in range(rows)))


def stands(sheet, words):
    """Return x and y of the rows' first words that are ``words``."""
    return [(one.x, one.y) for one in sheet.texts if one.words == words]


def test_tables_that_fit_beside_each_other_do():
    (sheet,) = table_sheets([table(5, width=80.0), table(5, width=80.0)], paper=Paper.A4, title="base")
    (first, second) = stands(sheet, "Z from A")
    assert first[1] == second[1]
    assert second[0] > first[0]
    assert blemishes(sheet) == []


def test_tables_too_wide_for_that_stand_below_each_other():
    (sheet,) = table_sheets([table(5, width=110.0), table(5, width=110.0)], paper=Paper.A4, title="base")
    (first, second) = stands(sheet, "Z from A")
    assert first[0] == second[0]
    assert second[1] < first[1]
    assert blemishes(sheet) == []


def test_a_long_table_goes_on_and_no_row_is_lost():
    sheets = table_sheets([table(150, width=110.0), table(40, width=110.0)], paper=Paper.LETTER, title="base")
    rows = [one.words for sheet in sheets for one in sheet.texts if one.words.endswith(".5")]
    assert sorted(rows) == sorted([f"{n}.5" for n in (*range(150), *range(40))])
    assert all(blemishes(sheet) == [] for sheet in sheets)
