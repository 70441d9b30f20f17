"""What would get a study to a target it misses: each lever's smallest change, or how close it comes."""

import math
from collections.abc import Generator, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations
from typing import Any, TypeAlias, TypeVar

from optitip.errors import Outcome
from optitip.evaluate.assess import assess_many
from optitip.evaluate.assessment import SMALLEST, Assessment, LimitResult
from optitip.evaluate.pulls import Pull, Swap, pulls_of
from optitip.inputs.study import Study
from optitip.metrics.goals import Limit
from optitip.metrics.values import Bracketed, Design
from optitip.units import written

_T = TypeVar("_T")
Asking: TypeAlias = Generator[Design, float | None, _T]
"""Designs to evaluate, one at a time; sent back: by how much each is past the target, None if it can't be"""
HARDLY = 0.1
"""share of what is missing, under which a lever hardly matters: a choice"""
HAIR = 2e-3
"""share of what is missing, which a change goes past the target"""
_TOWARDS = 3  # times that an end which can't be built is moved half way to what is
_SIXTEENTHS = 16  # of the way two levers go together


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Change:
    """A change of the study and what it does: ``value`` of the target's metric, past it or not.

    Of one that reaches the target all flow states are run: ``everywhere`` tells whether all of them reach it,
    ``broken`` which limits it breaks that were held, ``margin`` the smallest margin in the worst state,
    ``unturned`` the rules of the lathe it breaks.
    """

    to: tuple[str, ...]
    design: Design
    value: Bracketed
    everywhere: bool = False
    broken: tuple[LimitResult, ...] = ()
    margin: float | None = None
    unturned: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Way:
    """One lever, or two together: the smallest change that reaches the target, or the best there is.

    ``best`` is None where nothing of it gets nearer.
    """

    levers: tuple[str, ...]
    groups: tuple[str, ...]
    was: tuple[str, ...]
    reaching: Change | None
    best: Change | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ways:
    """What would reach one target: single levers in the order of the physics, then two of the tip's together.

    ``pair`` is None where a lever of the tip or its sample reaches the target alone.
    """

    target: Limit
    value: Bracketed
    single: tuple[Way, ...]
    pair: Way | None

    @property
    def missing(self) -> float:
        """Return how far the expected state is from the target, above 0."""
        return -self.target.past(self.value.expected)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Reached:
    """What one side of a lever came to: the design that reaches, and the one that gets nearest."""

    to: tuple[str, ...]
    design: Design
    gap: float
    moved: float = 0.0
    """share of what it was, by which the lever moves"""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Found:
    reaching: _Reached | None = None
    best: _Reached | None = None


_Plan: TypeAlias = tuple[tuple[str, ...], tuple[str, ...], tuple[str, ...], _Found]
"""levers, their groups, what they were, what they came to"""


@dataclass(slots=True, kw_only=True, eq=False)
class _Trial:
    """One target of one study: designs in, by how much they are past it."""

    study: Study
    target: Limit
    hair: float
    """as the flow states together take other steps in time than the expected one alone"""
    known: dict[tuple[tuple[str, str | bool], ...], Bracketed | None] = field(default_factory=dict)

    def values(self, designs: Iterable[Design]) -> list[Bracketed | None]:
        """Return the metric of each design in the expected flow state; new ones run in one batch."""
        keys = [tuple(sorted(one.items())) for one in designs]
        fresh = [key for key in dict.fromkeys(keys) if key not in self.known]
        answers = assess_many(
            self.study, designs=[dict(key) for key in fresh], searching=True, expected_alone=True
        )
        for key, answer in zip(fresh, answers, strict=True):
            self.known[key] = answer.metrics.get(self.target.metric)
        return [self.known[key] for key in keys]

    def gaps(self, designs: Sequence[Design]) -> list[float | None]:
        """Return by how much each design is past the target and a hair more, below 0 for short of it."""
        values = self.values(designs)
        return [None if one is None else self.target.past(one.expected) - self.hair for one in values]


def ways(study: Study, *, base: Assessment) -> tuple[Ways, ...]:
    """Return what would reach each target that the study's own design misses in its expected flow state.

    ``base`` is what ``check`` says of it. Levers and how far they may go: ``evaluate/pulls.py``. Each is
    pulled alone; the smallest change is found in steps that a person can make, the expected flow state alone
    run, and what it does is told of all of them.
    """
    return tuple(
        _ways_to(study, base=base, target=one.limit, value=one.value)
        for one in base.targets
        if one.value is not None and not one.expected_held
    )


def _ways_to(study: Study, *, base: Assessment, target: Limit, value: Bracketed) -> Ways:
    gap = target.past(value.expected)
    trial = _Trial(study=study, target=target, hair=-HAIR * gap)
    levers = list(pulls_of(study, target=target))
    asked = [(lever, job) for lever in levers for job in _jobs(lever, gap)]
    found = _together([job for _, job in asked], trial)
    merged = [
        _merged([one for (own, _), one in zip(asked, found, strict=True) if own is lever], gap)
        for lever in levers
    ]
    tip = [(lever, one) for lever, one in zip(levers, merged, strict=True) if lever.group != "flight"]
    pair = None
    if not any(one.reaching for _, one in tip):
        pair = _pair(tip, trial)
    plans: list[_Plan] = [
        ((lever.name,), (lever.group,), (_now(lever),), one)
        for lever, one in zip(levers, merged, strict=True)
    ]
    plans += [] if pair is None else [pair]
    told = _told([one for *_, one in plans], trial, base)
    made = tuple(
        Way(levers=names, groups=groups, was=was, reaching=reaching, best=best)
        for (names, groups, was, _), (reaching, best) in zip(plans, told, strict=True)
    )
    single = made[: len(levers)]
    return Ways(target=target, value=value, single=single, pair=made[-1] if pair is not None else None)


def _now(lever: Pull | Swap) -> str:
    return lever.said(lever.now) if isinstance(lever, Pull) else lever.now


def _jobs(lever: Pull | Swap, gap: float) -> list[Asking[_Found]]:
    if isinstance(lever, Swap):
        return [_tried(name, design, order) for order, (name, design) in enumerate(lever.options.items())]
    here = lever.now / lever.step
    ends = (math.ceil(lever.low / lever.step - 1e-9), math.floor(lever.high / lever.step + 1e-9))
    return [_pulled(lever, end, gap) for end in ends if abs(end - here) >= 1.0]


def _tried(name: str, design: Mapping[str, str | bool], order: int) -> Asking[_Found]:
    gap = yield design
    if gap is None:
        return _Found()
    one = _Reached(to=(name,), design=design, gap=gap, moved=float(order))
    return _Found(reaching=one if gap >= 0.0 else None, best=one)


def _pulled(lever: Pull, end: int, gap: float) -> Asking[_Found]:
    """Seek the step nearest to what is there at which the target is met, on the side of ``end``."""
    here = lever.now / lever.step

    def reached(place: int, past: float) -> _Reached:
        value = place * lever.step
        return _Reached(
            to=(lever.said(value),),
            design=lever.design(value),
            gap=past,
            moved=abs(place - here) / max(abs(here), 1.0),
        )

    past = yield lever.design(end * lever.step)
    for _ in range(_TOWARDS):
        if past is not None:
            break
        end = round(0.5 * (end + here))
        past = yield lever.design(end * lever.step)
    if past is None:
        return _Found()
    best = reached(end, past)
    if past < 0.0 and abs(end - here) > 2.0:
        middle = round(0.5 * (end + here))
        inside = yield lever.design(middle * lever.step)
        if inside is not None and inside > past:
            end, past, best = middle, inside, reached(middle, inside)
    if past < 0.0:
        return _Found(best=best)
    place, past = yield from _nearest(lever, here, gap, end, past)
    return _Found(reaching=reached(place, past), best=best)


def _nearest(lever: Pull, near: float, short: float, far: int, past: float) -> Asking[tuple[int, float]]:
    """Return the step nearest to ``near`` that reaches, and by how much; by false position, Illinois's.

    ``near`` is short of the target by ``short``, below 0; ``far`` is ``past`` it. Source: Dowell & Jarratt
    1971, BIT 11 (from memory), on whole numbers.
    """
    way = 1 if far > near else -1
    exact, over = short, past  # of the two ends, as the method weighs them
    reached = past
    while way * (far - near) > 1.0 + 1e-9:
        guess = near + (far - near) * exact / (exact - over)
        first = math.floor(near) + 1 if way > 0 else math.ceil(near) - 1
        last = far - way
        place = min(max(round(guess), min(first, last)), max(first, last))
        found = yield lever.design(place * lever.step)
        if found is not None and found >= 0.0:
            far, over, reached = place, found, found
            exact *= 0.5
        else:
            near, exact = float(place), exact if found is None else found
            over *= 0.5
    return far, reached


def _together(jobs: Sequence[Asking[_T]], trial: _Trial) -> list[_T]:
    """Run all jobs side by side, a batch of one design of each at a time; return what they come to."""
    ended: dict[int, _T] = {}
    answers: dict[int, float | None] = dict.fromkeys(range(len(jobs)))
    while answers:
        asked: dict[int, Design] = {}
        for index, answer in answers.items():
            try:
                asked[index] = jobs[index].send(answer)
            except StopIteration as stop:
                ended[index] = stop.value
        answers = dict(zip(asked, trial.gaps(list(asked.values())), strict=True))
    return [ended[index] for index in range(len(jobs))]


def _merged(sides: Sequence[_Found], gap: float) -> _Found:
    """Return the smallest change that reaches, and the one that gets farthest, if nearer at all."""
    reaching = [one.reaching for one in sides if one.reaching is not None]
    best = [one.best for one in sides if one.best is not None and one.best.gap > gap]
    return _Found(
        reaching=min(reaching, key=lambda one: one.moved, default=None),
        best=max(best, key=lambda one: one.gap, default=None),
    )


def _pair(tip: Sequence[tuple[Pull | Swap, _Found]], trial: _Trial) -> _Plan | None:
    """Return the two levers that get farthest together, and the least of them that reaches, if they do."""
    usable = [(lever, one.best) for lever, one in tip if one.best is not None]
    pairs = [(a, b) for a, b in combinations(usable, 2) if a[0].group != b[0].group]
    if not pairs:
        return None
    gaps = trial.gaps([{**a[1].design, **b[1].design} for a, b in pairs])
    known = [(gap, pair) for gap, pair in zip(gaps, pairs, strict=True) if gap is not None]
    if not known:
        return None
    gap, pair = max(known, key=lambda one: one[0])
    (first, far), (second, other) = pair
    whole = _Reached(to=(*far.to, *other.to), design={**far.design, **other.design}, gap=gap)
    found = _Found(best=whole)
    if gap >= 0.0:
        (least,) = _together([_shrunk(pair, whole)], trial)
        found = _Found(reaching=least, best=whole)
    return (first.name, second.name), (first.group, second.group), (_now(first), _now(second)), found


def _shrunk(pair: tuple[tuple[Pull | Swap, _Reached], ...], whole: _Reached) -> Asking[_Reached]:
    """Seek the least share of the way to both levers' ends that reaches; a choice is taken whole."""
    low, high, least = 0, _SIXTEENTHS, whole
    if not any(isinstance(lever, Pull) for lever, _ in pair):
        return whole
    while high - low > 1:
        middle = (low + high) // 2
        parts = [_part(lever, end, middle / _SIXTEENTHS) for lever, end in pair]
        design = {key: value for _, one in parts for key, value in one.items()}
        gap = yield design
        if gap is not None and gap >= 0.0:
            high, least = middle, _Reached(to=tuple(to for to, _ in parts), design=design, gap=gap)
        else:
            low = middle
    return least


def _part(lever: Pull | Swap, end: _Reached, share: float) -> tuple[str, Design]:
    if isinstance(lever, Swap):
        return end.to[0], end.design
    far = float(str(end.design[lever.key]).removesuffix(lever.unit))
    value = round((lever.now + share * (far - lever.now)) / lever.step) * lever.step
    return lever.said(value), lever.design(value)


def _told(
    found: Sequence[_Found], trial: _Trial, base: Assessment
) -> list[tuple[Change | None, Change | None]]:
    """Return each as changes: those that reach run in all flow states, the others as they are known."""
    wanted = [one.reaching for one in found if one.reaching is not None]
    answers = iter(assess_many(trial.study, designs=[one.design for one in wanted], searching=False))
    told = []
    for one in found:
        reaching = None if one.reaching is None else _judged(one.reaching, next(answers), trial, base)
        told.append((reaching, None if one.best is None else _plain(one.best, trial)))
    return told


def _plain(one: _Reached, trial: _Trial) -> Change:
    (value,) = trial.values([one.design])
    assert value is not None  # it was tried
    return Change(to=one.to, design=one.design, value=value)


def _judged(one: _Reached, answer: Assessment, trial: _Trial, base: Assessment) -> Change | None:
    """Return what a change does in all flow states; None where one of them can't be run."""
    if answer.outcome is not Outcome.ANSWERED:
        return None
    held = {limit.limit for limit in base.limits if limit.held}
    margin = answer.metrics.get(SMALLEST)
    value = answer.metrics[trial.target.metric]
    rules = () if answer.turnable is None else answer.turnable.findings
    was = {} if base.turnable is None else {rule.name: rule.kept for rule in base.turnable.findings}
    return Change(
        to=one.to,
        design=one.design,
        value=value,
        everywhere=trial.target.kept(value),
        broken=tuple(limit for limit in answer.limits if limit.limit in held and not limit.held),
        margin=None if margin is None else margin.low,
        unturned=tuple(str(rule.problem) for rule in rules if not rule.kept and was.get(rule.name, True)),
    )


def as_mapping(told: Sequence[Ways]) -> list[dict[str, Any]]:
    """Return the ways as plain mappings, lists and numbers (SI)."""
    return [
        {
            "metric": one.target.metric,
            "target": one.target.value,
            "sense": one.target.sense.value,
            "single": [_way_mapping(way) for way in one.single],
            "pair": None if one.pair is None else _way_mapping(one.pair),
        }
        for one in told
    ]


def _way_mapping(way: Way) -> dict[str, Any]:
    best = (
        None if way.best is None else {"design": dict(way.best.design), "expected": way.best.value.expected}
    )
    return {
        "levers": list(way.levers),
        "was": [str(one) for one in way.was],
        "reaching": None if way.reaching is None else _change_mapping(way.reaching),
        "best": best,
    }


def _change_mapping(change: Change) -> dict[str, Any]:
    value = change.value
    return {
        "design": dict(change.design),
        "unit": written(value.unit),
        "low": value.low,
        "expected": value.expected,
        "high": value.high,
        "in_every_state": change.everywhere,
        "breaks": [one.limit.metric for one in change.broken],
        "smallest_margin": change.margin,
        "unturned": list(change.unturned),
    }
