import numpy as np
import pypdfium2
import pytest
from paper import lines_on, strokes_on, words_on
from sheet_checks import blemishes

from optitip.export.parts.arcs import Segment
from optitip.export.parts.profile import outline_segments
from optitip.export.sheets.part_features import radius_on
from optitip.export.sheets.sheet import Paper
from optitip.export.sheets.sheet_facts import SheetFacts
from optitip.export.sheets.sheet_files import pdf_bytes
from optitip.export.sheets.template_sheet import template_sheets
from optitip.geometry.outline import family_outline
from optitip.inputs.study_tables import OutlineFamily

FACTS = SheetFacts(study="A study", design="k3f9", revision="12ab / k3f9", material="6061-T6")
SIZES = {
    "short": (0.03, 0.09, 0.03),
    "as long as A4": (0.06, 0.3, 0.2),
    "longer than any paper": (0.1, 0.6, 0.45),
    "higher than the paper": (0.3, 0.9, 0.4),
}


def outer_of(diameter, length, turned):
    outline = family_outline(
        OutlineFamily.TANGENT_OGIVE, diameter=diameter, length=length, turned_length=turned, tip_radius=0.004
    )
    points = np.column_stack([outline.axial, outline.radius])
    sphere = int(np.sum(outline.arc_length <= outline.sphere_arc * (1 + 1e-12)))
    return outline, outline_segments(points, direction=outline.slope, nose_points=sphere).segments


@pytest.mark.parametrize("paper", Paper)
@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES)
def test_both_bars_are_100_mm_on_every_page(size, paper):
    _, outer = outer_of(*size)
    sheets = template_sheets(outer, facts=FACTS, paper=paper)
    for page in pypdfium2.PdfDocument(pdf_bytes(sheets)):
        lengths = [(abs(b[0] - a[0]), abs(b[1] - a[1])) for a, b in lines_on(page)]
        assert sum(np.allclose(one, (100.0, 0.0), atol=2e-3) for one in lengths) == 1
        assert sum(np.allclose(one, (0.0, 100.0), atol=2e-3) for one in lengths) == 1
        assert words_on(page).count("100 mm when printed at full size") == 1


def crosses_on(page):
    """Return the x [mm] of the crosses, which are 6 mm wide."""
    level = [(a, b) for a, b in lines_on(page) if np.allclose(b - a, (6.0, 0.0), atol=2e-3)]
    return sorted({round((a[0] + b[0]) / 2.0, 2) for a, b in level})


@pytest.mark.parametrize("paper", Paper)
@pytest.mark.parametrize("size", list(SIZES.values())[:3], ids=list(SIZES)[:3])
def test_the_shape_on_paper_has_the_tips_diameters(size, paper):
    outline, outer = outer_of(*size)
    document = pypdfium2.PdfDocument(pdf_bytes(template_sheets(outer, facts=FACTS, paper=paper)))
    seen, nose, cross = 0.0, None, None
    for page in [one for one in document if "shape" in words_on(one)]:
        curves = [one for one in strokes_on(page, steps=40) if len(one) > 30 and np.ptp(one[:, 0]) > 25.0]
        # from above: the shape's two halves, then the gauge
        upper, lower = sorted(curves, key=lambda one: -one[:, 1].mean())[:2]
        left, right = upper[:, 0].min(), upper[:, 0].max()
        # the next sheet's cross lies on this one's
        nose = left if nose is None else nose + (crosses_on(page)[0] - cross)
        cross = crosses_on(page)[-1] if crosses_on(page) else None
        x = np.linspace(left + 1.0, right - 1.0, 9)
        pair = [np.interp(x, *one[np.argsort(one[:, 0])].T) for one in (upper, lower)]
        wanted = 2e3 * np.interp(1e-3 * (x - nose), outline.axial, outline.radius)
        assert pair[0] - pair[1] == pytest.approx(wanted, abs=0.03)
        seen = max(seen, right - nose)
    assert seen == pytest.approx(1e3 * outline.turned_length, abs=0.01)


@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES)
def test_no_text_lies_on_another_or_leaves_the_frame(size):
    _, outer = outer_of(*size)
    for paper in Paper:
        for sheet in template_sheets(outer, facts=FACTS, paper=paper):
            assert blemishes(sheet) == []


def test_a_tip_shorter_than_the_paper_is_one_sheet_with_shape_and_gauge():
    outer = [Segment(start=(0.0, 0.0), end=(0.1, 0.03))]
    (sheet,) = template_sheets(outer, facts=FACTS)
    assert "shape and gauge" in [one.words for one in sheet.texts]
    assert radius_on(outer, 0.05) == pytest.approx(0.015)
