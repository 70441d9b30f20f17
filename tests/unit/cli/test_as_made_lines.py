from pathlib import Path

import pytest
from rich.console import Console

from optitip.cli.as_made_lines import show_as_made
from optitip.evaluate.as_made import as_made
from optitip.evaluate.assess import check
from optitip.inputs.as_made import read_as_made
from optitip.inputs.study import read_study
from optitip.units import System

STUDIES = Path(__file__).parents[3] / "studies"


@pytest.fixture(scope="module")
def rig():
    study = read_study(STUDIES / "heated-rig")
    return study, check(study)


def shown(rig, tmp_path, text):
    study, drawn = rig
    path = tmp_path / "made.toml"
    path.write_text(text)
    out = Console(width=100, record=True)
    show_as_made(out, as_made(study, measured=read_as_made(path)), drawn=drawn, units=System.METRIC)
    return out.export_text()


def test_where_no_length_was_measured_a_line_stands_for_the_table(rig, tmp_path):
    said = shown(rig, tmp_path, 'mass = "106 g"')
    assert "As made, made.toml: no length was measured, each is taken as drawn." in said
    assert "on the balance it is 106 g" in said
    assert "measured   drawn" not in said


def test_what_was_measured_stands_in_the_table(rig, tmp_path):
    said = shown(rig, tmp_path, '"tip.plug.length" = "48.1 mm"')
    assert "no length was measured" not in said
    assert "nose point to the cavity's fore face" in said
