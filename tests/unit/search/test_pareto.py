import subprocess
import sys

import numpy as np
import pytest
from pymoo.indicators.hv import HV
from pymoo.util.nds.non_dominated_sorting import NonDominatedSorting

from optitip.search.pareto import hypervolume, non_dominated


def _by_hand(cost):
    beaten = [any((other <= row).all() and (other < row).any() for other in cost) for row in cost]
    return np.flatnonzero(~np.array(beaten))


@pytest.mark.parametrize("objectives", [1, 2, 3, 4])
def test_the_front_is_what_comparing_every_pair_gives(objectives):
    cost = np.random.default_rng(objectives).integers(0, 6, (200, objectives)).astype(float)
    assert non_dominated(cost).tolist() == _by_hand(cost).tolist()


def _hard_sets():
    random = np.random.default_rng(5)
    around = np.abs(random.standard_normal((400, 3)))
    yield "a sphere", 1.0 - around / np.linalg.norm(around, axis=1)[:, None]
    yield "ties", random.integers(0, 4, (300, 3)).astype(float)
    yield "equal rows", np.repeat(random.random((40, 3)), 3, axis=0)
    yield "signed zeros", np.array([[0.0, 1.0, -0.0], [-0.0, 1.0, 0.0], [0.0, 2.0, 0.0]])
    yield "figures of a tip", random.random((500, 3)) * [-4e3, 0.3, -10.0]


@pytest.mark.parametrize(("name", "cost"), list(_hard_sets()))
def test_front_and_volume_are_those_of_another_library(name, cost):
    theirs = np.sort(NonDominatedSorting().do(cost, only_non_dominated_front=True))
    assert non_dominated(cost).tolist() == theirs.tolist(), name
    reference = cost.max(axis=0) + 0.1
    assert hypervolume(cost, reference=reference) == pytest.approx(HV(ref_point=reference)(cost), rel=1e-12)


def test_a_front_of_a_known_shape_has_the_volume_that_formulas_give():
    # of the unit cube all but the simplex x + y + z < 1 below the plane, of volume 1/6
    steps = 60
    grid = np.array([(i, j) for i in range(steps + 1) for j in range(steps + 1 - i)], dtype=float) / steps
    plane = np.column_stack([grid, 1.0 - grid.sum(axis=1)])
    assert len(non_dominated(plane)) == len(plane)
    assert hypervolume(plane, reference=np.ones(3)) == pytest.approx(5.0 / 6.0, abs=1.0 / steps)
    assert hypervolume(plane, reference=np.ones(3)) < 5.0 / 6.0


def test_a_front_is_found_without_the_genetic_library():
    code = (
        "import sys, optitip.search.pareto; sys.exit(any(name.startswith('pymoo') for name in sys.modules))"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


def test_nothing_has_no_front_and_no_volume():
    assert non_dominated(np.zeros((0, 3))).tolist() == []
    assert hypervolume(np.zeros((0, 3)), reference=np.ones(3)) == 0.0


def test_a_point_beyond_the_reference_adds_no_volume():
    inside = np.array([[0.5, 0.5]])
    both = np.array([[0.5, 0.5], [0.2, 3.0]])
    assert hypervolume(both, reference=np.ones(2)) == hypervolume(inside, reference=np.ones(2)) == 0.25
