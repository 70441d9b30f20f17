import itertools

import numpy as np
import pytest
from sheet_checks import blemishes

from optitip.export.sheets.sheet import Paper, Sheet
from optitip.export.sheets.sheet_blocks import (
    Callout,
    Field,
    bar_length,
    draw_callouts,
    draw_notes,
    largest_scale,
    notes_height,
    spread,
    title_block,
)


def test_spread_places_keep_their_order_their_gap_and_off_what_is_blocked():
    draw = np.random.default_rng(3)
    for _ in range(200):
        wanted = np.sort(draw.uniform(20.0, 180.0, draw.integers(1, 16)))
        blocked = draw.uniform(20.0, 180.0, draw.integers(0, 10))
        places = spread(wanted.tolist(), gap=4.0, low=10.0, high=190.0, blocked=blocked.tolist())
        assert all(b - a >= 4.0 - 1e-9 for a, b in itertools.pairwise(places))
        assert min(places) >= 10.0
        assert max(places) <= 190.0
        assert all(np.abs(np.array(places) - one).min() > 0.62 * 4.0 for one in blocked)


def test_spread_is_the_best_of_all_rows_of_places():
    # by trying every pair on the same row of places
    wanted, gap, row = [3.0, 4.5], 4.0, np.arange(0.0, 12.01, 0.25)
    best = min(
        ((a - wanted[0]) ** 2 + (b - wanted[1]) ** 2)
        for a, b in itertools.product(row, row)
        if b - a >= gap - 1e-9
    )
    places = spread(wanted, gap=gap, low=0.0, high=12.0)
    assert sum((a - b) ** 2 for a, b in zip(places, wanted, strict=True)) == pytest.approx(best)


def test_more_labels_than_have_room_are_still_in_order_and_inside():
    places = spread([50.0] * 30, gap=4.0, low=0.0, high=60.0)
    assert places == sorted(places)
    assert 0.0 <= places[0] < places[-1] <= 60.0


def test_labels_of_points_that_lie_on_each_other_dont_overlap():
    sheet = Sheet(paper=Paper.A4)
    above = [Callout(words=f"⌀{n}0.25 [1.234]", point=(100.0 + 0.1 * n, 150.0)) for n in range(12)]
    draw_callouts(sheet, above, level=160.0, low=25.0, high=195.0)
    below = [Callout(words=f"R{n}", point=(100.0, 150.0)) for n in range(12)]
    draw_callouts(sheet, below, level=140.0, low=25.0, high=195.0, blocked=[98.0, 101.0])
    assert blemishes(sheet) == []
    assert len(sheet.texts) == 24


def test_long_words_in_a_title_block_stay_in_their_fields():
    sheet = Sheet(paper=Paper.A4)
    sheet.frame_in()
    long = "A study whose author found no end of its title and of $peculiar_{things} in it " * 3
    rows = [[Field(name="study", words=long, share=3.0), Field(name="part", words=long, share=1.0)]] * 4
    title_block(sheet, rows)
    assert blemishes(sheet) == []
    right_of_first = 20.0 + 180.0 * 0.75
    for one in sheet.texts:
        left, right = one.corners[:, 0].min(), one.corners[:, 0].max()
        assert right <= right_of_first or left >= right_of_first


def test_notes_are_as_high_as_was_reckoned():
    sheet = Sheet(paper=Paper.A4)
    notes = ["one line", "many words " * 30, "an_unbroken_word" * 12]
    foot = draw_notes(sheet, (25.0, 200.0), notes=notes, width=80.0)
    assert 200.0 - foot == pytest.approx(notes_height(notes, width=80.0), abs=3.0)
    assert max(one.corners[:, 0].max() for one in sheet.texts) <= 105.0
    assert blemishes(sheet) == []


@pytest.mark.parametrize(
    ("width", "height", "expected"),
    # ISO 5455's series: 1:2, 1:1, 2:1, 5:1 (the room is 170 by 100 mm)
    [(0.3, 0.08, 0.5), (0.17, 0.1, 1.0), (0.08, 0.02, 2.0), (0.03, 0.018, 5.0), (1.0, 0.1, 0.1)],
)
def test_the_scale_is_the_largest_of_the_series_that_fits(width, height, expected):
    assert largest_scale(width=width, height=height, room=(170.0, 100.0)) == expected


def test_a_check_bar_is_between_20_and_100_mm_on_paper():
    for scale in (0.02, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 20.0):
        assert 20.0 <= 1e3 * scale * bar_length(scale, room=150.0) <= 100.0 + 1e-9
