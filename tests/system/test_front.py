"""A run is looked at, filtered and chosen from, finished or while it is written."""

import csv
import ctypes
import io
import shutil
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest
from invented_run import invented_run

from optitip.errors import Outcome
from optitip.metrics.goals import Limit, Sense
from optitip.metrics.values import Bracketed, Evaluation
from optitip.report.front_page import write_page
from optitip.report.words import target_lines
from optitip.search.executors.face import States
from optitip.search.records import Record, RunIdentity
from optitip.search.run_folder import STORE
from optitip.search.store import create_or_open
from optitip.units import System

HEAVY = ("pymoo", "matplotlib", "sklearn", "numba", "scipy.stats", "scipy.linalg", "skfem", "ezdxf", "meshio")
DESIGNS = 900
_ASKED = """
import sys
from optitip.cli.main import run
run(sys.argv[1:])
print(*sys.modules, file=sys.stderr)
"""


@pytest.fixture(scope="session")
def invented(tmp_path_factory):
    """Return a run of invented figures that was cut off in its search."""
    return invented_run(tmp_path_factory.mktemp("invented") / "run", designs=DESIGNS, confirmed=60)


@pytest.fixture
def mine(invented, tmp_path):
    """Return a copy of the invented run that a test may change."""
    shutil.copytree(invented, tmp_path / "run")
    return tmp_path / "run"


def _rows(text):
    return list(csv.DictReader(io.StringIO(text)))


def _front_of(text):
    """Return the designs of a table on the screen."""
    return [
        line.split()[0] for line in text.splitlines() if len(line.split()) > 3 and _is_name(line.split()[0])
    ]


def _is_name(word):
    return len(word) == 12 and set(word) <= set("0123456789abcdef")


def test_the_front_of_a_finished_sweep_is_the_one_it_wrote(optitip, swept):
    done = optitip("front", swept, columns=140)
    assert done.returncode == 0, done.stderr
    written = [row["design"] for row in _rows((swept / "front.csv").read_text())]
    assert _front_of(done.stdout) == written
    assert "The sweep has finished" in done.stdout
    assert "confirmed" not in done.stdout
    assert "finer" in done.stdout


def test_the_csv_holds_each_design_that_no_other_beats_with_units_in_its_header(optitip, swept, tmp_path):
    shown = optitip("front", swept, "--csv", "-").stdout
    by_name = {row["design"]: row for row in _rows(shown)}
    for row in _rows((swept / "front.csv").read_text()):
        for key, cell in row.items():
            assert by_name[row["design"]][key] == cell, key
    assert "sample.energy_peak expected [J]" in next(iter(by_name.values()))
    told = optitip("front", swept, "--csv", tmp_path / "mine.csv")
    assert (tmp_path / "mine.csv").read_text() == shown
    assert f"Wrote {len(by_name)} designs" in told.stderr


def test_nothing_is_chosen_without_a_rule_and_the_ends_and_the_rules_are_told(optitip, invented):
    done = optitip("front", invented, columns=140)
    assert "chosen" not in done.stdout.replace("Nothing is chosen for you", "")
    for said in ("The ends of the front", "--knee", "--weights", "--best", "neighbours"):
        assert said in done.stdout


@pytest.mark.parametrize(
    ("rule", "why"),
    [
        (("--knee",), "is the knee"),
        (("--weights", "sample.energy_peak=2, shell.mass=1"), "(smallest margin: not weighed)"),
        (("--best", "shell.mass"), "is the best in shell mass of the members of this front"),
    ],
)
def test_a_rule_marks_one_says_why_and_what_it_gives_up(optitip, invented, rule, why):
    done = optitip("front", invented, *rule, columns=200)
    assert done.returncode == 0, done.stderr
    (first,) = [line.split()[0] for line in done.stdout.splitlines() if " 1 chosen " in line]
    said = " ".join(done.stdout.split())
    assert why in said
    assert f"What {first} gives up against the ends of the front" in said
    assert f"optitip export {invented} {first} --out DIR" in said
    assert first == _front_of(done.stdout)[0]


def test_the_best_within_a_limit_is_the_best_of_all_stored_that_keep_it(optitip, invented):
    """The reference is a plain loop over the stored figures."""
    with sqlite3.connect(invented / STORE) as connection:
        place = dict(connection.execute("SELECT name, place FROM metric"))
        rows = connection.execute("SELECT design_id, figures FROM evaluation JOIN asked USING (number)")
        kept = {}
        for name, blob in rows:
            if blob is None:
                continue
            figures = memoryview(blob).cast("d")
            low, middle, high = (
                {key: figures[3 * at + side] for key, at in place.items()} for side in range(3)
            )
            if high["shell.mass"] <= 0.15 and min(low["margin.smallest"], low["turning.smallest"]) >= 0.0:
                kept[name] = middle["sample.energy_peak"]
    done = optitip(
        "front", invented, "--best", "sample.energy_peak", "--limit", "shell.mass <= 150 g", columns=200
    )
    assert _front_of(done.stdout)[0] == max(kept, key=kept.get)


def test_a_tighter_limit_brings_designs_in_that_were_beaten_before(optitip, invented):
    def unbeaten(*limit):
        return {row["design"] for row in _rows(optitip("front", invented, *limit, "--csv", "-").stdout)}

    before, after = unbeaten(), unbeaten("--limit", "band.temperature_peak <= 320 K")
    assert after - before
    assert after


def test_designs_that_ran_in_a_few_flow_states_only_are_marked(optitip, invented):
    done = optitip("front", invented, columns=160)
    assert "confirmed" in done.stdout
    assert "ran in a search's few flow states only and are not confirmed" in " ".join(done.stdout.split())
    assert "So this front may still change" in " ".join(done.stdout.split())


def test_a_limit_looser_than_the_studys_own_is_told_to_change_nothing(optitip, invented):
    said = " ".join(optitip("front", invented, "--limit", "margin.smallest >= -0.5").stdout.split())
    assert "margin.smallest >= -0.5 changes nothing: the study has margin.smallest >= 0." in said
    tighter = " ".join(optitip("front", invented, "--limit", "margin.smallest >= 0.5").stdout.split())
    assert "changes nothing" not in tighter


def test_a_run_in_which_nothing_has_an_answer_yet_is_no_mistake(optitip, mine):
    with sqlite3.connect(mine / STORE) as connection:
        connection.execute("DELETE FROM evaluation")
    done = optitip("front", mine)
    assert done.returncode == 0
    assert "No design has an answer yet." in done.stdout


def test_the_end_of_watching_is_not_taken_for_the_end_of_the_sweep(optitip, invented, monkeypatch):
    def stop(_seconds):
        raise KeyboardInterrupt

    monkeypatch.setattr("time.sleep", stop)
    done = optitip("watch", invented)
    assert done.returncode == 0
    assert "Only the watching has ended." in done.stderr


def test_a_watch_looks_again_until_the_sweep_has_finished(optitip, mine, monkeypatch):
    looks = []

    def finish(seconds):
        looks.append(seconds)
        with sqlite3.connect(mine / STORE) as connection:
            connection.execute("UPDATE stint SET stage = 'finished', ended = 'invented end'")

    monkeypatch.setattr("time.sleep", finish)
    done = optitip("watch", mine, "--every", "7", columns=200)
    assert len(looks) == 1
    assert looks[0] >= 7.0
    assert "The sweep has finished: invented end." in done.stdout


def test_limits_that_no_design_keeps_say_how_many_keep_each(optitip, invented):
    done = optitip("front", invented, "--limit", "shell.mass <= 1 g")
    assert done.returncode == 0
    said = " ".join(done.stdout.split())
    assert "No design keeps every limit" in said
    assert "0 of 800 keep shell.mass <= 1 g" in said


def test_the_front_and_the_watch_of_a_long_run_import_nothing_heavy(invented):
    """The front of 100,000 designs has to stand within two seconds, the start of the process included."""
    for command in (("front", invented, "--knee"), ("watch", invented, "--once")):
        done = subprocess.run(
            [sys.executable, "-c", _ASKED, *map(str, command)], capture_output=True, text=True, check=True
        )
        assert [name for name in HEAVY if name in done.stderr.split()] == []


def test_the_page_of_a_finished_sweep_has_its_whole_front_and_looks_for_no_newer_one(swept, tmp_path):
    shutil.copytree(swept, tmp_path / "run")
    page = write_page(tmp_path / "run").read_text(encoding="utf-8")
    assert "The sweep has finished" in page
    assert 'http-equiv="refresh"' not in page
    rows = _rows((swept / "front.csv").read_text())
    assert [row["design"] for row in rows if f"<td>{row['design']}</td>" not in page] == []
    assert f"On the finer grid 0 of {len(rows)} change their rank" in page


def test_a_run_is_read_while_a_sweep_writes_it(optitip, mine):
    identity = RunIdentity(study_hash="invented", seed=84)
    with create_or_open(mine / STORE, identity) as store:
        (asked,) = store.ask([{"tip.band.thickness": "1 mm", "tip.material": "304"}], States.SEARCH)
        assert f"{DESIGNS:,} designs searched" in optitip("watch", mine, "--once").stdout
        store.add(asked, Evaluation(outcome=Outcome.MESH_FOLDED, detail="invented"))
        done = optitip("watch", mine, "--once")
        assert f"{DESIGNS + 1:,} designs searched" in done.stdout
        assert f"{DESIGNS + 1:,} designs" in optitip("front", mine).stdout


def test_a_metric_that_appears_while_a_run_is_read_spoils_nothing(optitip, mine):
    with create_or_open(mine / STORE, RunIdentity(study_hash="invented", seed=84)) as store:
        (asked,) = store.ask([{"tip.band.thickness": "1 mm"}], States.SEARCH)
        fresh = {"pocket.overpressure_peak": Bracketed(unit="Pa pressure", low=1.0, expected=1.0, high=1.0)}
        store.add(asked, Evaluation(outcome=Outcome.ANSWERED, metrics=fresh))
        assert optitip("front", mine).returncode == 0


@pytest.mark.skipif(sys.platform != "linux", reason="takes the leave to write from root by Linux' own call")
def test_a_run_in_a_folder_that_cannot_be_written_is_read(process, mine):
    mine.chmod(0o555)
    try:
        for command in (["front"], ["watch", "--once"]):
            done = process(*command, mine, preexec_fn=_as_others)
            assert done.returncode == 0, done.stderr
        done = process("front", mine, "--csv", mine / "more.csv", preexec_fn=_as_others)
        assert (done.returncode, done.stderr.count("\n")) == (2, 1)
        assert not (mine / "more.csv").exists()
    finally:
        mine.chmod(0o755)


def _as_others():
    """Take from root, should the tests run as root, what lets it write where nobody may."""
    drop_from_bounding_set, cap_dac_override, cap_dac_read_search = 24, 1, 2
    for capability in (cap_dac_override, cap_dac_read_search):
        ctypes.CDLL(None).prctl(drop_from_bounding_set, capability, 0, 0, 0)


def test_looking_leaves_the_folder_as_it_was(optitip, mine):
    before = {path: path.read_bytes() for path in mine.rglob("*") if path.is_file()}
    optitip("front", mine, "--knee")
    optitip("watch", mine, "--once")
    assert {path: path.read_bytes() for path in mine.rglob("*") if path.is_file()} == before


def test_the_watch_of_a_run_that_was_cut_off_says_so_and_how_it_goes_on(optitip, invented):
    done = optitip("watch", invented, "--once", columns=200)
    assert done.returncode == 0
    assert "Nobody is sweeping here now; the last stint was cut off" in done.stdout
    assert "100 of 900 designs have no answer" in done.stdout
    assert f"because {Outcome.MESH_FOLDED.problem}" in done.stdout


def test_the_watch_of_a_finished_sweep_ends_by_itself(optitip, swept):
    done = optitip("watch", swept)
    assert done.returncode == 0
    assert done.stdout.startswith(f"{swept}: The sweep has finished")


@pytest.mark.parametrize("command", [("front",), ("front", "--knee"), ("watch", "--once")])
def test_a_narrow_terminal_cuts_nothing(optitip, invented, command):
    name, *options = command
    done = optitip(name, invented, *options, columns=40)
    assert done.returncode == 0
    words = [word for line in done.stdout.splitlines() for word in [line.rstrip()] if len(line.rstrip()) > 40]
    assert [line for line in words if " " in line.strip()] == []
    assert "…" not in done.stdout


@pytest.mark.parametrize("command", ["front", "watch"])
def test_what_is_no_run_is_said_in_a_line(mistaken, command, tmp_path):
    once = ["--once"] if command == "watch" else []
    assert "there is no such run" in mistaken(command, tmp_path / "nowhere", *once)
    assert "there is no such run" in mistaken(command, tmp_path, *once)
    (tmp_path / STORE).write_bytes(b"no database at all, but longer than a header of SQLite's own is" * 20)
    assert "no run of optitip" in mistaken(command, tmp_path, *once)


def test_a_run_of_an_older_format_is_said_with_both_formats(mistaken, mine):
    with sqlite3.connect(mine / STORE) as connection:
        connection.execute("PRAGMA user_version = 2")
    for command in (("front", mine), ("watch", mine, "--once")):
        assert "written in format 2, and this version reads format" in mistaken(*command)


def test_a_run_that_has_lost_its_study_is_said(mistaken, mine):
    (mine / "study.toml").unlink()
    assert "study.toml" in mistaken("front", mine)


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--limit", "shell.mass <= 150 mm"), "--limit 'shell.mass <= 150 mm'"),
        (("--limit", "shell.mas <= 150 g"), "Did you mean 'shell.mass'"),
        (("--limit", "shell.mass"), "this is no limit"),
        (("--limit", "vehicle.ballast <= 1 kg"), "no design of this run has this metric"),
        (("--best", "band.temperature_peak"), "no objective of this run"),
        (("--weights", "shell.mass=heavy"), "no weight"),
        (("--knee", "--best", "shell.mass"), "--knee and --best are rules of their own"),
        (("--csv", "/no/such/folder/front.csv"), "no such file or directory"),
    ],
)
def test_a_wrong_option_is_said_in_a_line(mistaken, invented, options, said):
    assert said in mistaken("front", invented, *options)


def test_the_target_of_the_study_is_told_of_the_front(optitip, swept):
    """The reference is front.csv: 45 degC is 318.15 K."""
    name = "sample.temperature_coldest_peak"
    rows = _rows((swept / "front.csv").read_text())
    expected = sum(float(row[f"{name} expected [K]"]) >= 318.15 for row in rows)
    always = sum(float(row[f"{name} low [K]"]) >= 318.15 for row in rows)
    said = " ".join(optitip("front", swept).stdout.split())
    if expected:
        told = f"{expected} of {len(rows)} reach it as expected, {always} in every flow state."
    else:
        told = f"NOT reached by any of {len(rows)}, as expected; the nearest has"
    assert f"Target {name} >= 45 degC: {told}" in said


@pytest.mark.parametrize("target", [400.0, 1000.0])
def test_a_target_that_no_member_reaches_names_the_nearest(target):
    values = {"a": Bracketed(unit="K", low=300.0, expected=320.0, high=390.0)}
    values["b"] = Bracketed(unit="K", low=310.0, expected=315.0, high=316.0)
    members = [
        Record(
            number=place,
            design_id=name,
            design={},
            states=States.ALL,
            evaluation=Evaluation(outcome=Outcome.ANSWERED, metrics={"sample.temperature_mean_peak": value}),
        )
        for place, (name, value) in enumerate(values.items())
    ]
    wanted = Limit(metric="sample.temperature_mean_peak", sense=Sense.AT_LEAST, value=target)
    (line,) = target_lines(members, [wanted], run=Path("runs/x"), units=System.METRIC)
    assert "NOT reached by any of 2" in line
    assert "46.9 degC (26.9 to 117): a." in line  # 320 K less 273.15 K
    lower = Limit(metric="sample.temperature_mean_peak", sense=Sense.AT_LEAST, value=312.0)
    (line,) = target_lines(members, [lower], run=Path("runs/x"), units=System.METRIC)
    assert line.endswith("2 of 2 reach it as expected, 0 in every flow state.")


def test_the_choice_is_told_with_its_lengths_as_they_stand_in_the_file(optitip, swept):
    done = optitip("front", swept, "--best", "shell.mass", columns=200)
    (first,) = [line.split()[0] for line in done.stdout.splitlines() if " 1 chosen " in line]
    (row,) = [row for row in _rows((swept / "front.csv").read_text()) if row["design"] == first]
    said = " ".join(done.stdout.split())
    assert f"tip.band.thickness = {row['tip.band.thickness [mm]']} mm" in said
    assert f"tip.material = {row['tip.material']}" in said


def test_a_limit_that_none_keeps_is_told_with_what_the_nearest_has(optitip, invented):
    with sqlite3.connect(invented / STORE) as connection:
        ((place,),) = connection.execute("SELECT place FROM metric WHERE name = 'shell.mass'")
        rows = connection.execute("SELECT figures FROM evaluation WHERE figures IS NOT NULL")
        least = min(memoryview(blob).cast("d")[3 * place + 2] for (blob,) in rows)
    said = " ".join(optitip("front", invented, "--limit", "shell.mass <= 1 g").stdout.split())
    assert f"keep shell.mass <= 1 g; the nearest has {1e3 * least:.3g} g in its worst flow state" in said
