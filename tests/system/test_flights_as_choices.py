"""A flight or a motor as a choice of a sweep: checked, stored, copied, exported, evaluated in any order."""

import json

import pytest

from optitip.evaluate.assess import assess, assess_many
from optitip.inputs.study import read_study
from optitip.search.run_folder import read_run

SWEEP = """
[sweep]
maximise = ["sample.energy_peak"]
minimise = ["shell.mass"]
[sweep.free]
"tip.band.thickness" = ["1 mm", "2 mm"]
[sweep.sets.motor."as flown"]
"flight.ascent.thrust" = "thrust.csv"
"flight.ascent.start_mass" = "9 kg"
[sweep.sets.motor.stronger]
"flight.ascent.thrust" = "stronger.csv"
"flight.ascent.start_mass" = "8.8 kg"
"""


def write_stronger(folder, share=1.25):
    rows = (folder / "thrust.csv").read_text().splitlines()[2:]
    cells = [row.split(",") for row in rows]
    lines = ["time [s],thrust [N]", *(f"{time},{share * float(thrust):.6g}" for time, thrust in cells)]
    (folder / "stronger.csv").write_text("\n".join(lines) + "\n")


@pytest.fixture
def motors(copied):
    folder = copied("polymer-coupon")
    write_stronger(folder)
    with (folder / "study.toml").open("a") as file:
        file.write(SWEEP)
    return folder


@pytest.fixture
def records(copied):
    folder = copied(
        "coastal-egg",
        ("[sweep.choices]\n", '[sweep.choices]\n"flight.record" = ["flight.csv", "slow.csv"]\n'),
    )
    head, *rows = [line for line in (folder / "flight.csv").read_text().splitlines() if "#" not in line]
    cells = [row.split(",") for row in rows]
    slow = [f"{t},{0.64 * float(z):.2f},{0.8 * float(v):.2f}" for t, z, v in cells]
    (folder / "slow.csv").write_text("\n".join([head, *slow]) + "\n")
    return folder


def figures(metrics):
    return {name: (value.low, value.expected, value.high) for name, value in metrics.items()}


def run_of(optitip, study, folder, count):
    done = optitip("sweep", study, "--out", folder, "--evaluations", count, "--workers", "1")
    assert done.returncode == 0, done.stderr
    with read_run(folder) as store:
        return done.stdout, [one for one in store.records() if one.evaluation.metrics]


@pytest.mark.parametrize("name", ["motors", "records"])
def test_a_sweep_among_flights_is_the_same_from_its_own_folder(name, optitip, tmp_path, request):
    study, run = request.getfixturevalue(name), tmp_path / "run"
    printed, stored = run_of(optitip, study, run, 12)
    key = {"motors": "motor", "records": "flight.record"}[name]
    assert key.removeprefix("flight.") in printed
    assert len({one.design[key] for one in stored}) == 2
    for path in [*study.glob("*.csv")]:
        path.unlink()  # the run's folder has its own
    again = read_study(run)
    for one in stored[:6]:
        found = assess(again, design=one.design, searching=one.states.value == "search").metrics
        kept = figures(one.evaluation.metrics)
        assert {metric: figures(found)[metric] for metric in kept} == kept


def test_a_design_of_a_motor_is_exported_with_that_motors_files(motors, optitip, tmp_path):
    run = tmp_path / "run"
    _, stored = run_of(optitip, motors, run, 12)
    chosen = next(one for one in stored if one.design["motor"] == "stronger")
    out = tmp_path / "part"
    done = optitip("export", run, chosen.design_id, "--out", out, "--even-so")
    assert done.returncode == 0, done.stderr
    own = read_study(out)
    assert own.raw["flight"]["ascent"]["start_mass"] == "8.8 kg"
    assert own.files()["flight.ascent.thrust"].read_text() == (motors / "stronger.csv").read_text()
    assert not {"sweep", "motor"} & set(own.raw)
    answer = json.loads((out / "answer" / "assessment.json").read_text())
    alone = assess(read_study(motors), design=chosen.design, searching=False).metrics["sample.energy_peak"]
    assert answer["metrics"]["sample.energy_peak"]["expected"] == pytest.approx(alone.expected, rel=1e-9)


@pytest.mark.parametrize("searching", [True, False])
def test_designs_of_two_motors_in_one_batch_are_as_each_alone(searching, motors):
    study = read_study(motors)
    designs = [
        {"motor": motor, "tip.band.thickness": thickness}
        for thickness in ("1.1 mm", "1.6 mm", "2 mm")
        for motor in ("as flown", "stronger")
    ]
    together = assess_many(study, designs=designs, searching=searching)
    for design, one in zip(designs, together, strict=True):
        fresh = read_study(motors)
        assert figures(assess(fresh, design=design, searching=searching).metrics) == figures(one.metrics)
    energies = [one.metrics["sample.energy_peak"].expected for one in together]
    assert min(energies[1::2]) > 1.1 * max(energies[::2])


WRONG = {
    "a thrust curve that is none": (
        "stronger.csv",
        "time [s],thrust [s]\n0,1\n1,2\n",
        "stronger.csv",
    ),
    "a motor too weak to lift": (
        "stronger.csv",
        "time [s],thrust [N]\n0,0\n0.1,20\n1,20\n1.1,0\n",
        "study.toml, sweep.sets.motor.stronger, flight.ascent.thrust: at most 20 N doesn't lift 8.80 kg. ",
    ),
}


@pytest.mark.parametrize("command", ["check", "sweep"])
@pytest.mark.parametrize("name", WRONG)
def test_what_is_wrong_with_a_file_of_an_option_is_told_before_anything_runs(
    name, command, motors, mistaken, tmp_path
):
    file, text, said = WRONG[name]
    (motors / file).write_text(text)
    extra = ["--out", tmp_path / "run"] if command == "sweep" else []
    assert said in mistaken(command, motors, *extra)
    assert not (tmp_path / "run").exists()


@pytest.mark.parametrize("command", ["check", "sweep"])
def test_a_material_of_an_option_is_checked(command, copied, mistaken, tmp_path):
    option = '\n[sweep.sets.shell.{}]\n"tip.material" = "{}"\n"tip.aft_taper" = "{}"\n'
    study = copied("coastal-egg", ('"tip.material" = ["6061-T6", "304"]\n', ""))
    with (study / "study.toml").open("a") as file:
        file.write(option.format("a", "304", "8 mm") + option.format("b", "cheese", "9 mm"))
    extra = ["--out", tmp_path / "run"] if command == "sweep" else []
    assert "study.toml, sweep.sets.shell.b: " in mistaken(command, study, *extra)


@pytest.mark.parametrize("command", ["check", "sweep"])
def test_a_range_upside_down_is_told_by_every_command(command, copied, mistaken, tmp_path):
    study = copied("coastal-egg", ('["36 mm", "60 mm"]', '["60 mm", "36 mm"]'))
    extra = ["--out", tmp_path / "run"] if command == "sweep" else []
    said = mistaken(command, study, *extra)
    assert said.startswith(
        "study.toml, sweep.free.'tip.plug.length': the range from '60 mm' to '36 mm' is empty"
    )
