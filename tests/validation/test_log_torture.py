"""One clean flight as six recorders would have kept it, each with its own troubles: all give the flight back.

Source: own: one clean ascent to Mach 2.4, written by the test; common practice, no source.
Tolerance: 2 % of the peak Mach number, 2 % of the sample's peak energy in the expected state.
"""

import tomllib
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import tomli_w
from clean_flight import DRAG, MASSES, RAIL, SITE, THRUST, clean

from optitip.evaluate.assess import check
from optitip.evaluate.sources import flown
from optitip.flight.atmosphere import STANDARD_GRAVITY
from optitip.inputs.study import read_study

EGG = Path(__file__).parents[2] / "studies" / "coastal-egg" / "study.toml"
FOOT = 0.3048


def study_of(folder, **flight):
    """Write the coastal study with another flight and return it."""
    raw = tomllib.loads(EGG.read_text())
    raw["flight"].pop("record")
    raw["flight"] |= flight
    (folder / "study.toml").write_text(tomli_w.dumps(raw))
    return read_study(folder / "study.toml")


def rows(*columns, mark=",", formats=None):
    formats = formats or ["{:.3f}"] * len(columns)
    table = zip(*(np.asarray(column).tolist() for column in columns), strict=True)
    cells = ([form.format(cell) for form, cell in zip(formats, row, strict=True)] for row in table)
    return "".join(mark.join(row) + "\n" for row in cells)


@cache
def truth(folder):
    """Return peak Mach number and peak energy [J] of the clean flight itself."""
    for name, head, table in (
        ("thrust", "time [s],thrust [N]", THRUST),
        ("drag", "mach,drag coefficient", DRAG),
    ):
        (folder / f"{name}.csv").write_text(f"{head}\n" + "".join(f"{a},{b}\n" for a, b in table))
    ascent = {"thrust": "thrust.csv", "drag": "drag.csv", "rail_angle": f"{RAIL} deg"}
    ascent |= {key: f"{mass} kg" for key, mass in MASSES.items()}
    return figures(study_of(folder, ascent=ascent))


def figures(study):
    return float(flown(study).mach.max()), check(study).metrics["sample.energy_peak"].expected


@pytest.fixture(scope="module")
def expected(tmp_path_factory):
    return truth(tmp_path_factory.mktemp("clean"))


def noisy_telemetry(folder, rng):
    """2 % of noise on the speed, 3 m on the altitude, 20 Hz, semicolons and a banner."""
    now, t = clean(), clean().times(20.0)
    z = now.altitude(t) - SITE + 3.0 * rng.standard_normal(t.size)
    v = now.speed(t) * (1.0 + 0.02 * rng.standard_normal(t.size))
    table = rows(t + 4211.0, z, v, mark=";")
    (folder / "down.txt").write_text(
        "Heron ground station, channel 7\nsession 12\n\ntime [s];altitude [m];speed [m/s]\n" + table
    )
    return {"record": "down.txt"}


def waiting_on_the_pad(folder, rng):
    """40 minutes at 50 Hz: ms since power-on, hPa, g on three axes, the one along the body upside down."""
    now, t = clean(), clean().times(50.0, before=2400.0)
    gusts = (0.15 * np.sin(t / 3.0) + 0.1 * rng.standard_normal(t.size)) * (t < 0.0)
    hPa = now.pressure(t) / 100.0 + gusts + 0.1 * rng.standard_normal(t.size)
    felt = now.felt(t) / STANDARD_GRAVITY
    felt = np.where(np.abs(t + 300.0) < 0.1, 6.0, np.where(np.abs(t + 1000.0) < 2.0, -1.0, felt))
    axes = [0.2 * rng.standard_normal(t.size) for _ in range(3)]
    axes[1] -= felt + 0.02
    head = "Tern flight computer rev C\n# boot ok\nmillis,press_hPa,ax_g,ay_g,az_g\n"
    (folder / "tern.csv").write_text(head + rows(1000.0 * t + 2.5e6, hPa, *axes))
    return {"record": "tern.csv"}


def three_seconds_missing(folder, rng):
    """Nothing at all for three seconds of the fast coast."""
    now, t = clean(), clean().times(20.0)
    t = t[(t < 5.5) | (t > 8.5)]
    z = now.altitude(t) - SITE + 2.0 * rng.standard_normal(t.size)
    v = now.speed(t) * (1.0 + 0.01 * rng.standard_normal(t.size))
    (folder / "gap.csv").write_text("time [s],altitude [m],speed [m/s]\n" + rows(t + 63.0, z, v))
    return {"record": "gap.csv"}


def feet_with_spikes(folder, rng):
    """Feet above ground and ft/s at 25 Hz, wild samples and rows filled with -9999."""
    now, t = clean(), clean().times(25.0)
    z = (now.altitude(t) - SITE + 1.5 * rng.standard_normal(t.size)) / FOOT
    v = now.speed(t) * (1.0 + 0.005 * rng.standard_normal(t.size)) / FOOT
    z[rng.integers(0, t.size, 40)] += 9000.0
    v[rng.integers(0, t.size, 40)] *= 2.5
    flying = np.flatnonzero((t > 0.5) & (t < 20.0))
    z[rng.choice(flying, 12)], v[rng.choice(flying, 12)] = -9999.0, -9999.0
    (folder / "feet.csv").write_text("T(s),Alt AGL(ft),Velocity(ft/s)\n" + rows(t + 5.0, z, v))
    return {"record": "feet.csv"}


def late_and_through_mach_one(folder, rng):
    """A barometer 0.3 s late that jumps by 200 m at Mach 1 both ways, beside an acceleration; 50 Hz."""
    now, t = clean(), clean().times(50.0)
    z = now.air.altitude_of(now.pressure(t, lag=0.3)) + now.blip(t)
    hPa = now.air.at(z).pressure / 100.0 + 0.1 * rng.standard_normal(t.size)
    g = now.felt(t) / STANDARD_GRAVITY - 1.0 + 0.3 * rng.standard_normal(t.size)
    head = "time [s],pressure [hPa],acceleration [g0]\n"
    (folder / "late.csv").write_text(head + rows(t + 88.0, hPa, g))
    return {"record": "late.csv", "lag": "0.3 s"}


def two_files(folder, rng):
    """An altitude at 10 Hz in one file and an acceleration at 100 Hz in another, each on its own clock."""
    now, slow, fast = clean(), clean().times(10.0), clean().times(100.0)
    z = now.altitude(slow) - SITE + 1.5 * rng.standard_normal(slow.size)
    a = now.felt(fast) + 4.0 * rng.standard_normal(fast.size)
    (folder / "baro.csv").write_text("time [s],altitude [m]\n" + rows(slow + 812.3, z))
    (folder / "push.csv").write_text("time [ms],acceleration [m/s2]\n" + rows(1000.0 * (fast + 33.1), a))
    return {"record": "baro.csv", "also": [{"record": "push.csv"}]}


STYLES = [
    noisy_telemetry,
    waiting_on_the_pad,
    three_seconds_missing,
    feet_with_spikes,
    late_and_through_mach_one,
    two_files,
]


@pytest.mark.parametrize("style", STYLES, ids=lambda style: style.__name__)
def test_a_recorder_with_its_own_troubles_gives_the_flight_back(style, expected, tmp_path):
    study = study_of(tmp_path, **style(tmp_path, np.random.default_rng(84)))
    mach, energy = figures(study)
    assert mach == pytest.approx(expected[0], rel=0.02)
    assert energy == pytest.approx(expected[1], rel=0.02)
