"""Materials, licence and program reach an installed wheel and an editable install alike."""

import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from optitip.properties.materials import material_names

ROOT = Path(__file__).parents[2]
ASK = "import optitip; from optitip.properties.materials import load_material, material_names; "
SAY = "print(optitip.__file__); print(*material_names()); load_material('egg white')"


@pytest.fixture(scope="module")
def wheel(tmp_path_factory):
    folder = tmp_path_factory.mktemp("wheel")
    command = [sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "-w", folder, ROOT]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return next(folder.glob("optitip-*.whl"))


def test_a_wheel_carries_materials_licence_and_type_mark(wheel):
    names = zipfile.ZipFile(wheel).namelist()
    for path in (ROOT / "materials").glob("*.toml"):
        assert f"optitip/materials/{path.name}" in names
    assert "optitip/LICENSE" in names
    assert "optitip/py.typed" in names
    assert not [name for name in names if name.startswith(("tests", "studies"))]


def test_an_installed_wheel_finds_its_own_materials(wheel, tmp_path):
    zipfile.ZipFile(wheel).extractall(tmp_path / "site")
    done = subprocess.run(
        [sys.executable, "-c", ASK + SAY],
        cwd=tmp_path,
        env={"PYTHONPATH": str(tmp_path / "site")},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    where, names = done.stdout.splitlines()
    assert where.startswith(str(tmp_path))
    assert set(names.split()) == {path.stem for path in (ROOT / "materials").glob("*.toml")}


def test_this_tree_finds_the_same_materials():
    assert set(material_names()) == {path.stem for path in (ROOT / "materials").glob("*.toml")}
