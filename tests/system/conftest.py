"""Running the command line as a person does."""

import io
import os
import re
import shutil
import subprocess
import sys
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path

import pytest

from optitip.cli.main import run

ROOT = Path(__file__).parents[2]
PROGRAM = Path(sys.executable).parent / "optitip"
LINE = re.compile(r"[^:]+.*: .+\. .+\.")
"""What a mistake looks like: place, problem, remedy."""


SURROUNDINGS = {"OPENBLAS_NUM_THREADS": "1", "NO_COLOR": "1"}


@pytest.fixture(scope="session")
def process():
    """Run ``optitip`` in a process of its own; the result has returncode, stdout and stderr."""

    def run_there(*arguments, folder=ROOT, timeout=300, columns=100, preexec_fn=None):
        return subprocess.run(
            [PROGRAM, *map(str, arguments)],
            cwd=folder,
            env={**os.environ, **SURROUNDINGS, "COLUMNS": str(columns)},
            capture_output=True,
            text=True,
            timeout=timeout,
            check=False,
            preexec_fn=preexec_fn,
        )

    return run_there


@pytest.fixture(scope="session")
def optitip():
    """Run ``optitip`` as ``process`` does, but here: a second sooner."""

    def run_here(*arguments, folder=ROOT, columns=100):
        out, err = io.StringIO(), io.StringIO()
        with pytest.MonkeyPatch.context() as patch, redirect_stdout(out), redirect_stderr(err):
            for name, value in {**SURROUNDINGS, "COLUMNS": str(columns)}.items():
                patch.setenv(name, value)
            patch.chdir(folder)
            code = run([str(argument) for argument in arguments])
        return subprocess.CompletedProcess(arguments, code, out.getvalue(), err.getvalue())

    return run_here


@pytest.fixture(scope="session")
def swept(optitip, tmp_path_factory):
    """Return the run folder of a sweep of 48 designs by one worker."""
    folder = tmp_path_factory.mktemp("swept") / "run"
    done = optitip("sweep", "studies/coastal-egg", "--out", folder, "--evaluations", "48", "--workers", "1")
    assert done.returncode == 0, done.stderr
    return folder


@pytest.fixture
def copied(tmp_path):
    """Copy a shipped study into a scratch folder, with changes to its text."""

    def copy(name, *changes):
        folder = tmp_path / name
        shutil.copytree(ROOT / "studies" / name, folder)
        path = folder / "study.toml"
        text = path.read_text(encoding="utf-8")
        for old, new in changes:
            assert old in text, old
            text = text.replace(old, new)
        path.write_text(text, encoding="utf-8")
        return folder

    return copy


@pytest.fixture(scope="session")
def studies():
    """Return the folder of the shipped studies."""
    return ROOT / "studies"


@pytest.fixture
def mistaken(capfd, monkeypatch):
    """Run a command that must fail as a mistake, and return its lines."""
    monkeypatch.setenv("COLUMNS", "100")

    def fail(*arguments, code=2):
        ended = run([str(argument) for argument in arguments])
        out, err = capfd.readouterr()
        assert ended == code, out + err
        assert not out
        lines = err.strip().splitlines()
        assert lines
        assert [line for line in lines if not LINE.fullmatch(line)] == []
        return err

    return fail
