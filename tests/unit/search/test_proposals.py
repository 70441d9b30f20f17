import numpy as np
import pytest
import synthetic_search
import synthetic_tip

from optitip.search.components import Components
from optitip.search.evaluated import Evaluated, joined
from optitip.search.executors.face import States
from optitip.search.front import archive_of
from optitip.search.proposals import first_count, next_count, propose
from optitip.search.space import Space, design_id

SPACE, COMPONENTS = synthetic_search.space(), Components(synthetic_search.goals())


def _archive(count, *, evaluate=synthetic_tip.evaluate):
    return _archive_of(SPACE.draw(count, seed=1), evaluate=evaluate)


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


def test_the_same_archive_and_seed_give_the_same_designs(opened):
    archive, known = opened
    twice = [propose(archive, space=SPACE, known=known, count=16, seed=1) for _ in range(2)]
    assert twice[0] == twice[1]
    assert twice[0] != propose(archive, space=SPACE, known=known, count=16, seed=2)


def test_designs_are_new_and_differ_from_each_other(opened):
    archive, known = opened
    names = [design_id(one) for one in propose(archive, space=SPACE, known=known, count=40, seed=1)]
    assert len(set(names)) == 40
    assert not known & set(names)


def test_proposed_designs_join_the_front_far_more_often_than_random_ones(opened):
    archive, known = opened
    fresh = {
        "proposed": propose(archive, space=SPACE, known=known, count=64, seed=1),
        "random": SPACE.draw(64, seed=8),
    }
    joining = {}
    for name, designs in fresh.items():
        both, _ = _archive_of([*SPACE.draw(128, seed=1), *designs])
        joining[name] = int((both.front() >= 128).sum())
    assert joining["proposed"] >= 3 * max(joining["random"], 1)


def test_an_archive_without_a_single_answer_still_leads_on():
    def never(design):
        return synthetic_tip.evaluate({**design, "tip.plug.length": "70 mm", "tip.band.length": "120 mm"})

    archive, known = _archive(32, evaluate=never)
    assert not archive.answered.any()
    assert np.isfinite(archive.violation()).all()
    assert len(propose(archive, space=SPACE, known=known, count=16, seed=1)) == 16


def test_a_space_that_ends_gives_what_is_left_and_then_nothing():
    space = Space({}, {"tip.material": ("304", "C110", "6061-T6")})
    archive, _ = _archive(1)
    known = {design_id({"tip.material": "304"})}
    left = propose(archive, space=space, known=known, count=16, seed=1)
    assert sorted(one["tip.material"] for one in left) == ["6061-T6", "C110"]
    known |= {design_id(one) for one in left}
    assert propose(archive, space=space, known=known, count=16, seed=1) == []


@pytest.mark.parametrize("budget", [1, 2, 15, 16, 17, 100, 500, 2000, 100_000])
def test_a_search_opens_with_a_power_of_two_unless_the_budget_is_smaller(budget):
    count = first_count(budget)
    assert count == budget or count & (count - 1) == 0
    assert 1 <= count <= min(budget, 256)


def test_batches_grow_with_what_is_known():
    assert [next_count(done) for done in (1, 64, 128, 256, 2000)] == [16, 16, 32, 64, 64]
