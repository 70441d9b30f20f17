import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import synthetic_search
import synthetic_tip

from optitip.search.archive import Archive
from optitip.search.components import Components
from optitip.search.quasi_random import drawn
from optitip.search.response import features
from optitip.search.surrogate import Learnt, _learnt_from, searched

SPACE, COMPONENTS = synthetic_search.space(), Components(synthetic_search.goals())
OPTIONS = [len(options) for options in SPACE.choices.values()]


def _archive(count, *, seed=1):
    designs = drawn(SPACE, count, seed=seed)
    found = [synthetic_tip.evaluate(design).metrics for design in designs]
    answered = np.array([one is not None for one in found])
    columns = np.full((count, len(COMPONENTS.names)), np.nan)
    for row, one in enumerate(found):
        if one is not None:
            columns[row] = COMPONENTS.row(one)
    return Archive(
        points=SPACE.points_of(designs),
        cost=np.where(answered[:, None], COMPONENTS.cost(columns), 0.0),
        excess=np.where(answered[:, None], COMPONENTS.excess(columns), 0.0),
        components=columns,
        answered=answered,
    )


@pytest.fixture(scope="module")
def opened():
    return _archive(256)


def test_cost_and_limits_of_fresh_designs_are_foretold(opened):
    judge = Learnt(opened, components=COMPONENTS, options=OPTIONS).judge
    fresh = _archive(512, seed=7)
    kept = fresh.feasible
    cost, excess = judge(fresh.points)
    spread = opened.cost[opened.answered].std(axis=0)
    error = cost[kept] * spread - fresh.cost[kept]
    assert (np.sqrt((error**2).mean(axis=0)) < 0.12 * fresh.cost[kept].std(axis=0)).all()
    right = (excess <= 0.0).all(axis=1) == kept
    assert right.mean() > 0.93


def test_designs_without_an_answer_are_told_from_those_with_one(opened):
    assert opened.answered.mean() < 0.95
    fresh = _archive(512, seed=7)
    refused = Learnt(opened, components=COMPONENTS, options=OPTIONS).judge(fresh.points)[1][:, -1] > 0.0
    assert (refused == ~fresh.answered).mean() > 0.9


def test_each_margin_is_learnt_by_itself_and_the_smallest_taken_after(opened):
    parts = Learnt(opened, components=COMPONENTS, options=OPTIONS).judge
    lumped = opened.components.copy()
    for group, side in zip(COMPONENTS.groups(), ("", "expected", "", "low", ""), strict=True):
        if side:
            columns = lumped[:, group]
            columns[:, -1] = np.fmin.reduce(columns, axis=1)
            columns[:, :-1] = np.nan
    alone = Archive(
        points=opened.points,
        cost=opened.cost,
        excess=opened.excess,
        components=lumped,
        answered=opened.answered,
    )
    smallest = Learnt(alone, components=COMPONENTS, options=OPTIONS).judge
    fresh = _archive(512, seed=7)
    kept = fresh.feasible
    spread = opened.cost[opened.answered].std(axis=0)
    errors = [
        np.abs(judge(fresh.points)[0] * spread - fresh.cost)[kept, 1].mean() for judge in (parts, smallest)
    ]
    assert errors[0] < 0.6 * errors[1]


def test_what_is_proposed_keeps_the_limits_more_often_and_joins_the_front(opened):
    random = np.random.default_rng(0)
    points = searched(opened, components=COMPONENTS, options=OPTIONS, count=40, random=random)
    assert len(points) == 40
    columns, kept = np.full((40, len(COMPONENTS.names)), np.nan), np.zeros(40, dtype=bool)
    for row, point in enumerate(points):
        metrics = synthetic_tip.evaluate(SPACE.design_at(point)).metrics
        if metrics is not None:
            columns[row] = COMPONENTS.row(metrics)
            kept[row] = (COMPONENTS.excess(columns[row : row + 1]) <= 0.0).all()
    assert kept.mean() > 1.5 * opened.feasible.mean()
    known, cost = opened.cost[opened.front()], COMPONENTS.cost(columns)[kept]
    beaten = (known[None] <= cost[:, None]).all(axis=2).any(axis=1)
    assert beaten.mean() < 0.3


def test_with_few_designs_an_answer_has_to_be_beyond_doubt(opened, monkeypatch):
    careful = Learnt(opened, components=COMPONENTS, options=OPTIONS).judge
    monkeypatch.setattr("optitip.search.surrogate.DOUBTED_UP_TO", 0)
    bold = Learnt(opened, components=COMPONENTS, options=OPTIONS).judge
    points = _archive(256, seed=7).points
    (cost, excess), (same, refused) = careful(points), bold(points)
    assert np.array_equal(cost, same)
    assert np.array_equal(excess[:, :-1], refused[:, :-1])
    assert (excess[:, -1] >= refused[:, -1]).all()
    assert (excess[:, -1] <= 0.0).sum() < 0.95 * (refused[:, -1] <= 0.0).sum()


def test_a_part_that_some_designs_lack_bounds_nothing_there(opened):
    lacking = opened.components.copy()
    column = COMPONENTS.names.index("margin.buckling low")
    without = features(opened.points, options=OPTIONS)[:, 6] > 0.0
    lacking[without, column] = np.nan
    excess = COMPONENTS.excess(lacking)
    archive = Archive(
        points=opened.points,
        cost=opened.cost,
        excess=np.where(opened.answered[:, None], excess, 0.0),
        components=lacking,
        answered=opened.answered,
    )
    told = Learnt(archive, components=COMPONENTS, options=OPTIONS).judge(opened.points)[1]
    kept = (told <= 0.0).all(axis=1)
    assert (kept == archive.feasible)[opened.answered].mean() > 0.95


def test_of_a_long_search_the_best_are_learnt_from_and_both_sides_of_the_limits(opened, monkeypatch):
    monkeypatch.setattr("optitip.search.surrogate.LEARNT_FROM", 60)
    rows = _learnt_from(opened)
    assert len(set(rows.tolist())) == 60
    assert set(opened.front().tolist()) <= set(rows.tolist())
    assert opened.answered[rows].all()
    assert (~opened.feasible[rows]).sum() == 20
    violation = opened.violation()
    left_out = np.setdiff1d(np.flatnonzero(opened.answered & ~opened.feasible), rows)
    assert violation[rows].max() <= violation[left_out].min()


def test_an_archive_that_breaks_all_limits_is_learnt_from_too(opened):
    broken = replace(opened, excess=np.abs(opened.excess) + 0.1)
    assert len(_learnt_from(broken)) == opened.answered.sum()
    random = np.random.default_rng(0)
    assert len(searched(broken, components=COMPONENTS, options=OPTIONS, count=10, random=random)) > 0


_ALONE = """
import hashlib, numpy as np, test_surrogate as here
random, like = np.random.default_rng(3), {"components": here.COMPONENTS, "options": here.OPTIONS}
points = here.searched(here._archive(192), count=40, random=random, **like)
print(hashlib.sha256(points.tobytes()).hexdigest())
"""


def test_two_processes_propose_the_same_to_the_last_bit():
    told = {
        subprocess.run(
            [sys.executable, "-c", _ALONE],
            env={
                "PYTHONPATH": os.pathsep.join([*sys.path, str(Path(__file__).parent)]),
                "OPENBLAS_NUM_THREADS": "1",
                "PYTHONHASHSEED": seed,
            },
            capture_output=True,
            check=True,
            text=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(told) == 1
    assert len(told.pop().strip()) == 64
