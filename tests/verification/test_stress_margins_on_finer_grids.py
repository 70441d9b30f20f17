"""The judged stress is that of grids two and three times as fine: on the shipped studies, on random designs.

What is compared is load over strength where a stress margin (yield, shakedown) is smallest; no margin is
given above its cap, so margins alone would hide a change there.
Tolerance: 3 % where the load is more than 0.15 of the strength (a margin below 5.7), 6 % below that.
"""

from pathlib import Path

import numpy as np
import pytest

from optitip.evaluate.assess import assess
from optitip.geometry.topology import Resolution
from optitip.inputs.study import read_study

STUDIES = Path(__file__).parents[2] / "studies"
STRESS = ("margin.yield", "margin.shakedown")


def load_over_strength(study, *, design=None, finer=1):
    found = assess(study, design=design or {}, searching=True, resolution=Resolution().refined(finer))
    assert not found.detail, found.detail
    judged = [one for state in found.states.values() for one in state.margins if one.name in STRESS]
    used = max(one.figures[0][0] / one.figures[1][0] for one in judged)
    return study.tables.strength.safety_factor * used


def assert_near(usual, finer):
    assert usual == pytest.approx(finer, rel=0.03 if usual > 0.15 else 0.06)


@pytest.mark.parametrize("name", ["coastal-egg", "heated-rig", "polymer-coupon", "upland-potato"])
def test_a_shipped_study_has_the_stress_of_finer_grids(name):
    study = read_study(STUDIES / name)
    usual = load_over_strength(study)
    assert_near(usual, load_over_strength(study, finer=2))
    assert_near(usual, load_over_strength(study, finer=3))


def drawn(study, *, seed, count):
    """Return random designs over all that the study's sweep leaves free."""
    draw, sweep = np.random.default_rng(seed), study.tables.sweep
    for _ in range(count):
        design = {}
        for key, ends in sweep.free.items():
            low, high = (float(str(end).split()[0]) for end in ends)
            design[key] = f"{draw.uniform(low, high):.5g} mm"
        yield design | {key: str(draw.choice(list(options))) for key, options in sweep.choices.items()}


@pytest.mark.parametrize("seed", range(3))
def test_random_designs_have_the_stress_of_a_finer_grid(seed):
    study = read_study(STUDIES / "coastal-egg")
    for design in drawn(study, seed=seed, count=4):
        assert_near(
            load_over_strength(study, design=design), load_over_strength(study, design=design, finer=2)
        )
