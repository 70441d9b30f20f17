"""The stress beside scikit-fem's: the same movements, as much faster as the record beside this file says."""

import tomllib
from pathlib import Path

import numpy as np
import pytest
from measuring import side_by_side
from stressed import ScikitFem, loads_at, shell_tip, stressed

RECORD = tomllib.loads((Path(__file__).parent / "recorded.toml").read_text(encoding="utf-8"))


@pytest.fixture(scope="module")
def ready():
    tip = shell_tip()
    return tip, ScikitFem(tip), loads_at(tip, instants=6)


def test_both_find_the_same_movements(ready):
    tip, rival, loads = ready
    theirs = rival.movements(loads)
    body, fields = rival.body, stressed(tip, loads, compiled=False)
    shell = np.flatnonzero(body.cells.moving_of >= 0)
    number = body.plan.number[body.cells.moving_of[shell]]
    free = number < body.plan.free_count
    for case, ours in enumerate((fields.primary_movement, fields.total_movement)):
        expected = theirs[:, number[free], case]
        assert np.abs(ours[:, shell][:, free] - expected).max() < 1e-9 * np.abs(expected).max()


def test_the_ratio_to_scikit_fem_is_more_than_half_the_recorded_one(ready):
    tip, rival, loads = ready
    runs = {"ours": lambda: stressed(tip, loads, compiled=False), "theirs": lambda: rival.movements(loads)}
    # a busy machine slows the one or the other at times: a third try that is fast enough shows it can be
    ratios = []
    while len(ratios) < 3 and max(ratios, default=0.0) <= 0.5 * RECORD["ratio_to_scikit_fem"]:
        times = side_by_side(runs, repeats=8)
        ratios.append(times["theirs"] / times["ours"])
    assert max(ratios) > 0.5 * RECORD["ratio_to_scikit_fem"], ratios
