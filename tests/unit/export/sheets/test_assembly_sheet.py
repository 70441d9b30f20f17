import itertools

import numpy as np
import pypdfium2
import pytest
from paper import words_on
from sheet_checks import blemishes
from turned_tips import built, random_tips

from optitip.export.parts.turned import turned_parts
from optitip.export.sheets.assembly_items import cautions_of, items_of, steps_of
from optitip.export.sheets.assembly_sheet import assembly_sheets
from optitip.export.sheets.sheet import Paper
from optitip.export.sheets.sheet_facts import SheetFacts
from optitip.export.sheets.sheet_files import pdf_bytes
from optitip.units import System

FACTS = SheetFacts(study="A study", design="k3f9", revision="12ab / k3f9", material="")
APART = {"tip.base.separate": True}


def told(changes, system=System.METRIC):
    """Return the items' names and counts, and the steps in one text."""
    tip = built(changes)
    items = items_of(tip, parts=turned_parts(tip))
    steps = steps_of(tip, items=items, system=system)
    return {one.name: one.count for one in items}, " ".join(steps), tip


def test_the_slabs_mass_is_its_volume_times_its_density():
    tip = built({})
    slab = next(one for one in items_of(tip, parts=turned_parts(tip)) if one.key == "slab")
    cells = tip.parts.lined
    assert slab.mass == pytest.approx(tip.sample.density * tip.cell_volume[cells].sum(), rel=5e-3)


def test_the_parts_masses_add_up_to_what_the_design_weighs():
    # without laps the parts are the model's own; corners rounded by the tool leave some 0.1 %
    tip = built({"tip.plug.insert": "20 mm", "tip.plug.material": "304"})
    metal = {"insert", "shell", "base"}
    drawn = sum(one.mass for one in items_of(tip, parts=turned_parts(tip)) if one.key in metal)
    density = np.array([one.density for one in tip.materials])[tip.cell_material]
    metal_cells = np.ones(len(density), dtype=bool)
    metal_cells[tip.parts.lined] = False
    model = float((density * tip.cell_volume)[metal_cells].sum())
    assert drawn == pytest.approx(model, rel=5e-3)


def test_screws_are_counted_and_put_in_after_the_base():
    fixing = {
        "tip.base.fixing.screw": "M3",
        "tip.base.fixing.screws": 6,
        "tip.base.fixing.engagement": "4 mm",
    }
    items, steps, _ = told(APART | {"tip.base.thickness": "5 mm"} | fixing)
    assert items["screw M3"] == 6
    assert "put 6 screws" in steps
    assert "torque ____" in steps


def test_a_tie_rod_comes_with_its_nut_and_its_tension():
    fixing = {"tip.base.fixing.rod": "M4", "tip.base.fixing.preload": "200 N"}
    items, steps, _ = told(APART | fixing)
    assert items["tie rod M4"] == 1
    assert items["nut M4 with washer"] == 1
    assert "to a tension of 200 N" in steps
    _, in_pounds, _ = told(APART | fixing, system=System.US)
    # 200 / 4.4482216 = 44.96
    assert "to a tension of 44.96 lbf" in in_pounds


def test_wires_probe_and_backing_have_their_steps():
    more = {
        "sample.wires": "2 mm",
        "sample.probe": "1.5 mm",
        "sample.backing.material": "PTFE",
        "sample.backing.thickness": "1 mm",
        "sample.joint.build": "paste",
    }
    items, steps, _ = told(APART | more)
    assert {"wires, bundle ⌀2", "probe ⌀1.5", "backing"} <= items.keys()
    for words in ("Lead the wires", "Put the probe", "Put the backing", "thin even coat of paste"):
        assert words in steps
    assert steps.index("Put the slab") < steps.index("Put the backing") < steps.index("Put the probe")


def test_air_behind_the_slab_is_no_item():
    items, _, _ = told({"sample.backing.material": "still air", "sample.backing.thickness": "1 mm"})
    assert "backing" not in items


@pytest.mark.parametrize(("air", "caution"), [("sealed", "holds pressure"), ("vented", "blocked vent")])
def test_cautions_go_with_the_pocket_and_the_sample(air, caution):
    tip = built({"sample.pocket.air": air})
    words = " ".join(cautions_of(tip))
    assert caution in words
    assert "isn't safe to eat" in words
    assert "CHECK BEFORE METAL IS CUT" in words
    assert "isn't safe to eat" not in " ".join(
        cautions_of(built({"sample.material": "PMMA", "sample.slab.share": 0.1}))
    )


@pytest.mark.parametrize("paper", Paper)
def test_every_item_has_a_balloon_and_a_line(paper):
    more = {"sample.wires": "2 mm", "sample.probe": "1.5 mm", "tip.plug.insert": "20 mm"}
    tip = built(
        APART | more | {"tip.plug.material": "304", "tip.base.fixing.rod": "M4"} | {"sample.probe": "1 mm"}
    )
    parts = turned_parts(tip)
    items = items_of(tip, parts=parts)
    first, *_ = assembly_sheets(tip, parts=parts, facts=FACTS, paper=paper)
    for number in range(1, len(items) + 1):
        # one in the balloon, one in the list; steps and cautions are numbered too
        assert [one.words for one in first.texts].count(f"{number}") >= 2
    page = pypdfium2.PdfDocument(pdf_bytes([first]))[0]
    for one in items:
        assert one.name in words_on(page)


def test_steps_that_have_no_room_go_on_a_sheet_of_their_own():
    # the tip is drawn small on a page, however thick; letters of long steps push it out
    tips = list(itertools.islice(random_tips(5), 4))
    for tip in tips:
        for sheet in assembly_sheets(tip, parts=turned_parts(tip), facts=FACTS, paper=Paper.LETTER):
            assert blemishes(sheet) == []
