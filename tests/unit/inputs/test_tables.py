"""Reading CSV tables: what is taken, and the line each mistake is told in."""

import time

import numpy as np
import pytest

from optitip.errors import UserMistakes
from optitip.inputs.tables import Column, read_table

COLUMNS = {
    "time": Column(unit="s", increasing=True, aliases=("t", "elapsed time")),
    "altitude": Column(unit="m"),
    "speed": Column(unit="m/s", aliases=("velocity",), lowest=0.0),
    "temperature": Column(unit="K", required=False),
    "mach": Column(unit="1", required=False),
}
GOOD = "time [s],altitude [m],speed [m/s]\n0,10,0\n1,20,30\n"


@pytest.fixture
def table(tmp_path):
    def write(content):
        path = tmp_path / "log.csv"
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return path

    return write


def mistakes_in(path, **how):
    with pytest.raises(UserMistakes) as caught:
        read_table(path, columns=how.pop("columns", COLUMNS), **how)
    return [str(mistake) for mistake in caught.value.mistakes]


def test_columns_come_back_in_si_by_their_own_names(table):
    header = "Velocity [ft/s],Elapsed_Time [ms],ALTITUDE [km],temperature [degC],mach"
    text = f"{header}\n0,0,1,20,0\n10,500,2,-5,.1\n"
    read = read_table(table(text), columns=COLUMNS)
    assert list(read["time"]) == [0.0, 0.5]
    assert list(read["altitude"]) == [1000.0, 2000.0]
    assert read["speed"] == pytest.approx([0.0, 3.048])
    assert read["temperature"] == pytest.approx([293.15, 268.15])
    assert list(read["mach"]) == [0.0, 0.1]


def test_an_optional_column_that_is_not_there_is_left_out(table):
    assert set(read_table(table(GOOD), columns=COLUMNS)) == {"time", "altitude", "speed"}


@pytest.mark.parametrize(
    "text",
    [
        GOOD.replace(",", ";"),
        GOOD.replace(",", "\t"),
        GOOD.replace("\n", "\r\n"),
        GOOD.replace("\n", "\r"),
        GOOD.encode("utf-8-sig"),
        "# a log\n\n" + GOOD.replace("1,20", "# half way\n,,\n 1 , 20"),
        GOOD.replace("0,10,0", "0,10,0,,"),
        GOOD.replace("speed [m/s]", "speed [m/s],"),
        GOOD.replace("time [s]", '"time [s]"').replace("20", '"20"'),
    ],
)
def test_the_same_table_reads_alike_however_it_was_saved(table, text):
    read = read_table(table(text), columns=COLUMNS)
    assert [list(read[name]) for name in ("time", "altitude", "speed")] == [[0, 1], [10, 20], [0, 30]]


def test_the_arrays_are_read_only(table):
    assert not read_table(table(GOOD), columns=COLUMNS)["time"].flags.writeable


def test_an_empty_cell_is_a_gap_only_where_gaps_are_let(table):
    text = "time [s],altitude [m]\n0,\n1,20\n2,NaN\n"
    columns = {"time": Column(unit="s"), "altitude": Column(unit="m", gaps=True)}
    read = read_table(table(text), columns=columns)
    assert np.isnan(read["altitude"]).tolist() == [True, False, True]
    columns["altitude"] = Column(unit="m")
    assert len(mistakes_in(table(text), columns=columns)) == 2


@pytest.mark.parametrize("columns", [{"a": Column(unit="m")}, {"a": Column(unit="m", gaps=True)}])
@pytest.mark.parametrize(
    "cell", ["inf", "-Infinity", "1e999", "1_000", "0x10", "１２", "12 m", "(2+3)", "--"]
)
def test_a_cell_that_is_no_finite_plain_number_is_named(table, cell, columns):
    assert mistakes_in(table(f"a [m]\n1\n{cell}\n"), columns=columns) == [
        f"log.csv, line 3, column \"a [m]\": '{cell}' is no number. Write digits, like 12 or 1.5e6."
    ]


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (
            ("1,20,30", "1,abc,30"),
            "log.csv, line 3, column \"altitude [m]\": 'abc' is no number. Write digits, like 12 or 1.5e6.",
        ),
        (
            ("1,20,30", "1,nan,30"),
            "log.csv, line 3, column \"altitude [m]\": 'nan' is no number. Write digits, like 12 or 1.5e6.",
        ),
        (
            ("1,20,30", "1,,30"),
            'log.csv, line 3, column "altitude [m]": the cell is empty. Fill it in, or take the row out.',
        ),
        (
            ("1,20,30", "1,20"),
            "log.csv, line 3: the row has 2 cells, the header 3."
            " Give each column one cell, with a point as decimal mark.",
        ),
        (
            ("1,20,30", "0,20,30"),
            "log.csv, line 3, column \"time [s]\": '0' does not rise above the '0' before it."
            " Sort the rows and take doubled ones out.",
        ),
        (
            ("1,20,30", "1,20,-3"),
            "log.csv, line 3, column \"speed [m/s]\": '-3' is below 0 m/s."
            " Put the number right, or the unit in the header.",
        ),
        (
            ("1,20,30\n", ""),
            "log.csv: there is 1 row of numbers. Give at least 2.",
        ),
        (
            ("time [s]", "time"),
            "log.csv, line 1, column \"time\": there is no unit. Write it with one, like '30 s'.",
        ),
        (
            ("time [s]", "time [m]"),
            "log.csv, line 1, column \"time [m]\": 'm' is no unit of this kind. Give a unit like '30 s'.",
        ),
        (
            ("time [s]", "time [wink]"),
            "log.csv, line 1, column \"time [wink]\": the unit 'wink' is unknown. Give a unit like '30 s'.",
        ),
        (
            ("time [s]", "speed [m/s]"),
            'log.csv, line 1, column "speed [m/s]": this is \'speed\' a second time, after "speed [m/s]".'
            " Keep one of the two.",
        ),
        (
            ("time [s]", "tiem [s]"),
            "log.csv, line 1, column \"tiem [s]\": the column is unknown. Did you mean 'time'.",
        ),
        (
            ("time [s]", "hat [s]"),
            'log.csv, line 1, column "hat [s]": the column is unknown.'
            " Take it out; known here: time, altitude, speed, temperature, mach.",
        ),
        (
            ("time [s]", "hat [s]"),
            "log.csv, line 1: column 'time [s]' is missing."
            ' Add it; the file has "hat [s]", "altitude [m]", "speed [m/s]".',
        ),
        (
            ("time [s]", "time (s)"),
            'log.csv, line 1, column "time (s)": the column has no unit.'
            " Write the unit in square brackets, 'time [s]'.",
        ),
    ],
)
def test_each_mistake_is_told_with_its_place_and_remedy(table, change, said):
    assert said in mistakes_in(table(GOOD.replace(*change)))


def test_all_mistakes_of_a_file_come_together(table):
    text = "time [s],altitude [m],speed [km]\n0,x,0\n0,20,30\n"
    assert len(mistakes_in(table(text))) == 3


def test_a_decimal_comma_is_recognised(table):
    text = GOOD.replace(",", ";").replace("20", "20,5")
    assert "Write the decimal mark as a point" in mistakes_in(table(text))[0]


def test_a_file_without_a_header_is_told_what_header_to_write(table):
    said = mistakes_in(table("0,10,0\n1,20,30\n"))
    assert said == [
        "log.csv, line 1: the first line holds numbers, not names. Name each column with its unit"
        " in the first line, like 'time [s],altitude [m],speed [m/s]'."
    ]


def test_other_columns_are_ignored_only_when_asked(table):
    text = "time [s],state,altitude [m],speed [m/s]\n0,PAD_1,10,0\n1,UP,20,30\n"
    assert list(read_table(table(text), columns=COLUMNS, ignore_others=True)["altitude"]) == [10, 20]
    assert 'column "state": the column is unknown' in mistakes_in(table(text))[0]


def test_a_temperature_below_absolute_zero_is_refused(table):
    columns = {"temperature": Column(unit="K")}
    assert len(mistakes_in(table("temperature [degC]\n-300\n20\n"), columns=columns)) == 1


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "the file is empty"),
        (b"\n# only words\n", "the file is empty"),
        (b"\x89PNG\xff\xfe", "no text in UTF-8"),
        (GOOD.encode("utf-16"), "no text in UTF-8"),
        (b"time [s]\0", "no text in UTF-8"),
    ],
)
def test_a_file_that_is_no_table_is_refused_in_one_line(table, content, said):
    (line,) = mistakes_in(table(content))
    assert said in line


def test_a_file_that_is_not_there_and_a_folder_are_refused(tmp_path):
    assert "there is no file" in mistakes_in(tmp_path / "no.csv")[0]
    assert "this is a folder" in mistakes_in(tmp_path)[0]


def test_a_cell_of_endless_length_is_named_in_a_short_line(table):
    (line,) = mistakes_in(table(f'a [m]\n1\n"{"x" * 200_000}"\n'), columns={"a": Column(unit="m")})
    assert "is no number" in line
    assert len(line) < 150


def test_many_mistakes_are_told_in_few_lines(table):
    rows = "\n".join(f"{count},x,1" for count in range(1000))
    said = mistakes_in(table(f"time [s],altitude [m],speed [m/s]\n{rows}\n"))
    assert len(said) == 6
    assert "995 more" in said[-1]


def test_a_hundred_thousand_rows_are_read_in_about_a_second(table):
    rows = "\n".join(f"{count * 0.01:.2f},{count * 0.3:.3f},{count * 0.01:.4f}" for count in range(100_000))
    path = table(f"time [s],altitude [m],speed [m/s]\n{rows}\n")
    start = time.process_time()
    assert read_table(path, columns=COLUMNS)["time"].size == 100_000
    assert time.process_time() - start < 2.0
