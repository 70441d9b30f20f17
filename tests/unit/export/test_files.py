import os
from pathlib import Path

import pytest

from optitip.errors import UserMistakes
from optitip.export.files import LONGEST_NAME, made_folder, safe_name, whole_file, write_text


@pytest.mark.parametrize(
    "text",
    [
        "../../etc/passwd",
        "a\\b",
        "/absolute",
        "~root",
        "..",
        "",
        "a\x1b[31mred",
        "line\nbreak",
        "nul",
        "LPT1.dxf",
        "x" * 500,
        "tail.dxf" + "." * 90,
        "a:b*c?",
        "ünï",
    ],
)
def test_a_safe_name_is_a_plain_file_of_the_folder_whatever_the_text(text, tmp_path):
    name = safe_name(text)
    assert (tmp_path / name).parent == tmp_path
    assert Path(name).name == name
    assert 0 < len(name) <= LONGEST_NAME + len("file-")
    assert not name.startswith(".")
    assert name.isprintable()
    assert safe_name(name) == name


def test_a_long_name_keeps_its_suffix():
    assert safe_name("x" * 500 + ".dxf").endswith("x.dxf")


def test_a_failed_write_leaves_the_old_file_and_no_leftovers(tmp_path):
    write_text(tmp_path, "table.csv", "old")

    def fails_half_way():
        with whole_file(tmp_path, "table.csv") as part:
            part.write_text("half")
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        fails_half_way()
    assert (tmp_path / "table.csv").read_text() == "old"
    assert [path.name for path in tmp_path.iterdir()] == ["table.csv"]


def test_a_link_in_the_folder_is_replaced_and_what_it_points_to_stays(tmp_path):
    outside = tmp_path / "outside.txt"
    outside.write_text("mine")
    folder = made_folder(tmp_path / "out")
    (folder / "table.csv").symlink_to(outside)
    write_text(folder, "table.csv", "new")
    assert outside.read_text() == "mine"
    assert (folder / "table.csv").read_text() == "new"


def test_a_folder_that_is_a_file_is_the_users_mistake(tmp_path):
    (tmp_path / "out").write_text("")
    with pytest.raises(UserMistakes, match="--out"):
        write_text(tmp_path / "out", "table.csv", "x")


def test_a_folder_in_the_place_of_the_file_is_the_users_mistake(tmp_path):
    (tmp_path / "table.csv").mkdir()
    with pytest.raises(UserMistakes, match="--out"):
        write_text(tmp_path, "table.csv", "x")


def test_a_folder_without_write_permission_is_the_users_mistake(tmp_path, monkeypatch):
    folder = tmp_path / "locked"
    folder.mkdir(mode=0o500)
    # the superuser may write anywhere: the system's answer is given for everybody
    monkeypatch.setattr(os, "access", lambda path, _: path != folder)
    with pytest.raises(UserMistakes, match="can't be written"):
        write_text(folder, "table.csv", "x")


def test_a_name_that_leaves_the_folder_never_reaches_the_disk(tmp_path):
    with pytest.raises(ValueError, match="safe"):
        write_text(tmp_path, "../table.csv", "x")
