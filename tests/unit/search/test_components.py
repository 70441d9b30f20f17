from pathlib import Path

import numpy as np
import pytest

from optitip.errors import Outcome
from optitip.evaluate.evaluator import evaluators_of
from optitip.inputs.study import read_study
from optitip.metrics.goals import parse_goals
from optitip.metrics.registry import SMALLEST_OF, UNITS
from optitip.metrics.values import Bracketed
from optitip.search.components import Components
from optitip.search.quasi_random import drawn
from optitip.search.space import Space

STUDIES = Path(__file__).parents[3] / "studies"


def _goals(*, limits):
    return parse_goals(
        maximise=("sample.energy_peak", "margin.smallest"),
        minimise=("shell.mass",),
        limits=limits,
        units=UNITS,
    )


GOALS = _goals(limits={"margin.smallest": ">= 0.1", "turning.smallest": ">= 0", "shell.mass": "<= 0.3 kg"})


def _metrics(**changed):
    """Return invented figures, low expected high each."""
    figures = {
        "sample.energy_peak": (1.0, 2.0, 3.0),
        "shell.mass": (0.2, 0.25, 0.35),
        "margin.yield": (0.3, 0.5, 0.6),
        "margin.joint": (0.05, 0.9, 1.0),
        "margin.smallest": (0.05, 0.5, 0.6),
        "turning.wall": (-0.5, -0.5, -0.5),
        "turning.deflection_length": (-9.0, -9.0, -9.0),
        "turning.smallest": (-0.5, -0.5, -0.5),
    } | {name.replace("__", "."): value for name, value in changed.items()}
    return {
        name: Bracketed(unit=UNITS[name], low=low, expected=expected, high=high)
        for name, (low, expected, high) in figures.items()
    }


def _told(components, row):
    return {name: value for name, value in zip(components.names, row, strict=True) if not np.isnan(value)}


def test_objectives_rest_on_expected_figures_and_limits_on_their_worst_side():
    components = Components(GOALS)
    assert _told(components, components.row(_metrics())) == {
        "sample.energy_peak expected": 2.0,
        "margin.yield expected": 0.5,
        "margin.joint expected": 0.9,
        "shell.mass expected": 0.25,
        "margin.yield low": 0.3,
        "margin.joint low": 0.05,
        "turning.wall low": -0.5,
        "shell.mass high": 0.35,
    }


def test_cost_and_excess_are_those_of_the_goals():
    components = Components(GOALS)
    rows = components.row(_metrics())[None]
    assert components.cost(rows).tolist() == [[-2.0, -0.5, 0.25]]
    assert components.excess(rows)[0] == pytest.approx([0.1 - 0.05, 0.5, 0.35 - 0.3], abs=1e-15)


def test_a_part_below_the_smallest_does_not_count_and_what_no_part_tells_has_its_own_column():
    components = Components(GOALS)
    uncounted = components.row(_metrics(margin__shakedown=(-0.8, -0.7, 0.0)))
    assert not any(name.startswith("margin.shakedown") for name in _told(components, uncounted))
    unknown = components.row(_metrics(margin__smallest=(0.01, 0.02, 0.03)))
    assert _told(components, unknown)["margin.smallest low"] == 0.01
    assert components.cost(unknown[None])[0, 1] == -0.02


def test_designs_without_figures_have_neither_cost_nor_excess():
    components = Components(GOALS)
    nothing = np.full((2, len(components.names)), np.nan)
    assert np.isnan(components.cost(nothing)).all()
    assert np.isnan(components.excess(nothing)).all()


def test_designs_side_by_side_have_the_columns_they_have_alone():
    components = Components(GOALS)
    both = [_metrics(), _metrics(margin__shakedown=(-0.8, -0.7, 0.0))]
    names = ("error.energy", *both[1])
    figures = np.full((2, len(names), 3), np.nan)
    for row, metrics in enumerate(both):
        for name, one in metrics.items():
            figures[row, names.index(name)] = one.low, one.expected, one.high
    alone = [components.row(metrics) for metrics in both]
    assert np.array_equal(components.rows(figures, metrics=names), alone, equal_nan=True)
    lacking = components.rows(figures[:, :2], metrics=names[:2])
    assert np.isnan(components.cost(lacking)).any(axis=1).all()


def test_goals_without_limits_have_no_excess():
    components = Components(_goals(limits={}))
    assert components.excess(components.row(_metrics())[None]).shape == (1, 0)


@pytest.mark.parametrize("study", ["coastal-egg"])
def test_real_evaluations_are_rebuilt_exactly_and_wholly_from_known_parts(study):
    path = STUDIES / study / "study.toml"
    table = read_study(path).tables.sweep
    space = Space(table.free, table.options)
    goals = parse_goals(
        maximise=table.maximise, minimise=table.minimise, limits=read_study(path).tables.limits, units=UNITS
    )
    found = evaluators_of(path)[0](drawn(space, 24, seed=3))
    metrics = [one.metrics for one in found if one.outcome is Outcome.ANSWERED]
    assert len(metrics) >= 16
    components = Components(goals)
    rows = np.array([components.row(one) for one in metrics])
    cost = [[goal.cost(one[goal.metric]) for goal in goals.objectives] for one in metrics]
    excess = [[limit.excess(one[limit.metric]) for limit in goals.limits] for one in metrics]
    assert components.cost(rows).tolist() == cost
    assert components.excess(rows).tolist() == excess
    wholes = [name.split()[0] in SMALLEST_OF for name in components.names]
    assert np.isnan(rows[:, wholes]).all()
    assert np.isfinite(rows).any(axis=0).sum() >= 20
