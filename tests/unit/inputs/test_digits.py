"""The quick way into a file gives what the slow one gives, and stands aside where something is odd."""

import numpy as np
import pytest

from optitip.errors import UserMistakes
from optitip.inputs import tables
from optitip.inputs.digits import plain_digits
from optitip.inputs.tables import Column, read_table

COLUMNS = {"time": Column(unit="s", increasing=True), "thrust": Column(unit="N", lowest=0.0)}
GOOD = "# made up\n\nthrust [kN];time [ms]\n5.25;0\n-0;1e2\n.5;+200.5\n\n7.;300\n"


def test_numbers_are_the_same_quickly_and_line_by_line(tmp_path, monkeypatch):
    path = tmp_path / "t.csv"
    path.write_text(GOOD)
    assert plain_digits(GOOD) is not None
    quick = read_table(path, columns=COLUMNS)
    monkeypatch.setattr(tables, "plain_digits", lambda _: None)
    slow = read_table(path, columns=COLUMNS)
    assert quick.keys() == slow.keys()
    assert all(np.array_equal(quick[key], slow[key]) for key in slow)
    assert quick["thrust"].tolist() == [5250.0, 0.0, 500.0, 7000.0]


@pytest.mark.parametrize(
    "text",
    [
        "time [s],thrust [N]\n0,1\n1,two\n",
        "time [s],thrust [N]\n0,1\n1,\n",
        "time [s],thrust [N]\n0,1\n1,2,3\n",
        "time [s],thrust [N]\n0,1\n# a remark\n1,2\n",
        'time [s],thrust [N]\n0,1\n"1",2\n',
        "time [s];thrust [N]\n0;1\n1;2,5\n",
        "time [s],thrust [N]\n0,1\n1,1e999\n",
        "time [s],thrust [N]\n0,1\n1,nan\n",
        "time [s],thrust [N]\n",
        "time [s],thrust [N]",
        "",
    ],
)
def test_a_file_with_anything_odd_is_left_to_be_read_line_by_line(text):
    assert plain_digits(text) is None


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("time [s],thrust [N]\n0,1\n0,2\n", r"line 3, column \"time \[s\]\": '0' does not rise"),
        ("time [s],thrust [N]\n0,1\n1,-2\n", r"line 3, column \"thrust \[N\]\": '-2' is below 0 N"),
        ("time [s],thrust [N]\n0,1\n", "there is 1 row of numbers"),
        ("time [s],force [N]\n0,1\n1,2\n", "the column is unknown"),
        ("time [s],thrust [N],\n0,1,5\n1,2,5\n", "the row has 3 cells, the header 2"),
    ],
)
def test_what_is_wrong_in_plain_numbers_is_told_as_ever(text, said, tmp_path):
    (tmp_path / "t.csv").write_text(text)
    with pytest.raises(UserMistakes, match=said):
        read_table(tmp_path / "t.csv", columns=COLUMNS)
