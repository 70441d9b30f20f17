import math

import pytest

from optitip.errors import Outcome
from optitip.metrics.values import Bracketed, Evaluation


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
