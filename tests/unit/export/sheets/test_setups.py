import itertools
import re

import numpy as np
import pytest
from sheet_checks import blemishes
from turned_tips import STUDIES, built

from optitip.evaluate.as_made_sheet import blank_as_made
from optitip.evaluate.turnable import turnable
from optitip.export.parts.step_off import step_rows
from optitip.export.parts.turned import turned_parts
from optitip.export.sheets.assembly_sheet import assembly_sheets
from optitip.export.sheets.lathe_card import lathe_card
from optitip.export.sheets.part_features import radius_on
from optitip.export.sheets.part_sheet import part_sheets
from optitip.export.sheets.setups import cautions_of_turning, readings_of, setups_of
from optitip.export.sheets.sheet import Paper
from optitip.export.sheets.sheet_facts import facts_of, stock_text
from optitip.export.sheets.template_sheet import template_sheets
from optitip.inputs.as_made import MEASURABLE
from optitip.inputs.study import read_study
from optitip.inputs.turning_tables import StockSeries
from optitip.metrics.stock import stock_of
from optitip.units import System

THREADED = {
    "tip.base.separate": True,
    "tip.base.thickness": "5 mm",
    "tip.base.fixing.thread": "M39x1",
    "tip.base.fixing.engagement": "5 mm",
}


def card_of(changes, name="shell", system=System.METRIC):
    tip = built(changes)
    part = next(one for one in turned_parts(tip) if one.name == name)
    facts = facts_of(
        part, tip=tip, turned=turnable(tip), study="A study", design="k3f9", fingerprint="12ab", system=system
    )
    return tip, part, facts


def steps_of(changes, name="shell"):
    tip, part, facts = card_of(changes, name)
    return setups_of(part, tip=tip, facts=facts, system=System.METRIC)


def test_the_drill_stays_in_the_cavity_and_its_point_short_of_the_face():
    tip, part, _ = card_of(THREADED)
    words = next(one for one in steps_of(THREADED) if "drill" in one)
    drill, depth = (
        float(x) for x in re.search(r"⌀([\d.]+), point no deeper than ([\d.]+) mm", words).groups()
    )
    face = tip.cavity.design.plug_length
    assert 1e-3 * depth < part.end - face
    narrow = min(
        radius_on(part.inner, face + share * (part.end - face)) for share in (0.02, 0.1, 0.5, 0.9, 1.0)
    )
    assert 0.5e-3 * drill < narrow
    # nor into the fillet: the drill's hole ends within the flat of the fore face
    flat = max(one.end[1] for one in part.inner if abs(one.start[0] - face) + abs(one.end[0] - face) < 1e-8)
    assert 0.0 < flat - 0.5e-3 * drill < 1e-3


def test_the_spigots_thread_is_told_from_datum_a():
    """By hand, pitch 1 and 5 mm engaged: groove 2.5, thread 5, plain end 2.5 less 0.5 of play: 2 to 7."""
    [words] = [one for one in steps_of(THREADED) if "M39x1 - 6g" in one]
    assert "full from 2 mm to 7 mm from A" in words


def test_the_bore_comes_before_the_outside_and_the_polish_last():
    steps = steps_of(THREADED)
    order = [
        next(i for i, one in enumerate(steps) if word in one)
        for word in ("Saw", "Bore", "outside by", "Polish")
    ]
    assert order == sorted(order)
    assert order[-1] == len(steps) - 1


@pytest.mark.parametrize(
    ("support", "words"),
    [("none", "nothing behind the wall"), ("core", "core that melts"), ("mandrel", "mandrel")],
)
def test_the_wall_is_held_as_the_study_says(support, words):
    assert any(words in one for one in steps_of(THREADED | {"turning.support": support}))


def test_the_base_is_bored_for_the_spigot_and_finished_on_the_shell():
    steps = " ".join(steps_of(THREADED, "base"))
    assert "M39x1 - 6H" in steps
    assert "finish the outside across the joint" in steps
    assert "M39x1 - 6g" in " ".join(steps_of(THREADED))


def test_every_key_of_the_readings_is_known_to_the_file_of_a_measured_part():
    tip, part, facts = card_of({})
    keys = {one.key.split(",")[0] for one in readings_of(part, tip=tip, facts=facts, system=System.METRIC)}
    assert keys - {""} <= {*MEASURABLE, "mass", "diameter", "wall"}
    assert {"wall", "tip.plug.length", "mass"} <= keys


def test_walls_are_read_where_and_as_thick_as_the_band_is():
    tip, part, facts = card_of({"tip.band.thickness": "1.3 mm", "tip.band.thickness_aft": "1.7 mm"})
    readings = readings_of(part, tip=tip, facts=facts, system=System.METRIC)
    walls = [one for one in readings if one.key.startswith("wall")]
    assert len(walls) >= 2
    for one in walls:
        z = tip.outline.turned_length - 1e-3 * float(re.search(r"z_from_aft ([\d.]+) mm", one.key)[1])
        arc = float(np.interp(z, tip.outline.axial, tip.outline.arc_length))
        # the band's thickness is straight from 1.3 to 1.7 mm along its arc
        first, last = tip.cavity.band_arc
        straight = 1.3 + 0.4 * (arc - first) / (last - first)
        assert float(one.nominal) == pytest.approx(straight, abs=0.006)
        assert one.off == "±0.05"


def test_a_broken_rule_of_the_lathe_stands_on_every_sheet():
    tip, part, facts = card_of({"turning.smallest_bar": "40 mm"})
    assert facts.broken
    _, _, sound = card_of({})
    assert sound.broken == ()
    parts = turned_parts(tip)
    sheets = [
        part_sheets(part, facts=facts)[0],
        lathe_card(part, tip=tip, facts=facts),
        assembly_sheets(tip, parts=parts, facts=facts)[-1],
        *template_sheets(part.outer, facts=facts),
    ]
    for sheet in sheets:
        assert "CAN'T BE TURNED AS DRAWN" in " ".join(one.words for one in sheet.texts), sheet.title
        assert blemishes(sheet) == []


def test_stock_is_told_with_its_grip():
    # 42.6 mm and 2 mm to clean: a 45 mm bar; 28.5 long, 2 to face, 4 to part, 25 in the chuck: 60 mm
    stock = stock_of("base", material="6061-T6", diameter=0.0426, length=0.0285, series=StockSeries.METRIC)
    assert stock_text(stock) == "45 mm bar, 60 mm long, 25 mm gripped"
    assert stock_text(stock, system=System.US) == "45 mm bar, 2.36 inch long, 0.984 inch gripped"


@pytest.mark.parametrize("paper", Paper)
@pytest.mark.parametrize("system", System)
@pytest.mark.parametrize("name", ["shell", "base"])
def test_a_card_is_one_clean_page(name, system, paper):
    tip, part, facts = card_of(THREADED | {"turning.support": "mandrel"}, name, system)
    assert blemishes(lathe_card(part, tip=tip, facts=facts, paper=paper, system=system)) == []


STUD = THREADED | {
    "tip.plug.insert": "25 mm",
    "tip.plug.material": "C110",
    "tip.plug.fixing.thread": "M6",
}


def test_a_shell_with_an_insert_is_still_bored_from_aft_and_its_fore_end_cut_last():
    steps = steps_of(STUD)
    assert "fore end in the jaws" in steps[1]
    order = ["Bore the cavity", "M39x1 - 6g", "face the fore end", "M6 - 6H", "Turn the outside"]
    found = [next(i for i, one in enumerate(steps) if word in one) for word in order]
    assert found == sorted(found)
    # M6 is tapped from 5 mm (ISO 2306, from memory)
    assert "Drill ⌀5 mm" in steps[found[3]]


def test_lengths_of_a_base_count_from_its_fore_face_until_its_datum_is_cut():
    _, part, _ = card_of(THREADED, "base")
    steps = steps_of(THREADED, "base")
    datum = next(i for i, one in enumerate(steps) if "to length: datum A" in one)
    assert not any("from A" in one for one in steps[:datum])
    [cut] = part.threads
    thread = next(one for one in steps if "M39x1 - 6H" in one)
    said = [1e-3 * float(x) for x in re.search(r"full from ([\d.]+) mm to ([\d.]+) mm", thread).groups()]
    assert said == pytest.approx([cut.start - part.start, cut.end - part.start], abs=5e-6)
    deep = 1e-3 * float(re.search(r"recess ([\d.]+) mm deep", thread)[1])
    # the tool's arc of 0.4 mm lies in the recess' corner
    assert radius_on(part.inner, part.start + deep - 5e-4) == pytest.approx(0.5 * cut.thread.minor)
    assert radius_on(part.inner, part.start + deep + 1e-4) < 0.5 * cut.thread.minor - 1e-4


def test_holes_for_screws_and_for_a_rod_are_drilled_and_tapped_on_the_card():
    screwed = {
        "tip.base.separate": True,
        "tip.base.thickness": "6 mm",
        "tip.base.fixing.screw": "M3",
        "tip.base.fixing.screws": 6,
    }
    for name in ("shell", "base"):
        [holes] = [one for one in steps_of(screwed, name) if "dividing head" in one]
        # ISO 2306: M3 from 2.5 mm; ISO 273, medium: 3.4 mm (both from memory)
        assert "6 holes ⌀2.5 mm" in holes
        assert "to ⌀3.4 mm" in holes
        assert "tap the shell's M3" in holes
    base = card_of(screwed, "base")[1]
    [sunk] = [one for one in base.notes if "flush" in one]
    assert f"{1e3 * base.wall_at(base.holes[0].axial):.3g} mm" in sunk
    rod = {
        "tip.base.separate": True,
        "tip.base.solid": True,
        "tip.base.fixing.rod": "M5",
        "sample.pocket.air": "vented",
    }
    steps = " ".join(steps_of(rod))
    assert "Drill ⌀4.2 mm into the cavity's fore face" in steps
    assert "tap M5 - 6H, full 6 mm deep" in steps
    base = " ".join(steps_of(rod, "base"))
    assert "Drill ⌀5.5 through" in base
    assert "vent of the pocket" in base


def test_the_thread_that_holds_the_shell_is_free_when_its_base_goes_on():
    steps = steps_of(THREADED)
    collar = next(i for i, one in enumerate(steps) if "threaded collar" in one)
    across = next(i for i, one in enumerate(steps) if "across the joint" in one)
    assert collar < across
    assert "base on, held by its bore" in steps[across]
    rough = next(one for one in steps if "Turn the outside" in one)
    assert "but for 5 mm ahead of the joint" in rough


def test_a_flat_seat_is_on_the_shells_sheet_and_card():
    changes = {
        "sample.material": "PMMA",
        "sample.seat": "flat",
        "sample.slab.share": 0.08,
        "tip.band.thickness": "2.5 mm",
    }
    tip, part, _ = card_of(changes)
    [note] = [one for one in part.notes if "mill a flat" in one]
    ends = re.findall(r"Z ([\d.]+) mm \(([\d.]+) mm wide, ([\d.]+) mm deep\)", note)
    assert len(ends) == 2
    for z, wide, deep in (map(float, one) for one in ends):
        radius = 1e3 * radius_on(part.inner, part.end - 1e-3 * z)
        # a chord of 0.08 of the round, and its sagitta to 2 %
        assert wide == pytest.approx(2.0 * np.pi * 0.08 * radius, rel=5e-3)
        assert deep == pytest.approx(radius * (1.0 - np.cos(np.pi * 0.08)), rel=0.02)
    assert f"leaves {1e3 * tip.assembly.seat_wall:.3g} mm of wall" in note
    assert any("Mill the flat" in one for one in steps_of(changes))
    assert not any("flat" in one for one in (*card_of({})[1].notes, *steps_of({})))


@pytest.mark.parametrize(
    "changes",
    [THREADED, {key: THREADED[key] for key in list(THREADED)[:2]} | {"tip.base.fixing.screw": "M3"}],
)
def test_a_spigot_made_at_its_longest_ends_ahead_of_a_recess_at_its_shallowest(changes):
    """The general tolerance of +-0.2 mm on each would close the gap of 0.5 mm: each has its own, one way."""
    _, shell, _ = card_of(changes)
    _, base, _ = card_of(changes, "base")
    [spigot] = [one for one in shell.notes if "faces meet first" in one]
    [recess] = [one for one in base.notes if "recess is" in one]
    long, over = re.search(r"is ([\d.]+) mm long, \+(\d)", spigot).groups()
    deep, under = re.search(r"is ([\d.]+) mm deep from the fore face, \+0.2 / -(\d)", recess).groups()
    assert float(long) + float(over) < float(deep) - float(under) - 0.3
    # what the notes say is what is drawn
    [shoulder] = [one.end[0] for one in shell.outer if abs(one.end[0] - one.start[0]) < 1e-9]
    assert 1e-3 * float(long) == pytest.approx(shell.end - shoulder, abs=6e-6)
    assert radius_on(base.inner, base.start + 1e-3 * float(deep) - 5e-4) > shell.outer[-1].end[1] - 1e-9
    if not base.threads:
        assert f"⌀{2e3 * shell.outer[-1].end[1]:.2f}".rstrip("0") in spigot
        assert "g6" in spigot
        assert "H7" in recess


def test_no_hole_is_drilled_wider_than_shops_have_drills():
    for name in ("shell", "base"):
        words = next(one for one in steps_of(THREADED, name) if "drill ⌀" in one or "Drill ⌀" in one)
        assert float(re.search(r"⌀([\d.]+)", words)[1]) <= 25.0


def test_the_card_says_how_far_its_table_is_off_the_profile():
    _, part, _ = card_of(THREADED)
    rows = step_rows(part)
    said = next(one for one in cautions_of_turning(part, system=System.METRIC) if "row to row" in one)
    within = 1e-3 * float(re.search(r"within ([\d.]+) mm", said)[1])
    off = []
    for a, b in itertools.pairwise(rows):
        # between rows apart, off the arcs of 0.4 mm in the corners: as the curves themselves are
        for share in np.linspace(0.02, 0.98, 25) if a.from_aft > b.from_aft else ():
            z = part.end - a.from_aft + share * (a.from_aft - b.from_aft)
            off.append(abs(radius_on(part.outer, z) - 0.5 * (a.outside + share * (b.outside - a.outside))))
    assert np.quantile(off, 0.95) <= within < 0.2e-3
    assert max(one for one in off[: 25 * 5]) == pytest.approx(within, rel=0.1)  # the nose is the worst


def test_a_table_of_straight_sides_claims_no_more_than_its_digits():
    _, part, _ = card_of(THREADED, "base")
    said = " ".join(cautions_of_turning(part, system=System.METRIC))
    assert "within 0.01 mm of the radius" in said


def test_card_and_as_made_sheet_ask_for_the_wall_at_the_same_places():
    study = read_study(STUDIES / "coastal-egg")
    tip, part, facts = card_of(THREADED)
    keys = [one.key for one in readings_of(part, tip=tip, facts=facts, system=System.METRIC)]
    card = [float(found[1]) for key in keys if (found := re.match(r"wall, z_from_aft ([\d.]+) mm", key))]
    sheet = [float(z) for z in re.findall(r'^z = "([\d.]+) mm"', blank_as_made(study), flags=re.M)]
    assert len(card) == len(sheet) == 3
    turned = 1e3 * tip.outline.turned_length
    assert [z + aft for z, aft in zip(sheet, card, strict=True)] == pytest.approx([turned] * 3, abs=0.011)
