"""What a person reads of an answer, in the units asked for."""

import io
import re
from pathlib import Path

import pytest
from rich.console import Console

from optitip.cli.answer_page import show_assessment
from optitip.evaluate.assess import check
from optitip.evaluate.levers import base_swing, joint_swing
from optitip.inputs.study import read_study
from optitip.units import System

COUPON = read_study(Path(__file__).parents[3] / "studies" / "polymer-coupon")
METRIC = r"\d (mm|degC|kPa|MPa|Pa|N|N m|J|kJ|g|kg|m|J/g|kJ/m2|W/\(m2 K\))(?![\w/])"
CUSTOMARY = r"\d (inch|degF|psi|ksi|lbf|lbf ft|BTU|lb|ft)(?![\w/])"
# an insert of plastic too hot for it, a 304 shell that yields, a rod, a hand that bends: notes of all
DESIGN = {
    "flight.ascent.start_mass": "4.35 kg",
    "tip.material": "304",
    "tip.coating": {"thickness": "0.001 mm"},
    "tip.plug.insert": "20 mm",
    "tip.plug.material": "PTFE",
    "tip.base.fixing": {"rod": "M6", "preload": "1 kN", "engagement": "8 mm"},
    "strength.hand_load": "900 N",
    "strength.coupler_clearance": "0.1 mm",
    "sample.joint": {"build": "wetted", "force": "30 N"},
    "sample.pocket.air": "sealed",
}


@pytest.fixture(scope="module")
def page():
    """Return what is printed in either system, by its name."""
    study = COUPON.with_design(DESIGN)
    answer = check(study)
    said = {}
    for units in System:
        out = Console(file=io.StringIO(), width=400)
        swings = {"swing": joint_swing(study), "base": base_swing(study)}
        show_assessment(out, answer, tables=study.tables, units=units, **swings)
        said[units] = out.file.getvalue()
    return said


def test_no_line_of_an_answer_in_us_units_has_a_metric_one_left(page):
    assert re.search(r"keeps a set .* ksi", page[System.US])
    assert re.search(r"the heat reaches .* inch", page[System.US])
    assert not [line for line in page[System.US].splitlines() if re.search(METRIC, line)]


def test_no_line_of_an_answer_in_metric_units_has_a_customary_one(page):
    assert re.search(r"keeps a set .* MPa", page[System.METRIC])
    assert not [line for line in page[System.METRIC].splitlines() if re.search(CUSTOMARY, line)]
