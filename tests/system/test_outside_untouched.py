"""The outside belongs to the vehicle: what a study, a sweep and an exported design say of it."""

import csv
import json
import re
import tomllib

import pytest

UNTOUCHED = "The outside is untouched"
VEHICLE = """[vehicle]
mass = "8 kg"
centre_of_mass = "1.1 m"
centre_of_pressure = "1.25 m"
normal_force_slope = 11
replaced_mass = "0.3 kg"
replaced_centre_of_mass = "95 mm"

[limits]
"""
FREE = ("[sweep.free]\n", '[sweep.free]\n"outline.tip_radius" = ["2 mm", "6 mm"]\n')


def plain(text):
    return " ".join(text.split())


def test_a_study_whose_inside_alone_is_free_says_in_one_line_that_the_outside_is_untouched(optitip, swept):
    said = optitip("check", "studies/coastal-egg").stdout
    assert said.count(UNTOUCHED) == 1
    assert "Static margin" not in said
    again = optitip("sweep", "studies/coastal-egg", "--out", swept, "--evaluations", "48", "--workers", "1")
    assert again.stdout.count(UNTOUCHED) == 1


def test_the_check_says_what_a_lighter_tip_does_to_the_static_margin_and_what_restores_it(optitip, copied):
    said = plain(optitip("check", copied("coastal-egg", ("[limits]\n", VEHICLE))).stdout)
    assert UNTOUCHED in said
    assert re.search(
        r"the tip is 181 g lighter .* moves 23\.\d mm aft: the static margin changes by -0\.28", said
    )
    assert re.search(r"1\.51\. The wrong way: ballast of 19\d g 150 mm from the given", said)


def test_units_of_the_vehicle_follow_the_units_asked_for(optitip, copied):
    study = copied("coastal-egg", ("[limits]\n", VEHICLE))
    said = plain(optitip("check", study, "--units", "us").stdout)
    assert re.search(r"the tip is 0\.399 lb lighter .* moves 0\.9\d+ inch aft", said)


def test_a_swept_outline_keeps_its_limit_and_an_exported_design_its_comparison(optitip, copied, tmp_path):
    limit = ("[limits]\n", VEHICLE + '"outline.drag_change" = "<= 0.002"\n')
    run, design = tmp_path / "run", tmp_path / "design"
    done = optitip("sweep", copied("coastal-egg", FREE, limit), "--out", run, "--evaluations", "48",
                   "--workers", "1")  # fmt: skip
    assert done.returncode == 0, done.stderr
    said = plain(done.stdout)
    assert UNTOUCHED not in said
    assert "On this front, against the vehicle as it was: wave drag coefficient, change" in said
    with (run / "front.csv").open(newline="") as file:
        rows = list(csv.DictReader(file))
    changes = [float(row["outline.drag_change expected"]) for row in rows]
    assert max(changes) <= 0.002
    assert any(
        float(row["outline.tip_radius [mm]"]) != 3.0 and change
        for row, change in zip(rows, changes, strict=True)
    )

    written = optitip("export", run, rows[0]["design"], "--out", design)
    said = plain(written.stdout)
    assert re.search(r"Outside, against the given outline: wave drag coefficient of the nose 0\.0", said)
    study = tomllib.loads((design / "study.toml").read_text())
    assert study["outline"]["given"] == {
        "family": "von Karman",
        "diameter": "84 mm",
        "length": "420 mm",
        "tip_radius": "3 mm",
    }
    again = json.loads(optitip("check", design, "--json").stdout)
    assert again["outside"]["touched"]
    for name in ("outline.drag_change", "outline.pressure_centre_change [m]", "vehicle.ballast [kg]"):
        metric, _, unit = name.partition(" ")
        expected = float(rows[0][f"{metric} expected {unit}".strip()])
        assert again["metrics"][metric]["expected"] == pytest.approx(expected, rel=1e-7)


def test_without_a_flight_the_lines_say_so(optitip, copied):
    shape = 'family = "von Karman"\ndiameter = "84 mm"\nlength = "420 mm"\ntip_radius = "2 mm"\n'
    given = f"[outline.given]\n{shape}"
    rig = copied("heated-rig", ("[tip]\n", given + "[tip]\n"))
    assert "no flight, so no wave drag; the nose's own centre of pressure moves 0.0" in plain(
        optitip("check", rig).stdout
    )


@pytest.mark.parametrize(
    ("table", "place", "problem"),
    [
        ('[vehicle]\nmass = "8 kg"\n', "vehicle:", "belong together"),
        ('[vehicle]\nballast_station = "1 m"\n', "vehicle:", "belong together"),
        (VEHICLE.replace('"0.3 kg"', '"9 kg"').removesuffix("[limits]\n"), "vehicle:", "not below mass"),
        (
            VEHICLE.replace('"1.1 m"', '"3 mm"').removesuffix("[limits]\n"),
            "vehicle:",
            "would balance ahead of its nose point",
        ),
        ("[vehicle]\nnormal_force_slope = 1.5\n", "vehicle.normal_force_slope", "is below 2"),
        ('[outline.given]\nfamily = "cone"\n', "outline.given:", "belong together"),
        ('[outline.given]\nprofile = "none.csv"\n', "outline.given.profile", "there is no file"),
        ('[outline.given]\nturned_length = "1 mm"\n', "outline.given.turned_length", "unknown"),
    ],
)
def test_a_vehicle_or_given_outline_that_makes_no_sense_is_one_line(table, place, problem, optitip, copied):
    done = optitip("check", copied("coastal-egg", ("[limits]\n", table + "[limits]\n")))
    assert done.returncode == 2, done.stdout
    assert place in done.stderr
    assert problem in done.stderr
    assert "Traceback" not in done.stderr


def test_the_given_outline_cannot_be_free(optitip, copied, tmp_path):
    free = '[sweep.free]\n"outline.given.tip_radius" = ["2 mm", "6 mm"]\n'
    study = copied("coastal-egg", ("[sweep.free]\n", free))
    done = optitip("sweep", study, "--out", tmp_path / "run")
    assert done.returncode == 2
    assert "can't be free" in done.stderr
