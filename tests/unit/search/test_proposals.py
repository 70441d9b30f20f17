import numpy as np
import pytest
import synthetic_search
import synthetic_tip

from optitip.search.components import Components
from optitip.search.evaluated import Evaluated, joined
from optitip.search.executors.face import States
from optitip.search.front import archive_of
from optitip.search.lead import LED_UP_TO, Lead
from optitip.search.proposals import first_count, next_count, propose
from optitip.search.quasi_random import drawn
from optitip.search.space import Space, design_id

SPACE, COMPONENTS = synthetic_search.space(), Components(synthetic_search.goals())


def _archive(count, *, evaluate=synthetic_tip.evaluate):
    return _archive_of(drawn(SPACE, count, seed=1), evaluate=evaluate)


def _archive_of(designs, *, evaluate=synthetic_tip.evaluate):
    found = joined(
        [
            Evaluated.of_one(
                evaluate(design),
                number=number,
                design_id=design_id(design),
                states=States.SEARCH,
                metrics=COMPONENTS.metrics,
                point=SPACE.point_of(design),
            )
            for number, design in enumerate(designs)
        ]
    )
    return archive_of(found, components=COMPONENTS, space=SPACE), set(found.design_ids.tolist())


@pytest.fixture(scope="module")
def opened():
    return _archive(128)


def _propose(archive, *, known, space=SPACE, count=16, seed=1, lead=Lead.SURROGATE):
    return propose(
        archive,
        space=space,
        components=COMPONENTS,
        known=known,
        count=count,
        seed=seed,
        lead=lead,
    )


@pytest.mark.parametrize("lead", Lead)
def test_the_same_archive_and_seed_give_the_same_designs(opened, lead):
    archive, known = opened
    twice = [_propose(archive, known=known, lead=lead) for _ in range(2)]
    assert twice[0] == twice[1]
    assert twice[0] != _propose(archive, known=known, seed=2, lead=lead)


def test_the_order_of_known_designs_does_not_matter_nor_do_they_change(opened):
    archive, known = opened
    before = sorted(known)
    forth = _propose(archive, known=before, lead=Lead.GENETIC)
    assert forth == _propose(archive, known=before[::-1], lead=Lead.GENETIC)
    assert sorted(known) == before


@pytest.mark.parametrize("lead", Lead)
def test_designs_are_new_and_differ_from_each_other(opened, lead):
    archive, known = opened
    first = [design_id(one) for one in _propose(archive, known=known, count=40, lead=lead)]
    assert len(set(first)) == 40
    assert not known & set(first)
    again = {design_id(one) for one in _propose(archive, known=known | set(first), count=40, lead=lead)}
    assert not again & (known | set(first))


@pytest.mark.parametrize(("lead", "times"), [(Lead.GENETIC, 1.5), (Lead.SURROGATE, 5.0)])
def test_proposed_designs_join_the_front_far_more_often_than_random_ones(lead, times):
    searched = drawn(SPACE, 128, seed=1)
    while len(searched) < 320:
        archive, known = _archive_of(searched)
        count = min(next_count(len(searched), lead=lead), 320 - len(searched))
        searched += _propose(archive, known=known, count=count, lead=lead)
    joining = {}
    for name, designs in (("proposed", searched), ("random", drawn(SPACE, 320, seed=1))):
        archive, _ = _archive_of(designs)
        joining[name] = int((archive.front() >= 128).sum())
    assert joining["proposed"] >= times * joining["random"] > 0, joining


@pytest.mark.parametrize("lead", Lead)
def test_an_archive_without_a_single_answer_still_leads_on(lead):
    def never(design):
        return synthetic_tip.evaluate({**design, "tip.plug.length": "70 mm", "tip.band.length": "120 mm"})

    archive, known = _archive(32, evaluate=never)
    assert not archive.answered.any()
    assert np.isfinite(archive.violation()).all()
    assert len(_propose(archive, known=known, lead=lead)) == 16


@pytest.mark.parametrize("lead", Lead)
def test_a_space_that_ends_gives_what_is_left_and_then_nothing(lead):
    space = Space({}, {"tip.material": ("304", "C110", "6061-T6")})
    archive, _ = _archive(1)
    known = {design_id({"tip.material": "304"})}
    left = _propose(archive, space=space, known=known, lead=lead)
    assert sorted(one["tip.material"] for one in left) == ["6061-T6", "C110"]
    known |= {design_id(one) for one in left}
    assert _propose(archive, space=space, known=known, lead=lead) == []


@pytest.mark.parametrize("budget", [1, 2, 15, 16, 17, 100, 500, 2000, 100_000])
def test_a_search_opens_with_a_power_of_two_unless_the_budget_is_smaller(budget):
    count = first_count(budget)
    assert count == budget or count & (count - 1) == 0
    assert 1 <= count <= min(budget, 128)


def test_batches_grow_with_what_is_known_until_breeding_goes_on():
    led = [next_count(done, lead=Lead.SURROGATE) for done in (1, 128, 400, 2000, LED_UP_TO)]
    assert led == [16, 32, 100, 250, 150]
    bred = [next_count(done, lead=Lead.GENETIC) for done in (1, 2000, 4000, 8000, 50_000)]
    assert bred == [100, 100, 200, 400, 400]


def test_past_what_processes_are_good_for_both_leads_breed_from_the_same_archive(monkeypatch, opened):
    archive, known = opened
    monkeypatch.setattr("optitip.search.proposals.LED_UP_TO", 128)
    bred = [_propose(archive, known=known, lead=lead) for lead in Lead]
    assert bred[0] == bred[1]
