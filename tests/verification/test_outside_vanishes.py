"""What a change of the outside gives vanishes with the change, and is restored by the ballast it names."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from optitip.evaluate.building import build_tip
from optitip.evaluate.outside import outside_of, outside_of_study, whole_nose
from optitip.evaluate.sources import flight_of, outline_of
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.heating.pressure import pressure_coefficient
from optitip.heating.stream import stations_of
from optitip.inputs.study import read_study
from optitip.metrics.outside import exchanged, static_margin, wave_drag

STUDIES = Path(__file__).parents[2] / "studies"
VEHICLE = {
    "vehicle.mass": "8 kg",
    "vehicle.centre_of_mass": "1.1 m",
    "vehicle.centre_of_pressure": "1.25 m",
    "vehicle.normal_force_slope": 11.0,
    "vehicle.replaced_mass": "0.3 kg",
    "vehicle.replaced_centre_of_mass": "95 mm",
}


@pytest.fixture(scope="module")
def egg():
    return read_study(STUDIES / "coastal-egg").with_design(VEHICLE)


def of(study, **design):
    return outside_of_study(study.with_design({key.replace("__", "."): one for key, one in design.items()}))


def test_drag_and_centre_of_pressure_change_in_proportion_to_a_small_change_of_the_tip(egg):
    small, half = of(egg, outline__tip_radius="3.02 mm"), of(egg, outline__tip_radius="3.01 mm")
    for name in ("outline.drag_change", "outline.pressure_centre_change"):
        assert small.metrics[name] > 0.0
        assert half.metrics[name] == pytest.approx(0.5 * small.metrics[name], rel=0.02), name


def test_nothing_changes_with_the_given_outline_written_in_another_unit(egg):
    same = of(egg, outline__tip_radius="0.11811024 inch", outline__length="0.42 m")
    assert not same.touched
    assert same.metrics["outline.drag_change"] == same.metrics["outline.pressure_centre_change"] == 0.0


def test_the_drag_rises_with_the_tip_radius_at_the_flights_greatest_mach(egg):
    found = [of(egg, outline__tip_radius=f"{radius} mm") for radius in (2, 4, 5, 6, 8)]
    changes = [one.metrics["outline.drag_change"] for one in found]
    assert changes[0] < 0.0 < changes[1]
    assert changes == sorted(changes)
    assert all(one.drag.mach == pytest.approx(2.44, abs=0.01) for one in found)


def test_the_change_of_drag_no_longer_follows_the_count_of_stations(egg):
    coarse = of(egg, outline__tip_radius="5 mm").drag
    fine = []
    for radius in (0.003, 0.005):
        nose = outline_of(egg.tables.outline, folder=egg.folder, turned_length=None, tip_radius=radius)
        s = nose.sphere_arc + (nose.total_arc - nose.sphere_arc) * np.linspace(0.0, 1.0, 3000) ** 1.7
        s = np.concatenate([np.linspace(0.0, nose.sphere_arc, 500)[:-1], s])
        _, r, slope = nose.at(s)
        stations = stations_of(arc_length=s, radius=r, slope=slope, tip_radius=radius)
        pressure = pressure_coefficient([coarse.mach], stations=stations)
        fine.append(wave_drag(pressure, mach=[coarse.mach], radius=r, reference_radius=0.042)[0])
    assert coarse.after - coarse.before == pytest.approx(fine[1] - fine[0], rel=0.01)
    assert coarse.before == pytest.approx(fine[0], rel=0.01)


def test_the_centre_of_pressure_moves_by_the_volume_the_tip_lost(egg):
    blunter = egg.with_design({"outline.tip_radius": "6 mm"})
    given, own = (whole_nose(one.tables.outline, folder=egg.folder) for one in (egg, blunter))
    lost = given.volume - own.volume
    found = outside_of_study(blunter).pressure_centre_change
    assert lost > 0.0
    assert found == pytest.approx(lost / (np.pi * 0.042**2), rel=1e-9)


def test_a_shift_of_the_nose_reaches_the_margin_by_its_share_of_the_normal_force(egg):
    blunt = of(egg, outline__tip_radius="6 mm")
    shift = 2.0 * blunt.pressure_centre_change / 11.0
    expected = (shift - blunt.stability.centre_of_mass_shift) / 0.084
    assert blunt.stability.change == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("radius", ["3 mm", "6 mm"])
def test_with_its_ballast_the_vehicle_has_the_margin_it_had(egg, radius):
    study = egg.with_design({"outline.tip_radius": radius})
    tip = build_tip(study.tables, folder=study.folder, resolution=DEFAULT_RESOLUTION)
    one = outside_of(study.tables, folder=study.folder, tip=tip, flight=None).stability
    assert one.change < 0.0 < one.ballast
    lighter = 8.0 - 0.3 + one.tip_mass
    mass, centre = exchanged(
        lighter,
        centre=1.1 + one.centre_of_mass_shift,
        removed=(0.0, 0.0),
        added=(one.ballast, one.station),
    )
    assert mass == lighter + one.ballast
    after = static_margin(1.25 + one.pressure_centre_shift, centre_of_mass=centre, diameter=0.084)
    assert after == pytest.approx(one.before, abs=1e-12)


@pytest.mark.parametrize("share", [1.0, 0.4])
def test_the_tip_weighs_what_its_parts_weigh_where_the_held_plane_puts_them(egg, share):
    study = egg.with_design({"outline.tip_radius": "6 mm", "sample.slab.share": share})
    tip = build_tip(study.tables, folder=study.folder, resolution=DEFAULT_RESOLUTION)
    middle = tip.mesh.points[tip.mesh.cells, 1].mean(axis=1)
    mass = moment = 0.0
    for part, density in {"plug": 2700.0, "band": 2700.0, "base": 2700.0, "slab": tip.sample.density}.items():
        cells = tip.cells_of(part)
        weights = density * tip.cell_volume[cells] * (share if part == "slab" else 1.0)
        mass, moment = mass + weights.sum(), moment + weights @ middle[cells]
    moved_aft = tip.outline.blunting - whole_nose(egg.tables.outline, folder=egg.folder).blunting
    one = outside_of(study.tables, folder=study.folder, tip=tip, flight=None).stability
    assert moved_aft > 5e-3
    assert one.tip_mass == pytest.approx(mass, rel=1e-9)
    centre = 8.0 * 1.1 - 0.3 * 0.095 + moment + mass * moved_aft
    assert 1.1 + one.centre_of_mass_shift == pytest.approx(centre / (8.0 - 0.3 + mass), abs=5e-6)
    assert one.station == pytest.approx(0.150 + moved_aft, rel=1e-12)


def test_the_drag_of_a_wider_outline_counts_on_the_given_circle(egg):
    wide = {"outline.diameter": "100 mm", "outline.length": "500 mm", "outline.tip_radius": "3.5714 mm"}
    found = outside_of_study(egg.with_design(wide)).drag
    # the same shape larger: its own coefficient is the same, its circle (100/84)^2 times the given one
    assert found.after == pytest.approx(found.before * (100.0 / 84.0) ** 2, rel=1e-3)


def test_a_slow_flight_has_no_wave_drag_to_change(egg):
    study = egg.with_design({"outline.tip_radius": "6 mm"})
    tip = build_tip(study.tables, folder=study.folder, resolution=DEFAULT_RESOLUTION)
    flight = flight_of(study.tables.flight, folder=study.folder, diameter=0.084)
    slow = replace(flight, speed=0.3 * flight.speed)
    assert slow.mach.max() < 0.8
    found = outside_of(study.tables, folder=study.folder, tip=tip, flight=slow)
    assert found.metrics["outline.drag_change"] == 0.0
    assert not found.drag.waves
    assert not any("shock" in line for line in found.warnings)
