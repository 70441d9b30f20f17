"""What a person is told of how a tip is turned."""

import re
from pathlib import Path

from optitip.cli.turning_lines import turning_lines
from optitip.evaluate.building import build_tip
from optitip.evaluate.turnable import turnable
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.inputs.study import read_study
from optitip.units import System

EGG = read_study(Path(__file__).parents[3] / "studies" / "coastal-egg")


def told(design, units=System.METRIC):
    study = EGG.with_design(design)
    tip = build_tip(study.tables, folder=study.folder, resolution=DEFAULT_RESOLUTION)
    return turning_lines(turnable(tip), units)


def test_a_tip_that_can_be_turned_has_one_line_with_what_is_nearest_to_its_limit():
    first, *rest = told({})
    assert first == "Yes. Nearest to its limit: threads and spigots, 0.33 with 0 at the limit."
    assert not any(re.match(r"(tip|turning|outline)\.", line) for line in rest)
    assert any(line.startswith("Round bar to saw off") for line in rest)


def test_each_broken_rule_has_one_line_of_place_problem_and_remedy():
    lines = told({"tip.band.thickness": "0.4 mm", "turning.largest_stock": "50 mm"})
    broken = [line for line in lines if re.match(r"(tip|turning|outline)\.", line)]
    assert [line.partition(": ")[0] for line in broken] == [
        "tip.band.thickness",
        "outline.turned_length",
        "tip.band.thickness",
    ]
    assert all(line.endswith(".") and line.count(". ") == 1 for line in broken)
    assert not any(line.startswith("Yes") for line in lines)


def test_what_is_not_judged_is_said_and_no_yes_is_given_without_it():
    lines = told({"tip.material": "PTFE", "tip.base.fixing.thread": "M40x1.5"})
    assert lines[0].startswith("By all that is judged, yes")
    assert "Not judged, turning.deflection: no [turning.cutting] in the file of PTFE." in lines


def test_a_supported_wall_and_a_thin_one_have_their_lines():
    lines = told({"turning.support": "core", "tip.band.thickness": "0.8 mm"})
    assert any("over a core, so not judged" in line for line in lines)
    assert any(re.match(r"tip.band.thickness: .* 0\.8 mm can be turned, 1 mm are advised", x) for x in lines)


def test_in_us_units_no_line_has_a_metric_one():
    for design in ({}, {"tip.band.thickness": "0.4 mm"}, {"tip.base.fixing.thread": "M36x1.5"}):
        assert not [line for line in told(design, System.US) if re.search(r"\d (mm|N|m)(?![\w/])", line)]
