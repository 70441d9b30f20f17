"""Looking at recorders' files: the flight in them, the site they tell, the table a study needs."""

import numpy as np
import pytest
from synthetic_recorder import FOOT, GRAVITY, fly, lines

from optitip.errors import UserMistakes
from optitip.evaluate.logs import look_at_files, look_at_study, proposed_table
from optitip.evaluate.sources import flown
from optitip.inputs.study import read_study, set_keys
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
    assert seen.reading.flight.temperature[0] == pytest.approx(303.15)


def test_several_files_are_one_flight_and_the_table_says_so_in_few_lines(files, tmp_path):
    seen = look(files)
    table = proposed_table(seen)
    assert [one["record"] for one in table["also"]] == ["high.csv", "baro.txt"]
    assert {trace.sensor.quantity.value for trace in seen.reading.traces} == {"altitude", "speed", "acceleration"}
    parsed = Flight.model_validate(table)
    assert parsed.also[1].columns.pressure == "hPa [hPa]"


def test_a_study_with_the_proposed_table_flies_the_flight_that_was_seen(files, tmp_path):
    seen = look(files)
    shipped = read_study("studies/coastal-egg")
    raw = set_keys({key: value for key, value in shipped.raw.items() if key != "flight"}, {"flight": proposed_table(seen)})
    import tomli_w

    (tmp_path / "study.toml").write_text(tomli_w.dumps(raw))
    study = read_study(tmp_path)
    assert set(study.files()) == {"flight.record", "flight.also.0.record", "flight.also.1.record"}
    flight = flown(study)
    again = look_at_study(study)
    for one in (seen, again):
        assert np.array_equal(one.reading.flight.altitude, flight.altitude)
    assert proposed_table(again) == proposed_table(seen)


def test_another_file_of_the_flight_changes_the_studys_fingerprint(files, tmp_path):
    table = proposed_table(look(files))
    shipped = read_study("studies/coastal-egg")
    raw = set_keys({key: value for key, value in shipped.raw.items() if key != "flight"}, {"flight": table})
    import tomli_w

    (tmp_path / "study.toml").write_text(tomli_w.dumps(raw))
    before = read_study(tmp_path).fingerprint()
    (tmp_path / "baro.txt").write_text((tmp_path / "baro.txt").read_text() + "# more\n")
    assert read_study(tmp_path).fingerprint() != before


def test_files_without_a_flight_are_still_told_column_by_column(files, tmp_path):
    seen = look([files[1]])
    assert seen.reading is None
    assert isinstance(seen.refused, UserMistakes)
    assert seen.surveys[0].columns[1].taken_for == "acceleration"
