"""Every kind of sheet of random designs: no text on another, out of the frame or under a thick line."""

import itertools

import numpy as np
import pytest
from sheet_checks import blemishes
from turned_tips import built, random_changes, random_tips

from optitip.errors import DesignFailure, UserMistakes
from optitip.evaluate.turnable import turnable
from optitip.export.parts.profile import revolved_volume
from optitip.export.parts.section import section_of
from optitip.export.parts.step_off import MOST_ROWS, frusta_volume, step_rows
from optitip.export.parts.turned import turned_parts
from optitip.export.sheets.assembly_sheet import assembly_sheets
from optitip.export.sheets.lathe_card import lathe_card
from optitip.export.sheets.part_sheet import part_sheets
from optitip.export.sheets.sheet import Paper
from optitip.export.sheets.sheet_facts import facts_of
from optitip.export.sheets.template_sheet import template_sheets
from optitip.inputs.study_tables import OutlineFamily
from optitip.units import System

TITLE = "A title as long as a proud club writes it: egg white behind a thin wall, at Mach 2.4 and 100 % of $"


def all_sheets(tip, *, paper, system):
    """Yield a name and a sheet of every kind there is."""
    parts = turned_parts(tip)
    found = turnable(tip)
    for part in parts:
        facts = facts_of(
            part,
            tip=tip,
            turned=found,
            study=TITLE,
            design="k3f9a",
            fingerprint="3fa9c1d27b4e",
            system=system,
        )
        for number, sheet in enumerate(part_sheets(part, facts=facts, paper=paper, system=system)):
            yield f"{part.name} {number + 1}", sheet
        yield f"card {part.name}", lathe_card(part, tip=tip, facts=facts, paper=paper, system=system)
    for sheet in template_sheets(section_of(tip).outer, facts=facts, paper=paper, system=system):
        yield "template", sheet
    for sheet in assembly_sheets(tip, parts=parts, facts=facts, paper=paper, system=system):
        yield "assembly", sheet


def assert_clean(tip, *, paper, system):
    for name, sheet in all_sheets(tip, paper=paper, system=system):
        assert [(name, one) for one in blemishes(sheet)] == []


COMBINATIONS = list(itertools.product(Paper, System))


@pytest.mark.parametrize("number", range(6))
def test_random_designs_on_every_paper_in_both_systems(number):
    paper, system = COMBINATIONS[number]
    for tip in itertools.islice(random_tips(100 + number), 4):
        assert_clean(tip, paper=paper, system=system)


@pytest.mark.parametrize("family", OutlineFamily)
def test_every_family(family):
    draw = np.random.default_rng(list(OutlineFamily).index(family))
    for _ in range(50):
        changes = random_changes(draw) | {"outline.family": family.value}
        changes.pop("outline.exponent", None)
        if family in {OutlineFamily.POWER, OutlineFamily.PARABOLA}:
            changes["outline.exponent"] = 0.75
        try:
            tip = built(changes)
        except (DesignFailure, UserMistakes):
            continue
        assert_clean(tip, paper=Paper.A4, system=System.METRIC)
        return
    pytest.fail(f"no design of the family {family.value} could be built")


SMALL = {
    "outline.diameter": "12 mm",
    "outline.length": "36 mm",
    "outline.turned_length": "20 mm",
    "outline.tip_radius": "1 mm",
    "tip.plug.length": "8 mm",
    "tip.plug.wall": "1.2 mm",
    "tip.plug.fillet": "0.5 mm",
    "tip.fore_taper": "1 mm",
    "tip.band.thickness": "0.8 mm",
    "tip.band.length": "6 mm",
    "tip.aft_taper": "1 mm",
    "tip.base.thickness": "1.5 mm",
    "sample.slab.thickness": "0.5 mm",
}
LARGE = {
    "outline.diameter": "150 mm",
    "outline.length": "700 mm",
    "outline.turned_length": "420 mm",
    "outline.tip_radius": "8 mm",
    "tip.plug.length": "130 mm",
    "tip.plug.wall": "6 mm",
    "tip.band.thickness": "2.5 mm",
    "tip.band.length": "150 mm",
    "tip.base.solid": True,
    "tip.base.bore": "50 mm",
    "sample.slab.thickness": "4 mm",
}


@pytest.mark.parametrize("changes", [SMALL, LARGE], ids=["20 mm long", "150 mm thick"])
@pytest.mark.parametrize(("paper", "system"), COMBINATIONS)
def test_tiny_and_big_tips(changes, paper, system):
    assert_clean(built(changes), paper=paper, system=system)


def test_the_step_off_table_is_a_page_and_has_the_parts_volume():
    for tip in itertools.islice(random_tips(501), 14):
        for part in turned_parts(tip):
            rows = step_rows(part)
            assert len(rows) <= MOST_ROWS
            assert frusta_volume(rows) == pytest.approx(revolved_volume(part.closed), rel=2e-3)
            assert rows[0].from_fore == pytest.approx(0.0, abs=1e-12)
            assert rows[-1].from_aft == pytest.approx(0.0, abs=1e-12)
