"""Thrust curves as people keep them: read alike however saved; a wrong one is told by its line."""

import pytest

from optitip.errors import UserMistakes
from optitip.inputs.curves import read_thrust

ROWS = "0,0\n0.1,900\n1.5,700\n2,0\n"
STYLES = {
    "our own": "# Invented motor.\ntime [s],thrust [N]\n" + ROWS,
    "no header": ROWS,
    "blanks": ROWS.replace(",", "   "),
    "tabs": ROWS.replace(",", "\t"),
    "semicolons and decimal commas": ROWS.replace(",", ";").replace(".", ","),
    "comments behind semicolons": "; an invented motor\n" + ROWS.replace(",", " ") + ";\n",
    "a title of words and numbers": "Motor 98 of 2 kg 1.5 in all\n" + ROWS.replace(",", " "),
    "units in round brackets": "Time (s),Thrust (N)\n" + ROWS,
    "other units": "t [ms],force [kN]\n0,0\n100,0.9\n1500,0.7\n2000,0\n",
    "the columns the other way about": "thrust [N],time [s]\n0,0\n900,0.1\n700,1.5\n0,2\n",
    "no row at time zero": ROWS.removeprefix("0,0\n"),
    "zeros after the burn": ROWS + "2.5,0\n3,0\n",
    "labels that say nothing": "x,y\n" + ROWS,
}
SILENT = {"our own", "units in round brackets", "other units", "the columns the other way about"}


@pytest.fixture
def written(tmp_path):
    def write(content):
        path = tmp_path / "t.csv"
        path.write_text(content)
        return path

    return write


@pytest.mark.parametrize("name", STYLES)
def test_the_same_curve_reads_alike_however_it_was_saved(name, written):
    curve = read_thrust(written(STYLES[name]))
    assert curve.time == pytest.approx([0.0, 0.1, 1.5, 2.0])
    assert curve.thrust == pytest.approx([0.0, 900.0, 700.0, 0.0])
    assert (curve.notes == ()) == (name in SILENT)


def test_units_that_are_nowhere_written_are_said_to_be_seconds_and_newtons(written):
    assert read_thrust(written(ROWS)).notes == (
        "t.csv: no unit is written; read as time in s and thrust in N",
    )


def test_a_curve_that_ends_under_thrust_keeps_its_last_row(written):
    assert read_thrust(written("0 500\n2 500\n")).thrust.tolist() == [500.0, 500.0]


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (
            "time [s],thrust [N]\n0,0\n1,abc\n2,0\n",
            "t.csv, line 3, column \"thrust [N]\": 'abc' is no number",
        ),
        ("time [s],thrust [N]\n0,0\n1,\n2,0\n", 't.csv, line 3, column "thrust [N]": the cell is empty'),
        (
            "time [s],thrust [N]\n0,0\n1,5\n1,0\n",
            "t.csv, line 4, column \"time [s]\": '1' does not rise",
        ),
        (
            "time [s],thrust [lb]\n0,0\n1,5\n2,0\n",
            "line 1, column \"thrust [lb]\": 'lb' is no unit of this kind",
        ),
        ("time [s],drag\n0,0\n1,5\n2,0\n", "t.csv, line 1: column 'thrust [N]' is missing"),
        ("time [s],thrust [N],force [N]\n0,0,0\n1,5,5\n2,0,0\n", "are both the thrust"),
        ("0,0,1\n1,5,1\n2,0,1\n", "column 'time [s]' is missing. Add it; the file has 3 without a name"),
        ("a motor of great power\n", "there is no table of numbers"),
        (
            "time [s],thrust [N]\n" + "0,0\n1,5\n2,5\n3,5\n4,5,6\n5,0\n",
            "t.csv, line 6: the row has 3 cells",
        ),
    ],
)
def test_a_wrong_curve_is_told_by_its_place(content, said, written):
    with pytest.raises(UserMistakes) as caught:
        read_thrust(written(content))
    assert said in str(caught.value.mistakes[0])
