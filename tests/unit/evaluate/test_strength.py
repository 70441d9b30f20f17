"""The margins of a tip from one march, and the instants and loads they are judged at."""

import itertools
from pathlib import Path

import numpy as np
import pytest

from optitip.errors import Outcome
from optitip.evaluate.assess import assess, check
from optitip.evaluate.bent import bent
from optitip.evaluate.breathing import ambient_pressure, pocket_pressure
from optitip.evaluate.building import build_tip
from optitip.evaluate.conditions import conditions_of
from optitip.evaluate.moments import _peaks, moments_of
from optitip.evaluate.shell import shell_of
from optitip.evaluate.strength import bent_wall, judged, stress_loads
from optitip.evaluate.warming import heat_case
from optitip.evaluate.weights import weights_of
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.inputs.study import read_study
from optitip.metrics.wall_margins import standing, stress_ranges
from optitip.properties.water import vapour_pressure
from optitip.solvers.elastic import StressLoads, solve_stress
from optitip.solvers.elastic_lines import wall_stress
from optitip.solvers.march import march_together

STUDIES = Path(__file__).parents[3] / "studies"
COUPON = read_study(STUDIES / "polymer-coupon")
EGG = read_study(STUDIES / "coastal-egg")
CHILLED = COUPON.with_design({"sample.pocket.air": "sealed", "sample.start_temperature": "-20 degC"})


class Flown:
    """One study marched in its turbulent state, and what its margins are taken from."""

    def __init__(self, study):
        self.folder = study.folder
        self.tip = build_tip(study.tables, folder=study.folder, resolution=DEFAULT_RESOLUTION)
        self.conditions = conditions_of(study, self.tip)
        self.heating = self.conditions.heatings["turbulent"]
        case = heat_case(
            self.tip, conditions=self.conditions, heatings=[*self.conditions.heatings.values()], models={}
        )
        number = list(self.conditions.heatings).index("turbulent")
        self.history = march_together(case)[number]
        self.flight = self.conditions.flight
        self.slab_volume = weights_of(self.tip).slab_volume
        self.ambient = ambient_pressure(self.history.time, heating=self.heating, flight=self.flight)

    def pocket(self):
        return pocket_pressure(
            self.tip,
            history=self.history,
            ambient=self.ambient,
            flight=self.flight,
            slab_volume=self.slab_volume,
        )

    def moments(self):
        return moments_of(
            self.tip,
            history=self.history,
            heating=self.heating,
            flight=self.flight,
            ambient=self.ambient,
            pocket=self.pocket(),
        )

    def judged(self, **changes):
        [found] = self.judged_all([self.history], [self.heating], **changes)
        return found

    def judged_all(self, histories, heatings, **changes):
        given = {
            "histories": histories,
            "heatings": heatings,
            "flight": self.flight,
            "start": self.conditions.start,
            "weights": weights_of(self.tip),
            "folder": self.folder,
        }
        return judged(self.tip, shell_of(self.tip), **given | changes)


@pytest.fixture(scope="module")
def chilled():
    return Flown(CHILLED)


@pytest.fixture(scope="module")
def egg():
    return Flown(EGG)


def test_a_sealed_pocket_holds_the_air_shut_in_and_warms_it(chilled):
    air = chilled.history.pocket
    assert chilled.pocket() == pytest.approx(chilled.ambient[0] * air / air[0])
    assert chilled.pocket().max() > 1.02 * chilled.ambient[0]


def test_a_moist_sample_adds_the_vapour_of_its_hottest_face():
    sealed = Flown(EGG.with_design({"sample.pocket.air": "sealed"}))
    air, hottest = (
        sealed.history.pocket,
        sealed.history.temperature[:, sealed.tip.nodes_of("slab")].max(axis=1),
    )
    expected = sealed.ambient[0] * air / air[0] + vapour_pressure(hottest)
    assert sealed.pocket() == pytest.approx(expected)


def test_an_open_pocket_has_the_pressure_outside_and_a_vented_one_lags_it_by_its_hole(egg):
    opened = Flown(EGG.with_design({"sample.pocket.air": "open"}))
    assert opened.pocket() == pytest.approx(opened.ambient)
    narrow = Flown(EGG.with_design({"sample.pocket.vent": "0.2 mm"}))
    behind, little = ((one.pocket() - one.ambient).max() for one in (narrow, egg))
    assert 0.0 < little < 200.0 < behind < 1e5


def test_the_walls_are_judged_when_something_is_at_its_worst(egg):
    when = egg.moments()
    names = {name for one in when.instants for name in one.names}
    assert names == {
        "in the hand",
        "highest acceleration",
        "hardest braking",
        "highest dynamic pressure",
        "burnout",
        "hottest metal",
        "steepest through the wall",
        "steepest along the wall",
        "highest pocket pressure",
        "ejection",
        "end of soak",
    }
    assert np.all(np.diff(when.time) > 0.0)
    hottest = when.temperature[when.places("hottest metal")[0]].max()
    assert hottest == pytest.approx(egg.history.temperature.max(), abs=0.5)
    assert np.ptp(when.temperature[when.places("in the hand")[0]]) < 1e-9


def test_steepest_along_the_wall_is_a_slope_and_no_rise(egg):
    """Rows lie 0.4 to 4.8 mm apart, so that the largest rise from one to the next is elsewhere."""
    mesh, cavity = egg.tip.mesh, egg.tip.cavity
    low, high = cavity.band_arc[0] - cavity.design.fore_taper - 1e-6, cavity.base_arc + 1e-6
    rows = [row for row, arc in enumerate(mesh.outer_arc) if low <= arc <= high]
    middle = egg.history.temperature[:, mesh.rows[rows][:, [0, -1]]].mean(axis=2)
    slopes = [
        np.abs(middle[:, i + 1] - middle[:, i]) / (mesh.outer_arc[aft] - mesh.outer_arc[fore])
        for i, (fore, aft) in enumerate(itertools.pairwise(rows))
        if mesh.outer_arc[aft] > mesh.outer_arc[fore]
    ]
    peaks = _peaks(egg.tip, egg.history, overpressure=egg.ambient)
    assert peaks["steepest along the wall"] == pytest.approx(np.max(slopes, axis=0))


def test_each_load_acts_at_its_own_instants_alone(egg):
    when = egg.moments()
    [hand], [eject], [soaked], [push] = (
        when.places(name) for name in ("in the hand", "ejection", "end of soak", "highest acceleration")
    )
    assert when.nose_force[[hand, soaked]].tolist() == [100.0, 100.0]
    assert np.count_nonzero(when.nose_force) == 2
    assert when.acceleration[eject] == pytest.approx(-20.0 * 9.80665)
    assert when.acceleration[push] == pytest.approx(egg.flight.axial_acceleration.max())
    [brake] = when.places("hardest braking")
    climb = (egg.flight.time > 0.0) & (egg.flight.time <= egg.flight.events["apogee"])
    assert when.acceleration[brake] == egg.flight.axial_acceleration[climb].min() < -100.0
    flying = (when.time > 0.0) & (when.time <= egg.flight.events["apogee"])
    assert np.all((when.lateral > 0.0) == flying)
    assert np.all(when.incidence[~flying] == 0.0)
    [pressing] = when.places("highest dynamic pressure")
    speed = np.interp(when.time[pressing], egg.flight.time, egg.flight.speed)
    assert when.incidence[pressing] == pytest.approx(np.arctan(10.0 / speed))


def test_a_landing_on_the_tip_is_judged_where_the_study_gives_its_load():
    landed = Flown(EGG.with_design({"strength.landing_load": "300 N"})).moments()
    [touch] = landed.places("landing")
    assert landed.nose_force[touch] == 300.0


def test_pressures_count_from_the_air_at_rest_outside(chilled):
    when = chilled.moments()
    loads = stress_loads(chilled.tip, when, start=chilled.conditions.start)
    assert loads.inner_pressure[:, 0] == pytest.approx(when.pocket - when.ambient)
    [hand] = when.places("in the hand")
    assert np.abs(loads.outline_pressure[hand]).max() < 1.0


def test_the_bending_at_the_base_is_that_of_the_nose_force_and_of_all_the_mass_ahead(egg):
    shell, when = shell_of(egg.tip), egg.moments()
    end = egg.tip.outline.turned_length
    [hand] = when.places("in the hand")
    bending = bent(shell, when)
    assert bending.at(np.array([0.5 * end, end]))[hand] == pytest.approx([50.0 * end, 100.0 * end])
    weights = weights_of(egg.tip)
    mass = weights.shell["shell.mass"] + weights.slab_mass
    assert shell.sections.mass[-1] == pytest.approx(mass)
    [push] = when.places("burnout")
    lever = end - shell.sections.centre[-1]
    air = 2.0 * when.dynamic_pressure[push] * when.incidence[push] * shell.sections.volume[-1]
    assert bending.at(np.array([end]))[push] == pytest.approx(50.0 * mass * lever + air)


def test_bending_is_least_on_the_inner_face_and_a_clamp_presses_both_alike(egg):
    shell, when = shell_of(egg.tip), egg.moments()
    loads = stress_loads(egg.tip, when, start=egg.conditions.start)
    wall = wall_stress(shell.body, loads=loads, fields=solve_stress(shell.body, loads=loads))
    bending, none = bent(shell, when), np.zeros(len(when.instants))
    alone, clamped = (bent_wall(bending, wall, clamp) for clamp in (none, none + 1e3))
    [hand] = when.places("in the hand")
    line = int(np.argmin(np.abs(wall.axial - 0.09)))
    outer, inner = wall.place[line, :, 0]
    second = 0.25 * np.pi * (outer**4 - inner**4)
    fibre = 100.0 * wall.axial[line] * outer / second
    assert alone[hand, line] == pytest.approx([fibre, fibre * inner / outer], rel=2e-3)
    pressed = 1e3 / (np.pi * (outer**2 - inner**2))
    assert clamped[hand, line] - alone[hand, line] == pytest.approx([pressed, pressed], rel=2e-3)
    assert np.all(alone[:, wall.axial < wall.place[:, 0, 0] - 1e-4] == 0.0)


def test_of_two_threaded_parts_the_weaker_thread_counts():
    both = {
        "tip.plug.insert": "20 mm",
        "tip.plug.material": "304",
        "tip.plug.fixing": {"thread": "M6", "engagement": "0.2 mm"},
    }
    found = assess(EGG, design=both, searching=True)
    [one] = [one for one in found.expected.margins if one.name == "margin.thread"]
    assert one.part == "joint of the plug"
    assert found.metrics["margin.thread"].expected == one.value


def test_a_check_gives_these_margins_and_the_smallest_of_them(egg):
    margins = egg.judged().margins
    checked = check(EGG).states["turbulent"].margins
    # six states at once and one alone: other blocks of sums, so other last digits
    assert [one.value for one in checked] == pytest.approx([one.value for one in margins], rel=1e-9)
    assert [(one.name, one.part, one.time) for one in checked] == [
        (one.name, one.part, one.time) for one in margins
    ]
    counted = [one.value for one in margins[:-1] if one.name != "margin.shakedown"]
    assert margins[-1].value == min(counted)


def test_flow_states_judged_together_have_the_margins_of_each_alone(egg):
    names = ("laminar", "turbulent")
    heatings = [egg.conditions.heatings[name] for name in names]
    histories = march_together(heat_case(egg.tip, conditions=egg.conditions, heatings=heatings, models={}))
    together = egg.judged_all(histories, heatings)
    for both, history, heating in zip(together, histories, heatings, strict=True):
        [alone] = egg.judged_all([history], [heating])
        assert both.moments.names == alone.moments.names
        for one, other in zip(both.margins, alone.margins, strict=True):
            assert one.value == pytest.approx(other.value, rel=1e-9)
            assert (one.name, one.part, one.time) == (other.name, other.part, other.time)
    assert together[0].margins != together[1].margins


def test_yielding_to_and_fro_counts_for_a_tip_that_flies_again():
    hot = Flown(EGG.with_design({"tip.material": "304", "strength.factors.shakedown": 4.0}))
    once = hot.judged()
    [told] = [one for one in once.margins if one.name == "margin.shakedown"]
    assert told.value < min(one.value for one in once.margins if one.name != "margin.shakedown")
    again = Flown(
        EGG.with_design({"tip.material": "304", "strength.factors.shakedown": 4.0, "strength.flights": 3})
    ).judged()
    assert again.margins[-1].value == told.value


def test_the_shell_is_free_of_stress_at_its_own_start(chilled):
    warmer = chilled.judged(start=chilled.conditions.start + 30.0)
    assert warmer.margins != chilled.judged().margins
    assert all(np.isfinite(margin.value) for margin in warmer.margins)


def test_stress_ranges_start_from_parts_that_press_on_each_other():
    """Put together with an interference and left alone, the shell's whole stress is that it starts with."""
    pressed = EGG.with_design({"tip.base.fit": "0.02 mm"})
    tip = build_tip(pressed.tables, folder=pressed.folder, resolution=DEFAULT_RESOLUTION)
    shell, rows = shell_of(tip), len(tip.mesh.outer)
    alone = StressLoads(
        temperature=np.full((1, len(tip.mesh.points)), 291.15),
        start_temperature=291.15,
        acceleration=np.zeros(1),
        outline_pressure=np.zeros((1, rows)),
        inner_pressure=np.zeros((1, rows)),
    )
    wall = wall_stress(shell.body, loads=alone, fields=solve_stress(shell.body, loads=alone))
    largest = np.abs(wall.assembled).max()
    assert largest > 10e6
    assert np.abs(wall.total[0] - wall.assembled).max() < 1e-6 * largest
    ranges = stress_ranges(wall, standing(wall, materials=shell.elastic))
    together = ranges.first >= -1  # not from the parts apart
    assert ranges.load[together].max() < 1e-6 * largest < 1e-2 * ranges.load[~together].max()


def test_a_shut_moist_sample_that_cools_below_freezing_presses_with_the_triple_points_vapour_at_most():
    """Over ice there is no water to boil: the design has an answer, and no more pressure than at 0 degC."""
    cold = {
        "sample.pocket.air": "sealed",
        "flight.start_temperature": "1 degC",
        "flight.site_temperature": "-20 degC",
        "flight.pad.wait": "2 h",
        "flight.pad.wind": "8 m/s",
    }
    found = assess(EGG, design=cold, searching=True)
    assert found.outcome is Outcome.ANSWERED, found.detail
    assert found.metrics["sample.temperature_mean_lift_off"].expected < 270.0


def test_in_the_hand_nothing_pushes_along_the_axis(egg):
    """The motor isn't lit: its thrust, already there when the flight's clock starts, acts from then on."""
    when = egg.moments()
    [first] = when.places("in the hand")
    [hardest] = when.places("highest acceleration")
    assert when.acceleration[first] == 0.0
    assert when.nose_force[first] == 100.0
    assert when.acceleration[hardest] == egg.flight.axial_acceleration.max()
