import copy

import pytest
from told import problems

from optitip.errors import UserMistakes
from optitip.inputs.keys import set_keys, value_at
from optitip.inputs.study import read_study

STARTER = """
[flow]
heating_table = "rig.csv"
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


@pytest.fixture
def write(tmp_path):
    (tmp_path / "rig.csv").write_text("x")

    def write(text):
        path = tmp_path / "study.toml"
        path.write_text(text)
        return path

    return write


def test_a_starter_needs_about_eight_values(write):
    study = read_study(write(STARTER))
    assert study.tables.tip.band.thickness == pytest.approx(1e-3)
    assert study.tables.sample.slab.share == 1.0


def test_a_folder_stands_for_the_study_in_it(write):
    assert read_study(write(STARTER).parent).path.name == "study.toml"


def test_all_mistakes_of_the_schema_come_together_with_their_places(write):
    text = STARTER.replace('"200 mm"', '"200"').replace('"1 mm"', '"1 s"').replace('"3 mm"', '"-3 mm"')
    lines = problems(write(text + 'colour = "red"\n'))
    assert len(lines) == 4
    assert "outline.length: '200' has no unit. Write it with one, like '12 mm'." in lines[0]
    assert any("sample.slab.colour: this key is unknown" in line for line in lines)


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ('"60 mm"', "60", "has no unit"),
        ('"60 mm"', '"nan mm"', "no quantity"),
        ('"60 mm"', "true", "no quantity"),
        ('"cone"', '"cube"', "none of the choices"),
        ('family = "cone"', "", "belong together"),
        ('heating_table = "rig.csv"', "", "neither a flight nor flow.heating_table"),
        ('heating_table = "rig.csv"', 'heating_table = "no.csv"', "there is no file"),
        ("[outline]", "[outline", "line"),
        ('thickness = "1 mm"', 'thicknes = "1 mm"', "Did you mean 'thickness'"),
    ],
)
def test_each_mistake_says_what_is_wrong(write, old, new, said):
    lines = problems(write(STARTER.replace(old, new)))
    assert any(said in line for line in lines), lines
    assert all(line.endswith(".") and ": " in line for line in lines)


@pytest.mark.parametrize(
    ("sweep", "said"),
    [
        ('[sweep.free]\n"tip.band.thickness" = ["0.6 mm", "2 s"]', "no unit of this kind"),
        ('[sweep.free]\n"tip.bend.thickness" = ["0.6 mm", "2 mm"]', "Did you mean 'band'"),
        ('[sweep.free]\n"sweep.seed" = ["1", "2"]', "can't be free"),
        ('[sweep.choices]\n"sample.joint.build" = ["dry", "glue"]', "none of the choices"),
    ],
)
def test_a_free_key_is_tried_at_every_value_it_may_take(write, sweep, said):
    assert any(said in line for line in problems(write(STARTER + sweep)))


@pytest.mark.parametrize(
    ("flight", "said"),
    [
        ('record = "rig.csv"\n[flight.varied]\n', "neither peak_mach nor burn is given. Give one of them"),
        ('record = "rig.csv"\n[flight.varied]\npeak_mach = 6', "'6' is above 5"),
        ('record = "rig.csv"\n[flight.varied]\nburn = "2"', "has no unit"),
        (
            'record = "rig.csv"\n[flight.varied]\nburn = "2 s"',
            "flight.varied stands beside flow.heating_table",
        ),
    ],
)
def test_a_varied_flight_says_what_is_varied_and_heats(write, flight, said):
    lines = problems(write(STARTER + "[flight]\n" + flight))
    assert any(said in line for line in lines), lines


def test_a_missing_study_is_a_mistake_not_a_traceback(tmp_path):
    assert "no such file" in problems(tmp_path / "none.toml")[0]


def test_a_design_is_set_on_the_study_and_checked_like_it(write):
    study = read_study(write(STARTER))
    thicker = study.with_design({"tip.band.thickness": "2 mm", "tip.material": "304"})
    assert thicker.tables.tip.band.thickness == pytest.approx(2e-3)
    assert study.tables.tip.band.thickness == pytest.approx(1e-3)
    with pytest.raises(UserMistakes):
        study.with_design({"tip.band.thickness": "2"})


def test_a_design_shares_the_tables_it_does_not_touch_and_leaves_the_study_as_it_was(write):
    study = read_study(write(STARTER))
    before = copy.deepcopy(study.raw)
    changed = study.with_design({"tip.band.thickness": "2.5 mm", "sample.pocket.air": "vented"})
    assert changed.tables.outline is study.tables.outline
    assert study.raw == before
    written = STARTER.replace('"1 mm"', '"2.5 mm"') + '[sample.pocket]\nair = "vented"\n'
    assert changed.tables == read_study(write(written)).tables


def test_the_fingerprint_follows_the_text_and_the_files(write):
    path = write(STARTER)
    before = read_study(path).fingerprint()
    assert read_study(path).fingerprint() == before
    (path.parent / "rig.csv").write_text("y")
    assert read_study(path).fingerprint() != before


def test_keys_are_set_without_touching_the_original():
    raw = {"tip": {"band": {"length": "1 mm"}}}
    changed = set_keys(raw, {"tip.band.length": "2 mm", "sample.slab.share": 0.5})
    assert value_at(changed, "tip.band.length") == "2 mm"
    assert value_at(raw, "tip.band.length") == "1 mm"
    assert value_at(changed, "sample.slab.share") == 0.5


def test_a_design_that_shapes_the_outside_keeps_the_written_outline_as_the_given_one(write):
    study = read_study(write(STARTER))
    shaped = study.with_design({"outline.tip_radius": "2 mm"})
    assert value_at(shaped.raw, "outline.given") == {
        "family": "cone",
        "diameter": "60 mm",
        "length": "200 mm",
    }
    assert shaped.tables.outline.given.tip_radius is None
    assert shaped.tables.outline.tip_radius == pytest.approx(2e-3)
    again = shaped.with_design({"outline.tip_radius": "3 mm", "outline.length": "190 mm"})
    assert again.tables.outline.given == shaped.tables.outline.given


def test_a_design_of_the_inside_or_of_the_turned_length_gives_no_outline(write):
    study = read_study(write(STARTER))
    design = {"tip.band.thickness": "2 mm", "outline.turned_length": "80 mm"}
    assert study.with_design(design).tables.outline.given is None
