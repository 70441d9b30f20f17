"""The commands do what their help says, on the studies that are shipped."""

import csv
import json
import re
import shutil
import tomllib

import ezdxf
import meshio
import numpy as np
import pytest
import tomli_w
from synthetic_recorder import FOOT, fly, lines

from optitip.metrics.registry import UNITS

STUDIES = ("coastal-egg", "upland-potato", "polymer-coupon", "heated-rig")


@pytest.mark.parametrize("name", STUDIES)
def test_each_study_is_answered_in_one_sentence_with_its_bracket(name, optitip):
    done = optitip("check", f"studies/{name}")
    assert done.returncode == 0, done.stderr
    assert re.search(r"The sample takes up [\d.]+ J", done.stdout)
    assert "What limits it first" in done.stdout
    assert "isn't for eating" in done.stdout


def test_a_wait_on_the_pad_is_told_before_what_the_flight_did(optitip, copied):
    pad = '[flight.pad]\nwait = "45 min"\nwind = "3 m/s"\nsun = "700 W/m2"\n\n[outline]'
    study = copied("coastal-egg", ("[outline]", pad))
    said = optitip("check", study, columns=40).stdout
    plain = " ".join(said.split())
    assert max(map(len, said.splitlines())) <= 40
    assert "After 45 min on the pad the sample lifts off at 18." in plain
    assert re.search(r"At landing it holds -\d+ J \(.*\) over lift-off", plain)
    assert "on the pad" not in optitip("check", "studies/coastal-egg").stdout


def test_a_sample_warmed_before_isnt_said_to_be_warmed_by_the_flight(optitip, copied):
    warmed = 'warm_above = "60 degC"\nstart_temperature = "55 degC"'
    pad = '[flight.pad]\nwait = "45 min"\n\n[outline]'
    study = copied("coastal-egg", ("[outline]", pad), ('warm_above = "60 degC"', warmed))
    said = " ".join(optitip("check", study).stdout.split())
    assert "its coldest point never gets above the 55 degC it starts with" in said
    rows = [line for line in optitip("check", study).stdout.splitlines() if "coldest point's peak" in line]
    assert rows[0].split()[-3:] == ["55", "55", "55"]  # no flow state gives low or high


def test_an_open_base_brings_a_line_of_doubt_of_its_own(optitip, copied):
    study = copied("coastal-egg", ("[flight.descent]", '[flight.descent]\nbase = "open"'))
    said = " ".join(optitip("check", study).stdout.split())
    assert re.search(r"a guess, 0.3 of the film across the stream: at landing -\d+\S* J with it, -\d+", said)
    assert "a guess, 0.3" not in optitip("check", "studies/coastal-egg").stdout


def test_json_has_every_metric_with_a_bracket_or_a_reason(optitip):
    done = optitip("check", "studies/coastal-egg", "--json")
    record = json.loads(done.stdout)
    assert set(record["metrics"]) == set(UNITS)
    for name, metric in record["metrics"].items():
        if metric["expected"] is None:
            assert metric["reason"], name
        else:
            assert metric["low"] <= metric["expected"] <= metric["high"], name
    assert len(record["states"]) == 6
    assert record["metrics"]["sample.energy_peak"]["high_state"] in record["states"]


def test_json_of_a_coupon_says_why_food_metrics_are_null(optitip):
    record = json.loads(optitip("check", "studies/polymer-coupon", "--json").stdout)
    assert record["metrics"]["sample.log_reduction"]["expected"] is None
    assert "no food" in record["metrics"]["sample.log_reduction"]["reason"]


def test_units_change_the_figures_and_not_the_answer(optitip):
    metric = optitip("check", "studies/coastal-egg").stdout
    us = optitip("check", "studies/coastal-egg", "--units", "us").stdout
    joules = float(re.search(r"takes up ([\d.]+) J", metric)[1])
    btu = float(re.search(r"takes up ([\d.]+) BTU", us)[1])
    assert btu * 1055.056 == pytest.approx(joules, rel=5e-3)


def test_check_out_writes_json_fields_and_pictures_and_nothing_else(optitip, tmp_path):
    done = optitip("check", "studies/coastal-egg", "--out", tmp_path / "answer")
    assert done.returncode == 0, done.stderr
    names = {path.name for path in (tmp_path / "answer").iterdir()}
    assert {"assessment.json", "fields.pvd", "energy.png", "sample.png", "section.png", "flight.png"} <= names
    assert "transition.png" in names
    first = meshio.read(tmp_path / "answer" / "fields-0000.vtu")
    assert first.point_data["temperature [K]"].max() == pytest.approx(291.15)


def test_a_starter_study_runs_as_it_is(optitip, tmp_path):
    assert optitip("new", tmp_path / "first").returncode == 0
    done = optitip("check", tmp_path / "first")
    assert done.returncode == 0, done.stderr
    assert optitip("new", tmp_path / "first").returncode == 2


def test_a_commented_default_of_the_starter_is_the_default(optitip, tmp_path):
    optitip("new", tmp_path / "first")
    path = tmp_path / "first" / "study.toml"
    before = json.loads(optitip("check", path, "--json").stdout)["metrics"]["sample.energy_peak"]
    text = path.read_text()
    for line in (
        'tip_radius = "3 mm"',
        'turned_length = "112.5 mm"',
        'rail_length = "3 m"',
        'rail_angle = "86 deg"',
        "[flight.pad]",
        'wait = "0 s"',
        'wind = "0 m/s"',
        'sun = "0 W/m2"',
        "[flight.descent]",
        'base = "closed"',
    ):
        assert f"# {line}" in text
        text = text.replace(f"# {line}", line)
    path.write_text(text)
    after = json.loads(optitip("check", path, "--json").stdout)["metrics"]["sample.energy_peak"]
    assert after["expected"] == pytest.approx(before["expected"], rel=1e-12)


def test_materials_lists_them_and_shows_one_with_its_sources(optitip):
    listed = optitip("materials").stdout
    for name in ("6061-T6", "egg-white", "still-air", "PTFE"):
        assert name in listed
    shown = optitip("materials", "PTFE").stdout
    assert "260" in shown
    assert "source" in shown
    meat, temper = (optitip("materials", name).stdout for name in ("lean beef", "6061-T6"))
    assert "Crushed by 0.1 MPa, 0.03 MPa to 0.3 MPa" in meat
    assert "Shrinks by 15 % in length for good as it warms from 55 degC to 80 degC" in meat
    assert "Keeps its cold strength for 16 h at 198.9 degC" in temper


@pytest.fixture(scope="module")
def run(process, tmp_path_factory):
    folder = tmp_path_factory.mktemp("sweep") / "run"
    done = process("sweep", "studies/coastal-egg", "--out", folder, "--evaluations", "48", "--workers", "2")
    assert done.returncode == 0, done.stderr
    return folder


def test_a_run_keeps_study_inputs_store_front_and_picture(run):
    names = {path.name for path in run.iterdir()}
    assert {"study.toml", "inputs", "run.sqlite", "front.csv", "front.png", "log.txt"} <= names


def rows_of(run):
    with (run / "front.csv").open(newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture(scope="module")
def exported(run, optitip, tmp_path_factory):
    """Return the package of the front's first design, its row, and what the command said."""
    folder, row = tmp_path_factory.mktemp("exported") / "design", rows_of(run)[0]
    done = optitip("export", run, row["design"], "--out", folder)
    assert done.returncode == 0, done.stderr
    return folder, row, " ".join(done.stdout.split())


def test_the_exported_design_gives_the_sweeps_own_figures(exported, optitip):
    folder, row, _said = exported
    checked = json.loads(optitip("check", folder, "--json").stdout)["metrics"]
    for name in ("sample.energy_peak [J]", "shell.mass [kg]", "margin.smallest"):
        metric, _, unit = name.partition(" ")
        for part in ("low", "expected", "high"):
            assert checked[metric][part] == pytest.approx(
                float(row[f"{metric} {part} {unit}".strip()]), rel=1e-7
            )


def test_the_front_names_the_flow_states_of_low_and_high_as_the_check_does(exported, optitip):
    folder, row, said = exported
    checked = json.loads(optitip("check", folder, "--json").stdout)["metrics"]
    for name in ("sample.energy_peak", "band.temperature_peak", "margin.smallest"):
        assert row[f"{name} low from"] == (checked[name]["low_state"] or "")
        assert row[f"{name} high from"] == (checked[name]["high_state"] or "")
    assert row["shell.mass low from"] == ""
    assert "Sample energy, peak:" in said or "sample energy, peak:" in said
    assert f"low from {row['sample.energy_peak low from']}" in said


def test_a_sweep_says_under_its_front_which_flow_states_give_low_and_high(optitip, tmp_path):
    done = optitip(
        "sweep", "studies/coastal-egg", "--out", tmp_path / "run", "--evaluations", "24", "--workers", "1"
    )
    assert "energy, peak: low from laminar, high from" in " ".join(done.stdout.split())


def test_a_worst_value_names_its_flow_state(optitip):
    said = " ".join(optitip("check", "studies/coastal-egg").stdout.split())
    assert re.search(r"Target sample\.temperature_coldest_peak .* worst [\d.]+ degC, flow laminar\)", said)
    record = json.loads(optitip("check", "studies/coastal-egg", "--json").stdout)
    assert record["targets"][0]["worst_state"] == "laminar"


def test_the_exported_profile_reads_back_as_lines_and_arcs(exported):
    folder, _row, _said = exported
    drawing = ezdxf.readfile(folder / "section.dxf")
    assert not drawing.audit().errors
    kinds = {entity.dxftype() for entity in drawing.modelspace()}
    assert kinds <= {"LWPOLYLINE", "LINE", "TEXT"}


def test_one_and_two_workers_find_the_same_front(run, swept):
    assert (swept / "front.csv").read_bytes() == (run / "front.csv").read_bytes()


def test_the_program_itself_ends_with_the_commands_exit_code(process):
    assert process("check", "studies/coastal-egg").returncode == 0
    assert process("check", "nowhere").returncode == 2
    assert process("--version").stdout.startswith("optitip ")


def test_a_design_that_cannot_exist_is_stored_and_the_sweep_goes_on(optitip, copied, tmp_path):
    study = copied("coastal-egg", ('["40 mm", "70 mm"]', '["40 mm", "200 mm"]'))
    done = optitip("sweep", study, "--out", tmp_path / "run", "--evaluations", "32", "--workers", "1")
    assert done.returncode == 0, done.stderr
    assert "run past the end of the tip" in done.stdout


def test_a_sweep_refuses_the_run_of_another_study(run, optitip, copied):
    other = copied("coastal-egg", ('turned_length = "150 mm"', 'turned_length = "151 mm"'))
    done = optitip("sweep", other, "--out", run, "--evaluations", "48")
    assert done.returncode == 2
    assert "Traceback" not in done.stderr


LOGGED = fly(burn=3.0)


@pytest.fixture
def log(tmp_path):
    """Return a recorder's file: a banner, a label with markup, noise, a spike, a broken line."""
    noise = np.random.default_rng(4).normal(0.0, 1.0, LOGGED.time.size)
    height = (LOGGED.altitude + noise) / FOOT
    height[400] += 5000.0
    rows = lines(1000 * LOGGED.time, height, LOGGED.speed / FOOT, 20.0 + 0 * noise, formats="{:.1f}")
    rows[900] = rows[900][:6]
    path = tmp_path / "log [red].csv"
    path.write_text("Recorder 17\nT(ms),Alt,Vel(ft/s),[bold]Temp[/bold]\n" + "\n".join(rows) + "\n")
    return path


@pytest.mark.parametrize("columns", [100, 44])
def test_log_says_what_each_column_was_taken_for_and_why(columns, optitip, log):
    done = optitip("log", log, columns=columns)
    assert done.returncode == 0, done.stderr
    said = " ".join(done.stdout.split())
    for word in (
        "log [red].csv: 2499 rows",
        "[bold]Temp[/bold]",
        "altitude [ft]",
        "no unit is written: in ft it slows with one g before the apogee",
        "1 of 2500 lines are broken and were left out (line 903)",
        "Alt: 1 sample",
    ):
        assert word in said or word in said.replace(" ", ""), word
    assert max(len(line.rstrip()) for line in done.stdout.splitlines()) <= columns


def test_the_lines_that_log_gives_can_be_pasted_into_a_study(optitip, log, copied):
    said = optitip("log", log).stdout
    block = said.partition("with the file beside it:")[2].strip()
    assert len([line for line in block.splitlines() if line.strip()]) <= 10
    study = copied("coastal-egg", ('record = "flight.csv"', "#"), ("[flight]", "[flight_was]"))
    table = tomllib.loads(block)
    raw = tomllib.loads((study / "study.toml").read_text())
    raw["flight"] = {**table["flight"], "soak": "10 s"}
    del raw["flight_was"]
    (study / "study.toml").write_text(tomli_w.dumps(raw))
    shutil.copy(log, study)
    done = optitip("check", study)
    assert done.returncode == 0, done.stderr
    assert "no unit is written" not in done.stdout  # the map says it now
    assert optitip("log", study).stdout.count("as the study says") == 3


def test_log_of_a_study_proposes_its_whole_site(optitip, tmp_path):
    assert optitip("log", "studies/coastal-egg", "--out", tmp_path).returncode == 0
    proposed = tomllib.loads((tmp_path / "flight.toml").read_text())["flight"]
    site = {"site_altitude": "12 m", "site_temperature": "17 degC", "site_pressure": "1014 hPa"}
    assert site.items() <= proposed.items()


def test_log_tells_lift_off_on_the_clock_of_a_file_that_began_long_before_and_as_a_pressure(optitip):
    said = " ".join(optitip("log", "studies/upland-potato").stdout.split())
    assert re.search(r"lift-off at 1812\.\d+ s on the clock of baro\.txt", said)
    assert "1782400 to 2167462" in said


def test_log_proposes_what_the_shipped_study_of_two_recorders_says(optitip, studies, tmp_path):
    folder = studies / "upland-potato"
    files = [folder / "baro.txt", folder / "push.csv"]
    site = ("--site-altitude", "640 m", "--site-temperature", "9 degC")
    assert optitip("log", *files, *site, "--out", tmp_path).returncode == 0
    proposed = tomllib.loads((tmp_path / "flight.toml").read_text())["flight"]
    written = tomllib.loads((folder / "study.toml").read_text())["flight"]
    assert proposed.items() <= written.items()


def test_log_out_writes_a_picture_and_the_lines_and_nothing_else(optitip, log, tmp_path):
    done = optitip("log", log, "--out", tmp_path / "seen", "--site-altitude", "300 m", "--units", "us")
    assert done.returncode == 0, done.stderr
    assert {path.name for path in (tmp_path / "seen").iterdir()} == {"log.png", "flight.toml"}
    lines_written = tomllib.loads((tmp_path / "seen" / "flight.toml").read_text())
    assert lines_written["flight"]["site_altitude"] == "300 m"
    assert {path.name for path in tmp_path.iterdir()} == {"seen", log.name}


def test_log_shows_the_columns_even_of_a_file_it_cannot_tell(optitip, tmp_path):
    path = tmp_path / "odd.csv"
    path.write_text("n,mood\n" + "".join(f"{n},{(n * n) % 7}\n" for n in range(40)))
    done = optitip("log", path)
    assert done.returncode == 2
    assert "2 mood" in done.stdout
    assert "0 to 4" in done.stdout
    assert "no column can be told" in done.stderr


def test_log_of_a_file_without_a_flight_shows_its_columns_and_why_there_is_none(optitip, tmp_path):
    path = tmp_path / "rest.csv"
    path.write_text("time [s],altitude [m],speed [m/s]\n" + "".join(f"{n},0.0,0.0\n" for n in range(40)))
    done = optitip("log", path)
    assert done.returncode == 2
    assert "altitude [m]" in done.stdout
    assert "no flight" in done.stderr


def test_an_exported_design_takes_the_further_records_of_its_flight_along(optitip, copied, tmp_path):
    also = '[[flight.also]]\nrecord = "second.csv"\nclock = "0 s"\ncolumns = {altitude = "altitude"}\n'
    study = copied("coastal-egg", ("[flight.descent]", also + "[flight.descent]"))
    shutil.copy(study / "flight.csv", study / "second.csv")
    done = optitip("export", study, "--out", tmp_path / "design")
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "design" / "second.csv").is_file()
    assert optitip("log", tmp_path / "design").returncode == 0
