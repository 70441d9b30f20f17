"""Files as recorders of invented makes write them: each is read to the flight it holds, or refused."""

import time

import numpy as np
import pytest
from synthetic_recorder import FOOT, GRAVITY, fly, lines

from optitip.errors import UserMistakes
from optitip.inputs.log_columns import LogColumns
from optitip.inputs.recording import Quantity, read_recording, survey_file

FLOWN = fly()
T, Z, V, FELT, AIR = FLOWN.time, FLOWN.altitude, FLOWN.speed, FLOWN.felt, FLOWN.pressure
STRICT = "time [s],altitude [m],speed [m/s]\n"
ROWS = lines(T, Z, V)


@pytest.fixture
def written(tmp_path):
    def write(content, name="log.csv"):
        path = tmp_path / name
        path.write_bytes(content if isinstance(content, bytes) else content.encode())
        return path

    return write


def text(header, rows):
    return header + "\n".join(rows) + "\n"


def channels_of(path, columns=None):
    return {one.quantity: one for one in read_recording(path, columns=columns).channels}


def mistakes_in(path, columns=None):
    with pytest.raises(UserMistakes) as caught:
        read_recording(path, columns=columns)
    return [str(mistake) for mistake in caught.value.mistakes]


def holds_the_flight(path, columns=None, *, within=0.6, speed=True):
    """Assert that the file reads as the flight, on its own clock, and return how it was read."""
    survey = survey_file(path, columns=columns)
    found = {one.quantity: one for one in survey.recording.channels}
    height = found[Quantity.ALTITUDE]
    zero = T[0] - height.time[0]
    assert np.abs(height.values - np.interp(height.time + zero, T, Z)).max() < within
    assert height.time.size > 0.19 * T.size
    if speed:
        fast = found[Quantity.SPEED]
        assert np.abs(fast.values - np.interp(fast.time + zero, T, V)).max() < within
    return survey


STYLES = {
    "our own": text(STRICT, ROWS),
    "tabs": text(STRICT, ROWS).replace(",", "\t"),
    "semicolons": text(STRICT, ROWS).replace(",", ";"),
    "decimal commas": text(STRICT, ROWS).replace(",", ";").replace(".", ","),
    "line ends of another system": text(STRICT, ROWS).replace("\n", "\r\n"),
    "a byte-order mark": text(STRICT, ROWS).encode("utf-8-sig"),
    "letters of an older code": text("Zeit µs\ntime (s),altitude (m),speed (m/s)\n", ROWS).encode("latin-1"),
    "a banner": text(f"Recorder 00417\nfirmware 2.3, build 77\n\n{STRICT}", ROWS),
    "a header behind #": text(f"# recorder 00417\n# {STRICT}", ROWS),
    "round brackets": text("Time(s),Baro Alt(m),Velocity(m/s)\n", ROWS),
    "units as suffixes": text("time_s,alt_m,vel_ms\n", ROWS),
    "a row of units": text("time,height,speed\n(sec),(m),(m/s)\n", ROWS),
    "units as the only header": text("s,m,m/s\n", ROWS),
    "padded columns": text(
        "   Time (s)   Alt (m)   Vel (m/s)\n",
        (f"{a:10.3f} {b:10.3f} {c:10.3f}" for a, b, c in zip(T, Z, V, strict=True)),
    ),
    "padded commas": text(STRICT, (f"{a:8.3f}, {b:9.2f}, {c:8.2f}" for a, b, c in zip(T, Z, V, strict=True))),
    "feet": text("time [s],altitude [feet],speed [fps]\n", lines(T, Z / FOOT, V / FOOT)),
    "units inside the values": text(
        "Time,Temp,Alt,Vel\n",
        (f"{a:.2f}s,76.7F,{b / FOOT:.0f}',{c:.1f}m/s" for a, b, c in zip(T, Z, V, strict=True)),
    ),
    "milliseconds": text("ms,altitude_m,speed_mps\n", lines(1000 * T, Z, V, formats="{:.0f}")),
    "microseconds": text("time [us],alt [m],v [m/s]\n", lines(1e6 * T, Z, V)),
    "words in a column": text(
        "time [s],state,altitude [m],speed [m/s]\n", (row.replace(",", ",PAD_1,", 1) for row in ROWS)
    ),
    "quoted cells": text(STRICT, (",".join(f'"{cell}"' for cell in row.split(",")) for row in ROWS)),
    "a header in the middle": text(STRICT, [*ROWS[:900], STRICT.strip(), *ROWS[900:]]),
    "comments in the middle": text(STRICT, [*ROWS[:900], "# burnout", "", *ROWS[900:]]),
    "empty columns behind": text(STRICT, (row + ",," for row in ROWS)),
    "nothing after the last row": text(STRICT, ROWS).rstrip("\n"),
    "a card's blank end": text(STRICT, ROWS).encode() + b"\0" * 512,
}


@pytest.mark.parametrize("name", STYLES)
def test_the_same_flight_reads_alike_however_it_was_saved(name, written):
    holds_the_flight(written(STYLES[name]))


def test_our_own_table_is_read_without_a_word_and_every_row_kept(written):
    recording = read_recording(written("# a comment\n" + STYLES["our own"]), columns=None)
    assert recording.notes == ()
    assert [one.time.size for one in recording.channels] == [T.size, T.size]
    assert not recording.channels[0].values.flags.writeable


UNTOLD = {
    "seconds and metres": (text("t,alt,v\n", lines(T, Z, V)), ("s", "m", "m/s")),
    "milliseconds and feet": (text("t,alt,v\n", lines(1000 * T, Z / FOOT, V / FOOT)), ("ms", "ft", "ft/s")),
    "microseconds and miles an hour": (
        text("t,alt [m],v\n", lines(1e6 * T, Z, V / 0.44704)),
        ("us", "m", "mph"),
    ),
    "kilometres an hour": (text("t,alt [m],v\n", lines(T, Z, 3.6 * V)), ("s", "m", "km/h")),
    "ticks of 1/1024 s": (
        text(
            "ticks,alt [m],v [m/s]\n", lines(np.round(1024 * T), Z, V, formats=("{:.0f}", "{:.2f}", "{:.2f}"))
        ),
        ("1/1024 s", "m", "m/s"),
    ),
    "ticks of 1/100 s beside feet": (
        text(
            "count,alt [ft],v [m/s]\n",
            lines(np.round(100 * T), Z / FOOT, V, formats=("{:.0f}", "{:.2f}", "{:.2f}")),
        ),
        ("1/100 s", "ft", "m/s"),
    ),
}


@pytest.mark.parametrize("name", UNTOLD)
def test_a_unit_that_is_nowhere_written_is_told_by_the_flights_physics(name, written):
    content, units = UNTOLD[name]
    survey = holds_the_flight(written(content), within=1.1)
    assert tuple(one.unit for one in survey.columns) == units
    guessed = [one for one in survey.columns if "no unit is written" in one.why]
    assert guessed
    assert len([note for note in survey.recording.notes if "no unit is written" in note]) == len(guessed)


def test_ticks_are_told_through_noise_and_coarse_steps(written):
    noise = np.random.default_rng(5).normal(0.0, 0.5, T.size)
    rows = lines(np.round(128 * T), np.round((Z + noise) / FOOT), formats="{:.0f}")
    survey = survey_file(written(text("ticks,alt [ft]\n", rows)), columns=None)
    assert survey.map["time"] == "ticks [1/128 s]"


def test_a_spike_does_not_mislead_the_guess(written):
    spiked = Z / FOOT
    spiked = np.where(np.arange(T.size) == 400, spiked + 5000.0, spiked)
    survey = survey_file(written(text("t,alt,v\n", lines(1000 * T, spiked, V))), columns=None)
    assert [one.unit for one in survey.columns] == ["ms", "ft", "m/s"]


def test_a_quantitys_word_beside_another_things_is_not_the_quantity(written):
    header = "t [s],alt error,baro temp,acc status,alt [m],v [m/s]\n"
    survey = holds_the_flight(written(text(header, lines(T, 0.1 * Z, 20.0 + T, T, Z, V))))
    assert [one.taken_for for one in survey.columns] == ["time", "", "", "", "altitude", "speed"]


def test_ticks_can_be_told_in_the_map(written):
    rows = lines(np.round(1000 * T), Z, V, formats=("{:.0f}", "{:.2f}", "{:.2f}"))
    path = written(text("ticks,alt [m],v [m/s]\n", rows))
    columns = LogColumns(time="ticks [1/1000 s]", altitude="alt", speed="v")
    holds_the_flight(path, columns)


PRESSURES = {"Pa": 1.0, "hPa": 100.0, "kPa": 1000.0, "psi": 6894.757, "inHg": 3386.389}


@pytest.mark.parametrize("unit", PRESSURES)
@pytest.mark.parametrize("said", [True, False])
def test_a_pressure_is_read_instead_of_an_altitude_in_any_usual_unit(unit, said, written):
    header = f"time [s],baro ({unit})\n" if said else "time [s],baro\n"
    path = written(text(header, lines(T, AIR / PRESSURES[unit], formats="{:.5f}")))
    found = channels_of(path)
    assert list(found) == [Quantity.PRESSURE]
    assert np.abs(found[Quantity.PRESSURE].values / AIR - 1.0).max() < 2e-5


@pytest.mark.parametrize(("unit", "one"), [("g", GRAVITY), ("m/s2", 1.0)])
@pytest.mark.parametrize("said", [True, False])
@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_the_accelerations_axis_sign_and_unit_are_found_among_several(unit, one, said, sign, written):
    rng = np.random.default_rng(3)
    across = [0.05 * FELT + rng.normal(0.0, 1.0, T.size) for _ in range(2)]
    header = "time [s],alt [m]," + ",".join(f"acc_{axis}" + (f" [{unit}]" if said else "") for axis in "xyz")
    path = written(text(header + "\n", lines(T, Z, across[0] / one, sign * FELT / one, across[1] / one)))
    found = channels_of(path)[Quantity.ACCELERATION]
    assert found.label.startswith("acc_y")
    assert np.abs(found.values - FELT).max() < 0.01 * one


def test_a_raw_count_of_acceleration_is_scaled_by_its_rest(written):
    path = written(text("time [s],alt [m],ax raw\n", lines(T, Z, FELT / GRAVITY * 2048.0, formats="{:.3f}")))
    assert np.abs(channels_of(path)[Quantity.ACCELERATION].values - FELT).max() < 0.01


def test_a_file_without_a_header_is_told_by_its_course(written):
    warm = 20.0 + 0.5 * np.sin(0.05 * T)
    path = written("\n".join(lines(T, warm, AIR / 100.0, Z / FOOT, V, FELT / GRAVITY)) + "\n")
    survey = holds_the_flight(path)
    assert [one.taken_for for one in survey.columns] == [
        "time",
        "",
        "pressure",
        "altitude",
        "speed",
        "acceleration",
    ]
    assert [one.unit for one in survey.columns] == ["s", "", "hPa", "ft", "m/s", "g0"]


def test_a_row_counter_is_not_taken_for_the_time_beside_one(written):
    path = written("\n".join(lines(np.arange(T.size), T, Z)) + "\n")
    assert survey_file(path, columns=None).columns[1].taken_for == "time"


def clocked(seconds, *, dated, mark=":"):
    day, rest = np.divmod(seconds, 86400.0)
    clock = [f"{int(r // 3600):02d}{mark}{int(r % 3600 // 60):02d}{mark}{r % 60:06.3f}" for r in rest]
    return [dated(int(d)) + c for d, c in zip(day, clock, strict=True)]


@pytest.mark.parametrize(
    "dated",
    [
        lambda _: "",
        lambda day: f"2031-04-{12 + day}T",
        lambda day: f"2031/04/{12 + day} ",
        lambda day: f"{12 + day}.04.2031 ",
    ],
    ids=["clock alone", "iso", "slashes", "day first"],
)
def test_clock_times_run_on_through_midnight(dated, written):
    stamps = clocked(T + 86400.0 - 15.0, dated=dated)
    rows = [f"{stamp},{row}" for stamp, row in zip(stamps, lines(Z, V), strict=True)]
    survey = holds_the_flight(written(text("utc,alt [m],v [m/s]\n", rows)))
    times = survey.recording.channels[0].time
    assert np.allclose(np.diff(times), 0.05, atol=2e-3)


def test_times_written_too_coarsely_are_spread_over_their_rows(written):
    rows = [f"{np.floor(5.0 * t) / 5.0:.1f},{row}" for t, row in zip(T, lines(Z, V), strict=True)]
    survey = holds_the_flight(written(text(STRICT, rows)), within=1.0)
    assert any("spread evenly" in note for note in survey.recording.notes)


@pytest.mark.parametrize("fill", ["2147483647", "-9999", "65535", "nan", "", "NULL", "--", "inf"])
def test_fills_are_left_out_and_their_neighbours_stay(fill, written):
    rows = [
        f"{t:.2f},{fill if n % 10 == 3 else f'{z:.2f}'},{v:.2f}"
        for n, (t, z, v) in enumerate(zip(T, Z, V, strict=True))
    ]
    survey = holds_the_flight(written(text(STRICT, rows)))
    sizes = {one.quantity: one.time.size for one in survey.recording.channels}
    assert sizes == {Quantity.ALTITUDE: T.size - T.size // 10, Quantity.SPEED: T.size}


def test_a_value_that_only_looks_like_a_fill_stays(written):
    air = np.where(np.abs(AIR - 95000.0) < 30.0, 95000.0, AIR) * 65535.0 / 95000.0
    path = written(text("time [s],p [Pa]\n", lines(T, air, formats=("{:.2f}", "{:.0f}"))))
    assert (channels_of(path)[Quantity.PRESSURE].values == 65535.0).any()


def test_fills_of_ones_own_are_told_in_the_map(written):
    rows = [
        f"{t:.2f},{-1234 if n % 10 == 3 else z},{v}" for n, (t, z, v) in enumerate(zip(T, Z, V, strict=True))
    ]
    holds_the_flight(written(text(STRICT, rows)), LogColumns(missing=(-1234.0,)))


@pytest.mark.parametrize("held", [2, 4, 5])
def test_rows_repeated_between_a_slower_sensors_readings_are_dropped(held, written):
    slow = np.repeat(Z[::held], held)[: T.size]
    survey = holds_the_flight(written(text(STRICT, lines(T, slow, V))))
    height, fast = survey.recording.channels
    assert height.time.size == pytest.approx(T.size / held, abs=1)
    assert fast.time.size == T.size
    assert np.allclose(np.diff(height.time), held * 0.05)


def test_a_coarse_reading_at_rest_is_no_repeat(written):
    survey = survey_file(written(text(STRICT, lines(T, 5.0 * np.round(Z / 5.0), np.round(V)))), columns=None)
    assert [one.time.size for one in survey.recording.channels] == [T.size, T.size]


def test_a_few_broken_lines_are_left_out_and_counted(written):
    rows = list(ROWS)
    rows[500] = rows[500][:9]
    rows[700] = "34.9\x02,3,4"
    rows[900] = "3x.5,1,2"
    rows[1100] = rows[1100] + rows[1101]
    del rows[1300:1310]
    survey = holds_the_flight(written(text(STRICT, rows) + "125.0,0"))
    notes = " / ".join(survey.recording.notes)
    assert "3 of 2490 lines are broken" in notes
    assert "line 502, 702, 1102" in notes
    assert "no number, left out there: 1" in notes
    assert "missing rows: about 10, places: 1, the longest for 0.55 s from 64.95 s on" in notes
    assert "line 2492, the last, is half written" in notes


def test_more_than_a_fiftieth_of_broken_lines_is_refused(written):
    rows = [row[:9] if n % 40 == 0 else row for n, row in enumerate(ROWS)]
    said = mistakes_in(written(text(STRICT, rows)))
    assert said[0].startswith("log.csv, line 42: the row has 2 cells, the others 3")
    assert "62 of 2499 lines are broken" in said[-1]


def test_a_wrong_cell_in_a_clean_file_is_told_and_not_passed_over(written):
    rows = [*ROWS[:700], "35.0,12..5,8", *ROWS[701:]]
    assert mistakes_in(written(text(STRICT, rows))) == [
        "log.csv, line 702, column \"altitude [m]\": '12..5' is no number. Write digits, like 12 or 1.5e6."
    ]


def test_a_time_that_jumps_ahead_once_loses_its_own_row_alone(written):
    rows = [*ROWS[:700], "9999.5,1,2", *ROWS[701:]]
    assert holds_the_flight(written(text(STRICT, rows))).recording.notes[0].endswith("left out: 1")


def test_a_second_recording_in_one_file_is_refused_and_can_be_chosen(written):
    path = written(text(STRICT, [*lines(T[:300], Z[:300], V[:300]), *ROWS]))
    (line,) = mistakes_in(path)
    assert line.startswith("log.csv, line 302, column \"time [s]\": '0.000' does not rise")
    assert "flight.columns.from_line" in line
    holds_the_flight(path, LogColumns(from_line=302))


def test_the_same_name_twice_is_told_apart_by_number(written):
    path = written(text("time [s],alt [m],alt [m],v [m/s]\n", lines(T, Z, 2.0 * Z, V)))
    (line,) = mistakes_in(path)
    assert "this is 'alt [m]' a second time, after column 2" in line
    assert 'flight.columns.altitude = "column 3 [unit]"' in line
    holds_the_flight(path, LogColumns(altitude="column 2", speed="v [m/s]"))
    (line,) = mistakes_in(path, LogColumns(altitude="alt", speed="v"))
    assert "columns 2 and 3 share the name 'alt'" in line


def test_labels_that_differ_by_case_alone_are_kept_apart_by_the_proposed_map(written):
    rows = lines(1000.0 * T, Z, V, 0.0 * T + 9.0)
    path = written(text("t[ms],alt [m],v [m/s],T\n", rows))
    survey = survey_file(path, columns=None)
    assert survey.map["time"] == "t [ms]"
    holds_the_flight(path, LogColumns(**survey.map))


def test_words_in_brackets_that_are_no_unit_are_part_of_the_name(written):
    survey = survey_file(written(text("Time (s),Altitude (AGL),v (fused)\n", lines(T, Z, V))), columns=None)
    assert [one.taken_for for one in survey.columns] == ["time", "altitude", "speed"]
    (line,) = mistakes_in(written(text("Time (s),Altitude (flonks),v (fused)\n", lines(T, Z, V))))
    assert "flonks" in line


def test_the_same_column_twice_is_one(written):
    holds_the_flight(written(text("time [s],alt [m],alt [m],v [m/s]\n", lines(T, Z, Z, V))))


def test_the_map_overrules_labels_and_leaves_the_rest_unread(written):
    path = written(text("t,alt [ft],v [m/s],p [hPa]\n", lines(T, Z, V, AIR / 100.0)))
    survey = holds_the_flight(path, LogColumns(time="t [s]", altitude="alt [m]", speed="V"))
    assert [one.quantity for one in survey.recording.channels] == [Quantity.ALTITUDE, Quantity.SPEED]


def test_a_surveys_map_reads_the_file_as_the_guess_did(written):
    header = "T(ms);Alt;Alt;AccX;AccY\n"
    rows = lines(1000 * T, 0 * Z, Z / FOOT, 0.02 * FELT, -FELT / GRAVITY, mark=";")
    path = written(text(header, rows))
    survey = survey_file(path, columns=None)
    assert survey.map == {
        "time": "T(ms) [ms]",
        "altitude": "column 3 [ft]",
        "acceleration": "AccY [-1 g0]",
    }
    again = read_recording(path, columns=LogColumns(**survey.map))
    for one, other in zip(survey.recording.channels, again.channels, strict=True):
        assert np.array_equal(one.time, other.time)
        assert np.array_equal(one.values, other.values)


def test_a_file_of_acceleration_alone_is_a_recording(written):
    found = channels_of(written(text("time [ms],ax [g],ay [g]\n", lines(1000 * T, FELT / GRAVITY, 0 * T))))
    assert list(found) == [Quantity.ACCELERATION]


def test_rows_that_begin_after_lift_off_are_read(written):
    late = T > 5.5
    found = channels_of(written(text(STRICT, lines(T[late], Z[late], V[late]))))
    assert found[Quantity.SPEED].values[0] > 30.0


def test_a_voltage_named_v_and_a_roll_rate_named_p_are_no_channels(written):
    battery = 8.0 - 0.001 * T
    roll = 5.0 * np.sin(T)
    survey = survey_file(written(text("t [s],alt [m],V,p\n", lines(T, Z, battery, roll))), columns=None)
    assert [one.taken_for for one in survey.columns] == ["time", "altitude", "", ""]
    assert survey.columns[2].why == "it flies in no unit as far as the altitude climbs"
    assert survey.columns[3].why == "it starts at no pressure that air has"


BEST = {
    "the barometer before the satellites": "gps alt [m],baro alt [m]",
    "the altitude before its greatest": "max alt [m],alt [m]",
    "the altitude before that of the deployment": "main deploy alt [m],alt [m]",
    "the altitude before its spread": "alt std [m],alt [m]",
}


@pytest.mark.parametrize("name", BEST)
def test_of_several_columns_the_plainest_name_is_taken(name, written):
    path = written(text(f"t [s],{BEST[name]},v [m/s]\n", lines(T, 0.5 * Z, Z, V)))
    holds_the_flight(path)


@pytest.mark.parametrize("mark", [",", ";", "\t", "  "])
@pytest.mark.parametrize("times", ["s", "ms", "clock"])
@pytest.mark.parametrize("banner", ["", "Recorder 3 of 7\n\n", "# made by 12, firmware 3\n"])
@pytest.mark.parametrize("header", ["none", "#", "plain", "units row"])
def test_the_ways_of_writing_combine(mark, times, banner, header, written):
    factor = {"s": 1.0, "ms": 1000.0, "clock": 0.0}[times]
    stamps = (
        clocked(T + 86390.0, dated=lambda _: "") if times == "clock" else [f"{factor * t:.2f}" for t in T]
    )
    rows = [mark.join([a, *b.split("|")]) for a, b in zip(stamps, lines(Z / FOOT, V, mark="|"), strict=True)]
    if mark == ";":
        rows = [row.replace(".", ",") for row in rows]
    names = {
        "none": "",
        "#": f"# time{mark}alt(ft){mark}speed\n",
        "plain": f"time{mark}alt_ft{mark}speed\n",
        "units row": f"time{mark}alt{mark}speed\n{times if factor else '-'}{mark}ft{mark}m/s\n",
    }
    holds_the_flight(written(banner + text(names[header], rows)), within=0.7)


ABSURD = {
    "a picture": (b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR", "no text in UTF-8"),
    "UTF-16": (STYLES["our own"].encode("utf-16"), "no text in UTF-8"),
    "nothing": (b"", "the file is empty"),
    "blank lines": (b"\n\n\n", "the file is empty"),
    "prose": (b"Dear all,\nit flew, 2 times, and 3 people cheered.\n" * 20, "no table of numbers"),
    "one column": (b"altitude\n" + b"12\n13\n" * 20, "no table of numbers"),
    "a header alone": (STRICT.encode(), "no table of numbers"),
    "three rows": (
        (STRICT + "0,0,0\n1,1,1\n2,4,2\n").encode(),
        "there are 3 rows of numbers. Give at least 10",
    ),
    "nothing that rises": (b"a,b,c\n" + b"1,2,3\n2,1,0\n" * 20, "none rises"),
    "only words beside the time": (
        b"time [s],state\n" + b"".join(b"%d,7\n" % i for i in range(30)),
        "no column can",
    ),
}


@pytest.mark.parametrize("name", ABSURD)
def test_a_file_that_is_no_record_is_refused_in_one_line(name, written):
    content, said = ABSURD[name]
    (line,) = mistakes_in(written(content))
    assert said in line


def test_a_file_that_is_not_there_and_a_folder_are_refused(tmp_path):
    assert "there is no file" in mistakes_in(tmp_path / "no.csv")[0]
    assert "this is a folder" in mistakes_in(tmp_path)[0]


def test_what_cannot_be_told_is_said_with_the_command_that_helps(written):
    path = written(text("a,b\n", (f"{n},{n % 7}" for n in range(100))))
    (line,) = mistakes_in(path)
    assert "optitip log" in line
    assert "flight.columns" in line


def test_a_long_wait_on_the_pad_is_read_in_about_a_second(written):
    count = 150_000
    rows = (
        f"{20 * n},{300.0 + n % 3:.1f},{1000.0 + (n % 7) / 100:.2f},21.5,0.01,1.00,-0.02,3.7"
        for n in range(count)
    )
    path = written(text("ms,alt_m,p_hpa,temp,ax,ay,az,vbat\n", rows))
    start = time.process_time()
    found = channels_of(path)
    assert time.process_time() - start < 2.0
    assert found[Quantity.ALTITUDE].time.size > 0.3 * count


def test_signs_that_a_terminal_acts_on_never_leave_the_file(written):
    survey = survey_file(written(text("time [s],alt\x1b[2J [m],no\x1bte\n", lines(T, Z, V))), columns=None)
    assert all(one.label.isprintable() for one in survey.columns)


def test_spikes_do_not_hide_a_pressure_without_a_name(written):
    spiked = AIR / 100.0
    spiked = np.where(np.arange(T.size) % 97 == 50, 3.0 * spiked + 900.0, spiked)
    survey = survey_file(written("\n".join(lines(T, spiked)) + "\n"), columns=None)
    assert [one.taken_for for one in survey.columns] == ["time", "pressure"]


def test_units_inside_the_cells_tell_columns_without_a_name(written):
    cells = zip(T, Z / FOOT, FELT / GRAVITY, strict=True)
    survey = survey_file(written("".join(f"{a:.2f}s,{b:.0f}',{c:.3f}g\n" for a, b, c in cells)), columns=None)
    assert [(one.taken_for, one.unit) for one in survey.columns] == [
        ("time", "s"),
        ("altitude", "ft"),
        ("acceleration", "g0"),
    ]


def test_a_number_beyond_all_reading_is_none(written):
    rows = [*ROWS]
    rows[900] = rows[900].split(",")[0] + ",1e300,1e400"
    holds_the_flight(written(text(STRICT, rows)))


def test_several_columns_of_one_unit_without_names_are_no_name_twice(written):
    cells = zip(T, Z, Z + 40.0, strict=True)
    survey = survey_file(written("".join(f"{a:.2f}s,{b:.1f}m,{c:.1f}m\n" for a, b, c in cells)), columns=None)
    assert [one.taken_for for one in survey.columns] == ["time", "altitude", ""]
    assert "first of 2" in survey.columns[1].why
