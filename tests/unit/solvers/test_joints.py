from dataclasses import replace

import numpy as np
import pytest

from optitip.solvers.joints import joint_table
from optitip.solvers.layout import joint_ends, layout_of


@pytest.fixture
def captive(column, solid):
    z = np.linspace(0.0, 1e-3, 2)
    layers = (z, solid(20.0, heat_capacity=2e6)), (1e-3 + z, solid(0.5, heat_capacity=4e6))
    return column(*layers, joints=[400.0], gap_rate=1e-7, gap_reference=320.0).body


def _table(body):
    return joint_table(body, layout=layout_of(body))


def _passed(table, *, first, second):
    return table.passed(np.full(2, first), second=np.full(2, second))


def test_an_open_gap_stands_in_series_with_the_joint(captive):
    resistance = 1.0 / 400.0 + 1e-7 * 100.0 / 0.026
    share = np.array([1.0, 2.0]) / 3.0
    assert _passed(_table(captive), first=420.0, second=310.0) == pytest.approx(share * 110.0 / resistance)


def test_a_joint_colder_than_its_reference_is_pressed(captive):
    passed = _passed(_table(captive), first=319.0, second=300.0)
    assert passed.sum() == pytest.approx(400.0 * 19.0)


def test_a_captive_joint_of_zero_conductance_passes_nothing(captive):
    closed = replace(captive.joints[0], conductance=np.zeros(2))
    table = _table(replace(captive, joints=(closed,)))
    assert not _passed(table, first=500.0, second=300.0).any()


def test_the_slope_is_the_mean_of_the_slopes_to_both_ends(captive):
    table, step = _table(captive), 1e-4
    hot = _passed(table, first=420.0 + step, second=310.0)
    cold = _passed(table, first=420.0, second=310.0 + step)
    slope = table.slope(np.full(2, 420.0), second=np.full(2, 310.0))
    assert slope == pytest.approx(0.5 * (hot - cold) / step, rel=1e-5)


def test_the_slope_is_never_below_half_of_what_the_second_end_answers_with(captive):
    loose = replace(captive.joints[0], gap_rate=np.full(2, 1e-6), gap_reference=300.0)
    table, ends = _table(replace(captive, joints=(loose,))), {"first": 301.0, "second": -900.0}
    answers = _passed(table, **ends | {"second": -901.0}) - _passed(table, **ends)
    slope = table.slope(np.full(2, 301.0), second=np.full(2, -900.0))
    assert slope == pytest.approx(0.5 * answers, rel=1e-9)
    assert slope.min() > 0.0


def test_pairs_are_listed_joint_by_joint(captive, joint):
    other = joint([0], second=[5], area=1.0, conductance=50.0)
    ends = joint_ends((*captive.joints, other))
    assert ends.tolist() == [[2, 3, 0], [4, 5, 5]]
    assert _table(replace(captive, joints=(*captive.joints, other))).conductance.tolist() == [
        400.0,
        400.0,
        50.0,
    ]


def test_two_joints_of_one_pair_are_refused_whichever_end_comes_first(captive):
    turned = replace(captive.joints[0], first=captive.joints[0].second, second=captive.joints[0].first)
    with pytest.raises(ValueError, match="same pair"):
        _table(replace(captive, joints=(*captive.joints, turned)))
