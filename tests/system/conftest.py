"""Running the command line as a person does, in a process of its own."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PROGRAM = Path(sys.executable).parent / "optitip"


@pytest.fixture(scope="session")
def optitip():
    """Run ``optitip`` with arguments; the result has returncode, stdout and stderr."""

    def run(*arguments, folder=ROOT, timeout=300):
        environment = {**os.environ, "COLUMNS": "100", "OPENBLAS_NUM_THREADS": "1", "NO_COLOR": "1"}
        return subprocess.run(
            [PROGRAM, *map(str, arguments)],
            cwd=folder,
            env=environment,
            capture_output=True,
            text=True,
            timeout=timeout,
            check=False,
        )

    return run


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
