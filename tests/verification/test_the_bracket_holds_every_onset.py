"""The bracket told with a result holds the energy at every onset in between, beyond and below its own.

The energy isn't monotone in the onset, so that it takes the state that is turbulent only while heating.
"""

from functools import cache
from pathlib import Path

import numpy as np
import pytest

from optitip.evaluate.assess import assess
from optitip.inputs.study import read_study

STUDIES = Path(__file__).parents[2] / "studies"
ONSETS = np.geomspace(5e5, 5e6, 13).round()


@cache
def told(name):
    """Return low, expected and high of the peak energy, and the energy at each onset."""
    study = read_study(STUDIES / name)
    energies = []
    for onset in ONSETS.tolist():
        design = {
            "flow.low_onset": min(onset, 5e5),
            "flow.expected_onset": onset,
            "flow.high_onset": max(onset, 2e6),
        }
        answer = assess(study, design=design, searching=True)
        energies.append(answer.metrics["sample.energy_peak"].expected)
    return assess(study, design={}, searching=False).metrics["sample.energy_peak"], np.array(energies)


@pytest.mark.parametrize("name", ["coastal-egg", "polymer-coupon"])
def test_the_peak_energy_at_each_of_thirteen_onsets_lies_in_the_bracket(name):
    bracket, energies = told(name)
    assert np.unique(energies).size == ONSETS.size
    assert (energies <= bracket.high).all()
    assert (energies >= bracket.low).all()
