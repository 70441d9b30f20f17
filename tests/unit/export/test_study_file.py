import tomllib

import pytest

from optitip.errors import UserMistakes
from optitip.export.study_file import write_design_study

STUDY = tomllib.loads("""
title = 'Toast "crisp" \\ \U0001f35e'
[flight]
record = "../flights/log.csv"
soak = "300 s"
[outline]
family = "von Karman"
exponent = 0.75
[tip.band]
thickness = "1 mm"
[limits]
"margin.yield" = ">= 0"
[sweep.free]
"tip.band.thickness" = ["0.7 mm", "2 mm"]
""")


@pytest.fixture
def log(tmp_path):
    path = tmp_path / "flights" / "log.csv"
    path.parent.mkdir()
    path.write_text("time [s],altitude [m]\n0,0\n")
    return path


def write(folder, inputs, **changes):
    settings = {
        "study": STUDY,
        "design": {"tip.band.thickness": "0.83 mm", "tip.base.solid": True},
        "study_title": "Toast",
        "design_id": "k3f9",
        "version": "0.1.0",
    }
    return write_design_study(inputs=inputs, folder=folder, **(settings | changes))


def test_the_new_study_differs_in_the_designs_keys_and_the_copies_names_alone(tmp_path, log):
    path = write(tmp_path / "out", {"flight.record": log})
    written = tomllib.loads(path.read_text())
    expected = tomllib.loads(path.read_text())
    assert written["tip"] == {"band": {"thickness": "0.83 mm"}, "base": {"solid": True}}
    assert written["flight"] == {"record": "log.csv", "soak": "300 s"}
    expected["tip"], expected["flight"] = STUDY["tip"], STUDY["flight"]
    assert expected == STUDY


def test_the_study_given_stays_as_it_was(tmp_path, log):
    write(tmp_path / "out", {"flight.record": log})
    assert STUDY["tip"]["band"]["thickness"] == "1 mm"
    assert STUDY["flight"]["record"] == "../flights/log.csv"


def test_the_input_lies_beside_the_study_with_the_same_bytes(tmp_path, log):
    path = write(tmp_path / "out", {"flight.record": log})
    assert (path.parent / "log.csv").read_bytes() == log.read_bytes()
    assert sorted(one.name for one in path.parent.iterdir()) == ["log.csv", "study.toml"]


def test_the_header_names_study_design_and_version_and_can_not_be_broken_out_of(tmp_path):
    path = write(tmp_path / "out", {}, study_title='x"\n[tip]\nmaterial = "lead"\n#', design_id="k\r\n3")
    text = path.read_text()
    assert "0.1.0" in text.split("\n\n")[0]
    assert all(line.startswith("#") for line in text.split("\n\n")[0].splitlines())
    assert "material" not in tomllib.loads(text)["tip"]


def test_text_with_quotes_and_line_breaks_comes_back_as_it_was(tmp_path):
    nasty = 'a"\n[sweep]\\ \x7f'
    path = write(tmp_path / "out", {}, design={"tip.material": nasty})
    assert tomllib.loads(path.read_text())["tip"]["material"] == nasty


def test_two_inputs_of_one_name_get_a_name_each_and_one_input_named_twice_stays_one(tmp_path, log):
    other = tmp_path / "LOG.csv"
    other.write_text("other")
    inputs = {"flight.record": log, "flow.heating_table": other, "outline.profile": log}
    path = write(tmp_path / "out", inputs)
    study = tomllib.loads(path.read_text())
    assert study["outline"]["profile"] == study["flight"]["record"] == "log.csv"
    assert study["flow"]["heating_table"] == "LOG-2.csv"
    assert (path.parent / "LOG-2.csv").read_text() == "other"


def test_an_input_called_like_the_study_does_not_overwrite_it(tmp_path):
    source = tmp_path / "study.toml"
    source.write_text("an input")
    path = write(tmp_path / "out", {"flow.heating_table": source})
    assert tomllib.loads(path.read_text())["flow"]["heating_table"] == "study-2.toml"


def test_an_input_called_like_a_file_that_stands_there_does_not_overwrite_it(tmp_path, log):
    out = tmp_path / "out"
    out.mkdir()
    (out / "Log.csv").write_text("a table of the package")
    path = write(out, {"flight.record": log})
    assert (out / "Log.csv").read_text() == "a table of the package"
    copy = tomllib.loads(path.read_text())["flight"]["record"]
    assert (copy, (out / copy).read_bytes()) == ("log-2.csv", log.read_bytes())


def test_an_input_that_is_gone_is_the_users_mistake_and_nothing_is_written(tmp_path):
    with pytest.raises(UserMistakes, match=r"flight\.record"):
        write(tmp_path / "out", {"flight.record": tmp_path / "gone.csv"})
    assert not (tmp_path / "out").exists()
