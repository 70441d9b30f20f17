"""Where the layer never reaches its onset, a transitional state is the laminar one, to the last bit."""

from pathlib import Path

import numpy as np

from optitip.evaluate.assess import assess
from optitip.evaluate.building import build_tip
from optitip.evaluate.conditions import conditions_of
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.inputs.study import read_study

STUDY = Path(__file__).parents[2] / "studies" / "coastal-egg"
NEVER = {f"flow.{which}_onset": 1e9 for which in ("low", "expected", "high")}


def test_film_and_recovery_are_the_laminar_ones():
    study = read_study(STUDY).with_design(NEVER)
    tip = build_tip(study.tables, folder=study.folder, resolution=DEFAULT_RESOLUTION)
    heatings = conditions_of(study, tip).heatings
    laminar, never = heatings["laminar"], heatings["onset at 1e9"]
    assert np.array_equal(never.film, laminar.film)
    assert np.array_equal(never.recovery, laminar.recovery)
    assert (never.turbulent == 0.0).all()


def test_so_is_every_metric_of_the_run():
    states = assess(read_study(STUDY), design=NEVER, searching=False).states
    laminar, never, turbulent = (states[name].metrics for name in ("laminar", "onset at 1e9", "turbulent"))
    assert never == laminar
    assert turbulent["sample.energy_peak"] > 2.0 * laminar["sample.energy_peak"]
