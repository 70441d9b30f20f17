import itertools
import math
import re

import numpy as np
import pypdfium2
import pytest
from paper import lines_on, strokes_on, words_on
from sheet_checks import blemishes
from turned_tips import random_tips

from optitip.export.parts.arcs import Segment
from optitip.export.parts.dimensions import DimensionKind, dimensions_of
from optitip.export.parts.part import CrossHoles, ThreadCut, TurnedPart
from optitip.export.parts.turned import turned_parts
from optitip.export.sheets.part_sheet import part_sheets
from optitip.export.sheets.sheet import Paper
from optitip.export.sheets.sheet_facts import SheetFacts
from optitip.export.sheets.sheet_files import pdf_bytes
from optitip.properties.threads import thread_of
from optitip.units import System

FACTS = SheetFacts(
    study="A study",
    design="k3f9",
    revision="12ab / k3f9",
    material="6061-T6",
    mass="100 g",
    finish="Ra 1.6 µm",
    stock="65 mm bar, 130 mm long",
    drawn_by="R. Otter",
    cautions=("CHECK BEFORE METAL IS CUT",),
)


def lines(*points):
    return tuple(Segment(start=a, end=b) for a, b in itertools.pairwise(points))


# a bush: 60 across and 80 long, then a spigot of M50x1.5, 20 long; bored 30 to a depth of 70, 20 through
BUSH = TurnedPart(
    name="bush",
    material="6061-T6",
    outer=lines((0.0, 0.03), (0.08, 0.03), (0.08, 0.025), (0.1, 0.025)),
    inner=lines((0.0, 0.01), (0.03, 0.01), (0.03, 0.015), (0.1, 0.015)),
    threads=(ThreadCut(thread=thread_of("M50x1.5"), external=True, start=0.084, end=0.1),),
    holes=(CrossHoles(count=4, diameter=0.0045, axial=0.05),),
    nose_radius=4e-4,
)


def pages_of(part, **options):
    return pypdfium2.PdfDocument(pdf_bytes(part_sheets(part, facts=FACTS, **options)))


def scale_on(page):
    up, down = re.search(r"scale (?:sheet )?.*?(\d+):(\d+)", words_on(page)).groups()
    return float(up) / float(down)


def test_sixty_millimetres_say_sixty():
    texts = {one.words for one in part_sheets(BUSH, facts=FACTS)[0].texts}
    # lengths from the aft face, worked out by hand: 100 - 0, 100 - 80, 100 - 30, 100 - 84, 100 - 50
    assert {"100", "20", "70", "16", "50"} <= texts
    assert {"⌀60", "⌀30", "⌀20", "M50x1.5 - 6g", "4× ⌀4.5"} <= texts


def test_in_us_customary_use_inches_stand_behind():
    texts = {one.words for one in part_sheets(BUSH, facts=FACTS, system=System.US)[0].texts}
    # 60 / 25.4 = 2.3622, 100 / 25.4 = 3.9370
    assert {"⌀60 [2.362]", "100 [3.937]", "mm [inch]"} <= texts


@pytest.mark.parametrize("paper", Paper)
def test_a_length_on_paper_is_what_its_words_say_times_the_scale(paper):
    page = pages_of(BUSH, paper=paper)[0]
    scale = scale_on(page)
    lengths = [abs(b[0] - a[0]) for a, b in lines_on(page) if abs(b[1] - a[1]) < 1e-3]
    for length in (100.0, 20.0, 70.0, 16.0, 50.0):
        assert min(abs(one - scale * length) for one in lengths) < 5e-3, length


@pytest.mark.parametrize("paper", Paper)
def test_the_section_on_paper_has_the_parts_diameters(paper):
    page = pages_of(BUSH, paper=paper)[0]
    scale = scale_on(page)
    # the section is the longest broken line on each side of the axis, the frame aside
    outlines = [one for one in strokes_on(page) if len(one) == 9 and np.ptp(one[:, 0]) < 130.0 * scale]
    assert len(outlines) == 2
    both = np.vstack(outlines)
    assert np.ptp(both[:, 0]) == pytest.approx(100.0 * scale, abs=0.01)
    assert np.ptp(both[:, 1]) == pytest.approx(60.0 * scale, abs=0.01)


def test_the_check_bar_is_as_long_as_it_says():
    for paper in Paper:
        page = pages_of(BUSH, paper=paper)[0]
        words = words_on(page)
        (length,) = {float(x) for x in re.findall(r"(\d+) mm at \d+:\d+", words)}
        wanted = length * scale_on(page)
        assert any(abs(b[0] - a[0] - wanted) < 5e-3 for a, b in lines_on(page))


def test_everything_a_title_block_owes_is_there():
    words = words_on(pages_of(BUSH)[0])
    for one in ("A study", "bush", "6061-T6", "65 mm bar, 130 mm long", "100 g", "Ra 1.6", "ISO 2768-m"):
        assert one in words
    for one in ("12ab / k3f9", "R. Otter", "CHECK BEFORE METAL IS CUT", "1 of", "date", "coating"):
        assert one in words


def test_a_threads_root_is_a_thin_line_at_its_own_diameter():
    page = pages_of(BUSH)[0]
    scale = scale_on(page)
    # ISO 68-1: root of M50x1.5 is 50 - 1.226869 x 1.5 = 48.160 mm across (from memory)
    level = [(a, b) for a, b in lines_on(page) if np.allclose(b - a, (16.0 * scale, 0.0), atol=5e-3)]
    heights = sorted(a[1] for a, _ in level)
    apart = [high - low for low, high in itertools.combinations(heights, 2)]
    assert min(abs(one - 48.160 * scale) for one in apart) < 0.01


def test_arcs_are_listed_with_the_radius_that_leads_to_each_end():
    quarter = -math.tan(math.pi / 8.0)
    ball = TurnedPart(
        name="ball",
        material="304",
        outer=(
            Segment(start=(0.0, 0.0), end=(0.02, 0.02), bulge=quarter),
            *lines((0.02, 0.02), (0.05, 0.02)),
        ),
        inner=lines((0.0, 0.0), (0.05, 0.0)),
        nose_radius=4e-4,
    )
    sheets = part_sheets(ball, facts=FACTS)
    texts = [one.words for sheet in sheets for one in sheet.texts]
    assert "SR20" in texts
    row = texts.index("begins")
    # number, Z from A, diameter, radius of the arc that leads there
    assert texts[row + 1 : row + 9] == ["1", "30", "40", "20", "2", "0", "40", "line"]


def beside_a_chamfer(part, point):
    """Return whether a point is an end of a slope of 45 degrees, which the sheet gives as a chamfer."""
    for one in (*part.outer, *part.inner):
        dz, dr = (b - a for a, b in zip(one.start, one.end, strict=True))
        slope = one.bulge == 0.0 and abs(abs(dz) - abs(dr)) < 1e-3 * abs(dz) < 3e-6
        if slope and min(math.dist(point, one.start), math.dist(point, one.end)) < part.nose_radius + 1e-6:
            return True
    return False


def test_the_drawing_has_every_length_that_the_dxf_has():
    missing = []
    for tip in itertools.islice(random_tips(11), 6):
        for part in turned_parts(tip):
            texts = {one.words for one in part_sheets(part, facts=FACTS)[0].texts}
            lengths = [one for one in dimensions_of(part) if one.kind is DimensionKind.LENGTH]
            missing += [
                (part.name, one.text(), one.name)
                for one in lengths
                if one.text() not in texts and not beside_a_chamfer(part, one.start)
            ]
    assert missing == []


@pytest.mark.parametrize("system", System)
@pytest.mark.parametrize("paper", Paper)
def test_a_part_with_more_numbers_than_room_is_still_clean(paper, system):
    steps = [(0.004 * i, 0.01 + 0.0007 * i) for i in range(22)]
    outer = [(0.0, 0.009), *itertools.chain.from_iterable(((z, r), (z + 0.004, r)) for z, r in steps)]
    part = TurnedPart(
        name="a stair of many treads",
        material="6061-T6",
        outer=lines(*outer),
        inner=lines((0.0, 0.002), (0.04, 0.002), (0.04, 0.004), (0.088, 0.004)),
        nose_radius=4e-4,
    )
    for sheet in part_sheets(part, facts=FACTS, paper=paper, system=system):
        assert blemishes(sheet) == []


def test_a_thread_is_shown_larger_with_the_stations_it_lies_between():
    sheets = part_sheets(BUSH, facts=FACTS)
    detail = next(one for one in sheets if any(text.words.startswith("Detail") for text in one.texts))
    texts = [one.words for one in detail.texts]
    (name,) = [one for one in texts if one.startswith("Detail")]
    thread, scale = re.fullmatch(r"Detail: (.*), (\d+):1", name).groups()
    assert thread == "M50x1.5 - 6g"
    assert float(scale) > scale_on(pages_of(BUSH)[0])
    assert {"16 from A", "20 from A"} <= {*texts}
    # the length of full thread is 16 mm
    page = pypdfium2.PdfDocument(pdf_bytes([detail]))[0]
    lengths = [abs(b[0] - a[0]) for a, b in lines_on(page) if abs(b[1] - a[1]) < 1e-3]
    assert min(abs(one - 16.0 * float(scale)) for one in lengths) < 5e-3


def test_a_part_without_threads_has_no_detail():
    plain = TurnedPart(
        name="tube", material="304", nose_radius=4e-4,
        outer=lines((0.0, 0.03), (0.08, 0.03)), inner=lines((0.0, 0.02), (0.08, 0.02)),
    )  # fmt: skip
    assert len(part_sheets(plain, facts=FACTS)) == 1


@pytest.mark.parametrize(("radius", "labelled"), [(4e-4, False), (1.2e-3, True)])
def test_a_corner_has_a_label_where_its_radius_isnt_the_tools(radius, labelled):
    quarter = math.tan(math.pi / 8.0)
    foot, edge = 0.02 + radius, 0.04 + radius
    part = TurnedPart(
        name="step", material="304", nose_radius=4e-4, inner=lines((0.0, 0.0), (0.08, 0.0)),
        outer=(
            *lines((0.0, 0.03), (0.04, 0.03), (0.04, foot)),
            Segment(start=(0.04, foot), end=(edge, 0.02), bulge=quarter), *lines((edge, 0.02), (0.08, 0.02)),
        ),
    )  # fmt: skip
    texts = [one.words for one in part_sheets(part, facts=FACTS)[0].texts]
    assert (f"R{1e3 * radius:g}" in texts) is labelled
    assert {"40", "80", "⌀60", "⌀40"} <= {*texts}
