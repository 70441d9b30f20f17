"""Reading material files: what is found, and the line each mistake is told in."""

import pytest

from optitip.errors import UserMistakes
from optitip.inputs.material_files import material_files, material_folder, read_material

GOOD = """
title = "Invented"
family = "metal"

[density]
value = "2000 kg/m3"
source = "invented here"

[conductivity]
"temperature [degC]" = [0, 100]
"value [W/(m K)]" = [10, 30]
source = "invented here"

[specific_heat]
value = "500 J/(kg K)"
valid = ["-50 degC", "150 degC"]
source = "invented here"

[emissivity]
value = 0.1
source = "invented here"
"""
FOOD = """
title = "Invented broth"
family = "food"
[composition]
fractions = { water = 0.9, protein = 0.1 }
valid = ["0 degC", "150 degC"]
source = "invented here"
[boiling]
temperature = "99.97 degC"
latent_heat = "2256.5 kJ/kg"
source = "invented here"
"""


@pytest.fixture
def folder(tmp_path):
    place = tmp_path / "materials"
    place.mkdir()

    def write(content, name="x.toml"):
        (place / name).write_bytes(content if isinstance(content, bytes) else content.encode())
        return place

    return write


def mistakes_in(folder, name="x"):
    with pytest.raises(UserMistakes) as caught:
        read_material(name, folder=folder)
    return [str(mistake) for mistake in caught.value.mistakes]


def test_a_record_is_in_si(folder):
    name, record = read_material("X", folder=folder(GOOD))
    assert name == "x"
    assert record.conductivity.temperature == (273.15, 373.15)
    assert record.conductivity.value == (10.0, 30.0)
    assert record.specific_heat.value == (500.0, 500.0)
    assert record.specific_heat.temperature == (223.15, 423.15)


def test_other_units_of_the_same_kind_are_taken(folder):
    text = GOOD.replace("temperature [degC]", "temperature [degF]").replace("[0, 100]", "[32, 212]")
    text = text.replace("value [W/(m K)]", "value [mW/(mm K)]")
    _, record = read_material("x", folder=folder(text))
    assert record.conductivity.temperature == pytest.approx((273.15, 373.15))
    assert record.conductivity.value == pytest.approx((10.0, 30.0))


def test_a_food_is_read_by_its_composition(folder):
    _, record = read_material("x", folder=folder(FOOD))
    assert record.composition.fractions == {"water": 0.9, "protein": 0.1}
    assert record.composition.structure == "parallel"
    assert record.boiling.latent_heat == pytest.approx(2256.5e3)


@pytest.mark.parametrize("name", ["egg-white", "Egg White", "EGG_WHITE", "  egg  white "])
def test_a_name_may_be_written_in_any_case_with_spaces_or_hyphens(name):
    assert read_material(name)[0] == "egg-white"


def test_the_packages_folder_is_found_and_named_materials():
    assert material_folder().name == "materials"
    assert "6061-T6" in material_files()


def test_a_folder_that_is_not_there_adds_nothing(tmp_path):
    assert material_files(tmp_path / "none") == material_files()


def test_a_file_of_the_users_own_hides_one_of_the_same_name_however_it_is_spelled(folder):
    place = folder(GOOD, "egg white.toml")
    assert material_files(place)["egg white"].parent == place
    assert "egg-white" not in material_files(place)


@pytest.mark.parametrize(
    "name", ["../secret", "..", "/etc/passwd", "a/b", "a\\b", "", " ", ".hidden", "x\0y", "x" * 100]
)
def test_a_name_cannot_leave_the_folder(folder, name):
    place = folder(GOOD)
    (place.parent / "secret.toml").write_text(GOOD)
    (line,) = mistakes_in(place, name)
    assert "can't be a material's name" in line


@pytest.mark.parametrize(
    ("name", "near"),
    [("6061", "6061-T6"), ("egg", "egg-white"), ("epoxy", "epoxy-room-cure"), ("PTEF", "PTFE")],
)
def test_an_unknown_material_names_the_near_ones_and_how_to_list_all(name, near):
    (line,) = mistakes_in(None, name)
    assert f"there is no material '{name}'" in line
    assert f"'{near}'" in line
    assert "'optitip materials'" in line


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (('title = "Invented"', ""), "materials/x.toml: title: this key is missing. Add it."),
        (("metal", "rock"), "materials/x.toml: family: 'rock' is none of the choices"),
        (("[emissivity]", "[emisivity]"), "materials/x.toml: emisivity: this key is unknown"),
        (("2000 kg/m3", "2000"), "materials/x.toml: density.value: '2000' has no unit"),
        (("2000 kg/m3", "2000 kg"), "materials/x.toml: density.value: 'kg' is no unit of this kind"),
        (
            ("2000 kg/m3", "-2 kg/m3"),
            "materials/x.toml: density.value: '-2 kg/m3' is not between 0 and 25000",
        ),
        (('"2000 kg/m3"', "nan"), "materials/x.toml: density.value: 'nan' is no quantity"),
        (('"2000 kg/m3"', "true"), "materials/x.toml: density.value: True is no quantity"),
        (('"2000 kg/m3"\nsource = "invented here"', '"2000 kg/m3"'), "density.source: this key is missing"),
        (('"2000 kg/m3"\nsource = "invented here"', '"2 g/cm3"\nsource = "me"'), "density.source: 'me':"),
        (("[10, 30]", "[10]"), "materials/x.toml: conductivity: there are 2 temperatures and 1 values"),
        (("[10, 30]", "[10, -30]"), "materials/x.toml: conductivity: a value is not above zero"),
        (("[10, 30]", "[10, nan]"), "materials/x.toml: conductivity: a value is not above zero"),
        (("[10, 30]", "[10, inf]"), "materials/x.toml: conductivity: a value is not above zero"),
        (("[10, 30]", '[10, "30"]'), "conductivity: 'value [W/(m K)]' is no list of numbers"),
        (("[10, 30]", "[10, true]"), "conductivity: 'value [W/(m K)]' is no list of numbers"),
        (("[10, 30]", "10"), "conductivity: 'value [W/(m K)]' is no list of numbers"),
        (("[0, 100]", "[100, 0]"), "materials/x.toml: conductivity: the temperatures don't rise"),
        (("[0, 100]", "[0, 0]"), "materials/x.toml: conductivity: the temperatures don't rise"),
        (("[0, 100]", "[-300, 0]"), "conductivity: a temperature lies outside 0 to 5000 K"),
        (("value [W/(m K)]", "value [W/m2]"), "conductivity: 'W/m2' is no unit of this kind"),
        (("value [W/(m K)]", "value"), "conductivity: "),
        (("temperature [degC]", "temperature"), "conductivity: '' is no unit of temperature"),
        (("temperature [degC]", "temprature [degC]"), "conductivity: the key 'temprature [degC]' is unknown"),
        (('valid = ["-50 degC", "150 degC"]', ""), "materials/x.toml: specific_heat: 'valid' is missing"),
        (
            ('["-50 degC", "150 degC"]', '["150 degC", "-50 degC"]'),
            "specific_heat: the temperatures don't rise",
        ),
        (('["-50 degC", "150 degC"]', '["150 degC", "190 degC"]'), "share no temperatures. Extend one"),
        (("500 J/(kg K)", "500 J/kg"), "materials/x.toml: specific_heat: 'J/kg' is no unit of this kind"),
        (("value = 0.1", "value = 1.1"), "materials/x.toml: emissivity.value: '1.1' is not between 0 and 1"),
        (("[specific_heat]", "[boiling]"), "materials/x.toml: boiling"),
        (("title =", "title"), "materials/x.toml: "),
    ],
)
def test_each_mistake_is_told_with_its_place(folder, change, said):
    assert change[0] in GOOD
    assert any(said in line for line in mistakes_in(folder(GOOD.replace(*change))))


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (("water = 0.9", "water = 0.5"), "composition: the fractions add up to 0.600"),
        (("water = 0.9", "watr = 0.9"), "composition.fractions.watr: 'watr' is none of the choices"),
        (("water = 0.9", "fat = 0.9"), "boiling needs water in a composition"),
        (
            ('["0 degC", "150 degC"]', '["150 degC", "0 degC"]'),
            "composition: the range 'valid' does not rise",
        ),
        (('["0 degC", "150 degC"]', '["0 degC"]'), "composition.valid"),
        (("[boiling]", '[density]\nvalue="1 g/cm3"\nsource="invented here"\n[boiling]'), "are both given"),
    ],
)
def test_each_mistake_of_a_food_is_told_with_its_place(folder, change, said):
    assert change[0] in FOOD
    assert any(said in line for line in mistakes_in(folder(FOOD.replace(*change))))


MELTS = '[melting]\nfrom = "40 degC"\nto = "60 degC"\nlatent_heat = "190 kJ/kg"\nsource = "invented here"\n'
CHARS = '[decomposition]\ntemperature = "500 degC"\nheat = "90 kJ/kg"\nsource = "invented here"\n'
FREEZES = '[freezing]\ntemperature = "-1 degC"\nlatent_heat = "333.6 kJ/kg"\nsource = "invented here"\n'
COLD = FOOD.replace('"0 degC"', '"-40 degC"') + FREEZES


def test_what_melts_freezes_and_chars_is_read_in_si(folder):
    _, record = read_material("x", folder=folder(GOOD + MELTS + CHARS))
    assert (record.melting.low, record.melting.high) == pytest.approx((313.15, 333.15))
    assert (record.melting.latent_heat, record.decomposition.heat) == pytest.approx((190e3, 90e3))
    _, food = read_material("x", folder=folder(COLD))
    assert (food.freezing.temperature, food.freezing.latent_heat) == pytest.approx((272.15, 333.6e3))


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (GOOD + MELTS.replace("from =", "form ="), "x.toml: melting.from: this key is missing. Add it."),
        (GOOD + MELTS.replace('"60 degC"', '"30 degC"'), "x.toml: melting: the range of melting is narrower"),
        (GOOD + MELTS.replace('"60 degC"', '"40 degC"'), "a tenth of a kelvin for a pure substance"),
        (GOOD + MELTS.replace('"60 degC"', '"101 degC"'), "melting goes beyond the temperatures of"),
        (GOOD + MELTS.replace("190 kJ/kg", "190 kJ"), "melting.latent_heat: 'kJ' is no unit of this kind"),
        (GOOD + CHARS.replace("90 kJ/kg", "-90 kJ/kg"), "x.toml: decomposition.heat: '-90 kJ/kg' is not"),
        (GOOD + CHARS.replace('source = "invented here"', ""), "decomposition.source: this key is missing"),
        (GOOD + FREEZES, "freezing needs water in a composition. Give the composition, or drop freezing."),
        (FOOD + MELTS, "melting and composition are both given. A food freezes and boils"),
        (FOOD + CHARS, "decomposition and composition are both given"),
        (FOOD.replace('"0 degC"', '"-5 degC"'), "goes below 0 degC, where water freezes. Give freezing"),
        (COLD.replace('"-1 degC"', '"1 degC"'), "freezing: 1 degC is no initial freezing point here"),
        (COLD.replace('"-1 degC"', '"-41 degC"'), "Give one below 0 degC and above -40 degC"),
        (
            GOOD + '[service_limit]\nvalue = "90 degC"\nreason = "it softens"\njudged = "depht"\n',
            "service_limit.judged: 'depht' is none of the choices. Write one of 'peak' or 'depth'.",
        ),
    ],
)
def test_each_mistake_of_a_change_of_phase_is_told_with_its_place(folder, content, said):
    lines = mistakes_in(folder(content))
    assert any(said in line for line in lines), lines


CRUSHED = '[strength]\nlow = "1 kPa"\nexpected = "2 kPa"\nhigh = "3 kPa"\nsource = "invented here"\n'
SHRINKS = '[shrinkage]\nstrain = 0.1\nfrom = "55 degC"\nto = "80 degC"\nsource = "invented here"\n'
EXPOSED = '[exposure]\ntemperature = "200 degC"\ntime = "2 h"\nsource = "invented here"\n'


def test_what_a_sample_and_a_temper_stand_is_read_in_si(folder):
    _, record = read_material("x", folder=folder(GOOD + CRUSHED + SHRINKS + EXPOSED))
    crushed, cooked, temper = record.strength, record.shrinkage, record.exposure
    assert (crushed.low, crushed.expected, crushed.high) == (1e3, 2e3, 3e3)
    assert (cooked.strain, cooked.low, cooked.high) == pytest.approx((0.1, 328.15, 353.15))
    assert (temper.temperature, temper.time, temper.constant) == pytest.approx((473.15, 7200.0, 20.0))


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (CRUSHED.replace("1 kPa", "2.5 kPa"), "x.toml: strength: low, expected and high don't rise. Sort"),
        (CRUSHED.replace('low = "1 kPa"\n', ""), "x.toml: strength.low: this key is missing. Add it."),
        (CRUSHED.replace("3 kPa", "3 kg"), "x.toml: strength.high: 'kg' is no unit of this kind"),
        (CRUSHED.replace("1 kPa", "0 kPa"), "x.toml: strength.low: '0 kPa' is not between 0 and 1e+10 Pa"),
        (SHRINKS.replace("80 degC", "55 degC"), "x.toml: shrinkage: from is not below to. Give the lower"),
        (SHRINKS.replace("0.1", "1.0"), "x.toml: shrinkage.strain: '1.0' is not between 0 and 1"),
        (SHRINKS.replace("0.1", "-0.1"), "x.toml: shrinkage.strain: '-0.1' is not between 0 and 1"),
        (EXPOSED + "constant = 2\n", "x.toml: exposure.constant: '2' is not between 5 and 50"),
        (EXPOSED.replace('"2 h"', '"0 h"'), "x.toml: exposure.time: '0 h' is not between 0 and"),
        (EXPOSED.replace('source = "invented here"', ""), "x.toml: exposure.source: this key is missing"),
    ],
)
def test_each_mistake_of_what_it_stands_is_told_with_its_place(folder, content, said):
    lines = mistakes_in(folder(GOOD + content))
    assert any(said in line for line in lines), lines


def test_a_material_without_its_thermal_properties_is_incomplete(folder):
    (line,) = mistakes_in(folder('title = "Bare"\nfamily = "metal"\n'))
    assert "conductivity, density, specific_heat is missing" in line


def test_all_mistakes_of_a_file_come_together(folder):
    text = GOOD.replace("2000 kg/m3", "2000").replace("[10, 30]", "[10]").replace("0.1", "7")
    assert len(mistakes_in(folder(text))) == 3


@pytest.mark.parametrize(
    ("content", "said"), [(b"\xff\xfe\x00", "no text in UTF-8"), (b"a = [1,\n", "materials/x.toml: ")]
)
def test_a_file_that_is_no_toml_is_refused_in_one_line(folder, content, said):
    (line,) = mistakes_in(folder(content))
    assert said in line
