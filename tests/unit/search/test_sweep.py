import errno
import os
import signal
from functools import partial

import pytest
import synthetic_search
import synthetic_tip
from synthetic_workers import one_by_one

from optitip.errors import Outcome, Stopped, UserMistakes
from optitip.inputs.study_tables import LedBy
from optitip.metrics.goals import parse_goals
from optitip.metrics.values import Bracketed, Evaluation
from optitip.search import front as front_module
from optitip.search import stopping
from optitip.search import sweep as sweep_module
from optitip.search.executors.face import BATCH, States
from optitip.search.executors.serial import SerialExecutor
from optitip.search.front import keeps_limits
from optitip.search.records import RunIdentity, Stage
from optitip.search.space import Space
from optitip.search.stopping import End
from optitip.search.store import create_or_open, open_to_read
from optitip.search.sweep import Aim, sweep

IDENTITY = RunIdentity(study_hash="abc", seed=1)


@pytest.fixture
def swept(tmp_path):
    def run(
        *, factory=synthetic_tip.evaluators, evaluations=80, path=tmp_path / "run.sqlite", aim=None, **changed
    ):
        with create_or_open(path, IDENTITY) as store:
            wanted = {"space": synthetic_search.space(), "goals": synthetic_search.goals()}
            aim = Aim(evaluations=evaluations, seed=1, **(aim or {}))
            found = sweep(store=store, executor=SerialExecutor(factory), aim=aim, **(wanted | changed))
            return found, store.records()

    return run


def test_as_many_designs_are_evaluated_as_were_asked_for_and_each_once(swept):
    found, records = swept(evaluations=75)
    searched = [record.design_id for record in records if record.states is States.SEARCH]
    assert found.searched == len(searched) == len(set(searched)) == 75


def test_every_member_of_the_front_was_run_over_all_flow_states_and_keeps_the_limits(swept):
    found, records = swept()
    assert len(found.front) >= 3
    assert all(member.states is States.ALL for member in found.front)
    assert all(keeps_limits(member, synthetic_search.goals()) for member in found.front)
    assert found.confirmed == sum(record.states is States.ALL for record in records)


NAMES = ("energy", "mass", "margin")


def _two_faced(states, design):
    """Answer with a margin that all flow states together take away from the best designs."""
    x = float(str(design["x"]).removesuffix(" mm"))
    worst = 0.6 - x if states is States.ALL else 1.0
    metrics = {
        "energy": Bracketed(unit="1", low=x, expected=x, high=x),
        "mass": Bracketed(unit="1", low=x * x, expected=x * x, high=x * x),
        "margin": Bracketed(unit="1", low=worst, expected=1.0, high=1.0),
    }
    return Evaluation(outcome=Outcome.ANSWERED, metrics=metrics)


def _two_faced_evaluators():
    return {states: one_by_one(partial(_two_faced, states)) for states in States}


def _energy(record):
    return record.evaluation.metrics["energy"].expected


def test_members_that_fall_off_a_limit_over_all_states_make_room_for_the_next(swept):
    goals = parse_goals(
        maximise=["energy"], minimise=[], limits={"margin": ">= 0"}, units={"energy": "1", "margin": "1"}
    )
    space = Space({"x": ("0 mm", "1 mm")}, {})
    found, records = swept(factory=_two_faced_evaluators, evaluations=40, goals=goals, space=space)
    searched = [record for record in records if record.states is States.SEARCH]
    values = [record.evaluation.metrics["energy"].expected for record in searched]
    best = max(value for value in values if value <= 0.6)
    assert [member.evaluation.metrics["energy"].expected for member in found.front] == [best]
    every = {record.number: _energy(record) for record in records if record.states is States.ALL}
    assert {value for value in values if value >= best} <= set(every.values())
    # what steers the search on its way was the best of those known by then
    for number, value in every.items():
        known = [_energy(record) for record in searched if record.number < number]
        assert value >= max(one for one in known if one <= 0.6)


def test_what_all_flow_states_take_away_steers_the_search_before_its_end(swept, monkeypatch, tmp_path):
    monkeypatch.setattr(front_module, "APART", 0.0)
    goals = parse_goals(
        maximise=["energy"], minimise=["mass"], limits={"margin": ">= 0"}, units=dict.fromkeys(NAMES, "1")
    )
    wanted = {"goals": goals, "space": Space({"x": ("0 mm", "1 mm")}, {}), "evaluations": 100}
    steered, records = swept(factory=_two_faced_evaluators, **wanted)
    assert any(record.states is States.ALL for record in records[:50])
    monkeypatch.setattr(sweep_module, "PROBES", 0)
    blind, _ = swept(factory=_two_faced_evaluators, path=tmp_path / "blind.sqlite", **wanted)
    assert len(steered.front) > 1.2 * len(blind.front)


def test_a_sweep_cut_off_among_what_steers_it_asks_for_the_same_designs(swept, tmp_path):
    goals = parse_goals(
        maximise=["energy"], minimise=[], limits={"margin": ">= 0"}, units=dict.fromkeys(NAMES, "1")
    )
    wanted = {"goals": goals, "space": Space({"x": ("0 mm", "1 mm")}, {}), "evaluations": 400}
    wanted["factory"] = _two_faced_evaluators
    _, whole = swept(**wanted)
    steering = [record.number for record in whole[:300] if record.states is States.ALL]
    assert len(steering) >= 2

    def cut(progress):
        if progress.stage is Stage.CONFIRM:
            raise _Broken

    for number in steering[:2]:  # one more of them is done each time
        with pytest.raises(_Broken):
            swept(path=tmp_path / "cut.sqlite", report=cut, **wanted)
        assert number in {record.number for record in _stored(tmp_path / "cut.sqlite")}
    _, records = swept(path=tmp_path / "cut.sqlite", **wanted)
    assert [(one.design_id, one.states) for one in records] == [(one.design_id, one.states) for one in whole]


def _stored(path):
    with create_or_open(path, IDENTITY) as store:
        return store.records()


def test_a_finished_sweep_is_answered_from_the_store(swept):
    first, _ = swept()
    calls = []

    def counted():
        return dict.fromkeys(States, calls.append)

    again, _ = swept(factory=counted)
    assert [member.design_id for member in again.front] == [member.design_id for member in first.front]
    assert calls == []


def test_more_evaluations_go_on_from_those_there_are(swept):
    swept(evaluations=40)
    found, records = swept(evaluations=60)
    assert found.searched == 60
    assert len({record.design_id for record in records if record.states is States.SEARCH}) == 60


def test_progress_counts_up_to_the_total_and_tells_failures(swept):
    told = []
    found, _ = swept(evaluations=60, report=told.append)
    searching = [one for one in told if one.stage is Stage.SEARCH]
    assert [one.done for one in searching] == list(range(1, 61))
    assert all(one.total == 60 for one in searching)
    assert searching[-1].seconds_left == 0.0
    assert searching[10].seconds_left > 0.0
    assert searching[-1].failures == found.failures
    assert sum(found.failures.values()) == 60 - sum(
        one.outcome is Outcome.ANSWERED for one in map(synthetic_tip.evaluate, _designs(swept))
    )
    confirming = [one for one in told if one.stage is Stage.CONFIRM]
    assert confirming[-1].done == confirming[-1].total == found.confirmed
    assert told[-1].stage is Stage.VERIFY
    assert told[-1].done == told[-1].total == len(found.verified)


def _designs(swept):
    return [record.design for record in swept(evaluations=60)[1] if record.states is States.SEARCH]


def test_the_share_that_the_front_covers_never_shrinks(swept):
    told = []
    swept(evaluations=150, report=told.append)
    shares = [one.covered for one in told]
    assert shares == sorted(shares)
    assert shares[-1] > 0.0


def test_ctrl_c_finishes_the_batch_at_hand_stores_it_and_says_how_to_go_on(swept, tmp_path):
    whole, _ = swept(evaluations=60)
    stopped = tmp_path / "stopped.sqlite"
    done = []

    def interrupted(progress):
        if progress.stage is Stage.SEARCH:
            done.append(progress.done)
        if done[-1:] == [25]:
            os.kill(os.getpid(), signal.SIGINT)

    before = signal.getsignal(signal.SIGINT)
    with pytest.raises(Stopped) as told:
        swept(evaluations=60, report=interrupted, path=stopped)
    assert done == list(range(1, len(done) + 1))
    assert 25 <= len(done) < 25 + BATCH
    assert str(told.value).startswith(f"stopped after {len(done)} of 60 evaluations")
    assert signal.getsignal(signal.SIGINT) is before
    taken_up, _ = swept(evaluations=60, path=stopped)
    assert taken_up.front == whole.front


@pytest.fixture
def minding():
    """Mind a closed terminal, also where the tests themselves run under nohup."""
    before = signal.signal(signal.SIGHUP, signal.SIG_DFL)
    yield
    signal.signal(signal.SIGHUP, before)


@pytest.mark.usefixtures("minding")
@pytest.mark.parametrize("name", ["SIGINT", "SIGTERM", "SIGHUP"])
def test_a_shutdown_and_a_closed_terminal_ask_like_ctrl_c_and_are_answered_at_once(swept, name):
    number, heard = getattr(signal, name), []
    before = signal.getsignal(number)

    def interrupted(progress):
        if progress.done == 25:
            os.kill(os.getpid(), number)
            assert heard == ["now"]

    with pytest.raises(Stopped):
        swept(evaluations=60, report=interrupted, heard=lambda: heard.append("now"))
    assert signal.getsignal(number) is before


def test_a_closed_terminal_stops_no_sweep_that_was_told_not_to_mind(swept):
    def closed(progress):
        if progress.done == 25:
            os.kill(os.getpid(), signal.SIGHUP)

    before = signal.signal(signal.SIGHUP, signal.SIG_IGN)  # as nohup does
    try:
        found, _ = swept(evaluations=60, report=closed)
        assert signal.getsignal(signal.SIGHUP) is signal.SIG_IGN
    finally:
        signal.signal(signal.SIGHUP, before)
    assert found.end is End.BUDGET


@pytest.mark.usefixtures("minding")
def test_a_terminal_that_is_gone_spoils_no_stop(swept):
    def gone():
        raise OSError(errno.EIO, "Input/output error")

    def closed(progress):
        if progress.done == 25:
            os.kill(os.getpid(), signal.SIGHUP)

    with pytest.raises(Stopped):
        swept(evaluations=60, report=closed, heard=gone)


def test_a_second_ctrl_c_stops_at_once_and_is_noted(swept, tmp_path):
    def impatient(progress):
        if progress.done == 25:
            os.kill(os.getpid(), signal.SIGINT)
            os.kill(os.getpid(), signal.SIGINT)

    with pytest.raises(KeyboardInterrupt):
        swept(evaluations=60, report=impatient)
    with open_to_read(tmp_path / "run.sqlite") as store:
        assert store.stints()[-1].ended == "stopped at once by hand"


def test_a_metric_no_design_has_is_a_mistake_that_names_it(swept):
    goals = parse_goals(
        maximise=["sample.time_above"],
        minimise=["shell.mass"],
        limits={},
        units={"sample.time_above": "s", "shell.mass": "kg"},
    )
    with pytest.raises(UserMistakes, match=r"sweep, 'sample.time_above'"):
        swept(goals=goals)


def test_a_space_smaller_than_the_budget_is_run_whole_and_ends(swept):
    space = Space({}, {"x": ("0.1 mm", "0.2 mm", "0.9 mm")})
    goals = parse_goals(maximise=["energy"], minimise=[], limits={}, units={"energy": "1"})
    found, _ = swept(factory=_two_faced_evaluators, evaluations=40, goals=goals, space=space)
    assert found.searched == 3
    assert found.end is End.NO_MORE
    assert [member.design for member in found.front] == [{"x": "0.9 mm"}]


def test_a_budget_of_nothing_is_a_mistake(swept):
    with pytest.raises(UserMistakes, match="too few"):
        swept(evaluations=0)


def test_the_front_is_run_on_the_finer_grid_and_once_only(swept):
    found, records = swept()
    finer = [record.design_id for record in records if record.states is States.FINER]
    assert sorted(finer) == sorted(record.design_id for record in found.front)
    assert found.verified.keys() == {record.design_id for record in found.front}
    again, records_again = swept()
    assert again.verified == found.verified
    assert len(records_again) == len(records)


def test_a_search_whose_front_has_stopped_growing_ends_and_says_so(swept, tmp_path, monkeypatch):
    whole, _ = swept(evaluations=400)
    assert whole.end is End.BUDGET
    monkeypatch.setattr(stopping, "STALLED_BELOW", 0.05)
    found, _ = swept(evaluations=400, path=tmp_path / "stalled.sqlite", aim={"stalled": 60})
    assert found.end is End.STALLED
    assert 60 < found.searched < 400
    again, _ = swept(evaluations=400, path=tmp_path / "stalled.sqlite", aim={"stalled": 60})
    assert again.front == found.front
    assert again.searched == found.searched


def test_a_search_ends_at_its_hour_and_the_front_is_confirmed_all_the_same(swept, tmp_path):
    stopped = tmp_path / "hour.sqlite"
    clock = iter([100.0] * 10)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sweep_module, "now", lambda: next(clock, 1000.0))
        found, _ = swept(evaluations=400, path=stopped, aim={"until": 500.0})
    assert found.end is End.UNTIL
    assert 16 <= found.searched < 400
    assert all(member.states is States.ALL for member in found.front)
    further, _ = swept(evaluations=400, path=stopped)
    assert further.searched == 400


def test_what_died_in_an_earlier_stint_is_tried_again_and_counts_as_no_failure(swept, tmp_path):
    whole, _ = swept(evaluations=60)
    path = tmp_path / "died.sqlite"

    def deadly():
        return {states: _dying_once(evaluate) for states, evaluate in synthetic_tip.evaluators().items()}

    with pytest.raises(_Broken):
        swept(evaluations=60, factory=deadly, path=path)
    found, records = swept(evaluations=60, path=path)
    assert found.front == whole.front
    assert found.failures == whole.failures
    assert not any(record.evaluation.outcome is Outcome.WORKER_DIED for record in records)


class _Broken(Exception):
    pass


def _dying_once(evaluate):
    """Return an evaluation in which a worker dies at the first design, and all is lost at the third batch."""
    calls = []

    def run(designs):
        calls.append(designs)
        if len(calls) == 3:
            raise _Broken
        found = list(evaluate(designs))
        if len(calls) == 1:
            found[0] = Evaluation(outcome=Outcome.WORKER_DIED, detail="three times alone")
        return found

    return run


def test_the_store_tells_what_was_aimed_at_and_how_it_ended(tmp_path):
    with create_or_open(tmp_path / "run.sqlite", IDENTITY) as store:
        found = sweep(
            space=synthetic_search.space(),
            goals=synthetic_search.goals(),
            store=store,
            executor=SerialExecutor(synthetic_tip.evaluators),
            aim=Aim(evaluations=60, seed=1),
        )
        (stint,) = store.stints()
        stones = store.milestones()
    assert (stint.evaluations, stint.stage, stint.ended) == (60, Stage.FINISHED, End.BUDGET.value)
    assert [one.searched for one in stones][-1] == found.searched == 60
    assert [one.covered for one in stones] == sorted(one.covered for one in stones)


def test_what_leads_is_decided_once_and_said(swept, tmp_path):
    path, said = tmp_path / "led.sqlite", []
    found, _ = swept(evaluations=80, path=path, aim={"lead": LedBy.SURROGATE}, say=said.append)
    swept(evaluations=100, path=path, aim={"lead": LedBy.GENETIC}, say=said.append)
    assert said == [
        "Gaussian processes, up to 3,000 designs, lead the search, as the study says.",
        "Gaussian processes, up to 3,000 designs, lead the search, as from its start.",
    ]
    bred, _ = swept(evaluations=80, path=tmp_path / "bred.sqlite", aim={"lead": LedBy.GENETIC})
    assert bred.front != found.front


def test_limits_that_no_design_keeps_are_told_early_and_once(swept):
    said = []
    goals = synthetic_search.goals(limits={"margin.smallest": ">= -1000", "band.temperature_peak": "<= 1 K"})
    swept(goals=goals, say=said.append)
    (line,) = [one for one in said if one.startswith("None of the first")]
    assert "band.temperature_peak is kept by 0." in line
    said.clear()
    swept(goals=synthetic_search.goals(limits={"margin.smallest": ">= -1000"}), say=said.append)
    assert not [one for one in said if one.startswith("None of the first")]
