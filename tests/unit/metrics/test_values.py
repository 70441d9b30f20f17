import math

import pytest

from optitip.errors import Outcome
from optitip.metrics.values import Bracketed, Evaluation, sides_text


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_a_metric_that_is_not_finite_is_refused(bad):
    with pytest.raises(ValueError, match="finite"):
        Bracketed(unit="J", low=0.0, expected=0.0, high=bad)


def test_a_bracket_whose_expected_value_lies_outside_is_refused():
    with pytest.raises(ValueError, match="low over expected to high"):
        Bracketed(unit="J", low=1.0, expected=0.5, high=2.0)


def test_a_failed_design_can_not_carry_metrics():
    with pytest.raises(ValueError, match="contradict"):
        Evaluation(outcome=Outcome.MESH_FOLDED, metrics={})


def test_an_answered_design_must_carry_metrics():
    with pytest.raises(ValueError, match="contradict"):
        Evaluation(outcome=Outcome.ANSWERED)


def test_the_states_of_several_designs_are_named_once_each_and_those_that_agree_not_at_all():
    figures = {"unit": "J", "low": 1.0, "expected": 2.0, "high": 3.0}
    one = Bracketed(**figures, low_state="laminar", high_state="turbulent")
    other = Bracketed(**figures, low_state="laminar", high_state="onset at 5e5")
    same = Bracketed(unit="J", low=2.0, expected=2.0, high=2.0)
    assert sides_text([one, same, other, one]) == "low from laminar, high from turbulent or onset at 5e5"
    assert sides_text([same]) == ""
