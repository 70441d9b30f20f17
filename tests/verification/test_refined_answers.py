"""What an answer's own account of its numerical error is worth: held to a grid finer than it has seen."""

import json
from pathlib import Path

import pytest

from optitip.evaluate.assess import check, check_refined
from optitip.evaluate.record import as_json
from optitip.evaluate.refined import refined
from optitip.inputs.study import read_study
from optitip.metrics.accuracy import Part


@pytest.fixture(scope="module")
def answers():
    study = read_study(Path(__file__).parents[2] / "studies" / "heated-rig")
    base = check(study)
    told = []
    return study, base, refined(study, base=base, report=told.append), told


def test_the_error_of_the_energy_is_what_a_grid_finer_than_all_that_were_run_shows(answers):
    study, base, told, _ = answers
    finest = check_refined(study, grid=6, tighter=8.0)
    name = "sample.energy_peak"
    apart = abs(base.metrics[name].expected - finest.metrics[name].expected)
    error = told.errors[name]
    assert error.parts[Part.GRID] > 0.0
    assert 0.5 * error.total < apart < 1.5 * error.total
    assert told.metrics["error.energy"].expected == error.total


def test_the_default_grid_knows_the_energy_to_a_thousandth_and_temperatures_to_half_a_kelvin(answers):
    _, base, told, _ = answers
    assert told.metrics["error.energy"].expected < 1e-3 * base.metrics["sample.energy_peak"].expected
    assert told.metrics["error.temperature"].expected < 0.5
    assert "error.energy" not in base.metrics
    assert "error.energy" in base.missing


def test_the_document_carries_each_error_with_its_parts_and_progress_was_told(answers):
    _, base, refined_answer, told = answers
    document = json.loads(as_json(refined_answer))["metrics"]
    assert document["sample.energy_peak"]["error"] == refined_answer.errors["sample.energy_peak"].total
    assert set(document["sample.energy_peak"]["error_parts"]) == {"grid", "steps", "heating table"}
    plain = json.loads(as_json(base))["metrics"]["sample.energy_peak"]
    assert plain["error"] is None
    assert "--refine" in plain["reason"]
    assert len(told) == 4
