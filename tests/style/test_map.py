"""The map in the package's docstring is the package."""

import re
import tomllib
from pathlib import Path

import optitip

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "optitip"
NOT_ROOMS = {"__init__", "__pycache__", "materials"}


def rooms_on_disk():
    stems = {path.stem for path in PACKAGE.iterdir() if path.is_dir() or path.suffix == ".py"}
    return stems - NOT_ROOMS


def rooms_on_the_map():
    return re.findall(r"^    (\w+)\s{2,}\S", optitip.__doc__, flags=re.MULTILINE)


def test_the_map_names_each_room_once_and_no_other():
    assert sorted(rooms_on_the_map()) == sorted(rooms_on_disk())


def test_the_layers_contract_follows_the_map():
    contract = tomllib.loads((ROOT / "pyproject.toml").read_text())["tool"]["importlinter"]["contracts"][0]
    layers = [{part.strip() for part in layer.split("|")} for layer in reversed(contract["layers"])]
    order = rooms_on_the_map()
    for layer in layers:
        here, order = order[: len(layer)], order[len(layer) :]
        assert set(here) == layer


def test_a_sub_package_init_is_one_docstring():
    for path in PACKAGE.glob("*/__init__.py"):
        text = path.read_text().strip()
        assert text.startswith(chr(34) * 3), path
        assert text.count(chr(34) * 3) == 2, path


def test_libraries_of_one_purpose_have_one_door_each():
    doors = {"pint": {"units.py"}, "meshio": {"export"}, "matplotlib": {"export"}}
    doors |= {"jinja2": {"report"}}
    doors |= {"pymoo": {"search"}, "moocore": {"search"}, "sklearn": {"search"}}
    for name, allowed in doors.items():
        users = {
            path.relative_to(PACKAGE).parts[0]
            for path in PACKAGE.rglob("*.py")
            if re.search(rf"^\s*(import|from) {name}\b", path.read_text(), flags=re.MULTILINE)
        }
        assert users <= allowed, name


def test_the_top_level_holds_only_what_was_agreed():
    agreed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "optitip", "studies", "tests", "materials"}
    made = {"build", "dist", "runs", "optitip.egg-info"}
    here = {path.name for path in ROOT.iterdir() if not path.name.startswith(".")}
    assert here - made == agreed


def test_modules_stay_short():
    long = {path.name: n for path in PACKAGE.rglob("*.py") if (n := len(path.read_text().splitlines())) > 400}
    assert not long
