"""The neighbours of a front are run by the study's own physics."""

import csv
import re
from dataclasses import replace

import pytest

from optitip.cli import neighbours
from optitip.evaluate.evaluator import evaluators_of
from optitip.search.reading import run_to_read
from optitip.search.run_folder import read_run


@pytest.fixture(scope="session")
def looked(optitip, swept):
    return optitip(
        "neighbours", swept, "--candidates", "2", "--within", "0.1 mm", "--workers", "1", columns=220
    )


def test_the_most_robust_is_marked_with_how_many_of_its_neighbours_hold(looked):
    assert looked.returncode == 0, looked.stderr
    rows = [line for line in looked.stdout.splitlines() if re.match(r"\s*\d( chosen)?\s+[0-9a-f]{12} ", line)]
    assert len(rows) == 2
    held, tried = map(int, re.search(r"(\d+) of (\d+)", rows[0]).groups())
    assert tried >= 2 * 8 + 2
    assert (" chosen " in rows[0]) == (held == tried)
    assert "8 lengths 0.1 mm off" in looked.stderr
    assert "Left as they are: tip.material, sample.joint.build, tip.base.fixing.thread." in looked.stderr
    assert "nothing of it is stored" in looked.stdout


def test_the_figures_are_those_of_the_study_with_its_lengths_changed(optitip, swept):
    """One neighbour of one design, evaluated again beside the command."""
    with (swept / "front.csv").open(newline="") as file:
        name = next(csv.DictReader(file))["design"]
    done = optitip("neighbours", swept, name, "--within", "0.2 mm", "--workers", "1", columns=220)
    said = next(line for line in done.stdout.splitlines() if f" {name} " in line)
    mass, own = map(float, re.findall(r"([\d.]+) \(([\d.]+)\)", said)[2])
    with read_run(swept) as store:
        design = store.records([store.numbers_of(name)[0][0]])[0].design
    thicker = {
        key: f"{float(value.removesuffix(' mm')) + 0.2:.6g} mm" if value.endswith(" mm") else value
        for key, value in design.items()
    }
    (there, here) = evaluators_of(swept / "study.toml")[1]([thicker, design])
    three_digits = 5e-3  # as the screen shows them
    assert own == pytest.approx(1e3 * here.metrics["shell.mass"].expected, rel=three_digits)
    assert mass >= 1e3 * there.metrics["shell.mass"].expected * (1.0 - three_digits)
    assert mass > own


def test_designs_of_the_store_can_be_named_and_wrong_names_are_said(mistaken, swept):
    assert "there is no design 'zz' in this run" in mistaken("neighbours", swept, "zz")
    assert "begins" in mistaken("neighbours", swept, "")


def test_wrong_options_are_said(mistaken, swept, tmp_path):
    assert "--within" in mistaken("neighbours", swept, "--within", "0.05 g")
    assert "there is no such run" in mistaken("neighbours", tmp_path)
    assert "no design keeps every limit" in mistaken("neighbours", swept, "--limit", "shell.mass <= 1 g")


def test_a_study_whose_designs_may_take_for_ever_has_neighbours_too(swept):
    with run_to_read(swept) as opened:
        table = opened.study.tables.sweep.model_copy(update={"time_limit": 0.0})
        tables = opened.study.tables.model_copy(update={"sweep": table})
        patient = replace(opened, study=replace(opened.study, tables=tables))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(neighbours, "make_executor", lambda *_, time_limit, **__: time_limit)
        assert neighbours._Crew(patient, 1)._executor is None
        assert neighbours._Crew(opened, 1)._executor > 0.0
