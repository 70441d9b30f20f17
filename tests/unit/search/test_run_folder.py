import csv
import io
from dataclasses import replace

import pytest

from optitip.errors import Outcome, UserMistakes
from optitip.metrics.values import Bracketed, Evaluation
from optitip.search.executors.face import States
from optitip.search.records import Record, RunIdentity
from optitip.search.run_folder import front_table, input_names, read_run, run_folder
from optitip.search.space import Space

IDENTITY = RunIdentity(study_hash="abc", seed=1)
SPACE = Space({"tip.band.thickness": ("0.6 mm", "2.5 mm")}, {"tip.material": ("304", "=HYPERLINK(1)")})


def _member(material="304"):
    metrics = {
        "margin.yield": Bracketed(
            unit="1", low=-0.25, expected=0.5, high=1.0, low_state="turbulent", high_state="laminar"
        ),
        "shell.mass": Bracketed(unit="kg", low=0.1, expected=0.1, high=0.1),
    }
    return Record(
        number=3,
        design_id="00ff00ff00ff",
        design={"tip.band.thickness": "1.237 mm", "tip.material": material},
        states=States.ALL,
        evaluation=Evaluation(outcome=Outcome.ANSWERED, metrics=metrics),
    )


@pytest.fixture
def thrust(tmp_path):
    path = tmp_path / "elsewhere" / "thrust.csv"
    path.parent.mkdir()
    path.write_text("time [s],thrust [N]\n0,100\n")
    return path


def _open(path, inputs=(), **changed):
    wanted = {"study_text": "title = 'ü'\n", "identity": IDENTITY} | changed
    return run_folder(path, inputs=input_names(inputs), **wanted)


def test_a_run_folder_holds_its_study_inputs_store_front_and_log(tmp_path, thrust):
    path = tmp_path / "runs" / "first"
    with _open(path, [thrust]) as folder:
        folder.log("begun\nwith a line break")
        folder.write_front([_member()], SPACE)
        assert (path / "lock").exists()
    names = sorted(one.relative_to(path).as_posix() for one in path.rglob("*"))
    assert names == ["front.csv", "inputs", "inputs/thrust.csv", "log.txt", "run.sqlite", "study.toml"]
    assert (path / "study.toml").read_text(encoding="utf-8") == "title = 'ü'\n"
    assert (path / "inputs/thrust.csv").read_bytes() == thrust.read_bytes()
    assert (path / "log.txt").read_text().count("\n") == 1


def test_nothing_is_written_outside_the_run_folder(tmp_path, thrust):
    before = {one: one.stat().st_mtime_ns for one in tmp_path.rglob("*")}
    with _open(tmp_path / "run", [thrust]) as folder:
        folder.write_front([_member()], SPACE)
    after = [one for one in tmp_path.rglob("*") if tmp_path / "run" not in [one, *one.parents]]
    assert {one: one.stat().st_mtime_ns for one in after} == before


def test_a_name_that_leads_out_of_the_folder_is_refused(tmp_path, thrust):
    with (
        pytest.raises(ValueError, match="outside the run folder"),
        run_folder(tmp_path / "run", study_text="", inputs={"../x.csv": thrust}, identity=IDENTITY),
    ):
        pass
    assert not (tmp_path / "x.csv").exists()


def test_a_changed_study_is_refused_with_each_difference_named(tmp_path, thrust):
    text = 'title = "a"\n[tip]\nmaterial = "304"\n[sweep]\nevaluations = 50\nseed = 1\n'
    with _open(tmp_path / "run", [thrust], study_text=text):
        pass
    thrust.write_text("time [s],thrust [N]\n0,101\n")
    changed = text.replace("304", "6061-T6").replace('title = "a"\n', "").replace("seed = 1", "[sweep.free]")
    with pytest.raises(UserMistakes) as told, _open(tmp_path / "run", [thrust], study_text=changed):
        pass
    assert [str(one).partition(": ")[2].partition(". ")[0] for one in told.value.mistakes] == [
        "the run was begun with no sweep.free, and now it is {}",
        "the run was begun with sweep.seed = 1, which is gone",
        "the run was begun with tip.material = '304', and now it is '6061-T6'",
        "the run was begun with title = 'a', which is gone",
        "'thrust.csv' has changed since the run was begun",
    ]
    assert not (tmp_path / "run/lock").exists()


def test_a_material_of_ones_own_that_went_or_came_is_named(tmp_path, thrust):
    kept = {"materials/my-foam.toml": thrust}
    with run_folder(tmp_path / "run", study_text="", inputs=kept, identity=IDENTITY):
        pass
    now = {"materials/my-cork.toml": thrust}
    with (
        pytest.raises(UserMistakes) as told,
        run_folder(tmp_path / "run", study_text="", inputs=now, identity=IDENTITY),
    ):
        pass
    assert [one.problem for one in told.value.mistakes] == [
        "'my-cork.toml' is new since the run was begun",
        "'my-foam.toml' is gone since the run was begun",
    ]


def test_how_long_a_search_takes_may_change_and_the_first_study_stays(tmp_path):
    text = "[sweep]\nevaluations = 50\n"
    longer = "[sweep]\nevaluations = 90\ntime_limit = '5 s'\nstalled = 400\n"
    for one in (text, longer):
        with _open(tmp_path / "run", study_text=one):
            pass
    assert (tmp_path / "run/study.toml").read_text(encoding="utf-8") == text


def test_two_sweeps_can_not_write_one_run_and_the_second_leaves_no_trace(tmp_path):
    with _open(tmp_path / "run") as first:
        with pytest.raises(UserMistakes, match="another sweep"), _open(tmp_path / "run"):
            pass
        first.store.ask([{"x": "1"}], States.SEARCH)


def test_the_run_of_another_study_is_refused(tmp_path):
    with _open(tmp_path / "run"):
        pass
    other = RunIdentity(study_hash="def", seed=1)
    with pytest.raises(UserMistakes, match="another study"), _open(tmp_path / "run", identity=other):
        pass
    assert not (tmp_path / "run/lock").exists()


def test_a_folder_with_other_things_in_it_is_left_alone(tmp_path):
    (tmp_path / "holiday.txt").write_text("photos")
    with pytest.raises(UserMistakes, match="holds other things"), _open(tmp_path):
        pass
    assert [one.name for one in tmp_path.iterdir()] == ["holiday.txt"]


def test_a_file_where_the_folder_should_be_is_a_mistake(tmp_path):
    (tmp_path / "run").touch()
    with pytest.raises(UserMistakes, match="this is a file"), _open(tmp_path / "run"):
        pass


def test_a_place_that_can_not_be_written_is_a_mistake(tmp_path):
    (tmp_path / "file").touch()
    with pytest.raises(UserMistakes, match="file"), _open(tmp_path / "file" / "run"):
        pass


def test_an_input_that_went_away_is_a_mistake_that_names_it(tmp_path):
    with pytest.raises(UserMistakes, match=r"gone\.csv"), _open(tmp_path / "run", [tmp_path / "gone.csv"]):
        pass


def test_a_run_can_be_read_while_it_is_written(tmp_path):
    with _open(tmp_path / "run") as folder:
        folder.store.ask([{"x": "1"}], States.SEARCH)
        with read_run(tmp_path / "run") as reader:
            assert len(reader.unanswered()) == 1


def test_inputs_of_one_name_from_two_folders_are_both_kept(tmp_path):
    paths = [tmp_path / name for name in ("a/curve.csv", "b/Curve.csv", "c/curve.csv")]
    assert list(input_names(paths)) == ["inputs/curve.csv", "inputs/Curve-2.csv", "inputs/curve-3.csv"]


def test_the_front_is_a_table_with_units_in_its_header():
    rows = list(csv.DictReader(io.StringIO(front_table([_member()], SPACE))))
    assert rows == [
        {
            "design": "00ff00ff00ff",
            "flow states": "all",
            "tip.band.thickness [mm]": "1.237",
            "tip.material": "304",
            "margin.yield low": "-0.25",
            "margin.yield expected": "0.5",
            "margin.yield high": "1",
            "margin.yield low from": "turbulent",
            "margin.yield high from": "laminar",
            "shell.mass low [kg]": "0.1",
            "shell.mass expected [kg]": "0.1",
            "shell.mass high [kg]": "0.1",
            "shell.mass low from": "",
            "shell.mass high from": "",
        }
    ]


def test_the_columns_do_not_depend_on_which_metric_a_store_met_first():
    member = _member()
    turned = replace(member.evaluation, metrics=dict(reversed(member.evaluation.metrics.items())))
    assert front_table([replace(member, evaluation=turned)], SPACE) == front_table([member], SPACE)


def test_the_header_of_a_pressure_is_a_unit_that_reads_back():
    member = _member()
    member.evaluation.metrics["pocket.overpressure_peak"] = Bracketed(
        unit="Pa pressure", low=1.0, expected=2.0, high=3.0
    )
    header = next(csv.reader(io.StringIO(front_table([member], SPACE))))
    assert "pocket.overpressure_peak high [Pa]" in header


@pytest.mark.parametrize("text", ["=HYPERLINK(1)", "+1", "-1", "@x", "\t=1", "\r=1"])
def test_no_text_in_the_front_is_a_formula_for_a_spreadsheet(text):
    space = Space({}, {"tip.material": (text,), text: ("304",)})
    record = _member()
    record.design.clear()
    record.design.update({"tip.material": text, text: "304"})
    for row in csv.reader(io.StringIO(front_table([record], space), newline="")):
        assert not any(cell.startswith(("=", "+", "@", "\t", "\r", "-1")) for cell in row)


def test_an_empty_front_is_a_header_alone():
    assert front_table([], SPACE) == "design,flow states,tip.band.thickness [mm],tip.material\n"
