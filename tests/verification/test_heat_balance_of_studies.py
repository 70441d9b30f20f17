"""Every study in every flow state: what the nodes gained is what crossed the borders, by both accounts.

The first account is the march's own sum over its stages and closes to round-off. The second integrates the
flux afresh along the temperatures and closes as far as these are those of the march between its steps.
"""

from pathlib import Path

import pytest

from optitip.evaluate.building import build_tip
from optitip.evaluate.conditions import conditions_of
from optitip.evaluate.warming import heat_case
from optitip.geometry.mesh import DEFAULT_RESOLUTION
from optitip.inputs.study import read_study
from optitip.solvers.march import march_together
from optitip.solvers.system import HeatSystem

STUDIES = Path(__file__).parents[2] / "studies"
NAMES = sorted(path.parent.name for path in STUDIES.glob("*/study.toml"))


def _histories(name):
    study = read_study(STUDIES / name)
    tip = build_tip(study.tables, folder=study.folder, resolution=DEFAULT_RESOLUTION)
    conditions = conditions_of(study, tip)
    heatings = conditions.heatings
    case = heat_case(tip, conditions=conditions, heatings=list(heatings.values()), models={})
    return dict(zip(heatings, march_together(case), strict=True))


@pytest.mark.parametrize("name", NAMES)
def test_both_accounts_of_the_heat_close_in_every_flow_state(name):
    histories = _histories(name)
    assert max(abs(one.closure) for one in histories.values()) < 1e-12
    assert max(abs(one.balance) for one in histories.values()) < 1e-4


@pytest.mark.parametrize("name", NAMES)
def test_a_hundredth_of_the_joints_heat_lost_shows_in_both_accounts(name, monkeypatch):
    tight, whole = _histories(name), HeatSystem.rate_at

    def leaking(self, places, **given):
        rate = whole(self, places, **given)
        passed = self.joints.passed(places.first, second=places.second)
        # bonded pairs hardly differ in temperature: whichever way their heat goes is a matter of round-off
        rate[:, self.joints.second] -= 0.01 * abs(passed) * (self.joints.conductance < 1e6)
        return rate

    monkeypatch.setattr(HeatSystem, "rate_at", leaking)
    for state, leaky in _histories(name).items():
        assert leaky.closure < -1.5e-4
        assert leaky.balance < -1e-4
        assert leaky.balance - leaky.closure == pytest.approx(tight[state].balance, abs=5e-5)
