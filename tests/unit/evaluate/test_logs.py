"""Looking at recorders' files: the flight in them, the site they tell, the table a study needs."""

import numpy as np
import pytest
import tomli_w
from synthetic_recorder import FOOT, GRAVITY, fly, lines

from optitip.errors import UserMistakes
from optitip.evaluate.logs import look_at_files, look_at_study, proposed_table
from optitip.evaluate.sources import flown
from optitip.inputs.study import read_study
from optitip.inputs.study_tables import AltitudeAbove, Flight

FLOWN = fly()
T, Z, V = FLOWN.time, FLOWN.altitude, FLOWN.speed


@pytest.fixture
def files(tmp_path):
    """Return three files of one flight, each on a clock of its own."""
    fast = fly(rate=100.0, end=30.0)
    contents = {
        "main.csv": ("T(ms);Alt;Vel\n", lines(1000 * T, (Z + 420.0) / FOOT, V / FOOT, mark=";")),
        "high.csv": ("us,g [g]\n", lines(1e6 * fast.time + 3e8, fast.felt / GRAVITY, formats="{:.4f}")),
        "baro.txt": ("time_s hPa\n", lines(T + 50.0, FLOWN.pressure / 100.0, mark=" ")),
    }
    for name, (header, rows) in contents.items():
        (tmp_path / name).write_text(header + "\n".join(rows) + "\n")
    return [tmp_path / name for name in contents]


def look(files, **site):
    return look_at_files(files, **{"site_altitude": None, "site_temperature": None, **site})


def test_an_altitude_that_starts_high_counts_from_the_sea_and_tells_the_site(files):
    seen = look(files[:1])
    assert seen.table.altitude_above is AltitudeAbove.SEA
    assert seen.table.site_altitude == 420.0
    assert seen.reading.flight.altitude.max() == pytest.approx(Z.max() + 420.0, abs=5.0)
    assert proposed_table(seen) == {
        "record": "main.csv",
        "altitude_above": "sea",
        "site_altitude": "420 m",
        "columns": {"time": "T(ms) [ms]", "altitude": "Alt [ft]", "speed": "Vel [ft/s]"},
    }


def test_the_sites_own_altitude_and_air_overrule_the_files(files):
    seen = look(files[:1], site_altitude=400.0, site_temperature=303.15)
    assert proposed_table(seen)["site_altitude"] == "400 m"
    assert proposed_table(seen)["site_temperature"] == "30 degC"
    assert seen.reading.flight.temperature[0] == pytest.approx(303.15, abs=0.2)


def test_several_files_are_one_flight_and_the_table_says_so(files):
    seen = look(files)
    table = proposed_table(seen)
    assert [one["record"] for one in table["also"]] == ["high.csv", "baro.txt"]
    found = {one.quantity.value for one in seen.reading.sensors}
    assert found == {"altitude", "speed", "acceleration"}
    assert Flight.model_validate(table).also[1].columns.pressure == "hPa [hPa]"


@pytest.fixture
def study(files):
    """Return a study beside the files, its flight the table that looking at them proposes."""
    shipped = read_study("studies/coastal-egg").raw
    rest = {key: value for key, value in shipped.items() if key != "flight"}
    text = tomli_w.dumps({**rest, "flight": proposed_table(look(files))})
    (files[0].parent / "study.toml").write_text(text)
    return files[0].parent


def test_a_study_with_the_proposed_table_flies_the_flight_that_was_seen(files, study):
    seen = look(files)
    read = read_study(study)
    assert set(read.files()) == {"flight.record", "flight.also.0.record", "flight.also.1.record"}
    again = look_at_study(read)
    for one in (seen, again):
        assert np.array_equal(one.reading.flight.altitude, flown(read).altitude)
    assert proposed_table(again) == proposed_table(seen)


def test_another_text_of_a_further_file_changes_the_studys_fingerprint(study):
    before = read_study(study).fingerprint()
    (study / "baro.txt").write_text((study / "baro.txt").read_text() + "# more\n")
    assert read_study(study).fingerprint() != before


def test_files_without_a_flight_are_still_told_column_by_column(files):
    seen = look([files[1]])
    assert seen.reading is None
    assert isinstance(seen.refused, UserMistakes)
    assert seen.surveys[0].columns[1].taken_for == "acceleration"


def test_a_study_without_a_record_is_refused():
    with pytest.raises(UserMistakes, match="names no record"):
        look_at_study(read_study("studies/polymer-coupon"))


def test_a_record_that_begins_just_before_lift_off_counts_from_the_ground(tmp_path):
    late = T > -0.3
    path = tmp_path / "short.csv"
    path.write_text(
        "time [s],altitude [m],speed [m/s]\n" + "\n".join(lines(T[late], Z[late], V[late])) + "\n"
    )
    seen = look([path])
    assert seen.table.altitude_above is AltitudeAbove.GROUND
    assert seen.table.site_altitude == 0.0
