"""The search finds the coastal study's front in as few designs as the record beside this file says."""

import tomllib
from pathlib import Path

import numpy as np
import pytest
from search_problem import Judge, Reference, coastal
from search_ways import WAYS, searched

RECORD = tomllib.loads((Path(__file__).parent / "recorded_search.toml").read_text(encoding="utf-8"))
TO_90 = 1  # its place in the record


@pytest.mark.long
def test_processes_find_nine_tenths_of_the_volume_in_at_most_twice_the_recorded_designs(tmp_path):
    problem = coastal()
    reference = Reference(
        low=np.array(RECORD["low"]), reach=np.array(RECORD["reach"]), volume=RECORD["volume"]
    )
    budget = 2 * RECORD["evaluations"]["surrogate"][TO_90]
    with Judge(problem, tmp_path / "evaluations.sqlite") as judge:
        run = searched(problem, WAYS["surrogate"], seed=1, budget=budget, judge=judge)
    assert reference.share(problem.cost_of_feasible(run["components"])) > 0.9
