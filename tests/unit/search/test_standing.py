import json
import os
import socket
import sqlite3
import subprocess
import sys

import pytest
from invented_run import invented_run

from optitip.errors import Outcome
from optitip.search.executors.face import States
from optitip.search.records import Stage
from optitip.search.run_folder import LOCK, STORE, read_run
from optitip.search.standing import Standing, Writing, standing_of

BEGUN, PACE, DESIGNS = 1.8e9, 0.5, 2000


@pytest.fixture
def run(tmp_path):
    """Return the folder of a run of 2000 designs, one each half second, that aimed at 3000."""
    folder = invented_run(tmp_path / "run", designs=DESIGNS, begun=BEGUN, pace=PACE, confirmed=0)
    _change(folder, "UPDATE stint SET evaluations = 3000")
    return folder


def _change(folder, *statements):
    with sqlite3.connect(folder / STORE) as connection:
        for statement in statements:
            connection.execute(statement)


def _standing(folder) -> Standing:
    with read_run(folder) as store:
        return standing_of(store, folder)


def _hold(folder, *, host=None, process=None):
    holder = {"host": host or socket.gethostname(), "process": process or os.getpid()}
    (folder / LOCK).write_text(json.dumps(holder), encoding="utf-8")


def test_pace_and_time_left_are_those_of_the_rows(run):
    found = _standing(run)
    assert (found.done, found.aimed) == (DESIGNS, 3000)
    assert found.pace == pytest.approx(1.0 / PACE, rel=0.02)
    assert found.seconds_left == pytest.approx(1000 * PACE, rel=0.02)


def test_a_night_asleep_in_the_middle_of_a_generation_does_not_spoil_the_pace(run):
    night = 8 * 3600.0
    later = f"+ {night} WHERE"
    half = BEGUN + PACE * (DESIGNS - 250)
    _change(
        run,
        f"UPDATE evaluation SET created = created {later} created > {half}",
        f"UPDATE milestone SET reached = reached {later} reached > {half}",
    )
    assert _standing(run).pace == pytest.approx(1.0 / PACE, rel=0.02)


@pytest.mark.parametrize("away", [90.0, 12 * 3600.0])
def test_the_time_between_two_stints_is_no_work(run, away):
    half = BEGUN + PACE * (DESIGNS - 450)
    _change(
        run,
        f"UPDATE evaluation SET created = created + {away} WHERE created > {half}",
        f"UPDATE milestone SET reached = reached + {away} WHERE reached > {half}",
        f"INSERT INTO stint SELECT 2, {half + away}, versions, study_hash, 3000, 'search', '' FROM stint",
    )
    found = _standing(run)
    assert len(found.stints) == 2
    assert found.pace == pytest.approx(1.0 / PACE, rel=0.02)


def test_the_pace_is_that_of_the_last_generations_and_not_of_a_faster_beginning(run):
    """The last half of the search took four times as long a design."""
    half = BEGUN + PACE * DESIGNS / 2
    slower = f"SET {{0}} = {{0}} + 3 * ({{0}} - {half}) WHERE {{0}} > {half}"
    _change(
        run,
        f"UPDATE evaluation {slower.format('created')}",
        f"UPDATE milestone {slower.format('reached')}",
    )
    assert _standing(run).pace == pytest.approx(0.25 / PACE, rel=0.02)


def test_before_the_first_generation_is_measured_the_rows_tell_the_pace_and_a_pause_is_left_out(run):
    _change(run, "DELETE FROM milestone")
    assert _standing(run).pace == pytest.approx(1.0 / PACE, rel=0.02)
    _change(run, f"UPDATE evaluation SET created = created + 30000 WHERE number > {DESIGNS - 100}")
    assert _standing(run).pace == pytest.approx(1.0 / PACE, rel=0.02)


@pytest.mark.parametrize("apart", [8.0, 400.0])
def test_rows_that_come_by_batches_have_the_pace_of_their_batches(run, apart):
    """Sixteen come at once every so many seconds."""
    _change(
        run, "DELETE FROM milestone", f"UPDATE evaluation SET created = {BEGUN} + {apart} * (number / 16)"
    )
    assert _standing(run).pace == pytest.approx(16.0 / apart, rel=0.1)
    _change(run, f"UPDATE evaluation SET created = created + 90000 WHERE number > {DESIGNS - 100}")
    assert _standing(run).pace == pytest.approx(16.0 / apart, rel=0.1)


def test_nothing_is_foretold_before_anything_was_evaluated(run):
    _change(run, "DELETE FROM evaluation", "DELETE FROM milestone", "UPDATE stint SET evaluations = NULL")
    found = _standing(run)
    assert (found.done, found.aimed, found.pace, found.seconds_left) == (0, None, None, None)


def test_who_is_writing_is_told_by_the_lock_and_by_whether_its_process_lives(run):
    assert _standing(run).writing is Writing.NOBODY
    _hold(run)
    assert _standing(run).writing is Writing.HERE
    _hold(run, host="another-machine")
    assert _standing(run).writing is Writing.ELSEWHERE
    gone = subprocess.Popen([sys.executable, "-c", ""])
    gone.wait()
    _hold(run, process=gone.pid)
    found = _standing(run)
    assert found.writing is Writing.NOBODY
    assert "cut off" in found.ended


def test_a_lock_that_is_being_written_is_nobodys(run):
    (run / LOCK).write_text("", encoding="utf-8")
    assert _standing(run).holder is None


def test_how_the_last_stint_ended_is_what_it_wrote_or_that_it_was_cut_off(run):
    assert "cut off" in _standing(run).ended
    _change(run, "UPDATE stint SET ended = 'stopped by hand'")
    assert _standing(run).ended == "stopped by hand"
    _change(
        run, f"UPDATE stint SET stage = '{Stage.FINISHED.value}', ended = 'the front has stopped growing'"
    )
    found = _standing(run)
    assert (found.writing, found.ended) == (Writing.FINISHED, "the front has stopped growing")
    assert found.seconds_left is None


def test_a_stint_that_said_how_it_ended_is_over_though_its_lock_is_still_there(run):
    _hold(run)
    _change(run, "UPDATE stint SET ended = 'stopped by hand'")
    assert _standing(run).writing is Writing.NOBODY
    _change(run, f"UPDATE stint SET stage = '{Stage.FINISHED.value}'")
    assert _standing(run).writing is Writing.FINISHED


def test_a_stint_that_goes_on_with_a_finished_run_is_at_work(run):
    _change(
        run,
        f"UPDATE stint SET stage = '{Stage.FINISHED.value}', ended = 'the front has stopped growing'",
        "INSERT INTO stint SELECT 2, started, versions, study_hash, NULL, 'starting', '' FROM stint",
    )
    _hold(run)
    assert (_standing(run).writing, _standing(run).ended) == (Writing.HERE, "")


@pytest.mark.parametrize(("stage", "states"), [(Stage.CONFIRM, States.ALL), (Stage.VERIFY, States.FINER)])
def test_while_the_front_is_confirmed_what_was_asked_for_is_the_aim(tmp_path, stage, states):
    run = invented_run(tmp_path / "run", designs=60, confirmed=20, stage=stage)
    _change(
        run,
        f"UPDATE asked SET states = '{states.value}' WHERE number > 60",
        "DELETE FROM evaluation WHERE number > 75",
    )
    found = _standing(run)
    assert (found.done, found.aimed) == (15, 20)


def test_evaluations_that_were_read_already_are_counted_as_the_store_counts_them(run):
    with read_run(run) as store:
        by_store = standing_of(store, run)
        by_rows = standing_of(store, run, evaluated=store.evaluated(()))
    assert by_rows.tally == by_store.tally
    assert sum(by_store.failures().values()) == sum(n % 9 == 4 for n in range(DESIGNS))
    assert by_store.tally[States.SEARCH, Outcome.ANSWERED] == DESIGNS - sum(by_store.failures().values())
