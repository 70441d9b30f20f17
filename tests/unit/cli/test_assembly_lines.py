"""What a person is told of how a tip goes together."""

from pathlib import Path

import pytest

from optitip.cli.assembly_lines import assembly_lines
from optitip.evaluate.building import build_tip
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.inputs.study import read_study
from optitip.units import System

EGG = read_study(Path(__file__).parents[3] / "studies" / "coastal-egg")


def told(design, units=System.METRIC):
    study = EGG.with_design(design)
    tip = build_tip(study.tables, folder=study.folder, resolution=DEFAULT_RESOLUTION)
    return " ".join(assembly_lines(tip.assembly, units)), tip.assembly


def test_the_part_that_opens_and_what_passes_are_told():
    said, one = told({})
    assert "the base comes off" in said
    assert f"{1e3 * one.way_out:.3g} mm is clear" in said
    assert f"overhang {one.bar.overhang:.1f}" in said
    assert "wires" not in said
    assert "probe" not in said


def test_without_a_base_that_comes_off_it_goes_through_the_base():
    said, _ = told({"tip.opens": "none"})
    assert "nothing comes off, it goes through the base" in said


def test_wires_and_a_probe_are_told_where_the_study_has_them():
    said, one = told({"sample.wires": "3 mm", "sample.probe": "1 mm"})
    assert f"{1e3 * one.wires_hole:.3g} mm" in said
    assert "deg off the axis" in said


@pytest.mark.parametrize(("units", "unit"), [(System.METRIC, " mm"), (System.US, " inch")])
def test_lengths_are_in_the_units_asked_for(units, unit):
    said, _ = told({}, units)
    assert unit in said
    assert ({" mm", " inch"} - {unit}).pop() not in said
