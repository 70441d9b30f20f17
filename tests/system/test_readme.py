"""The README says what is true: its output, its commands, its file names."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_the_first_screen_is_the_programs_own_output(optitip):
    shown = re.search(r"```text\n(.*?)\n```", README, flags=re.DOTALL)[1].splitlines()
    printed = optitip("check", "studies/coastal-egg", columns=80).stdout.splitlines()
    assert shown == [line.rstrip() for line in printed[: len(shown)]]


def test_the_test_command_is_the_one_the_build_runs():
    script = (ROOT / ".ci" / "run").read_text()
    assert "```console\n.venv/bin/pytest\n```" in README
    assert script.rstrip().endswith("\n.venv/bin/pytest")


def test_every_file_the_readme_links_to_is_there():
    for target in re.findall(r"\]\(([^)#]+)\)", README):
        assert (ROOT / target).exists(), target


@pytest.mark.parametrize(
    "command", ["new", "check", "flights", "sweep", "watch", "front", "neighbours", "export", "materials"]
)
def test_the_readme_shows_each_command(command):
    assert f"optitip {command}" in README


def test_the_three_lines_of_python_run():
    blocks = re.findall(r"```python\n(.*?)```", README, flags=re.DOTALL)
    (block,) = (one for one in blocks if "from optitip" in one)
    lines = [line for line in block.splitlines() if line]
    assert len(lines) == 3
    names = {}
    exec(block.replace('"studies', f'"{ROOT}/studies'), names)
    assert names["assessment"].metrics["sample.energy_peak"].expected > 0.0
