"""``optitip check --as-made`` as a person runs it."""

import json


def test_drawn_and_made_stand_side_by_side(optitip, tmp_path):
    sheet = tmp_path / "part.toml"
    sheet.write_text('mass = "110 g"\n"tip.band.thickness" = "1.35 mm"\n')
    done = optitip("check", "studies/coastal-egg", "--as-made", sheet, columns=80)
    assert done.returncode == 0, done.stderr
    said = done.stdout[done.stdout.index("As made, part.toml") :]
    plain = " ".join(said.split())
    assert "wall of the band at its fore end 1.200 1.350 +0.150" in plain
    assert "sample energy, J 1189 (361 to 1457) 1205" in plain
    assert "As made, limit margin.smallest >= 0: held" in plain
    assert "As made, target sample.temperature_coldest_peak >= 45 degC: NOT held" in plain
    assert "thicker all along would explain it" in plain
    assert "Beyond its tolerance: wall of the band at its fore end (+0.150 of 0.050 mm)" in plain
    assert all(len(line) <= 80 for line in said.splitlines())


def test_a_target_lost_or_won_against_the_drawing_is_said(optitip, tmp_path):
    sheet = tmp_path / "part.toml"
    sheet.write_text('"sample.slab.thickness" = "1 mm"\n')
    done = optitip("check", "studies/heated-rig", "--as-made", sheet, columns=200)
    drawn = optitip("check", "studies/heated-rig").stdout
    assert "held" in drawn
    assert "As drawn it is" not in done.stdout  # warmer still: the target is held by both
    sheet.write_text('"sample.slab.thickness" = "6 mm"\n')
    done = optitip("check", "studies/heated-rig", "--as-made", sheet, columns=200)
    assert "NOT held (worst" in done.stdout
    assert "As drawn it is held." in done.stdout


def test_json_and_files_of_the_part_as_made(optitip, tmp_path):
    sheet = tmp_path / "part.toml"
    sheet.write_text('"tip.band.thickness" = "1.35 mm"\nmass = "110 g"\n')
    done = optitip(
        "check",
        "studies/coastal-egg",
        "--as-made",
        sheet,
        "--json",
        "--out",
        tmp_path / "out",
        "--tolerances",
    )
    record = json.loads(done.stdout)
    made = record["as_made"]
    assert made["lengths"]["tip.band.thickness"] == {"as_drawn": 0.0012, "measured": 0.00135}
    assert made["metrics"]["shell.mass"]["expected"] > record["metrics"]["shell.mass"]["expected"]
    assert made["masses"][0]["what"] == "shell"
    assert record["tolerances"]["levers"]
    inside = json.loads((tmp_path / "out" / "as-made" / "assessment.json").read_text())
    assert inside["metrics"] == made["metrics"]
    assert (tmp_path / "out" / "as-made" / "fields.pvd").is_file()
    plain = json.loads(optitip("check", "studies/heated-rig", "--json").stdout)["as_made"]
    assert plain["metrics"] is None
    assert "--as-made" in plain["reason"]


def test_readings_that_cannot_be_are_lines_and_exit_code_two(optitip, tmp_path):
    sheet = tmp_path / "part.toml"
    sheet.write_text('"tip.band.thickness" = "1.35"\n"tip.band.thicknes" = "1 mm"\n')
    done = optitip("check", "studies/coastal-egg", "--as-made", sheet)
    assert done.returncode == 2
    assert len(done.stderr.strip().splitlines()) == 2
    assert optitip("check", "studies/coastal-egg", "--as-made", tmp_path / "none.toml").returncode == 2
