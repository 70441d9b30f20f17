import math
import re

import numpy as np
import pypdfium2
import pytest
from matplotlib.transforms import Affine2D
from paper import MM, strokes_on, words_on
from sheet_checks import blemishes

from optitip.export.parts.arcs import Segment
from optitip.export.sheets.sheet import Level, Paper, Sheet, Side, View, broken_line, hatch_lines
from optitip.export.sheets.sheet_files import boxes_note, pdf_bytes, svg_bytes, write_sheets


@pytest.mark.parametrize(
    ("paper", "landscape", "size"),
    [
        # ISO 216 and ANSI/ASME Y14.1 (8.5 by 11 inches)
        (Paper.A4, False, (210.0, 297.0)),
        (Paper.A3, True, (420.0, 297.0)),
        (Paper.LETTER, False, (215.9, 279.4)),
    ],
)
def test_a_page_has_the_size_of_its_paper(paper, landscape, size):
    page = pypdfium2.PdfDocument(pdf_bytes([Sheet(paper=paper, landscape=landscape)]))[0]
    assert np.array(page.get_size()) / MM == pytest.approx(size, abs=0.01)
    svg = svg_bytes(Sheet(paper=paper, landscape=landscape)).decode()
    width = float(re.search(r'width="([\d.]+)pt"', svg)[1])
    assert width / MM == pytest.approx(size[0], abs=0.01)


def test_a_line_of_70_mm_is_70_mm_in_the_file():
    sheet = Sheet(paper=Paper.A4)
    sheet.line((30.0, 40.0), (100.0, 40.0))
    (points,) = strokes_on(pypdfium2.PdfDocument(pdf_bytes([sheet]))[0])
    assert np.ptp(points[:, 0]) == pytest.approx(70.0, abs=1e-3)
    assert points[:, 0].min() == pytest.approx(30.0, abs=1e-3)


def test_an_arc_is_drawn_on_its_circle():
    arc = Segment(start=(0.0, 0.0), end=(0.02, 0.02), bulge=-math.tan(math.pi / 8.0))
    sheet = Sheet(paper=Paper.A4)
    sheet.curve([arc], view=View(scale=2.0, x=50.0, y=60.0))
    flat = (
        np.vstack(sheet.strokes[0].path.transformed(Affine2D().scale(100.0)).to_polygons(closed_only=False))
        / 100.0
    )
    centre = np.array([50.0 + 40.0, 60.0])
    assert np.hypot(*(flat - centre).T) == pytest.approx(40.0, abs=2e-3)


def test_hatching_stays_inside_and_skips_a_hole():
    square = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]])
    length = sum(math.dist(*line) for line in hatch_lines(square, spacing=0.5))
    assert length * 0.5 == pytest.approx(100.0, rel=0.01)
    notched = np.array(
        [[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [6.0, 10.0], [6.0, 4.0], [4.0, 4.0], [4.0, 10.0], [0, 10]]
    )
    lines = hatch_lines(notched, spacing=0.5)
    assert sum(math.dist(*line) for line in lines) * 0.5 == pytest.approx(88.0, rel=0.02)
    middles = np.array([np.mean(line, axis=0) for line in lines])
    assert not np.any((np.abs(middles[:, 0] - 5.0) < 0.9) & (middles[:, 1] > 4.1))


def test_a_curved_outline_hatches_its_own_area():
    quarter = [
        Segment(start=(0.0, 0.0), end=(0.0, 0.01)),
        Segment(start=(0.0, 0.01), end=(0.01, 0.0), bulge=-math.tan(math.pi / 8.0)),
        Segment(start=(0.01, 0.0), end=(0.0, 0.0)),
    ]
    outline = broken_line(quarter, view=View(scale=5.0, x=0.0, y=0.0))
    length = sum(math.dist(*line) for line in hatch_lines(outline, spacing=0.2))
    assert length * 0.2 == pytest.approx(math.pi / 4.0 * 50.0**2, rel=2e-3)


def test_texts_stay_texts_and_a_dollar_begins_no_formula():
    sheet = Sheet(paper=Paper.A4)
    words = "cost $5_a$ <b> & \\alpha ⌀ 60 ±0.05 100 % \n x"
    sheet.text(words, (40.0, 100.0))
    expected = words.replace("\n", " ")
    assert words_on(pypdfium2.PdfDocument(pdf_bytes([sheet]))[0]) == " ".join(expected.split())
    assert "cost $5_a$ &lt;b&gt; &amp; \\alpha ⌀ 60 ±0.05 100 %" in svg_bytes(sheet).decode()


@pytest.mark.parametrize("turn", [0.0, 30.0, 90.0, -90.0])
@pytest.mark.parametrize("side", Side)
@pytest.mark.parametrize("level", Level)
def test_a_texts_box_is_where_its_ink_is(turn, side, level):
    sheet = Sheet(paper=Paper.A4)
    sheet.text("Hxg 42", (100.0, 150.0), height=5.0, turn=turn, side=side, level=level)
    page = pypdfium2.PdfDocument(pdf_bytes([sheet]))[0]
    image = np.asarray(page.render(scale=4.0).to_pil().convert("L"))
    rows, columns = np.nonzero(image < 128)
    per = 4.0 * MM
    ink = (
        np.array([columns.min(), columns.max(), image.shape[0] - rows.max(), image.shape[0] - rows.min()])
        / per
    )
    (left, foot), (right, top) = sheet.texts[0].corners.min(axis=0), sheet.texts[0].corners.max(axis=0)
    assert left - 0.15 < ink[0] < ink[1] < right + 0.15
    assert foot - 0.15 < ink[2] < ink[3] < top + 0.15
    if turn != 30.0:
        # beside the ink there is what parts letters
        assert ink == pytest.approx([left, right, foot, top], abs=1.0)


def test_the_same_sheet_is_the_same_bytes(tmp_path):
    def made():
        sheet = Sheet(paper=Paper.A4)
        sheet.text("⌀ 60", (40.0, 100.0))
        sheet.clip = (20.0, 20.0, 90.0, 90.0)
        sheet.line((30.0, 40.0), (100.0, 40.0))
        return sheet

    assert pdf_bytes([made()]) == pdf_bytes([made()])
    assert svg_bytes(made()) == svg_bytes(made())
    files = write_sheets([made(), made()], folder=tmp_path, name="shell")
    assert [path.name for path in files] == ["shell.pdf", "shell-1.svg", "shell-2.svg"]
    assert len(pypdfium2.PdfDocument(files[0])) == 2
    for path in files:
        assert b"Date" not in path.read_bytes()
        assert b"date" not in path.read_bytes()


def test_the_checks_see_what_is_wrong():
    sheet = Sheet(paper=Paper.A4)
    sheet.frame_in()
    sheet.text("one text", (50.0, 100.0))
    sheet.text("another", (60.0, 101.0), turn=90.0)
    sheet.text("far out", (195.0, 50.0))
    sheet.text("struck", (50.0, 200.0))
    sheet.line((40.0, 201.0), (90.0, 201.0), width=0.5)
    sheet.line((40.0, 100.5), (90.0, 100.5), width=0.25)
    found = {(one.problem, one.words) for one in blemishes(sheet)}
    assert found == {
        ("on each other", ("one text", "another")),
        ("out of the frame", ("far out",)),
        ("under a thick line", ("far out",)),
        ("under a thick line", ("struck",)),
    }


def test_texts_that_lie_aslant_beside_each_other_dont_overlap():
    sheet = Sheet(paper=Paper.A4)
    for number in range(5):
        sheet.text("leaning 45", (50.0 + 6.0 * number, 100.0), turn=45.0)
    assert blemishes(sheet) == []


def test_letters_that_the_font_lacks_are_told_once():
    assert list(boxes_note("Nu\u00df \u2300 5 \u00b5m, line\nbreak")) == []
    [note] = boxes_note("\u96ea and \u96ea \U0001f680")
    assert "lacks \u96ea \U0001f680:" in note
