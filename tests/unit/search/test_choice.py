"""Fronts made by hand, whose knee, ends and distances are known without a computer."""

import math
from itertools import permutations

import numpy as np
import pytest
import synthetic_search

from optitip.errors import UserMistakes
from optitip.metrics.registry import UNITS
from optitip.search import choice
from optitip.search.components import Components
from optitip.search.evaluated import Evaluated
from optitip.search.executors.face import States

# a right angle with its corner at (1, 1) of 10: the corner is the knee, whatever the axes' scale
CORNER = np.array([[0.0, 10.0], [0.5, 5.0], [1.0, 1.0], [5.0, 0.5], [10.0, 0.0]])


def test_the_knee_of_a_right_angle_is_its_corner_and_its_distance_is_that_from_the_chord():
    found = choice.knee(CORNER)
    assert found.member == 2
    assert found.by_ends
    assert found.ranking.figure[2] == pytest.approx((1.0 - 0.2) / math.sqrt(2.0))
    assert found.ranking.figure[[0, 4]] == pytest.approx(0.0, abs=1e-12)


def test_the_knee_stays_where_it_is_in_other_units_and_from_another_nought():
    moved = CORNER * [1e-3, 250.0] + [7.0, -40.0]
    assert choice.knee(moved).ranking.figure == pytest.approx(choice.knee(CORNER).ranking.figure)


def test_the_knee_of_three_objectives_is_farthest_from_the_plane_through_three_ends():
    front = np.array([[0.0, 1.0, 1.0], [1.0, 0.0, 1.0], [1.0, 1.0, 0.0], [0.5, 0.5, 0.5], [0.4, 0.7, 0.5]])
    found = choice.knee(front)
    # the ends span x + y + z = 2, so a member stands (2 - x - y - z) / sqrt(3) ahead of it
    assert found.ranking.figure == pytest.approx([0.0, 0.0, 0.0, 0.5 / 3**0.5, 0.4 / 3**0.5])
    assert found.member == 3
    assert found.ranking.order[:2].tolist() == [3, 4]


def test_a_front_that_bends_the_other_way_has_no_knee():
    arc = np.array([[math.sin(angle), math.cos(angle)] for angle in np.linspace(0.0, math.pi / 2.0, 9)])
    found = choice.knee(arc)
    assert found.member is None
    assert set(found.ranking.order[:2].tolist()) == {0, 8}  # its ends, with nothing ahead of them


def test_a_straight_front_has_no_knee():
    assert choice.knee(np.array([[0.0, 3.0], [1.0, 2.0], [2.0, 1.0], [3.0, 0.0]])).member is None


def test_of_two_knees_as_far_ahead_the_first_along_the_front_is_named_and_both_are_told():
    front = np.array([[0.0, 1.0], [0.1, 0.6], [0.6, 0.1], [1.0, 0.0]])
    found = choice.knee(front)
    assert found.member == 1
    assert found.ranking.tied().tolist() == [1, 2]


@pytest.mark.parametrize("front", [[[3.0, 4.0]], [[3.0, 4.0], [3.0, 4.0]], [[0.0, 1.0], [1.0, 0.0]]])
def test_one_member_equal_ones_or_the_ends_alone_have_no_knee(front):
    found = choice.knee(np.array(front))
    assert found.member is None
    assert np.isfinite(found.ranking.figure).all()


def test_an_objective_in_which_no_member_differs_is_left_out_of_the_knee():
    same = np.column_stack([CORNER, np.full(len(CORNER), 6.0)])
    assert choice.knee(same).ranking.figure == pytest.approx(choice.knee(CORNER).ranking.figure)
    assert choice.knee(same).by_ends


def test_ends_that_give_no_falling_plane_are_replaced_by_one_that_weighs_all_alike():
    # best in the first and in the second objective is the same member: two ends make no plane
    front = np.array([[0.0, 0.0, 1.0], [1.0, 1.0, 0.0], [0.2, 0.2, 0.3], [0.5, 0.6, 0.1]])
    found = choice.knee(front)
    assert not found.by_ends
    assert found.member == 2
    # the plane lies through the end nearest to the best of all, (0, 0, 1): x + y + z = 1
    assert found.ranking.figure[2] == pytest.approx(0.3 / 3**0.5)
    assert found.ranking.figure[[0, 1]].max() == pytest.approx(0.0, abs=1e-12)


def test_a_plane_through_the_ends_that_rewards_being_worse_is_not_taken():
    """The three ends' plane has the normal (5/3, 5/3, -10/3); equal parts lie through (0.3, 0.3, 0)."""
    ends = [[0.0, 1.0, 0.2], [1.0, 0.0, 0.2], [0.3, 0.3, 0.0]]
    found = choice.knee(np.array([*ends, [0.1, 0.2, 1.0], [0.15, 0.15, 0.1]]))
    assert not found.by_ends
    assert found.member == 4
    assert found.ranking.figure[4] == pytest.approx((0.6 - 0.4) / 3**0.5)
    assert found.ranking.figure[2] == pytest.approx(0.0, abs=1e-12)


def test_the_order_of_the_members_does_not_move_the_knee():
    for order in permutations(range(len(CORNER))):
        found = choice.knee(CORNER[list(order)])
        assert order[found.member] == 2


def test_the_closest_to_the_best_is_measured_as_the_formula_says():
    front = np.array([[0.0, 100.0, 5.0], [4.0, 0.0, 9.0], [1.0, 50.0, 7.0]])
    found = choice.closest(front, np.array([2.0, 1.0, 1.0]))
    assert found.figure == pytest.approx(
        [math.sqrt(1.0 / 4.0), math.sqrt(3.0 / 4.0), math.sqrt((2.0 / 16.0 + 0.25 + 0.25) / 4.0)]
    )
    assert found.order.tolist() == [2, 0, 1]


def test_a_weight_of_nought_takes_an_objective_out():
    found = choice.closest(CORNER, np.array([0.0, 1.0]))
    assert found.order.tolist() == [4, 3, 2, 1, 0]
    assert found.figure[0] == 1.0


def test_of_the_best_in_one_objective_the_one_better_in_the_rest_comes_first():
    front = np.array([[1.0, 9.0, 9.0], [1.0, 2.0, 5.0], [3.0, 1.0, 1.0]])
    assert choice.best(front, 0).order.tolist() == [1, 0, 2]
    assert choice.ends(front).tolist() == [1, 2, 2]


def test_weights_are_read_in_the_order_of_the_objectives_and_the_rest_weighs_nothing():
    goals = synthetic_search.goals()
    assert choice.parse_weights("shell.mass = 1, sample.energy_peak=2.5", goals).tolist() == [2.5, 0.0, 1.0]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("shell.mas=1", "'shell.mas' is no objective"),
        ("shell.mass=1, shell.mass=2", "stands there twice"),
        ("shell.mass=-1", "'-1' is no weight"),
        ("shell.mass=nan", "'nan' is no weight"),
        ("shell.mass=inf", "'inf' is no weight"),
        ("shell.mass", "'' is no weight"),
        ("shell.mass=0", "nothing weighs anything"),
        ("", "'' is no objective"),
    ],
)
def test_a_wrong_weight_is_said(text, said):
    with pytest.raises(UserMistakes, match=said):
        choice.parse_weights(text, synthetic_search.goals())


def test_limits_are_read_with_their_unit_and_all_mistakes_come_together():
    (mass, heat) = choice.parse_limits(("shell.mass <= 150 g", "band.temperature_peak<=400 K"))
    assert (mass.metric, mass.value, heat.value) == ("shell.mass", pytest.approx(0.15), 400.0)
    with pytest.raises(UserMistakes) as told:
        choice.parse_limits(("shell.mass < 150 g", "shell.mass", "shell.mass <= 150 mm", "shell.mss >= 1 g"))
    assert [one.place for one in told.value.mistakes] == [
        "--limit 'shell.mass < 150 g'",
        "--limit 'shell.mass'",
        "--limit 'shell.mass <= 150 mm'",
        "--limit 'shell.mss >= 1 g'",
    ]


def _evaluated(goals, figures, *, states=None):
    """Return answered designs with the same low, expected and high; ``figures`` is (n, m)."""
    figures = np.repeat(np.asarray(figures, dtype=float)[:, :, None], 3, axis=2)
    count = len(figures)
    return Evaluated(
        numbers=np.arange(1, count + 1),
        design_ids=np.array([f"design{row}" for row in range(count)]),
        states=np.array(states or [0] * count, dtype=np.uint8),
        outcomes=np.zeros(count, dtype=np.uint8),
        seconds=np.ones(count),
        metrics=goals.metrics,
        figures=figures,
        points=np.zeros((count, 0)),
    )


def test_a_design_beaten_only_by_those_that_break_a_further_limit_comes_in():
    goals = synthetic_search.goals(limits={})
    # energy, margin, mass: the second is beaten by the first, which is too heavy for the limit
    stored = _evaluated(goals, [[9.0, 1.0, 0.20], [8.0, 0.9, 0.21], [2.0, 0.1, 0.05]])
    assert choice.stored_front(stored, Components(goals)).unbeaten.tolist() == [0, 2]
    limited = synthetic_search.goals(limits={"sample.energy_peak": "<= 8.5 J"})
    assert choice.stored_front(stored, Components(limited)).unbeaten.tolist() == [1, 2]


def test_every_unbeaten_design_has_a_member_beside_it_and_the_confirmed_one_stands_for_them():
    goals = synthetic_search.goals(limits={})
    near = [[5.0 - 0.001 * n, 1.0, 0.1 - 0.0001 * n] for n in range(5)]
    stored = _evaluated(goals, [[9.0, 1.0, 0.3], *near, [0.0, 1.0, 0.0]], states=[0, 0, 0, 1, 0, 0, 0])
    found = choice.stored_front(stored, Components(goals))
    assert len(found.unbeaten) == 7
    assert found.members.tolist() == [0, 3, 6]
    assert stored.of_states(States.ALL)[3]


def test_the_names_that_a_front_can_be_limited_by_are_all_metrics():
    for name, unit in UNITS.items():
        bound = {"K": "300 K", "K difference": "1 K", "Pa pressure": "1 Pa"}.get(unit, f"1 {unit}")
        bound = "1" if unit == "1" else bound
        assert choice.parse_limits((f"{name} <= {bound}",))[0].metric == name
