import pytest
from told import problems

from optitip.errors import UserMistakes
from optitip.inputs.keys import value_at
from optitip.inputs.study import read_study
from optitip.inputs.swept import free_range
from optitip.units import UnitError

STUDY = """
[flight.ascent]
thrust = "thrust.csv"
drag = "drag.csv"
start_mass = "9 kg"
propellant_mass = "3 kg"
[outline]
family = "cone"
diameter = "60 mm"
length = "200 mm"
[tip]
material = "6061-T6"
[tip.band]
thickness = "1 mm"
[sample]
material = "egg white"
[sample.slab]
thickness = "3 mm"
"""
MOTORS = """
[sweep.sets.motor.small]
"flight.ascent.thrust" = "small.csv"
"flight.ascent.start_mass" = "6.1 kg"
[sweep.sets.motor.large]
"flight.ascent.thrust" = "large.csv"
"flight.ascent.start_mass" = "9 kg"
"""
FILES = ("thrust.csv", "drag.csv", "small.csv", "large.csv", "flight.csv", "b.csv", "c.csv")


@pytest.fixture
def write(tmp_path):
    for name in FILES:
        (tmp_path / name).write_text(name)

    def write(text, name="study.toml"):
        path = tmp_path / name
        path.write_text(text)
        return path

    return write


def test_a_design_takes_all_keys_of_the_option_it_names(write):
    study = read_study(write(STUDY + MOTORS))
    small = study.with_design({"motor": "small", "tip.material": "304"})
    by_hand = STUDY.replace("thrust.csv", "small.csv").replace("9 kg", "6.1 kg").replace("6061-T6", "304")
    assert small.tables == read_study(write(by_hand, "hand.toml")).tables
    assert small.files()["flight.ascent.thrust"].name == "small.csv"
    assert "motor" not in small.raw


def test_an_option_that_is_not_there_is_told_with_those_that_are(write):
    study = read_study(write(STUDY + MOTORS))
    with pytest.raises(UserMistakes) as caught:
        study.with_design({"motor": "huge"})
    said = "sweep.sets.motor: there is no option 'huge'. Name one of small, large."
    assert str(caught.value) == said


def test_the_sweep_knows_the_options_and_every_key_that_some_design_sets(write):
    sweep = read_study(
        write(STUDY + '[sweep.free]\n"tip.band.thickness" = ["1 mm", "2 mm"]\n' + MOTORS)
    ).tables.sweep
    assert sweep.options == {"motor": ("small", "large")}
    assert sweep.keys == {"tip.band.thickness", "flight.ascent.thrust", "flight.ascent.start_mass"}


WRONG = {
    "a key that is free as well": (
        '[sweep.free]\n"flight.ascent.start_mass" = ["8 kg", "9 kg"]\n' + MOTORS,
        "study.toml, sweep.sets.motor: 'flight.ascent.start_mass' is set by sweep.free as well. "
        "Let one of the two set it.",
    ),
    "a key that is a choice as well": (
        '[sweep.choices]\n"flight.ascent.start_mass" = ["8 kg", "9 kg"]\n' + MOTORS,
        "study.toml, sweep.sets.motor: 'flight.ascent.start_mass' is set by sweep.choices as well. "
        "Let one of the two set it.",
    ),
    "a key of two sets": (
        MOTORS
        + '[sweep.sets.load.a]\n"flight.ascent.start_mass" = "8 kg"\n'
        + '[sweep.sets.load.b]\n"flight.ascent.start_mass" = "9 kg"\n',
        "study.toml, sweep.sets.load: 'flight.ascent.start_mass' is set by sweep.sets.motor as well. "
        "Let one of the two set it.",
    ),
    "options of unlike keys": (
        MOTORS.replace('"flight.ascent.start_mass" = "9 kg"\n', ""),
        "study.toml, sweep.sets.motor.large: it lacks flight.ascent.start_mass, which other options set. "
        "Give all options of a set the same keys.",
    ),
    "an empty option": (
        MOTORS + "[sweep.sets.motor.none]\n",
        "study.toml, sweep.sets.motor.none: it lacks flight.ascent.thrust and flight.ascent.start_mass, "
        "which other options set. Give all options of a set the same keys.",
    ),
    "an unknown key": (
        MOTORS.replace("ascent.start_mass", "ascent.mass"),
        "study.toml, sweep.sets.motor.small: it can't stand there (flight.ascent.mass: this key is unknown). "
        "Known here: thrust, drag, start_mass, propellant_mass, diameter, rail_length, rail_angle.",
    ),
    "a key that can't be free": (
        MOTORS.replace("flight.ascent.start_mass", "strength.snatch"),
        "study.toml, sweep.sets.motor.small.'strength.snatch': this key can't be free. "
        "Name a key of flight, outline, flow, tip or sample.",
    ),
    "a value of another kind": (
        MOTORS.replace("6.1 kg", "6.1 m"),
        "study.toml, sweep.sets.motor.small: it can't stand there (flight.ascent.start_mass: ",
    ),
    "values that don't go together": (
        MOTORS.replace("6.1 kg", "2 kg"),
        "study.toml, sweep.sets.motor.small: it can't stand there "
        "(flight.ascent: propellant_mass is not below start_mass). Give the whole mass at lift-off.",
    ),
    "a file that isn't there": (
        MOTORS.replace("small.csv", "no.csv"),
        "study.toml, sweep.sets.motor.small.'flight.ascent.thrust': there is no file '",
    ),
    "a file of a choice that isn't there": (
        '[sweep.choices]\n"flight.ascent.thrust" = ["small.csv", "no.csv"]\n',
        "study.toml, sweep.choices.'flight.ascent.thrust' 'no.csv': there is no file '",
    ),
    "a set named like a table": (
        MOTORS.replace("sets.motor", "sets.flight"),
        "study.toml, sweep.sets.flight: 'flight' is or looks like a key of a study. "
        "Name the set with a word of your own, like motor.",
    ),
    "a set named like a key": (
        MOTORS.replace("sets.motor", 'sets."flight.record"'),
        "study.toml, sweep.sets.'flight.record': 'flight.record' is or looks like a key of a study. "
        "Name the set with a word of your own, like motor.",
    ),
    "one option alone": (
        MOTORS.split("[sweep.sets.motor.large]", maxsplit=1)[0],
        "study.toml, sweep.sets.motor: there is no choice between options. Give two options or more.",
    ),
    "keys without quotes": (
        MOTORS.replace('"flight.ascent.start_mass"', "flight.ascent.start_mass"),
        "study.toml, sweep.sets.motor.small.flight: this is a table. Write the whole key between quotes, "
        'like "flight.ascent.thrust" = "small.csv".',
    ),
    "an option that is no table": (
        "[sweep.sets]\nmotor = { small = 5, large = 6 }\n",
        "study.toml, sweep.sets.motor.small: 5 is no table. "
        'Write options under it, like [sweep.sets.motor.small] with "flight.ascent.thrust" = "small.csv".',
    ),
    "a set that is a list": (
        '[sweep.sets]\nmotor = ["small.csv", "large.csv"]\n',
        "study.toml, sweep.sets.motor: the value is no table. "
        'Write options under it, like [sweep.sets.motor.small] with "flight.ascent.thrust" = "small.csv".',
    ),
    "a range upside down": (
        '[sweep.free]\n"tip.band.thickness" = ["2 mm", "1 mm"]\n',
        "study.toml, sweep.free.'tip.band.thickness': the range from '2 mm' to '1 mm' is empty. "
        "Write the lower bound first.",
    ),
    "an empty list": (
        '[sweep.choices]\n"tip.material" = []\n',
        "study.toml, sweep.choices.'tip.material': the list is empty. Name at least one option.",
    ),
    "an option twice": (
        '[sweep.choices]\n"tip.material" = ["304", "304"]\n',
        "study.toml, sweep.choices.'tip.material': an option stands there twice. Name each option once.",
    ),
}


@pytest.mark.parametrize("name", WRONG)
def test_each_mistake_of_a_sweep_is_one_line_with_its_place(name, write):
    text, said = WRONG[name]
    lines = problems(write(STUDY + text))
    assert any(line.startswith(said) for line in lines), lines
    assert all(line.startswith("study.toml, sweep.") and "\n" not in line for line in lines)


@pytest.mark.parametrize("changed", ["small.csv", "large.csv", "b.csv", "thrust.csv"])
def test_the_fingerprint_follows_every_file_that_a_design_may_take(changed, write):
    path = write(STUDY + MOTORS + '[sweep.choices]\n"flight.ascent.drag" = ["b.csv", "c.csv"]\n')
    before = read_study(path).fingerprint()
    (path.parent / changed).write_text("other")
    assert read_study(path).fingerprint() != before


def test_the_run_copy_has_the_copies_names_and_means_the_same_designs(write, tmp_path):
    path = write(STUDY + MOTORS + '[sweep.choices]\n"flight.ascent.drag" = ["b.csv", "c.csv"]\n')
    study = read_study(path)
    names = {source: f"inputs/{source.name}" for source in study.all_files().values()}
    assert {source.name for source in names} == {
        "thrust.csv",
        "drag.csv",
        "small.csv",
        "large.csv",
        "b.csv",
        "c.csv",
    }
    raw = study.with_files_named(names)
    assert value_at(raw, "sweep.sets.motor.small") == {
        "flight.ascent.thrust": "inputs/small.csv",
        "flight.ascent.start_mass": "6.1 kg",
    }
    copy = type(study)(path=path, raw=raw, tables=study.tables)
    design = {"motor": "large", "flight.ascent.drag": "c.csv"}
    assert copy.with_design(design).files() == {
        "flight.ascent.thrust": tmp_path / "inputs/large.csv",
        "flight.ascent.drag": tmp_path / "inputs/c.csv",
    }
    assert study.raw["sweep"]["choices"] == {"flight.ascent.drag": ["b.csv", "c.csv"]}


def test_a_list_of_further_records_in_a_set_is_renamed_as_well(write):
    record = STUDY.replace(
        STUDY[STUDY.index("[flight") : STUDY.index("[outline")], '[flight]\nrecord = "flight.csv"\n'
    )
    sets = """
[sweep.sets.day.one]
"flight.record" = "flight.csv"
"flight.also" = [{ record = "b.csv" }]
[sweep.sets.day.two]
"flight.record" = "c.csv"
"flight.also" = []
"""
    study = read_study(write(record + sets))
    assert {path.name for path in study.swept_files().values()} == {"flight.csv", "b.csv", "c.csv"}
    raw = study.with_files_named({path: f"inputs/{path.name}" for path in study.all_files().values()})
    assert raw["sweep"]["sets"]["day"]["one"]["flight.also"] == [{"record": "inputs/b.csv"}]
    assert raw["flight"]["record"] == "inputs/flight.csv"


def test_bounds_on_two_scales_of_temperature_are_refused():
    with pytest.raises(UnitError, match="different scales"):
        free_range("20 degC", "300 K")
    assert free_range("0 degC", "30 degC") == (0.0, 30.0, "degC")
