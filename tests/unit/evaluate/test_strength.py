"""The loads of a tip whose sample starts at a temperature of its own."""

from pathlib import Path

import numpy as np
import pytest

from optitip.errors import Outcome
from optitip.evaluate.assess import assess, check
from optitip.evaluate.building import build_tip
from optitip.evaluate.conditions import conditions_of
from optitip.evaluate.strength import margins_of, moments, shell_of
from optitip.evaluate.warming import heat_case
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.inputs.study import read_study
from optitip.solvers.march import march_together

COUPON = read_study(Path(__file__).parents[3] / "studies" / "polymer-coupon")
CHILLED = COUPON.with_design({"sample.pocket.air": "sealed", "sample.start_temperature": "-20 degC"})


@pytest.fixture(scope="module")
def flown():
    """Return the tip, its conditions, and what its margins are taken from."""
    tip = build_tip(CHILLED.tables, folder=CHILLED.folder, resolution=DEFAULT_RESOLUTION)
    conditions = conditions_of(CHILLED, tip)
    heating = conditions.heatings["turbulent"]
    case = heat_case(tip, conditions=conditions, heatings=[*conditions.heatings.values()], models={})
    history = march_together(case)[list(conditions.heatings).index("turbulent")]
    return tip, conditions, {"history": history, "heating": heating, "flight": conditions.flight}


def test_a_sealed_pocket_is_shut_at_its_samples_own_start(flown):
    tip, conditions, given = flown
    when = moments(tip, **given, sample_start=conditions.sample_start)
    mean = given["history"].temperature[:, tip.nodes_of("slab")].mean(axis=1)
    rise = mean[[one.index for one in when.instants]] / 253.15
    assert mean[0] == pytest.approx(253.15)
    assert rise.max() > 1.02
    assert when.pocket == pytest.approx(given["heating"].pressure[0].min() * rise)


def test_the_shell_is_free_of_stress_at_its_own_start(flown):
    tip, conditions, given = flown
    starts = {"start": conditions.start, "sample_start": conditions.sample_start}
    margins = margins_of(tip, shell_of(tip), **given, **starts)
    assert check(CHILLED).states["turbulent"].margins == margins
    assert all(np.isfinite(margin.value) for margin in margins)
    swapped = margins_of(tip, shell_of(tip), **given, start=conditions.start, sample_start=conditions.start)
    assert swapped != margins


def test_a_shut_moist_sample_that_cools_below_freezing_presses_with_the_triple_points_vapour_at_most():
    """Over ice there is no water to boil: the design has an answer, and no more pressure than at 0 degC."""
    egg = read_study(Path(__file__).parents[3] / "studies" / "coastal-egg")
    cold = {
        "sample.pocket.air": "sealed",
        "flight.start_temperature": "1 degC",
        "flight.site_temperature": "-20 degC",
        "flight.pad.wait": "2 h",
        "flight.pad.wind": "8 m/s",
    }
    found = assess(egg, design=cold, searching=True)
    assert found.outcome is Outcome.ANSWERED, found.detail
    assert found.metrics["sample.temperature_mean_lift_off"].expected < 270.0
