"""Every key of the study is heard: another value changes the answer, or it is known why it doesn't."""

import json
from functools import cache
from pathlib import Path

import pytest
import tomli_w
from pydantic import BaseModel

from optitip.errors import DesignFailure, Outcome
from optitip.evaluate.assess import check
from optitip.evaluate.record import as_mapping
from optitip.inputs.keys import set_keys
from optitip.inputs.study import read_study
from optitip.inputs.study_tables import StudyTables

STUDIES = Path(__file__).parents[2] / "studies"
EGG, COUPON, RIG = "coastal-egg", "polymer-coupon", "heated-rig"
INSERT = {"tip.plug.insert": "20 mm", "tip.plug.material": "304"}
MAP = {
    "flight.columns.time": "time",
    "flight.columns.altitude": "altitude",
    "flight.columns.speed": "speed",
}
TWO = {
    "flight.also": [
        {"record": "second.csv", "columns": {"time": "time", "altitude": "altitude"}, "clock": "0 s"}
    ]
}
BY_MACH = {**dict(list(MAP.items())[:2]), "flight.columns.mach": "speed [1/340]"}
SOLID = {"tip.base.thickness": None, "tip.base.solid": True}
KARMAN = {"family": "von Karman", "diameter": "84 mm", "length": "420 mm", "tip_radius": "2 mm"}
GIVEN = {"outline.given": KARMAN}
POWER = {"outline.given": {"family": "power", "diameter": "84 mm", "length": "420 mm", "exponent": 0.6}}
WEIGHED = {
    "vehicle": {
        "mass": "8 kg",
        "centre_of_mass": "1.1 m",
        "replaced_mass": "0.3 kg",
        "replaced_centre_of_mass": "95 mm",
    }
}
BARE = {"tip.base.fixing": None}
SCREWED = {"tip.base.fixing": {"screw": "M3"}}
TIED = {"tip.base.fixing": {"rod": "M5", "preload": "500 N"}}
STUD = {"tip.plug.fixing": {"thread": "M5"}}
STILL = {"strength.hand_load": "0 N", "strength.snatch": "0 m/s2"}
INSIDE = {"strength.inside": [{"name": "solder", "place": "base", "limit": "180 degC"}]}
# the study to change, what to change in it first, and the other value of the key; None takes a key out
CASES = [
    (EGG, {}, "title", "another"),
    (EGG, {}, "flight.altitude_above", "sea"),
    (EGG, {}, "flight.smoothing", "0.8 s"),
    (EGG, {}, "flight.lag", "0.5 s"),
    (EGG, {}, "flight.spikes", 0.5),
    (EGG, TWO, "flight.rail_angle", "80 deg"),
    (EGG, {"flight.varied": {"burn": "3 s"}}, "flight.varied.peak_mach", 2.2),
    (COUPON, {"flight.varied": {"peak_mach": 1.6}}, "flight.varied.burn", "2.5 s"),
    (EGG, MAP, "flight.columns.time", "time [1.1 s]"),
    (EGG, MAP, "flight.columns.altitude", "altitude [1.1 m]"),
    (EGG, MAP, "flight.columns.speed", "speed [1.1 m/s]"),
    (EGG, BY_MACH, "flight.columns.mach", "speed [1/300]"),
    (EGG, MAP, "flight.columns.missing", [820.6]),
    (EGG, MAP, "flight.columns.from_line", 110),
    (EGG, TWO, "flight.also.0.record", "third.csv"),
    (EGG, TWO, "flight.also.0.clock", "0.5 s"),
    (EGG, TWO, "flight.also.0.columns.time", "time [1.02 s]"),
    (EGG, TWO, "flight.also.0.columns.altitude", "altitude [1.02 m]"),
    (EGG, {"flight.site_pressure": None}, "flight.site_altitude", "900 m"),
    (EGG, {}, "flight.site_temperature", "30 degC"),
    (EGG, {}, "flight.site_pressure", "1000 hPa"),
    (EGG, {}, "flight.start_temperature", "25 degC"),
    (EGG, {}, "flight.soak", "30 s"),
    (EGG, {}, "flight.pad.wait", "10 min"),
    (COUPON, {}, "flight.pad.wait", "10 min"),
    (EGG, {}, "flight.pad.wind", "9 m/s"),
    (EGG, {}, "flight.pad.sun", "900 W/m2"),
    (EGG, {}, "flight.descent.attitude", "forward"),
    (EGG, {}, "flight.descent.attitude", "inside"),
    (COUPON, {}, "flight.descent.attitude", "across"),
    (EGG, {}, "flight.descent.base", "open"),
    (COUPON, {}, "flight.descent.drogue_rate", "15 m/s"),
    (COUPON, {}, "flight.descent.main_height", "400 m"),
    (COUPON, {}, "flight.descent.main_rate", "4 m/s"),
    (COUPON, {}, "flight.ascent.start_mass", "9.5 kg"),
    (COUPON, {}, "flight.ascent.propellant_mass", "2.5 kg"),
    (COUPON, {}, "flight.ascent.diameter", "90 mm"),
    (COUPON, {}, "flight.ascent.rail_length", "1 m"),
    (COUPON, {}, "flight.ascent.rail_angle", "80 deg"),
    (EGG, {}, "outline.family", "cone"),
    (EGG, {}, "outline.diameter", "90 mm"),
    (EGG, {}, "outline.length", "400 mm"),
    (EGG, {"outline.family": "power", "outline.exponent": 0.6}, "outline.exponent", 0.7),
    (EGG, {}, "outline.tip_radius", "2 mm"),
    (EGG, {}, "outline.turned_length", "155 mm"),
    (EGG, GIVEN, "outline.given.family", "cone"),
    (EGG, GIVEN, "outline.given.diameter", "82 mm"),
    (EGG, GIVEN, "outline.given.length", "410 mm"),
    (EGG, POWER, "outline.given.exponent", 0.7),
    (EGG, GIVEN, "outline.given.tip_radius", "4 mm"),
    (EGG, {}, "flow.expected_onset", 1.2e6),
    (EGG, {}, "flow.low_onset", 3e5),
    (EGG, {}, "flow.high_onset", 4e6),
    (EGG, {}, "flow.trip", "20 mm"),
    (EGG, {}, "flow.turbulent_law", "van driest"),
    (EGG, {}, "flow.roughness", "0.1 mm"),
    (EGG, {}, "flow.surroundings", "-30 degC"),
    (RIG, {}, "flow.surroundings", "80 degC"),
    (EGG, {}, "tip.material", "304"),
    (EGG, {}, "tip.emissivity", 0.9),
    (EGG, {"flight.pad.sun": "900 W/m2"}, "tip.absorptivity", 0.9),
    (EGG, {}, "tip.fore_taper", "7 mm"),
    (EGG, {}, "tip.aft_taper", "9 mm"),
    (EGG, {}, "tip.plug.length", "46 mm"),
    (EGG, {}, "tip.plug.wall", "3.5 mm"),
    (EGG, {}, "tip.plug.fillet", "2 mm"),
    (EGG, INSERT, "tip.plug.insert", "15 mm"),
    (EGG, INSERT, "tip.plug.material", "C110"),
    (EGG, INSERT, "tip.plug.joint", "500 W/(m2 K)"),
    (EGG, INSERT, "tip.plug.fit", "0.01 mm"),
    (EGG, {**INSERT, **STUD}, "tip.plug.fixing.thread", "M6"),
    (EGG, {**INSERT, **STUD}, "tip.plug.fixing.engagement", "0.1 mm"),
    (EGG, {}, "tip.band.thickness", "1.4 mm"),
    (EGG, {}, "tip.band.thickness_aft", "1.6 mm"),
    (EGG, {}, "tip.band.length", "58 mm"),
    (EGG, {}, "tip.base.thickness", "6 mm"),
    (EGG, {"tip.base.thickness": None}, "tip.base.solid", True),
    (EGG, SOLID, "tip.base.bore", "10 mm"),
    (EGG, {**SOLID, **BARE, "tip.base.bore": "30 mm"}, "tip.base.separate", False),
    (EGG, BARE, "tip.base.separate", False),
    (EGG, {}, "tip.base.fit", "0.01 mm"),
    (EGG, {}, "tip.base.fixing.thread", "M40x1.5"),
    (EGG, {}, "tip.base.fixing.engagement", "0.5 mm"),
    (EGG, SCREWED, "tip.base.fixing.screw", "M4"),
    (EGG, SCREWED, "tip.base.fixing.screws", 6),
    (EGG, SCREWED, "tip.base.fixing.material", "Ti-6Al-4V"),
    (EGG, TIED, "tip.base.fixing.rod", "M6"),
    (EGG, TIED, "tip.base.fixing.preload", "600 N"),
    (EGG, {}, "tip.base.material", "304"),
    (EGG, {}, "tip.base.joint", "500 W/(m2 K)"),
    (EGG, {}, "tip.base.conductance", "2 W/K"),
    (EGG, {}, "tip.base.nose_temperature", "40 degC"),
    (COUPON, {}, "tip.coating.thickness", "0.2 mm"),
    (COUPON, {}, "tip.coating.conductivity", "0.5 W/(m K)"),
    (COUPON, {}, "tip.coating.emissivity", 0.2),
    (EGG, {}, "sample.material", "potato"),
    (EGG, {}, "sample.warm_above", "30 degC"),
    (EGG, {}, "sample.start_temperature", "4 degC"),
    (EGG, {}, "sample.slab.thickness", "2.5 mm"),
    (EGG, {}, "sample.slab.share", 0.5),
    (EGG, {}, "sample.slab.strength", "40 kPa"),
    (EGG, {}, "sample.pocket.offset", "5 mm"),
    (EGG, {}, "sample.pocket.length", "40 mm"),
    (EGG, {}, "sample.pocket.air", "sealed"),
    (EGG, {}, "sample.pocket.vent", "0.5 mm"),
    (EGG, {}, "sample.pocket.film", "0 W/(m2 K)"),
    (EGG, {}, "sample.joint.build", "dry"),
    (EGG, {}, "sample.joint.kind", "captive"),
    (EGG, {}, "sample.joint.conductance", "900 W/(m2 K)"),
    (EGG, {}, "sample.joint.force", "30 N"),
    (EGG, {}, "sample.joint.travel", "1 mm"),
    (COUPON, {}, "sample.backing.material", "PTFE"),
    (COUPON, {}, "sample.backing.thickness", "4 mm"),
    (EGG, {}, "strength.safety_factor", 2.0),
    (EGG, {}, "strength.joint_limit", "80 degC"),
    (EGG, {}, "strength.factors.loads", 3.0),
    (EGG, {}, "strength.factors.strain", 3.0),
    (EGG, {}, "strength.factors.shakedown", 3.0),
    (EGG, TIED, "strength.factors.buckling", 3.0),
    (EGG, {}, "strength.factors.fixing", 3.0),
    (EGG, {}, "strength.factors.slab", 3.0),
    (EGG, STILL, "strength.gust", "20 m/s"),
    (EGG, STILL, "strength.lateral_acceleration", "500 m/s2"),
    (EGG, {}, "strength.hand_load", "200 N"),
    (EGG, {}, "strength.snatch", "100 g0"),
    (EGG, {}, "strength.landing_load", "200 N"),
    (EGG, {}, "strength.spin", "9000 rpm"),
    (EGG, {}, "strength.coupler_clearance", "0.1 mm"),
    (EGG, {}, "strength.strain_range", 0.005),
    (EGG, {}, "strength.flights", 5),
    (EGG, INSIDE, "strength.inside.0.name", "glue"),
    (EGG, INSIDE, "strength.inside.0.place", "band"),
    (EGG, INSIDE, "strength.inside.0.limit", "150 degC"),
    (EGG, WEIGHED, "vehicle.mass", "9 kg"),
    (EGG, WEIGHED, "vehicle.centre_of_mass", "1 m"),
    (EGG, WEIGHED, "vehicle.centre_of_pressure", "1.2 m"),
    (EGG, WEIGHED | GIVEN, "vehicle.normal_force_slope", 11.0),
    (EGG, WEIGHED, "vehicle.replaced_mass", "0.2 kg"),
    (EGG, WEIGHED, "vehicle.replaced_centre_of_mass", "80 mm"),
    (EGG, WEIGHED, "vehicle.ballast_station", "20 mm"),
    (EGG, {}, "turning.nose_radius", "1 mm"),
    (EGG, {}, "turning.smallest_bar", "8 mm"),
    (EGG, {}, "turning.largest_stock", "100 mm"),
    (EGG, {}, "turning.stock", "inch"),
    (EGG, {}, "turning.support", "core"),
    (EGG, {}, "turning.depth_of_cut", "0.5 mm"),
    (EGG, {}, "turning.feed", "0.2 mm"),
    (EGG, {}, "turning.wall_tolerance", "0.02 mm"),
    (EGG, {}, "target", {"sample.energy_peak": ">= 1 kJ"}),
    (EGG, {}, "limits", {"band.temperature_peak": "<= 100 degC"}),
]
# a record goes on to landing with its own way down; a bonded joint follows the wall as a pressed one does
SILENT = [
    (EGG, "flight.descent.drogue_rate", "15 m/s"),
    (EGG, "flight.descent.main_height", "400 m"),
    (EGG, "flight.descent.main_rate", "4 m/s"),
    (COUPON, "sample.joint.kind", "pressed"),
]
# these change no figure of the answer: with another value the tip can't be put together, or taken apart
REFUSED = [
    (EGG, {}, "sample.wires", "40 mm", Outcome.WIRES_CANNOT_LEAVE),
    (EGG, SOLID, "sample.probe", "1 mm", Outcome.PROBE_CANNOT_REACH),
    (COUPON, {}, "sample.seat", "flat", Outcome.SEAT_DOES_NOT_FIT),
    (EGG, SOLID, "tip.opens", "none", Outcome.SLAB_CANNOT_COME_OUT),
    (EGG, {"tip.plug.length": "36 mm"}, "tip.boring", "steel", Outcome.CANNOT_BE_TURNED),
]
ELSEWHERE = {
    *("flight.record", "flight.ascent.thrust", "flight.ascent.drag", "flow.heating_table", "outline.profile"),
    *("flow.heating_low", "flow.heating_high", "flight.gap"),
    # read and fused alike whichever quantity it is: tests of recordings, readings and logs
    *("flight.columns.pressure", "flight.columns.acceleration"),
    *(f"flight.also.columns.{one}" for one in ("pressure", "speed", "mach", "acceleration")),
    *("flight.also.columns.missing", "flight.also.columns.from_line"),
    "outline.given.profile",
    "tip.plug.fixing.screw",  # an insert is held by its stud alone: a mistake says so
    *(f"tip.plug.fixing.{one}" for one in ("screws", "rod", "preload", "material")),
    # what varies is asked for with check --tolerances; finish and name stand on the drawing alone
    *("turning.slab_tolerance", "turning.bore_depth_tolerance", "turning.finish", "turning.drawn_by"),
    *("sweep.maximise", "sweep.minimise", "sweep.free", "sweep.choices", "sweep.sets"),
    *("sweep.evaluations", "sweep.seed", "sweep.lead", "sweep.stalled", "sweep.time_limit"),
}


def keys_of(model, before=""):
    """Yield the dotted keys of a table of the schema."""
    for name, field in model.model_fields.items():
        options = [field.annotation, *getattr(field.annotation, "__args__", ())]
        tables = [one for one in options if isinstance(one, type) and issubclass(one, BaseModel)]
        yield from keys_of(tables[0], f"{before}{name}.") if tables else [f"{before}{name}"]


def changed(raw, changes):
    raw = set_keys(raw, {key: value for key, value in changes.items() if value is not None})
    for key in (key for key, value in changes.items() if value is None):
        *tables, last = key.split(".")
        here = raw
        for table in tables:
            here = here[table]
        here.pop(last)
    return raw


@cache
def answered(name, changes, folder):
    """Return what JSON says of a shipped study with changes, but for hash and version."""
    source = read_study(STUDIES / name)
    raw = changed({key: value for key, value in source.raw.items() if key != "sweep"}, json.loads(changes))
    raw = set_keys(raw, {key: str(path) for key, path in source.files().items()})
    path = folder / "study.toml"
    path.write_text(tomli_w.dumps(raw), encoding="utf-8")
    said = as_mapping(check(path))
    said["study"].pop("fingerprint")
    return json.dumps(said, allow_nan=False)


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("keys")
    header, *rows = [
        line for line in (STUDIES / EGG / "flight.csv").read_text().splitlines() if "#" not in line
    ]
    for name, factor in (("second.csv", 1.001), ("third.csv", 0.98)):
        cells = [row.split(",") for row in rows[::20]]
        high = [",".join([time, f"{factor * float(altitude):.1f}"]) for time, altitude, *_ in cells]
        (folder / name).write_text("\n".join([",".join(header.split(",")[:2]), *high]) + "\n")
    return folder


@pytest.mark.parametrize(("name", "first", "key", "value"), CASES, ids=lambda one: str(one)[:40])
def test_every_key_of_the_study_is_heard(name, first, key, value, folder):
    before = answered(name, json.dumps(first), folder)
    assert answered(name, json.dumps({**first, key: value}), folder) != before


@pytest.mark.parametrize(("name", "key", "value"), SILENT)
def test_a_key_that_is_said_to_change_nothing_changes_nothing(name, key, value, folder):
    assert answered(name, json.dumps({key: value}), folder) == answered(name, "{}", folder)


@pytest.mark.parametrize(("name", "first", "key", "value", "outcome"), REFUSED)
def test_a_key_that_changes_no_figure_refuses_what_can_not_be_put_together(
    name, first, key, value, outcome, folder
):
    answered(name, json.dumps(first), folder)
    with pytest.raises(DesignFailure) as caught:
        answered(name, json.dumps({**first, key: value}), folder)
    assert caught.value.outcome is outcome


def test_no_key_of_the_schema_is_left_out_here():
    heard = {key.replace(".0.", ".") for _, _, key, *_ in [*CASES, *REFUSED]}
    assert heard | ELSEWHERE == set(keys_of(StudyTables))
