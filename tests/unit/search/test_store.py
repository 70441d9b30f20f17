import sqlite3
import subprocess
import sys
from contextlib import closing
from dataclasses import replace

import numpy as np
import pytest

from optitip import __version__
from optitip.errors import Outcome, UserMistakes
from optitip.metrics.values import Bracketed, Evaluation
from optitip.search.executors.face import States
from optitip.search.records import RunIdentity, Stage
from optitip.search.store import create_or_open, open_to_read

IDENTITY = RunIdentity(study_hash="abc123", seed=7)
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
        assert store.meta() == {"schema": "3", "study_hash": "abc123", "seed": "7"}


def test_what_was_asked_and_not_answered_is_still_known_after_reopening(path):
    with create_or_open(path, IDENTITY) as store:
        first, second = store.ask(DESIGNS, States.SEARCH)
        store.add(first, ANSWER)
    with create_or_open(path, IDENTITY) as store:
        assert store.unanswered() == [second]


@pytest.mark.parametrize("outcome", [Outcome.WORKER_DIED, Outcome.TIME_LIMIT])
def test_a_bad_day_is_tried_again_in_the_next_stint_alone_and_its_answer_stays(path, outcome):
    with create_or_open(path, IDENTITY) as store:
        (asked,) = store.ask(DESIGNS[:1], States.SEARCH)
        store.add(asked, Evaluation(outcome=outcome, detail="alone"))
        assert store.unanswered() == []
        with pytest.raises(ValueError, match="evaluated over search already"):
            store.ask(DESIGNS[:1], States.SEARCH)
    with create_or_open(path, IDENTITY) as store:
        assert store.unanswered() == [asked]
        assert store.ask(DESIGNS[:1], States.SEARCH) == [asked]
        store.add(asked, ANSWER)
    with create_or_open(path, IDENTITY) as store:
        assert store.unanswered() == []
        assert [record.evaluation for record in store.records()] == [ANSWER]


def test_a_file_whose_beginning_was_cut_off_half_written_is_begun_anew(path):
    script = """
import os, sqlite3, sys
begun = sqlite3.connect(sys.argv[1], isolation_level=None)
begun.execute("PRAGMA cache_size = 1")  # so that it is written before it is whole
begun.execute("BEGIN IMMEDIATE")
begun.execute("CREATE TABLE meta (key TEXT)")
begun.executemany("INSERT INTO meta VALUES (?)", [("x" * 3000,)] * 100)
os._exit(9)
"""
    subprocess.run([sys.executable, "-c", script, path], check=False)
    assert path.stat().st_size > 0
    assert path.with_name(f"{path.name}-journal").exists()
    with create_or_open(path, IDENTITY) as store:
        assert store.meta()["study_hash"] == "abc123"


def test_every_row_tells_when_and_with_which_versions_of_what_it_was_reckoned(path):
    for design in DESIGNS:
        with create_or_open(path, IDENTITY) as store:
            store.note(evaluations=40, stage=Stage.SEARCH, ended="stopped by hand")
            store.add(store.ask([design], States.SEARCH)[0], ANSWER)
    with open_to_read(path) as store:
        first, second = store.stints()
    assert (first.number, second.number) == (1, 2)
    assert (first.evaluations, first.stage, first.ended) == (40, Stage.SEARCH, "stopped by hand")
    assert first.versions["numpy"] == np.__version__
    assert first.versions["optitip"] == __version__
    with closing(sqlite3.connect(path)) as connection:
        rows = connection.execute(
            "SELECT stint, study_hash, created FROM evaluation JOIN stint "
            "ON stint.number = stint ORDER BY evaluation.number"
        ).fetchall()
    assert [row[:2] for row in rows] == [(1, "abc123"), (2, "abc123")]
    assert first.started <= rows[0][2] <= rows[1][2]


def test_what_was_decided_first_is_kept(path):
    with create_or_open(path, IDENTITY) as store:
        assert store.decide("lead", "GENETIC") == "GENETIC"
    with create_or_open(path, IDENTITY) as store:
        assert store.decide("lead", "SURROGATE") == "GENETIC"


def test_milestones_are_kept_as_they_were_first_reached(path):
    with create_or_open(path, IDENTITY) as store:
        store.reach(searched=64, covered=0.25, front_size=7)
        store.reach(searched=32, covered=0.125, front_size=3)
        store.reach(searched=64, covered=0.5, front_size=9)
        stones = store.milestones()
    assert [(one.searched, one.covered, one.front_size) for one in stones] == [(32, 0.125, 3), (64, 0.25, 7)]


def test_arrays_hold_the_figures_that_records_hold_and_nan_where_there_are_none(path):
    lighter = replace(
        ANSWER,
        metrics={**ANSWER.metrics, "margin.yield": Bracketed(unit="1", low=-1.0, expected=0.0, high=2.0)},
    )
    with create_or_open(path, IDENTITY) as store:
        first, second = store.ask(DESIGNS, States.SEARCH)
        (third,) = store.ask(DESIGNS[:1], States.ALL)
        store.add(second, FAILURE)
        store.add(third, lighter)
        store.add(first, ANSWER)
        found = store.evaluated(["margin.yield", "shell.mass", "no.such"])
        assert [number for number, _ in store.designs()] == [1, 2, 3]
        assert [design for _, design in store.designs()] == [*DESIGNS, DESIGNS[0]]
    assert found.numbers.tolist() == [1, 2, 3]
    assert found.design_ids.tolist() == [first.design_id, second.design_id, first.design_id]
    assert found.of_states(States.ALL).tolist() == [False, False, True]
    assert found.with_outcome(Outcome.ANSWERED).tolist() == [True, False, True]
    assert found.seconds.tolist() == [0.25, 0.01, 0.25]
    nothing, mass = [np.nan] * 3, [0.1, 0.1 + 1e-17, 1 / 3]
    np.testing.assert_array_equal(
        found.figures,
        [[nothing, mass, nothing], [nothing] * 3, [[-1.0, 0.0, 2.0], mass, nothing]],
    )


def test_counts_and_failures_are_of_what_was_run(path):
    with create_or_open(path, IDENTITY) as store:
        first, second = store.ask(DESIGNS, States.SEARCH)
        store.add(first, ANSWER)
        store.add(second, FAILURE)
        store.add(*[*store.ask(DESIGNS[:1], States.ALL), FAILURE])
        assert store.counts() == {States.SEARCH: 2, States.ALL: 1, States.FINER: 0}
        assert store.failures() == {Outcome.TIP_TOO_SHORT: 1}


def test_a_name_is_found_by_its_beginning_and_nothing_else(path):
    with create_or_open(path, IDENTITY) as store:
        for asked in store.ask(DESIGNS, States.SEARCH):
            store.add(asked, ANSWER)
        names = [record.design_id for record in store.records()]
        assert store.numbers_of(names[1][:6]) == [(2, names[1])]
        assert store.numbers_of("%") == []
        assert [record.number for record in store.records([2, 1, 9])] == [2, 1]


def test_a_reader_is_not_confused_by_metrics_written_since_it_began(path):
    more = replace(ANSWER, metrics={"margin.yield": Bracketed(unit="1", low=0.0, expected=0.5, high=1.0)})
    with create_or_open(path, IDENTITY) as store:
        first, second = store.ask(DESIGNS, States.SEARCH)
        store.add(first, ANSWER)
        with open_to_read(path) as reader:
            store.add(second, more)
            found = reader.evaluated(["shell.mass"])
    assert found.values("shell.mass")[0] == 0.1 + 1e-17
    assert np.isnan(found.values("shell.mass")[1])


def test_one_design_may_be_run_over_the_search_states_and_over_all(path):
    with create_or_open(path, IDENTITY) as store:
        asked = store.ask(DESIGNS[:1], States.SEARCH) + store.ask(DESIGNS[:1], States.ALL)
        assert [one.number for one in asked] == [1, 2]


def test_a_design_asked_for_again_keeps_its_number_until_it_is_evaluated(path):
    with create_or_open(path, IDENTITY) as store:
        first, second = store.ask(DESIGNS, States.SEARCH)
        assert store.ask([DESIGNS[1]], States.SEARCH) == [second]
        assert [one.number for one in store.ask([{"x": "1"}, DESIGNS[0]], States.SEARCH)] == [3, 1]
        store.add(first, ANSWER)
        with pytest.raises(ValueError, match="evaluated over search already"):
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
            RunIdentity(study_hash="fff", seed=7),
            r"another study \(abc123, and now it is fff\)",
        ),
        (RunIdentity(study_hash="abc123", seed=8), r"another seed \(7, and now it is 8\)"),
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
