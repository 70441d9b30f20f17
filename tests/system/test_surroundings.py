"""Where and how the commands are run: odd paths, line ends, narrow and plain terminals, a sweep cut short."""

import csv
import json
import os
import re
import shutil
import signal
import subprocess
import time
from pathlib import Path

import numpy as np
import pytest

from optitip.cli.main import run
from optitip.search.run_folder import read_run
from tests.system.conftest import PROGRAM

ROOT = Path(__file__).parents[2]
EGG = ROOT / "studies" / "coastal-egg"


@pytest.fixture
def said(capfd, monkeypatch):
    """Run a command that must answer, in this process, and return what it printed."""

    def say(*arguments, columns=80):
        monkeypatch.setenv("COLUMNS", str(columns))
        code = run([str(argument) for argument in arguments])
        out, err = capfd.readouterr()
        assert code == 0, err
        return out

    return say


def energy(record):
    return json.loads(record)["metrics"]["sample.energy_peak"]["expected"]


def test_a_study_reads_the_same_with_a_byte_mark_and_windows_line_ends(said, copied):
    study = copied("coastal-egg")
    for name in ("study.toml", "flight.csv"):
        plain = (study / name).read_bytes()
        (study / name).write_bytes(b"\xef\xbb\xbf" + plain.replace(b"\n", b"\r\n"))
    assert energy(said("check", study, "--json")) == energy(said("check", EGG, "--json"))


def test_a_path_may_hold_spaces_and_letters_of_any_alphabet(said, tmp_path, monkeypatch):
    study = tmp_path / "Ei & Höhe [3] 卵"
    shutil.copytree(EGG, study)
    assert f"in {study / 'part'}" in said("export", study, "--out", study / "part", columns=400)
    monkeypatch.chdir(study)
    assert said("check", "study.toml") == said("check", EGG)


@pytest.mark.parametrize("columns", [40, 80])
@pytest.mark.parametrize("units", ["metric", "us"])
def test_no_line_is_cut_or_longer_than_the_terminal(columns, units, said):
    for command in (["check", EGG], ["materials"], ["materials", "PTFE"]):
        out = said(*command, "--units", units, columns=columns)
        assert max(map(len, out.splitlines())) <= columns
        assert "…" not in out
        assert "\x1b" not in out


def test_us_units_leave_no_metric_figure_in_the_answer(said):
    out = said("check", EGG, "--units", "us")
    assert re.findall(r"\d (?:degC|mm|MPa|kPa|g)\b", out) == []
    assert "limit 482 degF" in " ".join(out.split())


def test_a_measured_profile_answers_and_exports_like_its_family(said, copied):
    family = 'family = "von Karman"\ndiameter = "84 mm"\nlength = "420 mm"\n'
    study = copied("coastal-egg", (family, 'profile = "profile.csv"\n'))
    axial = np.linspace(0.0, 420.0, 141)
    angle = np.arccos(1.0 - 2.0 * axial / 420.0)
    radius = 42.0 / np.sqrt(np.pi) * np.sqrt(angle - np.sin(2.0 * angle) / 2.0)
    rows = "".join(f"{z:.4f},{r:.4f}\n" for z, r in zip(axial, radius, strict=True))
    (study / "profile.csv").write_text(f"z [mm],r [mm]\n{rows}")
    measured = energy(said("check", study, "--json"))
    assert measured == pytest.approx(energy(said("check", EGG, "--json")), rel=2e-3)
    assert "section.dxf" in said("export", study, "--out", study / "part")
    assert energy(said("check", study / "part", "--json")) == pytest.approx(measured, rel=1e-9)


def front(folder):
    return (folder / "front.csv").read_bytes()


def begun(folder):
    """Start a sweep of 48 designs in a process group of its own and wait until some of them are stored."""
    command = [PROGRAM, "sweep", EGG, "--out", folder, "--evaluations", "48", "--workers", "2"]
    process = subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, start_new_session=True
    )
    end = time.monotonic() + 60.0
    while time.monotonic() < end and process.poll() is None and stored(folder) < 4:
        time.sleep(0.05)
    return process


def stored(folder):
    """Return how many designs the run holds; while it is being made it can't be read yet."""
    if not (folder / "study.toml").exists():
        return 0
    with read_run(folder) as store:
        return len(list(store.records()))


@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGKILL])
def test_a_sweep_cut_short_goes_on_to_the_same_front(how, swept, said, tmp_path):
    folder = tmp_path / "run"
    process = begun(folder)
    os.killpg(process.pid, how)
    _, err = process.communicate(timeout=60)
    assert 4 <= stored(folder) < 48, err
    if how is signal.SIGINT:
        assert process.returncode == 130, err
        assert "same command" in err
    assert "Traceback" not in err
    assert not (folder / "front.csv").exists()
    said("sweep", EGG, "--out", folder, "--evaluations", "48", "--workers", "1")
    assert front(folder) == front(swept)
    assert len(list(csv.reader((folder / "front.csv").open()))) > 2
