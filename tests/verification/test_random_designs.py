"""Random designs over the whole range of the study's keys: an answer or a named outcome, and nothing else."""

import itertools
from collections import Counter

import numpy as np
import pytest
from judged_designs import judged
from random_studies import random_designs

from optitip.errors import Outcome
from optitip.evaluate.assess import assess

EACH = 5


def judgements(seed, count, *, folder):
    draws = itertools.islice(random_designs(seed, folder=folder, each=EACH), count)
    for _, group in itertools.groupby(draws, key=lambda draw: draw[0].path):
        studies, designs = zip(*group, strict=True)
        yield from judged(studies[0], designs)


def hold(found):
    """Hold judgements to what is asked of any design; return how often each outcome came."""
    assert [one.faults for one in found if one.faults] == []
    answered = [one for one in found if one.outcome is Outcome.ANSWERED]
    # a skin of poor conductor thinner than a cell, under a shock or a strong sink: straight lines ring
    rung = np.array([one.overshoot - 0.04 * one.span for one in answered])
    assert (rung > 0.25).sum() <= len(answered) // 1000
    assert max(one.overshoot - 0.2 * one.span for one in answered) < 0.25
    assert np.quantile([one.overshoot for one in answered], 0.95) < 0.25
    return Counter(one.outcome for one in found)


@pytest.fixture(scope="module")
def two_hundred(tmp_path_factory):
    return list(judgements(3, 200, folder=tmp_path_factory.mktemp("designs")))


def test_every_random_design_has_an_answer_or_a_named_outcome_with_its_place(two_hundred):
    outcomes = hold(two_hundred)
    assert outcomes[Outcome.ANSWERED] > 45
    assert len(outcomes) >= 7
    assert not {Outcome.WORKER_DIED, Outcome.MARCH_STALLED} & outcomes.keys()


def test_the_heat_of_random_designs_balances(two_hundred):
    residual = np.array([one.balance for one in two_hundred if one.outcome is Outcome.ANSWERED])
    assert np.quantile(residual, 0.95) < 1e-3
    assert np.quantile(residual, 0.5) < 1e-4


def test_more_film_never_brings_less_into_a_sample_that_is_heated(tmp_path):
    """Six designs, the film of their heating halved and doubled; nothing around is colder than the tip."""
    warm = {"sample.start_temperature": "36 degC", "tip.base.nose_temperature": "37 degC"}
    warm |= {"flow.surroundings": "37 degC", "sample.material": "PMMA"}
    found = []
    for study, design in random_designs(17, folder=tmp_path, each=3, flights=("heating table",)):
        energies = [
            assess(study, design={**design, **warm, "flow.heating_table": name}, searching=True)
            for name in scaled_films(study, (0.5, 1.0, 2.0))
        ]
        if all(one.outcome is Outcome.ANSWERED for one in energies):
            found.append([one.metrics["sample.energy_peak"].expected for one in energies])
        if len(found) == 6:
            break
    for weak, middle, strong in found:
        assert weak <= middle * 1.002
        assert middle <= strong * 1.002
    assert max(strong / weak for weak, _, strong in found) > 1.3


def scaled_films(study, factors):
    """Write the study's heating table again with other films and no recovery below 37 degC; return names."""
    head, *rows = (study.folder / "heating.csv").read_text(encoding="utf-8").splitlines()
    for factor in factors:
        cells = [row.split(",") for row in rows]
        lines = [
            ",".join([t, s, f"{factor * float(h):.6g}", f"{max(float(hot), 310.15):.6g}", *rest])
            for t, s, h, hot, *rest in cells
        ]
        path = study.folder / f"film-{factor}.csv"
        path.write_text("\n".join([head, *lines]) + "\n", encoding="utf-8")
        yield path.name


@pytest.mark.long
def test_ten_thousand_random_designs_have_an_answer_or_a_named_outcome(tmp_path):
    found = list(judgements(201, 10_000, folder=tmp_path))
    outcomes = hold(found)
    assert sum(outcomes.values()) == 10_000
    assert outcomes[Outcome.ANSWERED] > 3_000
