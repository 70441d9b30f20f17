from dataclasses import replace
from pathlib import Path

import pytest

from optitip.errors import UserMistakes
from optitip.evaluate.assess import assess, check
from optitip.evaluate.building import build_tip
from optitip.evaluate.outside import outside_of, outside_of_study
from optitip.evaluate.record import as_mapping
from optitip.evaluate.sought import check_sources
from optitip.evaluate.sources import flight_of
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.inputs.study import read_study

STUDIES = Path(__file__).parents[3] / "studies"
WEIGHED = {
    "vehicle.mass": "8 kg",
    "vehicle.centre_of_mass": "1.1 m",
    "vehicle.replaced_mass": "0.3 kg",
    "vehicle.replaced_centre_of_mass": "95 mm",
}
PROFILE = "axial [mm],radius [mm]\n" + "\n".join(f"{z},{0.1 * z:.3f}" for z in range(10, 431, 10)) + "\n"


@pytest.fixture(scope="module")
def egg():
    return read_study(STUDIES / "coastal-egg")


@pytest.fixture(scope="module")
def rig():
    return read_study(STUDIES / "heated-rig")


def problems(study):
    with pytest.raises(UserMistakes) as caught:
        check_sources(study)
    return [str(one) for one in caught.value.mistakes]


def test_an_untouched_outside_is_nought_exactly_in_every_flow_state(egg):
    found = check(egg)
    for name in ("outline.drag_change", "outline.pressure_centre_change"):
        value = found.metrics[name]
        assert value.low == value.expected == value.high == 0.0
        assert all(state.metrics[name] == 0.0 for state in found.states.values())


def test_a_design_of_a_sweep_is_compared_with_the_study_as_written(egg):
    found = assess(egg, design={"outline.tip_radius": "5 mm"}, searching=True)
    assert found.outside.touched
    assert found.metrics["outline.drag_change"].expected > 1e-3


def test_turning_more_of_the_same_outline_touches_nothing_outside(egg):
    assert not outside_of_study(egg.with_design({"outline.turned_length": "160 mm"})).touched


def test_a_given_outline_stays_what_designs_are_compared_with(egg):
    given = {"family": "von Karman", "diameter": "84 mm", "length": "420 mm", "tip_radius": "2 mm"}
    study = egg.with_design({"outline.given": given})
    assert outside_of_study(study).metrics["outline.drag_change"] > 0.0
    back = outside_of_study(study.with_design({"outline.tip_radius": "2 mm"}))
    assert not back.touched


@pytest.mark.parametrize(("exponent", "touched"), [(0.7, False), (0.6, True)])
def test_another_exponent_is_another_outside(egg, exponent, touched):
    power = {
        "family": "power",
        "exponent": 0.7,
        "diameter": "84 mm",
        "length": "420 mm",
        "tip_radius": "3 mm",
    }
    own = {"outline.family": "power", "outline.exponent": exponent}
    assert outside_of_study(egg.with_design({"outline.given": power, **own})).touched == touched


def test_a_given_outline_without_a_tip_radius_has_the_default_one(egg):
    given = {"family": "von Karman", "diameter": "84 mm", "length": "420 mm"}
    study = egg.with_design({"outline.given": given, "outline.tip_radius": "3.36 mm"})
    assert not outside_of_study(study).touched


def test_a_measured_outline_is_given_by_its_file(egg, tmp_path):
    (tmp_path / "old.csv").write_text(PROFILE)
    design = {"outline.given": {"profile": str(tmp_path / "old.csv"), "tip_radius": "3 mm"}}
    study = egg.with_design(design)
    assert study.files()["outline.given.profile"] == tmp_path / "old.csv"
    found = outside_of_study(study)
    assert found.touched
    assert any("84 mm wide and the given one 85." in line for line in found.warnings)


def test_without_masses_the_margin_is_missing_with_its_reason(egg):
    found = as_mapping(check(egg))
    for name in ("vehicle.static_margin_change", "vehicle.ballast"):
        assert found["metrics"][name]["expected"] is None
        assert "no masses" in found["metrics"][name]["reason"]
    assert found["outside"]["stability"] is None


def test_under_a_heating_table_there_is_no_wave_drag_and_the_rest_stays(rig):
    found = assess(rig.with_design(WEIGHED), design={"outline.tip_radius": "5 mm"}, searching=False)
    assert "outline.drag_change" not in found.metrics
    assert "no flight" in found.missing["outline.drag_change"]
    assert found.metrics["outline.pressure_centre_change"].expected > 0.0
    assert found.metrics["vehicle.static_margin_change"].expected < 0.0


def test_food_metrics_of_a_coupon_keep_their_own_reason():
    found = check(STUDIES / "polymer-coupon")
    assert "no food" in found.missing["sample.log_reduction"]
    assert "no masses" in found.missing["vehicle.ballast"]


def test_ballast_that_cannot_restore_the_margin_is_missing_with_its_reason(egg):
    found = check(egg.with_design({**WEIGHED, "vehicle.ballast_station": "1.5 m"}))
    assert "vehicle.ballast" not in found.metrics
    assert "restores" in found.missing["vehicle.ballast"]


def test_a_heavier_tip_needs_no_ballast(egg):
    found = outside_of_study(egg.with_design({**WEIGHED, "vehicle.replaced_mass": "50 g"}))
    assert found.metrics["vehicle.static_margin_change"] > 0.0
    assert found.metrics["vehicle.ballast"] == 0.0


def test_a_vehicle_that_is_not_stable_is_warned_of(egg):
    found = outside_of_study(egg.with_design({**WEIGHED, "vehicle.centre_of_pressure": "1.05 m"}))
    assert any("isn't stable" in line for line in found.warnings)


def test_a_joint_that_moves_with_the_nose_point_is_told_where_masses_are_weighed(egg):
    blunt = {"outline.tip_radius": "6 mm"}
    assert not outside_of_study(egg.with_design(blunt)).warnings
    (line,) = outside_of_study(egg.with_design({**WEIGHED, **blunt})).warnings
    assert line.startswith("nose point and aft end of the tip lie 11 mm further aft")
    assert not outside_of_study(egg.with_design(WEIGHED)).warnings


@pytest.mark.parametrize(("radius", "flagged"), [("1 mm", True), ("3 mm", False)])
def test_a_side_too_steep_for_the_flight_is_flagged_with_angle_and_mach(egg, radius, flagged):
    # a von Karman outline is steeper where a smaller sphere ends: 20.7 and 14.5 deg; Mach 1.2 holds 19.7
    study = egg.with_design({"outline.tip_radius": radius})
    tip = build_tip(study.tables, folder=study.folder, resolution=DEFAULT_RESOLUTION)
    flight = flight_of(study.tables.flight, folder=study.folder, diameter=0.084)
    slow = replace(flight, speed=flight.speed * 1.2 / flight.mach.max())
    found = outside_of(study.tables, folder=study.folder, tip=tip, flight=slow).warnings
    assert [line.startswith("a detached shock") for line in found] == [True] * flagged
    if flagged:
        assert "20.7 deg" in found[0]
        assert "Mach 1.20" in found[0]


def test_no_margin_can_be_sought_without_the_vehicles_masses(egg):
    study = egg.with_design({"limits": {"vehicle.static_margin_change": ">= -0.2"}})
    (line,) = problems(study)
    assert "the vehicle's masses aren't given" in line


def test_what_is_wrong_with_the_given_outline_is_said_at_its_place(egg):
    given = {"family": "von Karman", "diameter": "84 mm", "length": "420 mm", "tip_radius": "90 mm"}
    (line,) = problems(egg.with_design({"outline.given": given}))
    assert line.startswith("outline.given.tip_radius: a sphere of 90 mm")


def test_a_replaced_part_lies_in_the_given_nose(egg):
    (line,) = problems(egg.with_design({**WEIGHED, "vehicle.replaced_centre_of_mass": "0.6 m"}))
    assert line.startswith("vehicle.replaced_centre_of_mass: 600 mm lies aft")
