"""Wrong input about pad, recorders, heating tables, outside, vehicle: a line a mistake, nothing written."""

import shutil
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PAD = ("[flight.descent]", "[flight.pad]\n{}\n[flight.descent]")
COLUMNS = ("[flight.descent]", "[flight.columns]\n{}\n[flight.descent]")
ALSO = ("[flight.descent]", "[[flight.also]]\n{}\n[flight.descent]")
FLIGHT = ('soak = "300 s"', 'soak = "300 s"\n{}')
DESCENT = ('attitude = "across"', 'attitude = "across"\n{}')
FLOW = ("[outline]\n", "[flow]\n{}\n[outline]\n")
GIVEN = ("[tip]\n", "[outline.given]\n{}\n[tip]\n")
VEHICLE = ("[tip]\n", "[vehicle]\n{}\n[tip]\n")
SAMPLE = ('warm_above = "60 degC"', 'warm_above = "60 degC"\n{}')
TIP = ('material = "6061-T6"\n', 'material = "6061-T6"\n{}\n')
LIMIT = ('"margin.smallest" = ">= 0"', '"margin.smallest" = ">= 0"\n{}')
FREE = ('"tip.plug.length" = ["36 mm", "60 mm"]', "{}")
CHOICE = ('"tip.material" = ["6061-T6", "304"]', "{}")
WEIGHED = 'mass = "11 kg"\ncentre_of_mass = "1.05 m"\nreplaced_mass = "0.2 kg"\n'
NOSE = 'family = "cone"\ndiameter = "84 mm"\nlength = "420 mm"\n'

WRONG = [
    (PAD, 'wait = "45"', "flight.pad.wait: '45' has no unit"),
    (PAD, "wait = 45", "flight.pad.wait: '45' has no unit"),
    (PAD, 'wait = "-3 min"', "flight.pad.wait: '-3 min' is below 0 s"),
    (PAD, 'wait = "9 days"', "flight.pad.wait: '9 days' is above 86400 s"),
    (PAD, 'wait = ["1 min", "2 min"]', "flight.pad.wait: ['1 min', '2 min'] is no quantity"),
    (PAD, 'wind = "3 mm"', "flight.pad.wind: 'mm' is no unit of this kind"),
    (PAD, 'wind = "400 m/s"', "flight.pad.wind: '400 m/s' is above 50 m/s"),
    (PAD, 'wind = "-1 m/s"', "flight.pad.wind: '-1 m/s' is below"),
    (PAD, 'sun = "800 K"', "flight.pad.sun: 'K' is no unit of this kind"),
    (PAD, 'sun = "1e6 W/m2"', "flight.pad.sun: '1e6 W/m2' is above 1500 W/m2"),
    (PAD, 'winds = "3 m/s"', "flight.pad.winds: this key is unknown. Did you mean 'wind'"),
    (FLIGHT, 'pad = "45 min"', "flight.pad: '45 min' is no table"),
    (COLUMNS, 'alt = "altitude [m]"', "flight.columns.alt: this key is unknown. Known here: time, altitude"),
    (COLUMNS, "altitude = 2", "flight.columns.altitude: 2 is no text"),
    (COLUMNS, 'altitude = ""', "flight.columns.altitude: '' is empty"),
    (COLUMNS, 'altitude = "altitude [s]"', "flight.columns.altitude: 's' is no unit of this kind"),
    (
        COLUMNS,
        'altitude = "column 0 [m]"',
        "flight.columns.altitude: there is no column 0. Give one of 1 to 3",
    ),
    (COLUMNS, 'altitude = "altitude [m"', "there is no column 'altitude [m'. Did you mean 'altitude [m]'"),
    (
        COLUMNS,
        'altitude = "altitude [m]"\nspeed = "column 2 [m/s]"',
        "flight.columns.speed: the column is that of flight.columns.altitude too",
    ),
    (COLUMNS, 'missing = ["x"]', "flight.columns.missing.0: 'x' is no number"),
    (COLUMNS, "missing = 65535", "flight.columns.missing: this is no list. Write a list, like [65535, -999]"),
    (COLUMNS, "from_line = 0", "flight.columns.from_line: 0 is below 1"),
    (COLUMNS, "from_line = 2.5", "flight.columns.from_line: 2.5 is no whole number"),
    (COLUMNS, "from_line = 999999", "flight.csv: no row of numbers stands in line 999999 or later"),
    (COLUMNS, 'mach = "speed [m/s]"', "flight.columns.mach: 'm/s' stands on a number that has no unit"),
    (COLUMNS, 'time = "time [1/0 s]"', "flight.columns.time: '1/0 s' is no unit"),
    (COLUMNS, 'time = "time [s]"\nacceleration = "speed [m/s2]"', "no altitude nor pressure is there"),
    (ALSO, 'clock = "1 s"', "flight.also.0.record: this key is missing"),
    (ALSO, "record = 3", "flight.also.0.record: 3 is no text"),
    (ALSO, 'record = "flight.csv"', "flight: 'flight.csv' is named twice"),
    (ALSO, 'record = "rig.csv"\nclock = "3"', "flight.also.0.clock: '3' has no unit"),
    (
        ALSO,
        'record = "rig.csv"\n[flight.also.column]\ntime = "t"',
        "flight.also.0.column: this key is unknown",
    ),
    (
        ALSO,
        'record = "copy.csv"\nclock = "5 h"',
        "copy.csv: by its clock it lifts off 18000 s after flight.csv",
    ),
    (
        FLIGHT,
        'also = "copy.csv"',
        "flight.also: this is no list. Head each further record with [[flight.also]]",
    ),
    (FLIGHT, 'gap = "-1 s"', "flight.gap: '-1 s' is below 0 s"),
    (FLIGHT, 'gap = "1 h"', "flight.gap: a gap of 3600 s"),
    (FLIGHT, 'lag = "100 s"', "flight.lag: a lag of 100 s"),
    (FLIGHT, "lag = 1", "flight.lag: '1' has no unit"),
    (FLIGHT, "spikes = -1", "flight.spikes: '-1' is below 0"),
    (FLIGHT, "spikes = nan", "flight.spikes: 'nan' is no quantity. Write a plain number"),
    (DESCENT, 'base = "opened"', "flight.descent.base: 'opened' is none of the choices"),
    (DESCENT, "base = true", "flight.descent.base: 'True' is none of the choices"),
    (FLOW, 'turbulent_law = "van drist"', "flow.turbulent_law: 'van drist' is none of the choices"),
    (FLOW, 'roughness = "-1 um"', "flow.roughness: '-1 um' is below"),
    (FLOW, 'roughness = "5 cm"', "flow.roughness: '5 cm' is above 1 mm"),
    (FLOW, "roughness = 5", "flow.roughness: '5' has no unit"),
    (FLOW, 'heating_table = "."', "flow.heating_table: there is no file"),
    (
        FLOW,
        'heating_table = "rig.csv"\nheating_high = "text.csv"',
        "text.csv, line 1: column 'time [s]' is missing",
    ),
    (
        FLOW,
        'heating_table = "rig.csv"\ntrip = "9 mm"\nroughness = "5 um"',
        "flow: trip and roughness would change nothing beside heating_table",
    ),
    (GIVEN, 'family = "cone"', "outline.given: family, diameter and length belong together"),
    (GIVEN, NOSE + 'turned_length = "150 mm"', "outline.given.turned_length: this key is unknown"),
    (GIVEN, NOSE + 'profile = "no.csv"', "outline.given: a profile stands beside a family"),
    (GIVEN, 'profile = "no.csv"', "outline.given.profile: there is no file"),
    (GIVEN, NOSE.replace("cone", "power"), "outline.given.exponent: the power's n is missing"),
    (GIVEN, NOSE + 'tip_radius = "80 mm"', "outline.given.tip_radius: a sphere of 80 mm is wider"),
    (VEHICLE, 'mass = "11 kg"', "vehicle: mass, centre_of_mass, replaced_mass and replaced_centre_of_mass"),
    (
        VEHICLE,
        WEIGHED.replace("0.2 kg", "20 kg") + 'replaced_centre_of_mass = "70 mm"',
        "vehicle: replaced_mass is not below mass",
    ),
    (VEHICLE, WEIGHED + 'replaced_centre_of_mass = "90 m"', "'90 m' is above 10000 mm"),
    (VEHICLE, 'center_of_pressure = "1.2 m"', "Did you mean 'centre_of_pressure'"),
    (VEHICLE, "normal_force_slope = -3", "vehicle.normal_force_slope: '-3' is below 2"),
    (VEHICLE, 'ballast_station = "-1 m"', "vehicle.ballast_station: '-1 m' is below"),
    (SAMPLE, "start_temperature = 4", "sample.start_temperature: '4' has no unit"),
    (SAMPLE, 'start_temperature = "-45 degC"', "sample.start_temperature: -45 degC is outside the table"),
    (SAMPLE, 'start_temperature = "-300 degC"', "sample.start_temperature: '-300 degC' is below"),
    (TIP, "absorptivity = 1.5", "tip.absorptivity: '1.5' is above 1"),
    (TIP, 'absorptivity = "black"', "tip.absorptivity: 'black' is no quantity. Write a plain number"),
    (LIMIT, '"outline.drag_change" = "<= 2 mm"', "limits.'outline.drag_change': 'mm' stands on a number"),
    (LIMIT, '"outline.drag_change" = "== 0"', "'== 0' starts with neither >= nor <="),
    (LIMIT, '"outline.drag_chang" = "<= 1"', "Did you mean 'outline.drag_change'"),
    (LIMIT, '"outline.pressure_centre_change" = "<= 3"', "'outline.pressure_centre_change': '3' has no unit"),
    (
        LIMIT,
        '"sample.temperature_coldest_lift_off" = ">= 4"',
        "temperature_coldest_lift_off': '4' has no unit",
    ),
    (LIMIT, '"vehicle.ballast" = "<= 50 g"', "'vehicle.ballast' is sought, and the vehicle's masses aren't"),
    (LIMIT, '"vehicle.static_margin_change" = ">= -1"', "Add [vehicle] with mass, centre_of_mass"),
    (FREE, '"flight.pad.wait" = ["-1 min", "5 min"]', "sweep.free.'flight.pad.wait': '-1 min' can't stand"),
    (
        FREE,
        '"outline.given.tip_radius" = ["1 mm", "5 mm"]',
        "'outline.given.tip_radius': this key can't be free",
    ),
    (
        FREE,
        '"outline.tip_radius" = ["1", "5"]',
        "'outline.tip_radius': '1' can't stand there ('1' has no unit)",
    ),
    (FREE, '"outline.exponent" = ["0.5", "0.8"]', "exponent belongs to the families power and parabola"),
    (FREE, '"vehicle.mass" = ["1 kg", "2 kg"]', "'vehicle.mass': this key can't be free"),
    (CHOICE, '"outline.family" = ["cone", "con"]', "'con' is none of the choices"),
    (CHOICE, '"flow.turbulent_law" = ["eckert"]', "'eckert' is none of the choices"),
    (CHOICE, '"flight.descent.base" = ["open", "shut"]', "'shut' is none of the choices"),
]


@pytest.mark.parametrize(("where", "written", "said"), WRONG, ids=[written for _, written, _ in WRONG])
def test_a_wrong_key_has_its_line_and_nothing_is_written(where, written, said, mistaken, copied, tmp_path):
    old, new = where
    folder = copied("coastal-egg", (old, new.format(written)))
    shutil.copy(ROOT / "studies" / "heated-rig" / "rig.csv", folder)
    (folder / "text.csv").write_text("hello\nworld\n")
    (folder / "copy.csv").write_bytes((folder / "flight.csv").read_bytes())
    before = sorted(tmp_path.rglob("*"))
    assert said in mistaken("check", folder)
    assert sorted(tmp_path.rglob("*")) == before


COMMANDS = [
    (["heating"], "optitip heating: missing argument"),
    (["heating", "nowhere"], "nowhere: no such file or directory"),
    (
        ["heating", "{study}", "--state", "turbulant"],
        "optitip heating --state: there is no flow state 'turbulant'",
    ),
    (["heating", "{study}", "--state", ""], "Name one of: laminar, onset at 5e5"),
    (["heating", "{study}", "--units", "si"], "optitip heating --units: 'si' is not one of"),
    (["heating", "{study}", "--json"], "optitip heating: no such option"),
    (["heating", "{study}", "--out"], "'--out' requires an argument"),
    (["heating", "{study}", "--out", "{study}/flight.csv"], "flight.csv: it can't be written (File exists)"),
    (["heating", "{rig}", "--state", "laminar"], "Name one of: heating table"),
    (["log", "{study}", "{study}"], "is named twice"),
    (["log", "{study}/flight.csv", "{study}/flight.csv"], "optitip log: flight.csv is named twice"),
    (
        ["log", "{study}/flight.csv", "--site-altitude", "900 km"],
        "optitip log --site-altitude: a site at 900000",
    ),
    (["log", "{study}/flight.csv", "--site-temperature", "20"], "log --site-temperature: '20' has no unit"),
    (
        ["log", "{study}/flight.csv", "--site-temperature", "900 degC"],
        "log --site-temperature: 900.0 degC is no",
    ),
    (
        ["log", "{study}", "--site-temperature", "3 degC"],
        "log --site-temperature: a study names its own site",
    ),
    (["log", "{study}/flight.csv", "--units", "SI"], "optitip log --units: 'SI' is not one of"),
    (["check", "{study}", "--out", "{study}/flight.csv"], "flight.csv: it can't be written (File exists)"),
]


@pytest.mark.parametrize(("arguments", "said"), COMMANDS, ids=[" ".join(one) for one, _ in COMMANDS])
def test_a_wrong_command_has_its_line_and_nothing_is_written(arguments, said, mistaken, copied, tmp_path):
    names = {"study": copied("coastal-egg"), "rig": ROOT / "studies" / "heated-rig"}
    before = sorted(tmp_path.rglob("*"))
    assert said in mistaken(*(one.format(**names) for one in arguments))
    assert sorted(tmp_path.rglob("*")) == before


def test_a_site_below_the_sea_is_out_of_the_valid_range_under_its_option(mistaken):
    said = mistaken(
        "log", ROOT / "studies" / "coastal-egg" / "flight.csv", "--site-altitude", "-5 km", code=3
    )
    assert said.startswith("optitip log --site-altitude: a site 5000 m below sea level")
