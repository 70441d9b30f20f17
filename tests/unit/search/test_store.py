import sqlite3
from contextlib import closing

import pytest

from optitip.errors import Outcome, UserMistakes
from optitip.metrics.values import Bracketed, Evaluation
from optitip.search.executors.face import States
from optitip.search.store import RunIdentity, create_or_open, open_to_read

IDENTITY = RunIdentity(study_hash="abc123", version="0.1.0", seed=7)
DESIGNS = [{"tip.material": "304", "tip.band.thickness": "1.2 mm"}, {"tip.material": "C110"}]
ANSWER = Evaluation(
    outcome=Outcome.ANSWERED,
    metrics={
        "shell.mass": Bracketed(
            unit="kg", low=0.1, expected=0.1 + 1e-17, high=1 / 3, low_state="laminar", high_state="turbulent"
        )
    },
    seconds=0.25,
)
FAILURE = Evaluation(outcome=Outcome.TIP_TOO_SHORT, detail="3 mm are missing", seconds=0.01)


@pytest.fixture
def path(tmp_path):
    return tmp_path / "run.sqlite"


def test_an_evaluation_comes_back_as_it_was_written(path):
    with create_or_open(path, IDENTITY) as store:
        first, second = store.ask(DESIGNS, States.SEARCH)
        store.add(second, FAILURE)
        store.add(first, ANSWER)
    with open_to_read(path) as store:
        records = store.records()
        assert [record.evaluation for record in records] == [ANSWER, FAILURE]
        assert [record.design for record in records] == DESIGNS
        assert [record.number for record in records] == [1, 2]
        assert store.meta() == {
            "schema": "2", "study_hash": "abc123", "optitip_version": "0.1.0", "seed": "7",
        }  # fmt: skip


def test_a_run_of_before_the_flow_states_were_kept_is_still_read(path):
    with create_or_open(path, IDENTITY) as store:
        store.add(store.ask(DESIGNS, States.SEARCH)[0], ANSWER)
    with closing(sqlite3.connect(path)) as connection, connection:
        connection.execute("UPDATE evaluation SET metrics = '{\"shell.mass\": [0.1, 0.2, 0.3]}'")
    with open_to_read(path) as store:
        mass = store.records()[0].evaluation.metrics["shell.mass"]
    assert (mass.low, mass.expected, mass.high, mass.low_state) == (0.1, 0.2, 0.3, "")


def test_what_was_asked_and_not_answered_is_still_known_after_reopening(path):
    with create_or_open(path, IDENTITY) as store:
        first, second = store.ask(DESIGNS, States.SEARCH)
        store.add(first, ANSWER)
    with create_or_open(path, IDENTITY) as store:
        assert store.unanswered() == [second]


def test_one_design_may_be_run_over_the_search_states_and_over_all(path):
    with create_or_open(path, IDENTITY) as store:
        asked = store.ask(DESIGNS[:1], States.SEARCH) + store.ask(DESIGNS[:1], States.ALL)
        assert [one.number for one in asked] == [1, 2]


def test_the_same_design_can_not_be_asked_for_twice(path):
    with create_or_open(path, IDENTITY) as store:
        store.ask(DESIGNS, States.SEARCH)
        with pytest.raises(sqlite3.IntegrityError):
            store.ask(DESIGNS, States.SEARCH)


def test_a_reader_sees_rows_while_the_writer_is_at_work(path):
    with create_or_open(path, IDENTITY) as store:
        asked = store.ask(DESIGNS, States.SEARCH)
        with open_to_read(path) as reader:
            assert reader.records() == []
            store.add(asked[0], ANSWER)
            assert len(reader.records()) == 1


def test_a_reader_can_not_write(path):
    create_or_open(path, IDENTITY).close()
    with open_to_read(path) as reader, pytest.raises(UserMistakes, match="can't be written"):
        reader.ask(DESIGNS, States.SEARCH)


def test_a_closed_store_is_one_file_without_side_files(path):
    with create_or_open(path, IDENTITY) as store:
        store.ask(DESIGNS, States.SEARCH)
    assert [one.name for one in path.parent.iterdir()] == ["run.sqlite"]


def test_a_row_survives_a_writer_that_never_closed(path, tmp_path):
    store = create_or_open(path, IDENTITY)
    store.add(store.ask(DESIGNS, States.SEARCH)[0], ANSWER)
    copy = tmp_path / "copy"
    copy.mkdir()
    for one in tmp_path.glob("run.sqlite*"):
        (copy / one.name).write_bytes(one.read_bytes())
    with create_or_open(copy / "run.sqlite", IDENTITY) as revived:
        assert [record.evaluation for record in revived.records()] == [ANSWER]
    store.close()


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        (
            RunIdentity(study_hash="fff", version="0.1.0", seed=7),
            r"another study \(abc123, and now it is fff\)",
        ),
        (RunIdentity(study_hash="abc123", version="0.1.0", seed=8), r"another seed \(7, and now it is 8\)"),
    ],
)
def test_the_store_of_another_study_or_seed_is_refused(path, changed, said):
    create_or_open(path, IDENTITY).close()
    with pytest.raises(UserMistakes, match=said):
        create_or_open(path, changed)


def test_a_store_of_another_format_is_refused(path):
    create_or_open(path, IDENTITY).close()
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("PRAGMA user_version = 99")
    for opened in (lambda: create_or_open(path, IDENTITY), lambda: open_to_read(path)):
        with pytest.raises(UserMistakes, match="format 99"):
            opened()


def test_a_database_of_another_program_is_refused_and_left_as_it_was(path):
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("CREATE TABLE recipes (name TEXT)")
    before = path.read_bytes()
    for opened in (lambda: create_or_open(path, IDENTITY), lambda: open_to_read(path)):
        with pytest.raises(UserMistakes, match="no run of optitip"):
            opened()
    assert path.read_bytes() == before


def test_a_file_that_is_no_database_is_refused(path):
    path.write_text("time [s], altitude [m]\n" * 100)
    for opened in (lambda: create_or_open(path, IDENTITY), lambda: open_to_read(path)):
        with pytest.raises(UserMistakes, match="no run of optitip"):
            opened()


def test_an_empty_file_left_by_a_crash_is_begun_anew(path):
    path.touch()
    with create_or_open(path, IDENTITY) as store:
        assert store.meta()["study_hash"] == "abc123"


def test_a_missing_run_is_a_mistake(path):
    with pytest.raises(UserMistakes, match="no such run"):
        open_to_read(path)


def test_a_store_in_a_folder_that_is_not_there_is_a_mistake(tmp_path):
    with pytest.raises(UserMistakes, match="can't be opened"):
        create_or_open(tmp_path / "gone" / "run.sqlite", IDENTITY)


def test_a_full_disk_is_one_line_and_keeps_what_was_written(path):
    with create_or_open(path, IDENTITY) as store:
        pages = store._connection.execute("PRAGMA page_count").fetchone()[0]
        store._connection.execute(f"PRAGMA max_page_count = {pages + 2}")
        long = [{"tip.material": f"{turn} {'x' * 500}"} for turn in range(40)]
        with pytest.raises(UserMistakes, match="the disk is full") as caught:
            store.ask(long, States.SEARCH)
        assert "\n" not in str(caught.value)
        assert store.unanswered() == []
