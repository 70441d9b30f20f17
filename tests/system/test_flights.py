"""``optitip flights``: which flights reach the target, on small maps of each study."""

import csv
from collections import defaultdict

import pytest

from optitip.cli.flight_map_lines import map_lines
from optitip.errors import Outcome
from optitip.evaluate.assess import assess
from optitip.evaluate.flight_map import Reach, cell_of, least_flight, planned
from optitip.inputs.study import read_study
from optitip.metrics.values import Bracketed, Evaluation
from optitip.units import System

SMALL = ("--mach", "2, 2.8, 3.2", "--burn", "2 s, 6 s", "--slab", "3 mm, 1.5 mm", "--joint", "wetted")
COLDEST = "sample.temperature_coldest_peak"


@pytest.fixture(scope="module")
def mapped(optitip, tmp_path_factory):
    """Return the page and the rows of a small map of the coastal study."""
    folder = tmp_path_factory.mktemp("map")
    done = optitip("flights", "studies/coastal-egg", *SMALL, "--out", folder, "--workers", "1", columns=80)
    assert done.returncode == 0, done.stderr
    with (folder / "flights.csv").open() as file:
        return done.stdout, list(csv.DictReader(file)), folder


def test_the_map_has_a_row_for_every_flight_with_every_build(mapped):
    _, rows, folder = mapped
    assert len(rows) == 3 * 2 * 2
    assert (folder / "flights.png").read_bytes().startswith(b"\x89PNG")
    assert {"peak mach", "burn [s]", "slab thickness [m]", f"{COLDEST} expected [K]"} <= set(rows[0])
    assert {row["joint"] for row in rows} == {"wetted"}


def test_a_faster_flight_a_longer_burn_and_a_thinner_slab_warm_more(mapped):
    _, rows, _ = mapped
    found = {
        (float(row["peak mach"]), float(row["burn [s]"]), float(row["slab thickness [m]"])): float(
            row[f"{COLDEST} expected [K]"]
        )
        for row in rows
    }
    for burn in (2.0, 6.0):
        for slab in (0.0015, 0.003):
            assert found[2.0, burn, slab] < found[2.8, burn, slab] < found[3.2, burn, slab]
    assert all(
        found[mach, 6.0, slab] > found[mach, 2.0, slab] for mach in (2.0, 2.8) for slab in (0.0015, 0.003)
    )
    assert all(
        found[mach, burn, 0.0015] > found[mach, burn, 0.003] for mach in (2.0, 2.8) for burn in (2.0, 6.0)
    )


def test_what_is_reached_follows_the_bracket_of_the_row(mapped):
    _, rows, _ = mapped
    seen = set()
    for row in rows:
        low, expected, high = (float(row[f"{COLDEST} {side} [K]"]) for side in ("low", "expected", "high"))
        sides = {low: Reach.EVERY, expected: Reach.EXPECTED, high: Reach.BEST}
        said = next((reach for side, reach in sides.items() if side >= 318.15), Reach.NONE)
        assert row["reached"] == said.value
        seen.add(said)
    assert {Reach.NONE, Reach.EXPECTED} <= seen


def test_a_row_is_what_check_says_of_its_design(mapped):
    _, rows, _ = mapped
    row = next(one for one in rows if one["peak mach"] == "2.8" and one["slab thickness [m]"] == "0.003")
    design = {"flight.varied.peak_mach": "2.8", "flight.varied.burn": f"{row['burn [s]']} s"}
    alone = assess(read_study("studies/coastal-egg"), design=design, searching=False).metrics
    assert float(row[f"{COLDEST} expected [K]"]) == pytest.approx(alone[COLDEST].expected, rel=1e-6)
    assert float(row["smallest margin"]) == pytest.approx(alone["margin.smallest"].low, rel=1e-5)


def test_the_page_names_the_least_flight_and_fits_eighty_columns(mapped):
    page, rows, _ = mapped
    reached = [row for row in rows if row["reached"] in {Reach.EXPECTED.value, Reach.EVERY.value}]
    sound = [row for row in reached if row["limits and margins held"] == "yes"]
    least = min(sound, key=lambda row: (float(row["peak mach"]), float(row["burn [s]"])))
    first = page.split("\n\n")[1].replace("\n", " ")
    assert f"Mach {float(least['peak mach']):.2f} with a burn of {float(least['burn [s]']):g} s" in " ".join(
        first.split()
    )
    assert max(map(len, page.splitlines())) <= 80
    assert "thrust and drag per mass are read off the record" in " ".join(page.split())


def test_a_narrow_terminal_and_us_units_are_readable(optitip):
    done = optitip(
        "flights", "studies/coastal-egg", "--mach", "2.4", "--burn", "3 s", "--slab", "0.1 inch",
        "--joint", "wetted", "--units", "us", "--workers", "1", columns=40,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert "degF" in done.stdout
    assert "degC" not in done.stdout
    assert max(map(len, done.stdout.splitlines())) <= 40


def test_a_map_in_two_workers_is_the_same(mapped, process, tmp_path):
    done = process("flights", "studies/coastal-egg", *SMALL, "--out", tmp_path, "--workers", "2", columns=80)
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "flights.csv").read_text() == (mapped[2] / "flights.csv").read_text()


def test_the_map_of_the_flights_own_place_is_the_study_as_it_is():
    study = read_study("studies/coastal-egg")
    plan = planned(study)
    own = [course for course in plan.courses if course.own]
    assert [course.design for course in own] == [{}]
    assert {} in plan.designs
    assert len(plan.designs) == len(plan.courses) * len(plan.builds)


def test_motors_of_the_sweep_stand_in_place_of_mach_numbers(optitip, copied, tmp_path):
    study = copied("polymer-coupon")
    rows = [row.split(",") for row in (study / "thrust.csv").read_text().splitlines()[2:]]
    strong = [f"{time},{1.4 * float(thrust):g}" for time, thrust in rows]
    (study / "strong.csv").write_text("\n".join(["time [s],thrust [N]", *strong]) + "\n")
    with (study / "study.toml").open("a") as file:
        file.write(
            f'\n[target]\n"{COLDEST}" = ">= 50 degC"\n'
            '[sweep.sets.motor.usual]\n"flight.ascent.thrust" = "thrust.csv"\n'
            '[sweep.sets.motor.strong]\n"flight.ascent.thrust" = "strong.csv"\n'
        )
    done = optitip(
        "flights", study, "--slab", "2 mm, 1 mm", "--burn", "2.5 s", "--out", tmp_path, "--workers", "1"
    )
    assert done.returncode == 0, done.stderr
    with (tmp_path / "flights.csv").open() as file:
        made = list(csv.DictReader(file))
    assert {row["motor"] for row in made} == {"motor usual", "motor strong"}
    by_motor = defaultdict(list)
    for course in planned(read_study(study)).courses:
        by_motor[course.motor].append(course)
    for courses in by_motor.values():
        assert [course.own for course in courses].count(True) == 1
        assert len({f"{course.burn:.3g}" for course in courses}) == len(courses)  # as a person reads them
    warm = {(row["motor"], row["slab thickness [m]"]): float(row[f"{COLDEST} expected [K]"]) for row in made}
    assert all(warm["motor strong", slab] > warm["motor usual", slab] for slab in ("0.002", "0.001"))
    assert "mass without propellant stay" in " ".join(done.stdout.split())


WRONG = {
    "no target": (["flights", "polymer-coupon"], "target: there is no target to reach"),
    "a heating table": (
        ["flights", "heated-rig"],
        "flow.heating_table: the study has a heating table and no flight",
    ),
    "a burn without unit": (
        ["flights", "coastal-egg", "--burn", "3"],
        "optitip flights --burn: '3' has no unit",
    ),
    "a slab in seconds": (["flights", "coastal-egg", "--slab", "3 s"], "optitip flights --slab: "),
    "no Mach number": (
        ["flights", "coastal-egg", "--mach", "fast"],
        "optitip flights --mach: 'fast' is no quantity",
    ),
    "no such build": (
        ["flights", "coastal-egg", "--joint", "glued"],
        "optitip flights --joint: 'glued' is no build",
    ),
    "no study": (["flights", "nowhere"], "no such file"),
    "no workers": (["flights", "coastal-egg", "--workers", "0"], "optitip flights --workers: "),
}


@pytest.mark.parametrize("name", WRONG)
def test_each_mistake_is_one_line_with_its_place(name, mistaken, studies):
    (command, study, *rest), said = WRONG[name]
    assert said in mistaken(command, studies / study, *rest)


def test_flights_that_can_not_be_flown_are_told_and_reach_nothing():
    study = read_study("studies/coastal-egg")
    plan = planned(study, machs=[4.9], burns=[0.1, 55.0], slabs=[0.003])
    (course, build), *_ = plan.pairs
    answer = assess(
        study,
        design={**course.design, "flight.varied.burn": "55 s", "flight.varied.peak_mach": "1"},
        searching=True,
    )
    assert answer.outcome is Outcome.NOT_A_STUDY
    assert "no thrust takes the vehicle to Mach 1 in 15.7 times its burn" in answer.detail
    failed = Evaluation(outcome=answer.outcome, detail=answer.detail)
    cell = cell_of(course, build, failed, plan=plan)
    assert cell.reach is Reach.NO_FLIGHT
    assert least_flight([cell]) is None
    assert next(map_lines([cell], plan, System.METRIC)).startswith("No flight on this map reaches")


def test_a_flight_of_which_a_limit_has_no_figure_is_not_called_sound():
    plan = planned(read_study("studies/coastal-egg"), machs=[2.5], burns=[3.0], slabs=[0.003])
    (course, build), *_ = plan.pairs
    warm = Bracketed(unit="K", low=330.0, expected=330.0, high=330.0)
    kept = Bracketed(unit="1", low=0.1, expected=0.1, high=0.1)
    metrics = {COLDEST: warm, **{limit.metric: kept for limit in plan.limits}}
    assert len(plan.limits) == 2
    for lacking in ("", *(limit.metric for limit in plan.limits)):
        told = {name: value for name, value in metrics.items() if name != lacking}
        cell = cell_of(course, build, Evaluation(outcome=Outcome.ANSWERED, metrics=told), plan=plan)
        assert (cell.reach, cell.sound) == (Reach.EVERY, not lacking)
