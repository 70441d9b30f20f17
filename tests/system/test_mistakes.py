"""A user's mistake is one line, `place: problem. remedy.`, exit code 2 and no traceback."""

import pytest

BAD_STUDIES = {
    "a wrong unit": ('length = "60 mm"', 'length = "60 s"', "tip.band.length", "no unit of this kind"),
    "a bare number": ('length = "60 mm"', "length = 60", "tip.band.length", "has no unit"),
    "an unknown key": ("[tip.band]", '[tip.band]\nthicknes = "1 mm"', "tip.band.thicknes", "unknown"),
    "a missing file": ('"flight.csv" ', '"fligth.csv" ', "flight.record", "there is no file"),
    "a negative thickness": (
        'thickness = "1.2 mm"',
        'thickness = "-1.2 mm"',
        "tip.band.thickness",
        "is not above 0 mm",
    ),
    "not a number": ('thickness = "1.2 mm"', 'thickness = "nan mm"', "tip.band.thickness", "no quantity"),
    "a band thicker than the radius": ('thickness = "1.2 mm"', 'thickness = "30 mm"', "tip.", "wall"),
    "a slab outside the band": (
        "[sample.pocket]",
        '[sample.pocket]\noffset = "20 mm"\nlength = "50 mm"',
        "sample.pocket",
        "inside the band",
    ),
    "a slab too thick for the cavity": (
        'thickness = "3 mm"',
        'thickness = "14 mm"',
        "sample.slab.thickness",
        "thicker than the cavity",
    ),
    "an unknown material": ('material = "6061-T6"', 'material = "6061-T7"', "tip.material", "6061-T6"),
    "a start outside a table": (
        'start_temperature = "18 degC"',
        'start_temperature = "-50 degC"',
        "flight.start_temperature",
        "outside the table of egg-white",
    ),
    "a sample chilled below its table": (
        "[sample]",
        '[sample]\nstart_temperature = "-45 degC"',
        "sample.start_temperature",
        "outside the table of egg-white",
    ),
    "more sunlight than there is": (
        "[outline]",
        '[flight.pad]\nsun = "8 kW/m2"\n\n[outline]',
        "flight.pad.sun",
        "above 1500 W/m2",
    ),
    "two screws, which what bends turns about": (
        'thread = "M39x1.5"',
        'screw = "M4"\nscrews = 2',
        "tip.base.fixing",
        "2 screws give way",
    ),
    "a feed above the tool's nose": (
        "[sweep.free]",
        '[turning]\nfeed = "0.5 mm"\n\n[sweep.free]',
        "turning",
        "a feed of 0.5 mm is above the nose radius of 0.4 mm",
    ),
    "a bar thicker than the lathe takes": (
        "[sweep.free]",
        '[turning]\nsmallest_bar = "20 cm"\n\n[sweep.free]',
        "turning",
        "above largest_stock 160 mm",
    ),
    "a nose radius of nought": (
        "[sweep.free]",
        '[turning]\nnose_radius = "0 mm"\n\n[sweep.free]',
        "turning.nose_radius",
        "is not above 0 mm",
    ),
    "an unknown support": (
        "[sweep.free]",
        '[turning]\nsupport = "wax"\n\n[sweep.free]',
        "turning.support",
        "'none', 'core' or 'mandrel'",
    ),
    "a series of bars nobody sells": (
        "[sweep.free]",
        '[turning]\nstock = "imperial"\n\n[sweep.free]',
        "turning.stock",
        "'metric' or 'inch'",
    ),
    "a key of the lathe that isn't one": (
        "[sweep.free]",
        '[turning]\nnose_radus = "0.4 mm"\n\n[sweep.free]',
        "turning.nose_radus",
        "unknown",
    ),
    "an unknown metric": ('"margin.smallest" = ">= 0"', '"margin.smalest" = ">= 0"', "limits", "no metric"),
}


def is_one_mistake_a_line(text):
    return all(": " in line and line.endswith(".") for line in text.strip().splitlines())


@pytest.mark.parametrize("name", BAD_STUDIES)
def test_a_bad_study_gets_place_problem_and_remedy(name, optitip, copied):
    old, new, place, problem = BAD_STUDIES[name]
    done = optitip("check", copied("coastal-egg", (old, new)))
    assert done.returncode == 2, done.stdout + done.stderr
    assert place in done.stderr
    assert problem in done.stderr
    assert "Traceback" not in done.stderr
    assert is_one_mistake_a_line(done.stderr)


def test_a_rigid_ring_cannot_pass_a_narrower_base(optitip, copied):
    bare = ('[tip.base.fixing]\nthread = "M39x1.5"\nengagement = "6 mm"\n', "")
    chosen = ('"tip.base.fixing.thread" = [', '# "tip.base.fixing.thread" = [')
    whole = ("separate = true ", "separate = false")
    study = copied("coastal-egg", bare, chosen, whole, ('"egg white"', '"PMMA"'))
    done = optitip("check", study)
    assert done.returncode == 2, done.stdout + done.stderr
    assert "can't pass the opening" in done.stderr


def climb(header, *, rows=60, wrong=None):
    """Return a record of a climb at 100 m/s2; ``wrong`` stands in the place of its row 30."""
    lines = [f"{0.1 * i:.1f},{0.5 * i * i:.1f},{10.0 * i:.1f}" for i in range(rows)]
    if wrong is not None:
        lines[30] = wrong
    return "\n".join([header, *lines]) + "\n"


BAD_RECORDS = {
    "empty": ("", "the file is empty"),
    "no rows": ("time [s],altitude [m],speed [m/s]\n", "no table of numbers"),
    "few rows": (climb("time [s],altitude [m],speed [m/s]", rows=3), "3 rows"),
    "not a number": (climb("time [s],altitude [m],speed [m/s]", wrong="3.0,high,300"), "line 32"),
    "wrong unit": (climb("time [s],altitude [m],speed [kg]"), "'kg' is no unit of this kind"),
    "no altitude": (climb("time [s],voltage [V],speed [m/s]"), "no altitude nor pressure"),
    "no apogee": (climb("time [s],altitude [m],speed [m/s]"), "still climbing"),
}


@pytest.mark.parametrize("name", BAD_RECORDS)
def test_a_bad_record_gets_its_place(name, optitip, copied):
    content, problem = BAD_RECORDS[name]
    study = copied("coastal-egg")
    (study / "flight.csv").write_text(content)
    done = optitip("check", study)
    assert done.returncode == 2, done.stdout + done.stderr
    assert "flight.csv" in done.stderr
    assert problem in done.stderr
    assert "Traceback" not in done.stderr
    assert is_one_mistake_a_line(done.stderr)


def test_mistakes_in_files_and_materials_come_together(optitip, copied):
    study = copied("coastal-egg", ('material = "6061-T6"', 'material = "mithril"'))
    (study / "flight.csv").write_text("")
    done = optitip("check", study)
    assert "tip.material" in done.stderr
    assert "flight.csv" in done.stderr


def test_a_flight_above_mach_five_leaves_the_valid_range(optitip, copied):
    study = copied("coastal-egg")
    lines = (study / "flight.csv").read_text().splitlines()
    faster = [
        line if i < 2 else ",".join([*line.split(",")[:2], str(3 * float(line.split(",")[2]))])
        for i, line in enumerate(lines)
    ]
    (study / "flight.csv").write_text("\n".join(faster))
    done = optitip("check", study)
    assert done.returncode == 3, done.stdout + done.stderr
    assert "Mach" in done.stderr


@pytest.mark.parametrize(
    "arguments",
    [
        ("check", "nowhere"),
        ("check",),
        ("chek", "x"),
        ("materials", "../6061-T6"),
        ("export", "studies/coastal-egg", "x"),
    ],
)
def test_a_wrong_command_line_is_a_mistake_too(arguments, optitip):
    done = optitip(*arguments)
    assert done.returncode == 2
    assert "Traceback" not in done.stderr


def test_a_study_that_frees_nothing_cannot_be_swept(optitip, tmp_path):
    done = optitip("sweep", "studies/polymer-coupon", "--out", tmp_path / "run")
    assert done.returncode == 2
    assert "nothing is free" in done.stderr
    assert not (tmp_path / "run").exists()
