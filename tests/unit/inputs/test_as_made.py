import pytest

from optitip.errors import UserMistakes
from optitip.inputs.as_made import MEASURABLE, read_as_made
from optitip.inputs.schema import is_study_key


@pytest.fixture
def read(tmp_path):
    def of(text):
        path = tmp_path / "made.toml"
        path.write_text(text)
        return read_as_made(path)

    return of


def said(read, text):
    with pytest.raises(UserMistakes) as raised:
        read(text)
    return [str(one) for one in raised.value.mistakes]


def test_lengths_are_read_by_quoted_key_and_as_tables(read):
    found = read('"tip.band.thickness" = "1.35 mm"\n[sample.slab]\nthickness = "0.1 inch"\n')
    assert found.lengths == pytest.approx({"tip.band.thickness": 1.35e-3, "sample.slab.thickness": 2.54e-3})


def test_readings_have_stations_from_either_end_and_masses_their_unit(read):
    found = read(
        'mass = "101 g"\nslab_mass = "0.03 lb"\n[[wall]]\nz = "70 mm"\nthickness = "1.2 mm"\n'
        '[[wall]]\nz_from_aft = "2 inch"\nthickness = "1.3 mm"\n[[diameter]]\nz = "70 mm"\nbore = "25 mm"\n'
    )
    assert found.mass == pytest.approx(0.101)
    assert found.slab_mass == pytest.approx(0.03 * 0.45359237)
    assert [one.station(0.15) for one in found.wall] == pytest.approx([0.07, 0.15 - 0.0508])
    assert found.diameter[0].bore == pytest.approx(0.025)
    assert found.diameter[0].outside is None


def test_what_is_left_blank_was_not_measured_and_the_rest_keeps_its_number(read):
    found = read(
        'mass = ""\n"tip.plug.length" = ""\n[[wall]]\nz = "60 mm"\nthickness = ""\n'
        '[[wall]]\nz = "70 mm"\nthickness = "1.2 mm"\n'
    )
    assert found.mass is None
    assert found.lengths == {}
    assert len(found.wall) == 1
    assert found.wall_places == ("made.toml, wall 2",)


def test_every_length_that_can_be_measured_is_a_key_of_a_study():
    assert all(is_study_key(key) for key in MEASURABLE)


def test_all_mistakes_come_together_each_with_its_place(read):
    lines = said(
        read,
        '"tip.band.thickness" = "1.35"\n"tip.plug.lenght" = "48 mm"\n"tip.plug.wall" = "-3 mm"\n'
        'mass = "nan g"\nslab_mass = nan\nwhat = "x"\n'
        '[[wall]]\nz = "70 mm"\nthicknes = "1 mm"\n[[wall]]\nthickness = "1 mm"\n'
        '[[wall]]\nz = "1 mm"\nz_from_aft = "1 mm"\nthickness = "1 mm"\n[[diameter]]\nz = "65 mm"\n',
    )
    beginnings = [
        "made.toml, tip.plug.lenght: this is no length that is measured. Did you mean 'tip.plug.length'",
        "made.toml, tip.band.thickness: '1.35' has no unit",
        "made.toml, tip.plug.wall: '-3 mm' is not above 0 mm",
        "made.toml, wall 1, thickness: this key is missing",
        "made.toml, wall 1, thicknes: this key is unknown",
        "made.toml, wall 2: a reading has one station",
        "made.toml, wall 3: a reading has one station",
        "made.toml, diameter 1: nothing is measured there",
        "made.toml, mass: 'nan g' is no quantity",
        "made.toml, slab_mass: 'nan' is no quantity",
        "made.toml, what: this key is unknown",
    ]
    assert len(lines) == len(beginnings)
    for beginning in beginnings:
        assert any(line.startswith(beginning) for line in lines), beginning


def test_a_length_measured_twice_is_refused(read):
    lines = said(read, '"tip.band.thickness" = "1.2 mm"\n[tip.band]\nthickness = "1.3 mm"\n')
    assert lines == ["made.toml, tip.band.thickness: it is measured twice. Keep one of the two."]


@pytest.mark.parametrize("text", ["wall = 3", 'wall = "1 mm"', "[wall]\nz = 3\n", "wall = [1]", "tip = 3"])
def test_a_table_that_is_none_is_a_line(read, text):
    assert all(line.startswith("made.toml, ") for line in said(read, text))


def test_a_file_that_is_none(read, tmp_path):
    assert said(read, "mass = 101 g\n")[0].startswith("made.toml: ")
    with pytest.raises(UserMistakes, match="Give the path of a file of readings"):
        read_as_made(tmp_path / "nowhere.toml")
