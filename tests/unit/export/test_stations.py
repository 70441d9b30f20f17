import math
from pathlib import Path

import numpy as np
import pytest

from optitip.evaluate.assess import check
from optitip.evaluate.building import build_tip
from optitip.export.stations import write_stations
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.inputs.study import read_study
from optitip.inputs.tables import Column, read_table
from optitip.units import System

STUDIES = Path(__file__).parents[3] / "studies"
COLUMNS = {
    "z from nose point": Column(unit="m"),
    "arc length": Column(unit="m"),
    "outline radius": Column(unit="m"),
    "wall thickness": Column(unit="m", gaps=True),
    "film coefficient, burnout": Column(unit="W/(m2 K)"),
    "recovery temperature, burnout": Column(unit="K"),
    "wall outside, burnout": Column(unit="K"),
    "wall inside, burnout": Column(unit="K"),
    "film coefficient, band hottest": Column(unit="W/(m2 K)"),
    "recovery temperature, band hottest": Column(unit="K"),
    "wall outside, band hottest": Column(unit="K"),
    "wall inside, band hottest": Column(unit="K"),
    "wall outside, peak": Column(unit="K"),
}


@pytest.fixture(scope="module")
def study():
    return read_study(STUDIES / "coastal-egg")


@pytest.fixture(scope="module")
def answer(study):
    return check(study)


@pytest.fixture(scope="module")
def table(answer, tmp_path_factory):
    return read_table(write_stations(answer, folder=tmp_path_factory.mktemp("out")), columns=COLUMNS)


def test_the_table_reads_back_as_the_stations_it_was_written_from(answer, table):
    burnout, hottest = answer.expected.stations
    for name, values in (
        ("z from nose point", burnout.axial),
        ("arc length", burnout.arc_length),
        ("film coefficient, burnout", burnout.film),
        ("recovery temperature, burnout", burnout.recovery),
        ("wall outside, burnout", burnout.wall),
        ("wall inside, burnout", burnout.inside),
        ("wall outside, band hottest", hottest.wall),
        ("wall inside, band hottest", hottest.inside),
        ("film coefficient, band hottest", hottest.film),
    ):
        assert table[name] == pytest.approx(values, rel=1e-5, abs=1e-9), name


def test_the_radius_is_the_formula_of_the_family(study, table):
    # von Karman: r = R/sqrt(pi) sqrt(theta - sin(2 theta)/2), cos theta = 1 - 2 z/L (from memory)
    tip = build_tip(study.tables, folder=study.folder, resolution=DEFAULT_RESOLUTION)
    z = table["z from nose point"] + tip.outline.blunting
    side = table["arc length"] > tip.outline.sphere_arc
    theta = np.arccos(1.0 - 2.0 * z[side] / 0.42)
    radius = 0.042 / math.sqrt(math.pi) * np.sqrt(theta - np.sin(2.0 * theta) / 2.0)
    assert table["outline radius"][side] == pytest.approx(radius, abs=2e-6)


def test_the_wall_is_as_drawn_in_band_and_base_and_empty_where_it_is_solid(study, table):
    tip = build_tip(study.tables, folder=study.folder, resolution=DEFAULT_RESOLUTION)
    arc, wall = table["arc length"], table["wall thickness"]
    fore, aft = tip.cavity.band_arc
    band = (arc > fore + 2e-3) & (arc < aft - 2e-3)
    assert band.sum() > 15
    assert wall[band] == pytest.approx(1.2e-3, abs=2e-6)
    assert wall[-1] == pytest.approx(5e-3, rel=0.02)
    assert np.isnan(wall[table["z from nose point"] < 0.03]).all()


def test_peaks_are_above_both_instants_and_the_outside_is_hotter_at_burnout(table):
    for instant in ("burnout", "band hottest"):
        assert (table["wall outside, peak"] >= table[f"wall outside, {instant}"] - 1e-3).all()
    band = (table["wall thickness"] < 1.3e-3) & (table["z from nose point"] < 0.11)
    assert (table["wall outside, burnout"][band] > table["wall inside, burnout"][band]).all()


def test_the_band_s_peak_is_the_answer_s(answer, table):
    # the band's hottest point is on its outside
    there = table["wall thickness"] < 1.21e-3
    peak = answer.expected.metrics["band.temperature_peak"]
    assert table["wall outside, peak"][there].max() == pytest.approx(peak, abs=0.5)


def test_us_units_stand_in_the_header(answer, tmp_path, table):
    path = write_stations(answer, folder=tmp_path, system=System.US)
    assert "wall thickness [inch]" in path.read_text()
    assert "wall outside, peak [degF]" in path.read_text()
    found = read_table(path, columns=COLUMNS)
    for name, values in table.items():
        assert found[name] == pytest.approx(values, rel=1e-5, nan_ok=True), name


def test_a_heating_table_without_a_flight_has_its_hottest_instant_alone(tmp_path):
    text = write_stations(check(read_study(STUDIES / "heated-rig")), folder=tmp_path).read_text()
    assert "# band hottest: 60.6" in text  # the rig blows hot for 60 s
    assert "burnout" not in text
