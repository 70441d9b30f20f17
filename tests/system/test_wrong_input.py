"""Wrong input of every kind: each mistake has its place and remedy, exit code 2, and leaves nothing behind.

The commands run inside this process, so that so many of them take seconds.
"""

from pathlib import Path

import pytest

from optitip.cli.main import COMMANDS, run

ROOT = Path(__file__).parents[2]
HEAD = "time [s],altitude [m],speed [m/s]\n"
CLIMB = "".join(f"{i},{1.5 * i},{i}\n" for i in range(100))
RIG = "time [s],arc length [mm],film coefficient [W/(m2 K)],recovery temperature [degC]\n"
PLACE = "time [s],arc length [mm]"

STUDIES = {
    "a number for a title": ('title = "K', 'title = 5 # "K', "study.toml, title: 5 is no text"),
    "TOML that is none": ("[flight]\n", "[flight\n", "study.toml: "),
    "a key twice": ("[tip]\n", '[tip]\nmaterial = "304"\n', "study.toml: "),
    "a list for a name": ('material = "6061-T6"', 'material = ["304"]', "tip.material: the value is no text"),
    "a truth for a length": ('thickness = "1.2 mm"', "thickness = true", "tip.band.thickness"),
    "a table for a length": ('thickness = "1.2 mm"', "thickness = {a = 1}", "tip.band.thickness"),
    "a number for a table": ("[flight.descent]\n", "[tip.base.bore]\n", "tip.base.bore"),
    "an infinite length": ('thickness = "1.2 mm"', 'thickness = "1e999 mm"', "tip.band.thickness"),
    "a text for a truth": ("separate = true", 'separate = "maybe"', "tip.base.separate"),
    "no choice of the list": ('attitude = "across"', 'attitude = "sideways"', "'forward', 'across'"),
    "no family": ('family = "von Karman"', 'family = "haak"', "outline.family"),
    "a power without exponent": ('family = "von Karman"', 'family = "power"', "study.toml, outline.exponent"),
    "an exponent on a cone": (
        'family = "von Karman"',
        'family = "cone"\nexponent = 0.5',
        "outline: exponent",
    ),
    "a tip wider than the outline": (
        'tip_radius = "3 mm"',
        'tip_radius = "60 mm"',
        "toml, outline.tip_radius",
    ),
    "a tip longer than the outline": (
        'turned_length = "150 mm"',
        'turned_length = "500 mm"',
        "study.toml, outline.turned_length",
    ),
    "parts longer than the tip": ('length = "60 mm"', 'length = "140 mm"', "study.toml, tip.band.length"),
    "an insert without material": ('wall = "3 mm"', 'wall = "3 mm"\ninsert = "9 mm"', "study.toml, tip.plug"),
    "an insert longer than the plug": (
        'wall = "3 mm"',
        'wall = "3 mm"\ninsert = "60 mm"\nmaterial = "304"',
        "study.toml, tip.plug.insert",
    ),
    "a fillet too large": ('fillet = "1.2 mm"', 'fillet = "20 mm"', "study.toml, tip.plug.fillet"),
    "a shell of potato": ('material = "6061-T6"', 'material = "potato"', "study.toml, tip.material"),
    "no share": ("[sample.slab]", "[sample.slab]\nshare = 0", "sample.slab.share"),
    "a solid base with a thickness": ("separate = true", "solid = true", "tip.base"),
    "a bore in no solid base": ("separate = true", 'bore = "9 mm"', "tip.base"),
    "onsets out of order": ("[outline]", "[flow]\nlow_onset = 3e6\n[outline]", "study.toml, flow"),
    "a trip aft of the tip": ("[outline]", '[flow]\ntrip = "1 m"\n[outline]', "study.toml, flow.trip"),
    "too much smoothing": ("[flight]\n", '[flight]\nsmoothing = "1 h"\n', "study.toml, flight.smoothing"),
    "a negative soak": ('soak = "300 s"', 'soak = "-1 s"', "flight.soak"),
    "a start too hot": (
        'start_temperature = "18 degC"',
        'start_temperature = "390 degC"',
        "toml, flight.start",
    ),
    "a site on the moon": ('"1014 hPa"', '"10 hPa"', "study.toml, flight.site_pressure"),
    "a record that is a folder": ('"flight.csv" ', '"." ', "study.toml, flight.record"),
    "a record with an endless name": ('"flight.csv" ', f'"{"x" * 5000}" ', "study.toml, flight.record"),
    "a record beside an ascent": (
        "[flight.descent]",
        '[flight.ascent]\nthrust = "flight.csv"\ndrag = "flight.csv"\nstart_mass = "9 kg"\n'
        'propellant_mass = "3 kg"\n[flight.descent]',
        "a record stands beside an ascent",
    ),
    "a map of no unit": (
        "[flight.descent]",
        '[flight.columns]\naltitude = "alt [wink]"\n[flight.descent]',
        "study.toml, flight.columns.altitude: the unit 'wink' is unknown",
    ),
    "a map of a column that isn't there": (
        "[flight.descent]",
        '[flight.columns]\naltitude = "heigt [m]"\nspeed = "column 9"\n[flight.descent]',
        "flight.csv, flight.columns.altitude: there is no column 'heigt'",
    ),
    "a key of a further record that isn't": (
        "[flight.descent]",
        '[[flight.also]]\nrecrd = "high.csv"\n[flight.descent]',
        "Did you mean 'record'",
    ),
    "a further record that isn't there": (
        "[flight.descent]",
        '[[flight.also]]\nrecord = "high.csv"\n[flight.descent]',
        "study.toml, flight.also.0.record: there is no file",
    ),
    "a free key of a record that isn't": (
        '"tip.plug.length" =',
        '"flight.also.3.clock" =',
        "sweep.free.'flight.also.3.clock': ",
    ),
    "neither record nor ascent": ("record =", "#", "study.toml, flight: there must be"),
    "a record for a heating table": (
        "[outline]",
        '[flow]\nheating_table = "flight.csv"\n[outline]',
        'flight.csv, line 2, column "altitude [m]": the column is unknown',
    ),
    "a heating table that isn't there": (
        "[outline]",
        '[flow]\nheating_table = "flight.csv"\nheating_high = "no.csv"\n[outline]',
        "study.toml, flow.heating_high: there is no file",
    ),
    "sunlight beside a heating table": (
        "[outline]",
        '[flight.pad]\nsun = "800 W/m2"\n[flow]\nheating_table = "flight.csv"\n[outline]',
        "wind or sun of flight.pad stands beside flow.heating_table",
    ),
    "a bracket of tables without its middle": (
        "[outline]",
        '[flow]\nheating_low = "flight.csv"\n[outline]',
        "study.toml, flow: heating_low and heating_high need heating_table",
    ),
    "a limit without its sign": ('">= 0"', '"> 0"', "study.toml, limits.'margin.smallest'"),
    "a target in another unit": ('">= 45 degC"', '">= 45 mm"', "study.toml, target.'sample.temperature"),
    "a limit that is a number": ('">= 0"', "0", "limits.margin.smallest: 0 is no text"),
    "a range of one end": ('["36 mm", "60 mm"]', '["36 mm"]', "sweep.free.tip.plug.length"),
    "a range with seconds": ('["36 mm", "60 mm"]', '["36 mm", "60 s"]', "sweep.free.'tip.plug.length'"),
    "a free key that isn't": ('"tip.plug.length" =', '"tip.plug.lenght" =', "Did you mean 'length'"),
    "no evaluations": ("evaluations = 2000", "evaluations = 0", "sweep.evaluations"),
    "a choice of no material": (
        '["6061-T6", "304"]',
        '["6061-T6", "mithril"]',
        "study.toml, sweep.choices.'tip.material'",
    ),
}
SWEEPS = {
    "a range upside down": ('["36 mm", "60 mm"]', '["60 mm", "36 mm"]', "sweep.free.'tip.plug.length'"),
    "an empty choice": ('["dry", "wetted"]', "[]", "sweep.choices.'sample.joint.build'"),
    "a choice twice": ('["dry", "wetted"]', '["dry", "dry"]', "sweep.choices.'sample.joint.build'"),
    "an unknown metric": ('minimise = ["shell.mass"]', 'minimise = ["shell.mas"]', "sweep.minimise"),
    "a metric both ways": ('minimise = ["shell.mass"]', 'minimise = ["margin.smallest"]', "sought twice"),
}
TABLES = {
    "UTF-16": ("coastal-egg", "flight.csv", HEAD.encode("utf-16"), "flight.csv: "),
    "two rows": ("coastal-egg", "flight.csv", HEAD + "0,0,0\n1,10,20\n", "flight.csv: "),
    "letters in a cell": (
        "coastal-egg",
        "flight.csv",
        HEAD + CLIMB + "200,abc,20\n",
        "flight.csv, line 102, column \"altitude [m]\": 'abc' is no number. Write digits",
    ),
    "a decimal comma": (
        "coastal-egg",
        "flight.csv",
        (HEAD + CLIMB).replace(",", ";") + "200;1,5;3\n",
        "line 102, column \"altitude [m]\": '1,5' is no number. Write the decimal mark as a point",
    ),
    "decimal commas between commas": (
        "coastal-egg",
        "flight.csv",
        HEAD + "0,5,10,2,3,0\n" * 20,
        "flight.csv, line 2: the rows have 6 cells, the header 3",
    ),
    "a column twice": (
        "coastal-egg",
        "flight.csv",
        "time [s],altitude [m],altitude [m]\n" + "".join(f"{i},{i},{i * i}\n" for i in range(20)),
        "a second time",
    ),
    "a time that starts again": (
        "coastal-egg",
        "flight.csv",
        HEAD + CLIMB + CLIMB,
        "flight.csv, line 102, column \"time [s]\": '0' does not rise",
    ),
    "too many broken lines": (
        "coastal-egg",
        "flight.csv",
        HEAD + CLIMB + "1,2\n" * 5,
        "flight.csv, line 102: the row has 2 cells, the others 3",
    ),
    "a unit of another kind": (
        "coastal-egg",
        "flight.csv",
        HEAD.replace("[m]", "[kg]") + CLIMB,
        "flight.csv, column \"altitude [kg]\": 'kg' is no unit of this kind",
    ),
    "an altitude alone that hardly rises": (
        "coastal-egg",
        "flight.csv",
        "time [s],altitude [m]\n" + "".join(f"{i},{i}\n" for i in range(20)),
        "there is no ascent in it",
    ),
    "no flight": ("coastal-egg", "flight.csv", HEAD + "".join(f"{i},0,0\n" for i in range(50)), "no flight"),
    "a letter for a record": (
        "coastal-egg",
        "flight.csv",
        "Dear all,\nit flew.\n" * 9,
        "no table of numbers",
    ),
    "thrust below zero": ("polymer-coupon", "thrust.csv", "time [s],thrust [N]\n0,0\n1,-5\n", "thrust"),
    "thrust that can't lift": (
        "polymer-coupon",
        "thrust.csv",
        "time [s],thrust [N]\n0,5\n1,5\n",
        "doesn't lift",
    ),
    "thrust in pounds mass": (
        "polymer-coupon",
        "thrust.csv",
        "time [s],thrust [lb]\n0,5\n1,5\n",
        "thrust [lb]",
    ),
    "drag below zero": ("polymer-coupon", "drag.csv", "mach,drag coefficient\n0,-1\n1,0\n", "drag"),
    "drag against speed": ("polymer-coupon", "drag.csv", "speed [m/s],drag coefficient\n0,1\n1,1\n", "mach"),
    "a film coefficient below zero": (
        "heated-rig",
        "rig.csv",
        RIG + "0,0,-5,20\n1,0,5,20\n",
        "rig.csv, line 2",
    ),
    "a film coefficient of a star": (
        "heated-rig",
        "rig.csv",
        RIG + "0,0,5e9,20\n1,0,5,20\n",
        "rig.csv, line 2",
    ),
    "air colder than nothing": ("heated-rig", "rig.csv", RIG + "0,0,5,-300\n1,0,5,20\n", "rig.csv, line 2"),
    "a place left out": (
        "heated-rig",
        "rig.csv",
        RIG + "0,0,5,20\n0,9,5,20\n1,0,5,20\n",
        "a single station at",
    ),
    "a place given twice": (
        "heated-rig",
        "rig.csv",
        RIG + "0,0,5,20\n1,0,5,20\n1,0,6,20\n",
        "more than one row",
    ),
    "stations both ways": (
        "heated-rig",
        "rig.csv",
        RIG.replace("time", "z [mm],time") + "0,0,0,5,20\n0,1,0,5,20\n",
        "rig.csv: both arc length and axial are there",
    ),
    "no stations": (
        "heated-rig",
        "rig.csv",
        "time [s],heat flux [W/m2]\n0,1\n1,1\n",
        "rig.csv: neither arc length nor axial is there",
    ),
    "nothing that heats": ("heated-rig", "rig.csv", PLACE + "\n0,0\n1,0\n", "rig.csv: nothing in it heats"),
    "a film without its air": (
        "heated-rig",
        "rig.csv",
        PLACE + ",film coefficient [W/(m2 K)]\n0,0,1\n1,0,1\n",
        "rig.csv: a film coefficient has no recovery temperature",
    ),
    "film and flux": (
        "heated-rig",
        "rig.csv",
        RIG.replace("time", "heat flux [W/m2],time") + "1,0,0,5,20\n1,1,0,5,20\n",
        "rig.csv: both film coefficient and heat flux are there",
    ),
    "a flux without its wall": (
        "heated-rig",
        "rig.csv",
        PLACE + ",heat flux [W/m2],recovery temperature [K]\n0,0,1,300\n1,0,1,300\n",
        "rig.csv: a heat flux with a recovery temperature has no wall temperature",
    ),
    "a flux at one wall": (
        "heated-rig",
        "rig.csv",
        PLACE + ",heat flux [W/m2],wall temperature [K]\n0,0,1,300\n1,0,1,300\n",
        "a heat flux at one wall temperature alone",
    ),
    "a flux across no difference": (
        "heated-rig",
        "rig.csv",
        PLACE
        + ",heat flux [W/m2],wall temperature [K],recovery temperature [K]\n0,0,5,300,300\n1,0,5,300,600\n",
        "rig.csv: in row 1: a heat flux where recovery and wall temperature are the same",
    ),
    "a flux without a unit": (
        "heated-rig",
        "rig.csv",
        PLACE + ",heat flux\n0,0,1\n1,0,1\n",
        'column "heat flux": there is no unit',
    ),
    "a start no material knows": (
        "heated-rig",
        "rig.csv",
        RIG + "0,0,5,900\n1,0,5,900\n",
        "study.toml, flow.heating_table: the tip starts at its first recovery temperature",
    ),
}


@pytest.mark.parametrize("name", STUDIES)
def test_a_wrong_study_is_told_by_file_and_key(name, mistaken, copied):
    old, new, place = STUDIES[name]
    assert place in mistaken("check", copied("coastal-egg", (old, new)))


@pytest.mark.parametrize("name", SWEEPS)
def test_a_wrong_sweep_is_told_before_a_run_folder_is_made(name, mistaken, copied, tmp_path):
    old, new, place = SWEEPS[name]
    said = mistaken("sweep", copied("coastal-egg", (old, new)), "--out", tmp_path / "run")
    assert place in said
    assert said.startswith("study.toml, ")
    assert not (tmp_path / "run").exists()


@pytest.mark.parametrize("name", TABLES)
def test_a_wrong_table_is_told_by_its_file(name, mistaken, copied):
    study, file, content, place = TABLES[name]
    folder = copied(study)
    (folder / file).write_bytes(content if isinstance(content, bytes) else content.encode())
    assert place in mistaken("check", folder)


PROFILES = {
    "too few rows": ("z [mm],r [mm]\n0,0\n10,5\n", "profile.csv: "),
    "narrowing": (
        "z [mm],r [mm]\n" + "".join(f"{z},{40 - abs(z - 200) / 5}\n" for z in range(0, 400, 5)),
        "study.toml, outline.profile",
    ),
    "below zero": ("z [mm],r [mm]\n" + "".join(f"{z},{-z}\n" for z in range(20)), "profile.csv, line 3"),
    "in kilometres": ("z [km],r [mm]\n" + "".join(f"{z},{z}\n" for z in range(20)), "profile.csv, line 3"),
}


@pytest.mark.parametrize("name", PROFILES)
def test_a_wrong_profile_is_told_by_its_file_or_key(name, mistaken, copied):
    content, place = PROFILES[name]
    family = 'family = "von Karman"\ndiameter = "84 mm"\nlength = "420 mm"\n'
    folder = copied("coastal-egg", (family, 'profile = "profile.csv"\n'))
    (folder / "profile.csv").write_text(content)
    assert place in mistaken("check", folder)


@pytest.mark.parametrize(
    ("arguments", "place"),
    [
        (["chek", "x"], "optitip: "),
        (["check"], "optitip check: "),
        (["check", "a", "b"], "optitip check: "),
        (["check", "a", "--jsn"], "--json"),
        (["check", "a", "--units", "imperial"], "optitip check --units: "),
        (["check", "x" * 5000], "name too long"),
        (["check", "nowhere"], "nowhere: "),
        (["check", ROOT / "README.md"], "README.md: "),
        (["new", "x" * 5000], "name too long"),
        (["new", ROOT / "studies" / "coastal-egg"], "there is a study already"),
        (["materials", "mithril"], "material"),
        (["log"], "optitip log: "),
        (["log", "nowhere.csv"], "nowhere.csv: "),
        (["log", "studies"], "study.toml: no such file"),
        (["log", "studies/polymer-coupon"], "study.toml: the study names no record"),
        (["log", "studies/coastal-egg", "--site-altitude", "3 m"], "a study names its own site"),
        (["log", "x.csv", "--site-altitude", "300"], "optitip log --site-altitude: '300' has no unit"),
        (["log", "x.csv", "--site-temperature", "3 m"], "optitip log --site-temperature: "),
        (["sweep", "studies/coastal-egg", "--workers", "0"], "optitip sweep --workers: "),
        (["sweep", "studies/coastal-egg", "--evaluations", "0"], "optitip sweep --evaluations: "),
        (["sweep", "studies/coastal-egg", "--evaluations", "-5"], "optitip sweep --evaluations: "),
        (["sweep", "studies/coastal-egg", "--evaluations", "1e3"], "optitip sweep --evaluations: "),
        (["export", "nowhere", "abc"], "nowhere: "),
        (["export", ROOT / "studies" / "coastal-egg", "abc"], "no run of a sweep"),
    ],
    ids=str,
)
def test_a_wrong_command_line_is_told_like_any_mistake(arguments, place, mistaken):
    assert place in mistaken(*arguments)


def test_a_folder_that_holds_other_things_is_no_run(mistaken, tmp_path):
    (tmp_path / "mine.txt").write_text("mine")
    mistaken("sweep", ROOT / "studies" / "coastal-egg", "--out", tmp_path)
    assert "this is a file" in mistaken(
        "sweep", ROOT / "studies" / "coastal-egg", "--out", tmp_path / "mine.txt"
    )
    assert [path.name for path in tmp_path.iterdir()] == ["mine.txt"]


def test_a_design_that_cannot_be_built_writes_nothing(mistaken, copied, tmp_path):
    study = copied("coastal-egg", ('length = "60 mm"', 'length = "140 mm"'))
    for command in ("check", "export"):
        assert mistaken(command, study, "--out", tmp_path / "out").startswith("study.toml, tip.band.length: ")
        assert not (tmp_path / "out").exists()


def test_an_export_never_writes_over_a_study(mistaken, copied):
    study = copied("coastal-egg")
    before = (study / "study.toml").read_bytes()
    assert "study.toml: it is no file of an earlier package. Move it away" in mistaken(
        "export", study, "--out", study
    )
    assert (study / "study.toml").read_bytes() == before


def test_the_first_help_says_of_each_command_what_the_command_says(capfd):
    for name, said in COMMANDS.items():
        assert run([name, "--help"]) == 0
        assert said.split(",")[0] in " ".join(capfd.readouterr().out.split())


def test_without_arguments_the_help_comes_and_no_mistake(capfd):
    assert run([]) == 2
    out, err = capfd.readouterr()
    assert "Usage" in out + err
    assert "tells what it takes" not in err
