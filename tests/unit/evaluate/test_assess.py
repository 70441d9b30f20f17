from pathlib import Path

import numpy as np
import pytest

from optitip.errors import Outcome, UserMistakes
from optitip.evaluate.assess import CONDENSING, assess, assess_many, check
from optitip.evaluate.assessment import LimitResult
from optitip.evaluate.building import build_tip
from optitip.evaluate.warming import smear
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.inputs.study import read_study
from optitip.metrics.goals import Limit, Sense
from optitip.metrics.registry import LABELS, MEANINGS, UNITS

STUDIES = Path(__file__).parents[3] / "studies"
ENERGY, AREA, MASS = "sample.energy_peak", "sample.energy_peak_per_area", "shell.mass"


@pytest.fixture(scope="module")
def egg():
    return read_study(STUDIES / "coastal-egg")


@pytest.fixture(scope="module")
def answered(egg):
    return check(egg)


def expected(study, metric=ENERGY, **design):
    keys = {key.replace("__", "."): value for key, value in design.items()}
    found = assess(study, design=keys, searching=True)
    assert found.outcome is Outcome.ANSWERED, found.detail
    return found.metrics[metric].expected


def test_every_metric_has_a_value_or_a_reason(answered):
    assert set(answered.metrics) | set(answered.missing) == set(UNITS)
    assert set(answered.metrics) <= set(UNITS)
    assert set(LABELS) == set(UNITS) == set(MEANINGS)


def test_the_bracket_is_the_least_and_most_of_the_states(answered):
    values = [state.metrics[ENERGY] for state in answered.states.values()]
    assert answered.metrics[ENERGY].low == min(values)
    assert answered.metrics[ENERGY].high == max(values)
    assert answered.metrics[ENERGY].expected == answered.expected.metrics[ENERGY]
    low, high = answered.extremes(ENERGY)
    assert answered.states[low].metrics[ENERGY] == min(values)
    assert answered.states[high].metrics[ENERGY] == max(values)


def test_the_state_that_is_turbulent_only_while_heating_brings_the_most(answered):
    assert answered.extremes(ENERGY) == ("laminar", "turbulent while heating")


def test_a_search_gives_the_same_figures_for_the_states_it_runs(egg, answered):
    few = assess(egg, design={}, searching=True)
    for name, state in few.states.items():
        assert state.metrics[ENERGY] == pytest.approx(answered.states[name].metrics[ENERGY], rel=1e-12)


def test_the_heat_balance_closes_in_each_state(answered):
    assert all(abs(state.balance) < 1e-3 for state in answered.states.values())


def test_the_mass_of_the_shell_is_its_volume_times_its_density(egg, answered):
    tip = build_tip(egg.tables, folder=egg.folder, resolution=DEFAULT_RESOLUTION)
    cells = np.concatenate([tip.cells_of(part) for part in ("plug", "band", "base")])
    assert answered.metrics[MASS].expected == pytest.approx(2700.0 * tip.cell_volume[cells].sum(), rel=1e-9)


def test_a_better_joint_brings_more_and_no_joint_nothing(egg):
    still = {"sample__pocket__film": "0 W/(m2 K)"}
    energies = [
        expected(egg, sample__joint__conductance=f"{h} W/(m2 K)", **still) for h in (0.01, 100, 400, 5000)
    ]
    assert energies == sorted(energies)
    # what is left is what the hot walls radiate
    assert energies[0] < 1e-2 * energies[-1]


def test_the_air_shut_in_brings_some_heat_round_the_slab_to_its_back(egg):
    still, usual, brisk = (expected(egg, sample__pocket__film=f"{film} W/(m2 K)") for film in (0, 5, 20))
    assert still < usual < brisk < 1.05 * still


def test_vapour_that_condenses_behind_widens_the_bracket_of_a_slab_that_boils(egg):
    thin = {"sample.slab.thickness": "1 mm", "sample.joint.conductance": "2000 W/(m2 K)"}
    boiling = check(egg.with_design(thin))
    *flow, last = boiling.states.values()
    assert last.name == flow[-1].name + CONDENSING
    assert last.metrics[ENERGY] > 1.01 * flow[-1].metrics[ENERGY]
    assert boiling.metrics[ENERGY].high == last.metrics[ENERGY]
    assert abs(last.balance) < 1e-3
    backed = thin | {"sample.backing.material": "still-air", "sample.backing.thickness": "2 mm"}
    assert not any(name.endswith(CONDENSING) for name in check(egg.with_design(backed)).states)


def test_a_batch_of_designs_is_what_each_is_alone_and_a_bad_one_harms_no_other(egg):
    designs = [{"sample.slab.thickness": "2 mm"}, {"tip.band.thickness": "40 mm"}, {"tip.material": "304"}]
    many = assess_many(egg, designs=designs, searching=True)
    assert [one.outcome is Outcome.ANSWERED for one in many] == [True, False, True]
    for one, design in zip(many, designs, strict=True):
        alone = assess(egg, design=design, searching=True)
        assert (one.outcome, one.detail, one.place) == (alone.outcome, alone.detail, alone.place)
        assert one.metrics.keys() == alone.metrics.keys()
        for name, value in one.metrics.items():
            assert value.expected == pytest.approx(alone.metrics[name].expected, rel=1e-7)


def test_a_captive_ring_takes_up_less_than_a_pressed_one(egg):
    loss = 1.0 - expected(egg, sample__joint__kind="captive") / expected(egg)
    assert 0.03 < loss < 0.45


def test_paint_takes_heat_from_the_wall(egg):
    painted = {"tip__coating__thickness": "0.1 mm"}
    assert expected(egg, **painted) < expected(egg)
    assert expected(egg, "band.temperature_peak", **painted) < expected(egg, "band.temperature_peak") - 10.0


def test_a_strip_takes_more_on_its_area_than_a_ring_and_less_in_all(egg):
    strip = {"sample__slab__share": 0.1}
    assert expected(egg, **strip) < 0.2 * expected(egg)
    assert expected(egg, AREA, **strip) > expected(egg, AREA)


def test_the_smear_factor_is_one_for_a_ring_and_between_share_and_one_for_a_strip(egg):
    def factor(share):
        study = egg.with_design({"sample.slab.share": share})
        tip = build_tip(study.tables, folder=study.folder, resolution=DEFAULT_RESOLUTION)
        return smear(tip, film=500.0)

    assert factor(1.0) == 1.0
    assert 0.1 < factor(0.1) < 1.0


def test_a_slab_in_a_shell_that_comes_down_sheltered_keeps_more(egg):
    kept = expected(egg, "sample.energy_landing", flight__descent__attitude="inside")
    assert kept > expected(egg, "sample.energy_landing")


def test_a_sealed_pocket_presses_harder_than_a_vented_one(egg):
    vented = expected(egg, "margin.yield", strength__safety_factor=50)
    sealed = expected(egg, "margin.yield", strength__safety_factor=50, sample__pocket__air="sealed")
    assert sealed < vented


def test_in_a_sealed_pocket_nothing_boils(egg):
    # a hot thin wall bonded to the slab, so that a vented one dries at its face
    hot = {"sample__joint__conductance": "1e5 W/(m2 K)", "tip__band__thickness": "0.8 mm"}
    hottest = "sample.temperature_hottest_peak"
    vented, sealed = (expected(egg, hottest, sample__pocket__air=air, **hot) for air in ("vented", "sealed"))
    assert sealed > vented + 1.0


def test_a_backing_takes_heat_from_the_slab(egg):
    metal = {"sample__backing__material": "C110", "sample__backing__thickness": "2 mm"}
    coldest = "sample.temperature_coldest_peak"
    assert expected(egg, coldest, **metal) < expected(egg, coldest)


def test_an_insulating_insert_runs_hot_and_spares_the_plug(egg):
    insert = {"tip__plug__insert": "25 mm", "tip__plug__material": "glass-phenolic"}
    hot = assess(egg, design={k.replace("__", "."): v for k, v in insert.items()}, searching=True)
    assert hot.metrics["plug.temperature_peak"].expected > expected(egg, "plug.temperature_peak")


def test_a_design_that_cannot_be_built_is_an_outcome_with_its_place(egg):
    found = assess(egg, design={"tip.band.length": "200 mm"}, searching=True)
    assert found.outcome is Outcome.TIP_TOO_SHORT
    assert found.place
    assert "mm" in found.detail
    assert not found.metrics


def test_a_sphere_wider_than_the_outline_is_an_outcome_in_a_search_and_a_mistake_alone(egg):
    design = {"outline.tip_radius": "60 mm"}
    assert assess(egg, design=design, searching=True).outcome is Outcome.NOT_A_STUDY
    with pytest.raises(UserMistakes):
        check(egg.with_design(design))


def test_a_part_above_the_figures_of_its_material_is_warned_of():
    rig = read_study(STUDIES / "heated-rig")
    insert = {
        "tip.plug.insert": "20 mm",
        "tip.plug.material": "epoxy-room-cure",
        "tip.plug.joint": "50 W/(m2 K)",
    }
    hot = assess(rig, design=insert, searching=False)
    assert any("the plug (epoxy-room-cure)" in warning for warning in hot.warnings)
    assert not any("plug" in warning for warning in assess(rig, design={}, searching=False).warnings)


def test_a_heating_table_is_one_state_of_its_own():
    rig = check(STUDIES / "heated-rig")
    assert list(rig.states) == ["heating table"]
    value = rig.metrics[ENERGY]
    assert value.low == value.expected == value.high


def test_each_metric_names_the_flow_states_of_its_low_and_high_and_none_where_all_agree(answered):
    for name, metric in answered.metrics.items():
        if metric.low < metric.high:
            assert answered.states[metric.low_state].metrics[name] == metric.low
            assert answered.states[metric.high_state].metrics[name] == metric.high
        else:
            assert (metric.low_state, metric.high_state) == ("", "")
    assert answered.metrics["sample.energy_peak"].low_state == "laminar"


def test_a_limit_names_the_flow_state_that_is_its_worst(answered):
    value = answered.metrics["sample.energy_peak"]
    for sense, state in ((Sense.AT_LEAST, value.low_state), (Sense.AT_MOST, value.high_state)):
        limit = Limit(metric="sample.energy_peak", sense=sense, value=1.0)
        assert LimitResult(limit=limit, value=value).worst_state == state
