"""Neighbours of invented designs, whose figures are sums a hand can do."""

import numpy as np
import pytest

from optitip.errors import Outcome, UserMistakes
from optitip.metrics.goals import parse_goals
from optitip.metrics.values import Bracketed, Evaluation
from optitip.search.executors.face import States
from optitip.search.neighbours import free_lengths, neighbourhoods, ranked, steps_text, tolerance
from optitip.search.space import Space
from optitip.units import quantity

UNITS = {"energy": "J", "mass": "kg", "margin": "1"}
SPACE = Space(
    {"wall": ("1 mm", "3 mm"), "band": ("2 cm", "6 cm"), "flight.site_temperature": ("0 degC", "30 degC")},
    {"metal": ("304", "6061-T6")},
)
GOALS = parse_goals(maximise=("energy",), minimise=("mass",), limits={"margin": ">= 0"}, units=UNITS)
MIDDLE = {"wall": "2 mm", "band": "4 cm", "flight.site_temperature": "10 degC", "metal": "304"}
REACH = np.array([10.0, 1.0])


def _evaluation(energy, mass, margin):
    return Evaluation(
        outcome=Outcome.ANSWERED,
        metrics={
            "energy": Bracketed(unit="J", low=energy - 1.0, expected=energy, high=energy + 1.0),
            "mass": Bracketed(unit="kg", low=mass, expected=mass, high=mass),
            "margin": Bracketed(unit="1", low=margin, expected=margin + 1.0, high=margin + 2.0),
        },
    )


def _offsets(design):
    """Return how far wall and band are off the middle [mm]."""
    return quantity(design["wall"], "mm") - 2.0, quantity(design["band"], "mm") - 40.0


def _round(judge, *, designs=(MIDDLE,), space=SPACE, within=1e-4):
    """Return the neighbourhoods by ``judge(wall, band)``, and the batches of tasks that were run."""
    batches = []

    def evaluate(tasks):
        batches.append(tasks)
        return [judge(*_offsets(task.design)) for task in tasks]

    return neighbourhoods(list(designs), space=space, goals=GOALS, within=within, evaluate=evaluate), batches


def test_lengths_alone_are_moved_by_the_tolerance_in_their_own_unit():
    found, batches = _round(lambda *_: _evaluation(5.0, 1.0, 1.0))
    assert [number.key for number in free_lengths(SPACE)] == ["wall", "band"]
    designs = [task.design for batch in batches for task in batch]
    assert {task.states for batch in batches for task in batch} == {States.ALL}
    assert {design["wall"] for design in designs} == {"2 mm", "1.9 mm", "2.1 mm"}
    assert {design["band"] for design in designs} == {"4 cm", "3.99 cm", "4.01 cm"}
    for design in designs:
        assert design["metal"] == "304"
        assert design["flight.site_temperature"] == "10 degC"
    assert len(found[0].neighbours) == 6  # each alone to both sides, and both together


def test_a_length_that_is_written_in_another_unit_than_its_range_is_moved_as_far():
    _, batches = _round(lambda *_: _evaluation(5.0, 1.0, 1.0), designs=({**MIDDLE, "band": "40 mm"},))
    assert sorted({quantity(task.design["band"], "mm") for task in batches[0]}) == pytest.approx(
        [39.9, 40.0, 40.1]
    )


def test_the_corner_that_breaks_a_limit_is_found_though_no_length_alone_breaks_it():
    """The margin is 0.15 with 1 taken off for each millimetre of wall less and of band more."""
    found, batches = _round(lambda wall, band: _evaluation(5.0, 1.0, 0.15 + wall - band))
    (one,) = found
    (broken,) = one.broken(GOALS)
    assert broken.steps == (-1, 1)
    assert not one.holds(GOALS)
    assert one.worst_limit("margin", GOALS) == pytest.approx((-0.05, 0.15))
    assert len(batches) == 2


def test_each_objective_has_its_own_worst_corner():
    """Energy falls with the wall and rises with the band, mass rises with both."""
    (one,), _ = _round(
        lambda wall, band: _evaluation(50.0 - 10.0 * wall + 20.0 * band, 1.0 + wall + band, 9.0)
    )
    assert one.worst_objective("energy", GOALS) == pytest.approx(50.0 - 1.0 - 2.0)
    assert one.worst_objective("mass", GOALS) == pytest.approx(1.2)
    assert one.lost(GOALS, REACH) == pytest.approx([3.0 / 10.0, 0.2 / 1.0])
    assert one.holds(GOALS)


def test_a_design_that_only_gains_loses_nothing():
    (one,), _ = _round(lambda wall, band: _evaluation(5.0 + abs(wall) + abs(band), 1.0, 1.0))
    assert one.lost(GOALS, REACH).tolist() == [0.0, 0.0]


def test_an_objective_in_which_the_front_has_no_range_is_counted_in_its_unit():
    (one,), _ = _round(lambda wall, _: _evaluation(5.0, 1.0 + wall, 1.0))
    assert one.lost(GOALS, np.array([10.0, 0.0])) == pytest.approx([0.0, 0.1])


def test_a_neighbour_that_cannot_exist_does_not_hold_and_draws_the_worst_corner_to_its_side():
    failed = Evaluation(outcome=Outcome.MESH_FOLDED, detail="invented")
    (one,), _ = _round(lambda wall, band: failed if wall < -0.05 else _evaluation(5.0 - band, 1.0, 1.0))
    assert (-1, 0) in {neighbour.steps for neighbour in one.broken(GOALS)}
    assert (-1, 1) in {neighbour.steps for neighbour in one.neighbours}
    assert not one.holds(GOALS)
    assert np.isfinite(one.lost(GOALS, REACH)).all()


def test_a_design_that_breaks_a_limit_itself_does_not_hold():
    (one,), _ = _round(lambda wall, band: _evaluation(5.0, 1.0, -0.1 if wall == band == 0.0 else 1.0))
    assert not one.broken(GOALS)
    assert not one.holds(GOALS)


def test_the_ranking_takes_those_that_hold_then_fewer_broken_then_the_least_loss():
    steep, _ = _round(lambda wall, _: _evaluation(50.0 - 40.0 * wall, 1.0, 1.0))
    flat, _ = _round(lambda wall, _: _evaluation(50.0 - 10.0 * wall, 1.0, 1.0))
    one_breaks, _ = _round(lambda wall, band: _evaluation(50.0, 1.0, 0.15 + wall - band))
    more_break, _ = _round(lambda wall, band: _evaluation(50.0, 1.0, 0.05 + wall - band))
    dead = Evaluation(outcome=Outcome.MESH_FOLDED, detail="invented")
    none, _ = _round(lambda *_: dead)
    every = [*none, *more_break, *steep, *one_breaks, *flat]
    assert ranked(every, GOALS, REACH) == [4, 2, 3, 1, 0]


def test_several_designs_share_the_two_rounds():
    other = {**MIDDLE, "wall": "2.5 mm"}
    found, batches = _round(
        lambda wall, band: _evaluation(5.0 + wall, 1.0 - band, 1.0), designs=(MIDDLE, other)
    )
    assert len(batches) == 2
    assert [one.design for one in found] == [MIDDLE, other]
    energies = [one.centre.metrics["energy"].expected for one in found]
    assert energies == pytest.approx([5.0, 5.5])


def test_one_length_has_two_neighbours():
    space = Space({"wall": ("1 mm", "3 mm")}, {})
    (one,), _ = _round(
        lambda wall, _: _evaluation(5.0 + wall, 1.0, 1.0),
        space=space,
        designs=({**MIDDLE, "wall": "2 mm"},),
    )
    assert sorted(neighbour.steps for neighbour in one.neighbours) == [(-1,), (1,)]
    assert steps_text((1,), ("wall",), "0.05 mm") == "wall 0.05 mm more"


def test_a_corner_is_told_in_words():
    assert steps_text((-1, 1, 0), ("a", "b", "c"), "1 mm") == "b 1 mm more; a 1 mm less"
    assert steps_text((-1, -1, -1), ("a", "b", "c"), "1 mm") == "every length 1 mm less"


@pytest.mark.parametrize("text", ["0 mm", "-0.1 mm", "0.05", "0.05 g", "nan mm", "thick"])
def test_a_tolerance_that_is_none_is_said(text):
    with pytest.raises(UserMistakes, match="--within"):
        tolerance(text)
