import hashlib
import re

import pytest

from optitip.errors import UserMistakes
from optitip.export.landing import CONTENTS, check_landing, landing


def land(folder, **files):
    with landing(folder) as waiting:
        for name, content in files.items():
            place = waiting / name.replace("_", "/", 1)
            place.parent.mkdir(exist_ok=True)
            place.write_text(content)


def there(folder):
    return {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()} - {CONTENTS}


def test_all_lands_with_a_list_of_its_digests(tmp_path):
    land(tmp_path / "out", a="1", answer_b="2")
    lines = (tmp_path / "out" / CONTENTS).read_text().splitlines()
    digest = hashlib.sha256(b"2").hexdigest()
    assert f"{digest}  answer/b" in lines
    assert there(tmp_path / "out") == {"a", "answer/b"}


def test_nothing_lands_and_no_folder_stays_when_the_writing_is_stopped(tmp_path):
    def stopped():
        with landing(tmp_path / "out") as waiting:
            (waiting / "a").write_text("half")
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        stopped()
    assert not (tmp_path / "out").exists()


def test_a_later_package_replaces_the_earlier_and_takes_away_what_it_no_longer_has(tmp_path):
    land(tmp_path, a="1", base="old", answer_b="2")
    (tmp_path / "notes.txt").write_text("mine")
    land(tmp_path, a="3", answer_b="2")
    assert there(tmp_path) == {"a", "answer/b", "notes.txt"}
    assert (tmp_path / "a").read_text() == "3"


@pytest.mark.parametrize("name", ["a", "answer/b"])
def test_a_file_of_the_users_own_is_never_written_over(tmp_path, name):
    (tmp_path / "answer").mkdir()
    (tmp_path / name).write_text("mine")
    with pytest.raises(UserMistakes, match=rf"{name}: it is no file of an earlier package\. Move it away"):
        land(tmp_path, a="1", answer_b="2")
    assert (tmp_path / name).read_text() == "mine"
    assert there(tmp_path) == {name}


def test_a_file_of_the_package_that_the_user_filled_in_is_never_written_over(tmp_path):
    land(tmp_path, a="1", made="")
    (tmp_path / "made").write_text("1.31 mm")
    changed = "made: it was changed since it was written here"
    with pytest.raises(UserMistakes, match=changed), landing(tmp_path):
        pytest.fail("it is told at once")
    assert (tmp_path / "made").read_text() == "1.31 mm"


def test_a_file_of_the_users_with_the_same_content_stays_the_users(tmp_path):
    (tmp_path / "log").write_text("as flown")
    land(tmp_path, log="as flown", a="1")
    land(tmp_path, a="2")
    assert (tmp_path / "log").read_text() == "as flown"


def test_many_files_in_the_way_are_counted(tmp_path):
    for number in range(30):
        (tmp_path / f"f{number}").write_text("mine")
    with pytest.raises(UserMistakes) as caught:
        land(tmp_path, **{f"f{number}": "new" for number in range(30)})
    assert len(caught.value.mistakes) == 5
    assert re.search(r"\b26 more stand", str(caught.value))


def test_a_folder_in_the_way_is_a_mistake_and_stays(tmp_path):
    (tmp_path / "a").mkdir()
    with pytest.raises(UserMistakes, match="a: it is no file"):
        land(tmp_path, a="1")
    assert (tmp_path / "a").is_dir()


def test_a_list_that_names_files_outside_takes_none_of_them_away(tmp_path):
    outside = tmp_path / "outside"
    outside.write_text("mine")
    digest = hashlib.sha256(b"mine").hexdigest()
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / CONTENTS).write_text(f"{digest}  ../outside\n{digest}  {outside}\n")
    land(tmp_path / "out", a="1")
    assert outside.read_text() == "mine"


def test_a_file_in_place_of_the_folder_is_told_before_anything_is_reckoned(tmp_path):
    (tmp_path / "out").write_text("mine")
    with pytest.raises(UserMistakes, match="out: it can't be written"):
        check_landing(tmp_path / "out")


def test_a_file_of_the_users_where_one_is_sure_to_come_is_told_at_once(tmp_path):
    (tmp_path / "drawing.pdf").write_text("mine")
    with pytest.raises(UserMistakes, match=r"drawing\.pdf: it is no file of an earlier package"):
        check_landing(tmp_path, sure=("drawing.pdf", "study.toml"))
    (tmp_path / "drawing.pdf").unlink()
    with landing(tmp_path) as waiting:
        (waiting / "drawing.pdf").write_text("ours")
    check_landing(tmp_path, sure=("drawing.pdf", "study.toml"))
