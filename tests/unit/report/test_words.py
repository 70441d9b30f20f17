from dataclasses import replace
from datetime import datetime

import pytest

from optitip.errors import Outcome
from optitip.report.words import (
    failure_lines,
    growth_curve,
    growth_line,
    progress_line,
    state_line,
    stints_line,
)
from optitip.search.executors.face import States
from optitip.search.lock import Holder
from optitip.search.records import Milestone, Stage, Stint
from optitip.search.standing import Standing, Writing

NOW = datetime(2031, 3, 4, 23, 0).timestamp()


@pytest.fixture
def standing():
    stint = Stint(
        number=2, started=NOW - 7200.0, versions={"optitip": "9.1", "numba": "none"}, evaluations=4000,
        stage=Stage.SEARCH, ended="",
    )  # fmt: skip
    return Standing(
        stage=Stage.SEARCH,
        writing=Writing.HERE,
        holder=Holder(host="here", process=77, alive=True),
        stints=(replace(stint, number=1), stint),
        tally={
            (States.SEARCH, Outcome.ANSWERED): 900,
            (States.SEARCH, Outcome.MESH_FOLDED): 20,
            (States.SEARCH, Outcome.MARCH_STALLED): 80,
            (States.ALL, Outcome.MESH_FOLDED): 7,
        },
        milestones=tuple(
            Milestone(searched=n, covered=c, front_size=9, reached=NOW)
            for n, c in ((250, 0.4), (500, 0.5), (1000, 0.6))
        ),
        done=1000,
        aimed=4000,
        pace=0.25,
        seconds_left=12000.0,
        last_written=NOW - 4.0,
    )


def test_the_time_left_is_told_with_the_hour_while_somebody_is_at_it(standing):
    line = progress_line(standing, now=NOW)
    assert line == "Searching: 1,000 of 4,000 done, 15 a minute, 3:20:00 left (about 02:20)."
    stopped = replace(standing, writing=Writing.NOBODY)
    assert progress_line(stopped, now=NOW).endswith("15 a minute; about 3:20:00 of work is left.")


def test_a_run_that_nobody_writes_says_how_to_go_on(standing):
    assert state_line(standing, now=NOW) == "A sweep is at work here (process 77)."
    cut = state_line(replace(standing, writing=Writing.NOBODY), now=NOW)
    assert cut.startswith("Nobody is sweeping here now; the last stint was cut off")
    assert cut.endswith("The same command goes on from here; nothing is lost.")


def test_a_sweep_that_has_been_silent_for_long_is_told(standing):
    assert "written nothing" not in state_line(replace(standing, last_written=NOW - 100.0), now=NOW)
    assert "written nothing for 1:00:00" in state_line(replace(standing, last_written=NOW - 3600.0), now=NOW)


def test_failures_are_those_of_the_search_the_most_frequent_first(standing):
    lines = list(failure_lines(standing))
    assert lines[0] == "100 of 1,000 designs have no answer:"
    assert lines[1] == f"  80 because {Outcome.MARCH_STALLED.problem}"
    assert lines[2] == f"  20 because {Outcome.MESH_FOLDED.problem}"


def test_the_growth_is_told_against_half_the_designs(standing):
    assert "has grown by 20 % since 500 designs" in growth_line(standing)
    assert growth_curve(standing, width=4) == "▅▇▇█"
    assert growth_curve(replace(standing, milestones=()), width=4) == ""


def test_a_front_that_covers_nothing_yet_has_no_curve(standing):
    flat = tuple(replace(one, covered=0.0) for one in standing.milestones)
    assert growth_curve(replace(standing, milestones=flat)) == ""
    assert "grown" not in growth_line(replace(standing, milestones=flat))


def test_the_stint_is_told_with_its_versions_and_without_what_is_not_installed(standing):
    assert stints_line(standing) == "Stint 2 of 2, begun 2031-03-04 21:00, with optitip 9.1."
