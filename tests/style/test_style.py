"""The style that a machine can hold: lint, format, types, layers. `pytest tests/style` runs it all."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
BIN = Path(sys.executable).parent

COMMANDS = {
    "lint": ("ruff", "check", "."),
    "format": ("ruff", "format", "--check", "."),
    "types": ("mypy",),
    "layers": ("lint-imports", "--no-cache"),
}


@pytest.mark.parametrize("name", COMMANDS)
def test_the_tree_passes(name):
    program, *arguments = COMMANDS[name]
    done = subprocess.run([BIN / program, *arguments], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
