"""``optitip check --tolerances`` as a person runs it."""

import json

from optitip.evaluate.tolerances import ENERGY


def test_the_table_has_each_lever_and_the_sentence_the_spread(optitip):
    done = optitip("check", "studies/coastal-egg", "--tolerances", columns=80)
    assert done.returncode == 0
    said = done.stdout[done.stdout.index("Within the tolerances") :]
    rows = [line.split() for line in said.splitlines() if line.strip()]
    assert next(row[1:] for row in rows if row[0] == "wall")[:2] == ["1.2", "1.15"]
    assert {"wall", "taper", "slab", "depth", "joint"} <= {row[0] for row in rows}
    plain = " ".join(said.split())
    assert "As drawn 1189 J; within the tolerances of wall, slab, depth of the cavity and joint" in plain
    assert "Worth watching: the joint" in plain
    assert "No lever: the base's joint" in plain
    assert all(len(line) <= 80 for line in said.splitlines())


def test_us_units(optitip):
    done = optitip("check", "studies/heated-rig", "--tolerances", "--units", "us")
    said = " ".join(done.stdout[done.stdout.index("Within the tolerances") :].split())
    assert "[inch]" in said
    assert "[degF]" in said
    assert "BTU (worst case)" in said
    assert " mm" not in said


def test_json_has_the_tolerances_or_the_reason_why_not(optitip, tmp_path):
    done = optitip("check", "studies/coastal-egg", "--json", "--tolerances", "--out", tmp_path)
    record = json.loads(done.stdout)
    found = record["tolerances"]
    assert [one["name"] for one in found["levers"]] == ["wall", "taper", "slab", "depth", "joint"]
    drawn = record["metrics"][ENERGY]["expected"]
    low, high = found["spreads"][ENERGY]["worst_case"]
    assert low < drawn < high
    assert abs(found["spreads"][ENERGY]["as_drawn"] - drawn) < 1e-6
    assert json.loads((tmp_path / "assessment.json").read_text())["tolerances"] == found
    plain = json.loads(optitip("check", "studies/heated-rig", "--json").stdout)["tolerances"]
    assert plain["levers"] is None
    assert "--tolerances" in plain["reason"]


def test_an_end_that_cannot_be_made_is_said(optitip, tmp_path):
    study = (optitip("new", tmp_path / "one"), tmp_path / "one" / "study.toml")[1]
    study.write_text(study.read_text() + '\n[turning]\nslab_tolerance = "60 mm"\n')
    done = optitip("check", study, "--tolerances")
    assert done.returncode == 0
    said = " ".join(done.stdout.split())
    assert "NOT in the spread: the slab at" in said
