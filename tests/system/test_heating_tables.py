"""Heating tables in a study: beside its flight, as a bracket, and each form of them the same answer."""

import shutil

import numpy as np
import pytest

from optitip.evaluate.assess import check
from optitip.evaluate.building import build_tip
from optitip.evaluate.conditions import conditions_of
from optitip.evaluate.warming import heat_case
from optitip.export.heating_tables import table_name, write_heating
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.inputs.study import read_study
from optitip.solvers.march import march_together

EXPECTED = "onset at 1e6"


def exposed(folder):
    study = read_study(folder)
    tip = build_tip(study.tables, folder=study.folder, resolution=DEFAULT_RESOLUTION)
    return conditions_of(study, tip)


@pytest.fixture(scope="module")
def egg(tmp_path_factory, studies):
    """Return a folder with the coastal study, its heatings as tables beside it, and what they came from."""
    folder = tmp_path_factory.mktemp("egg") / "study"
    shutil.copytree(studies / "coastal-egg", folder)
    conditions = exposed(folder)
    for heating in conditions.heatings.values():
        write_heating(heating, title="", folder=folder)
    return folder, conditions, check(folder)


def with_flow(egg, folder, **keys):
    """Return a copy of the study with keys of its table 'flow'."""
    shutil.copytree(egg, folder)
    path = folder / "study.toml"
    lines = "\n".join(f'{key} = "{value}"' for key, value in keys.items())
    path.write_text(path.read_text().replace("[outline]", f"[flow]\n{lines}\n[outline]", 1))
    return folder


def alone(folder, heating):
    """Return the march of a study's own tip under one heating alone."""
    study = read_study(folder)
    tip = build_tip(study.tables, folder=study.folder, resolution=DEFAULT_RESOLUTION)
    case = heat_case(tip, conditions=conditions_of(study, tip), heatings=[heating], models={})
    return march_together(case)[0]


@pytest.mark.parametrize("state", [EXPECTED, "turbulent while heating"])
def test_a_heating_written_and_read_beside_its_flight_gives_the_same_answer(state, egg, tmp_path):
    folder, conditions, answer = egg
    study = with_flow(folder, tmp_path / "again", heating_table=table_name(state))
    before, [after] = conditions.heatings[state], exposed(study).heatings.values()
    assert np.array_equal(before.time, after.time)
    for name in ("recovery", "pressure", "reynolds", "turbulent", "surroundings", "absorbed"):
        assert getattr(after, name) == pytest.approx(getattr(before, name), rel=1e-6, abs=1e-12), name
    walls = np.apply_along_axis(lambda h: np.interp(before.wall, after.wall, h), 2, after.film)
    assert walls == pytest.approx(before.film, rel=1e-6)
    mine, its = (alone(study, after), alone(folder, before))
    assert mine.steps == its.steps
    assert mine.highest == pytest.approx(its.highest, rel=1e-9)
    assert mine.sensible[-1] == pytest.approx(its.sensible[-1], rel=1e-6)
    # in the study all flow states march on shared steps, a table on its own
    again = check(study)
    for metric in ("sample.energy_peak", "sample.energy_landing", "margin.smallest", "band.temperature_peak"):
        found = again.metrics[metric].expected
        assert found == pytest.approx(answer.states[state].metrics[metric], rel=1e-5), metric


def test_low_and_high_tables_beside_the_expected_one_are_a_bracket(egg, tmp_path, optitip):
    folder, _, answer = egg
    files = {"heating_table": EXPECTED, "heating_low": "laminar", "heating_high": "turbulent while heating"}
    study = with_flow(folder, tmp_path / "three", **{key: table_name(state) for key, state in files.items()})
    metric = check(study).metrics["sample.energy_peak"]
    for value, state in zip((metric.expected, metric.low, metric.high), files.values(), strict=True):
        assert value == pytest.approx(answer.states[state].metrics["sample.energy_peak"], rel=1e-6)
    assert (metric.low_state, metric.high_state) == ("low heating table", "high heating table")
    said = " ".join(optitip("check", study).stdout.split())
    assert "from low to high over the heating tables" in said
    assert "The same tip under each heating table" in said
    assert "boundary layer" not in said


def test_a_table_that_ends_before_the_flight_says_how_much_it_covers(egg, tmp_path, optitip):
    folder, conditions, _ = egg
    study = with_flow(folder, tmp_path / "short", heating_table="short.csv")
    end = conditions.heatings[EXPECTED].time[-1]
    rows = (folder / table_name(EXPECTED)).read_text().splitlines()
    kept = [row for row in rows[2:] if float(row.split(",")[0]) < 0.5 * end and float(row.split(",")[1]) < 77]
    (study / "short.csv").write_text("\n".join([*rows[:2], *kept]))
    said = " ".join(optitip("check", study).stdout.split())
    assert "Note: short.csv has" in said
    assert "of the heated surface" in said
    assert "of the flight's time" in said
    assert "its last row is held to" in said
    assert "outside, the nearest station is used" in said
    assert "no bracket" in said


def test_a_table_that_is_all_there_is_said_to_cover_all(optitip):
    said = " ".join(optitip("check", "studies/heated-rig").stdout.split())
    assert "rig.csv has 5 times from 0 to 600 s, 10 stations from 0 to 200 mm" in said
    assert "100% of the heated surface" in said


LAMP = "time [s],z [mm],heat flux [kW/m2]\n"


def test_a_lamps_flux_warms_the_tip_by_what_falls_on_it(copied):
    folder = copied("heated-rig")
    for flux in (0, 10, 20):
        rows = "".join(f"{time},{z},{flux}\n" for time in (0, 5) for z in (0, 200))
        (folder / f"lamp-{flux}.csv").write_text(LAMP + rows)
    text = (folder / "study.toml").read_text()
    energies = []
    for flux in (0, 10, 20):
        (folder / "study.toml").write_text(text.replace("rig.csv", f"lamp-{flux}.csv"))
        answer = check(folder)
        state = answer.expected
        assert state.balance < 1e-3
        energies.append(answer.metrics["sample.energy_peak"].expected)
    assert energies[0] == pytest.approx(0.0, abs=0.1)
    assert energies[2] == pytest.approx(2.0 * energies[1], rel=0.05)
    assert energies[1] > 50.0


@pytest.fixture(scope="module")
def written(optitip, tmp_path_factory):
    folder = tmp_path_factory.mktemp("heating") / "out"
    done = optitip("heating", "studies/coastal-egg", "--out", folder)
    assert done.returncode == 0, done.stderr
    return folder, done.stdout


def test_the_command_writes_a_table_a_state_and_three_pictures_and_says_so(written):
    folder, said = written
    names = {path.name for path in folder.iterdir()}
    assert {"heating-along.png", "heating-in-time.png", "transition.png"} < names
    assert {"heating-laminar.csv", "heating-onset-at-1e6.csv", "heating-turbulent-while-heating.csv"} < names
    assert len(names) == 9
    assert all(name in said for name in names)


def test_the_printed_films_are_those_of_the_tables(written, egg):
    _, said = written
    _, conditions, _ = egg
    heating = conditions.heatings[EXPECTED]
    part = said[said.index("Mach 1, ") :]
    time = float(part.split(",")[1].split()[0])
    row = next(line for line in part.splitlines() if "stagnation point" in line)
    walls = np.array([np.interp(conditions.start, heating.wall, h) for h in heating.film[:, 0]])
    wanted = np.interp(time, heating.time, walls)
    assert float(row.split()[2]) == pytest.approx(wanted, rel=2e-3)
    assert "The lowest are from laminar, the highest from" in said


def test_one_state_alone_can_be_asked_for(optitip, tmp_path):
    done = optitip("heating", "studies/coastal-egg", "--out", tmp_path / "out", "--state", "turbulent")
    assert done.returncode == 0, done.stderr
    assert [path.name for path in (tmp_path / "out").glob("*.csv")] == ["heating-turbulent.csv"]


def test_a_state_that_isnt_there_is_told_and_nothing_is_written(optitip, tmp_path):
    done = optitip("heating", "studies/coastal-egg", "--out", tmp_path / "out", "--state", "turbulet")
    assert done.returncode == 2
    assert (
        "optitip heating --state: there is no flow state 'turbulet' here. Name one of: laminar" in done.stderr
    )
    assert not (tmp_path / "out").exists()


def test_under_a_table_there_is_no_bracket_and_no_transition_and_both_are_said(optitip, tmp_path):
    done = optitip("heating", "studies/heated-rig", "--out", tmp_path / "out", columns=40)
    said = " ".join(done.stdout.split())
    assert "A heating table has no bracket" in said
    assert "No picture of the transition: the heating table has no Reynolds numbers" in said
    assert not (tmp_path / "out" / "transition.png").exists()
    assert max(len(line) for line in done.stdout.splitlines()) <= 40
    checked = optitip("check", "studies/heated-rig", "--out", tmp_path / "check").stdout
    assert "No picture of the transition" in checked


def test_units_change_the_page_and_not_the_tables(written, optitip, tmp_path):
    folder, said = written
    done = optitip("heating", "studies/coastal-egg", "--out", tmp_path / "out", "--units", "us")
    assert "BTU/(h ft2 degF)" in done.stdout
    assert "degC" not in done.stdout
    assert "W/(m2 K)" in said
    name = "heating-laminar.csv"
    assert (tmp_path / "out" / name).read_bytes() == (folder / name).read_bytes()


def test_a_folder_beside_the_study_is_the_default(optitip, copied):
    folder = copied("heated-rig")
    assert optitip("heating", folder).returncode == 0
    assert (folder / "heating" / "heating-table.csv").is_file()


def test_a_pulse_in_a_fine_table_is_not_stepped_over(copied):
    folder = copied("heated-rig")
    text = (folder / "study.toml").read_text()
    corners = [0.0, 299.9, 300.0, 320.0, 320.1, 600.0]
    answers = []
    for name, times in (("coarse", corners), ("fine", sorted({*corners, *np.arange(0.0, 600.0, 0.5)}))):
        rows = [f"{t},{z},{60 * (300 <= t <= 320)}" for t in times for z in (0, 200)]
        (folder / f"{name}.csv").write_text("\n".join(["time [s],z [mm],heat flux [kW/m2]", *rows]))
        (folder / "study.toml").write_text(text.replace("rig.csv", f"{name}.csv"))
        answers.append(check(folder).metrics["sample.energy_peak"].expected)
    assert answers[1] == pytest.approx(answers[0], rel=1e-3)
    assert answers[0] > 1000.0
