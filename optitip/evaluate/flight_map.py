"""Which flights reach a study's target: a map over peak Mach number or motor, burn, slab and joint."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum

from optitip.errors import Mistake, Outcome, UserMistakes
from optitip.evaluate.assessment import SMALLEST
from optitip.evaluate.pulls import MOST_MACH, flight_options
from optitip.evaluate.sought import limits_of, targets_of
from optitip.evaluate.sources import flown
from optitip.flight.trajectory import Flight
from optitip.inputs.study import Study
from optitip.inputs.tip_tables import JointBuild
from optitip.metrics.goals import Limit, Sense
from optitip.metrics.values import Bracketed, Design, Evaluation
from optitip.units import text

MACH, BURN = "flight.varied.peak_mach", "flight.varied.burn"
FASTER = (0.8, 0.9, 1.0, 1.15, 1.3)
"""times the study's own peak Mach number, unless others are asked for"""
LONGER = (0.5, 1.0, 1.6, 2.5)
"""times its own burn"""
NEAR = 0.01
"""of a burn: as long as a motor's own within that says the same to a person"""
THINNER = (1.0, 0.75, 0.5)
"""times its own slab"""
_PRESSED = (JointBuild.DRY, JointBuild.WETTED, JointBuild.SPRUNG)
"""from the loosest to the best"""


class Reach(Enum):
    """In which flow states a flight reaches the target, from none to all."""

    NO_FLIGHT = "no such flight, or no answer"
    NONE = "in none"
    BEST = "in the best flow state alone"
    EXPECTED = "in the expected flow state"
    EVERY = "in every flow state"

    @property
    def rank(self) -> int:
        """Return how far it reaches, 0 for no flight."""
        return list(Reach).index(self)


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """A flight of the map: its place along the top (a Mach number or a motor), its burn [s], what sets it.

    ``motor`` is empty where the map goes over Mach numbers; ``own`` tells the study's flight as it is.
    """

    mach: float
    motor: str
    burn: float
    own: bool
    design: Mapping[str, str | bool]


@dataclass(frozen=True, slots=True, kw_only=True)
class Build:
    """A slab's thickness [m] and how it is joined, and what sets them."""

    slab: float
    joint: str
    design: Mapping[str, str | bool]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One flight with one build: the first target's metric, how far all targets are reached.

    ``sound``: every limit is held and no margin is below 0. ``detail`` says why there is no answer.
    """

    course: Course
    build: Build
    value: Bracketed | None
    reach: Reach
    margin: float | None
    sound: bool
    detail: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """What is to be mapped, and what is asked of it."""

    targets: tuple[Limit, ...]
    limits: tuple[Limit, ...]
    courses: tuple[Course, ...]
    builds: tuple[Build, ...]

    @property
    def pairs(self) -> tuple[tuple[Course, Build], ...]:
        """Return what is run, all builds of a flight in a row: they share what it heats."""
        return tuple((course, build) for course in self.courses for build in self.builds)

    @property
    def designs(self) -> list[Design]:
        """Return the designs of the pairs."""
        return [{**course.design, **build.design} for course, build in self.pairs]


def planned(
    study: Study,
    *,
    machs: Sequence[float] = (),
    burns: Sequence[float] = (),
    slabs: Sequence[float] = (),
    joints: Sequence[JointBuild] = (),
) -> Plan:
    """Return what to map of a study: its own flight, slab and joint and those around them, or what is asked.

    Where the study's sweep chooses among flights or motors, and no Mach number is asked for, the map goes
    over those, each with its own peak Mach number. ``burns`` [s], ``slabs`` [m].
    """
    flight = _flight(study)
    targets = targets_of(study)
    if not targets:
        remedy = 'Add [target] with one, like "sample.temperature_coldest_peak" = ">= 60 degC"'
        raise UserMistakes.one("target", "there is no target to reach", remedy)
    return Plan(
        targets=targets,
        limits=limits_of(study),
        courses=tuple(_courses(study, flight, machs, burns)),
        builds=tuple(_builds(study, slabs, joints)),
    )


def cell_of(course: Course, build: Build, evaluation: Evaluation, *, plan: Plan) -> Cell:
    """Return what a flight with a build reached."""
    metrics = evaluation.metrics or {}
    value, margin = metrics.get(plan.targets[0].metric), metrics.get(SMALLEST)
    if evaluation.outcome is not Outcome.ANSWERED or value is None:
        return Cell(
            course=course, build=build, value=None, reach=Reach.NO_FLIGHT, margin=None, sound=False,
            detail=evaluation.detail or evaluation.outcome.problem,
        )  # fmt: skip
    held = all(limit.metric in metrics and limit.kept(metrics[limit.metric]) for limit in plan.limits)
    return Cell(
        course=course,
        build=build,
        value=value,
        reach=min((_reach(one, metrics) for one in plan.targets), key=lambda one: one.rank),
        margin=None if margin is None else margin.low,
        sound=held and (margin is None or margin.low >= 0.0),
        detail="",
    )


def least_flight(cells: Sequence[Cell]) -> Cell | None:
    """Return the slowest flight that reaches the targets as expected, of those with the shortest burn.

    One that breaks no limit comes before any that does. Among motors the first named is the least.
    """
    reaching = [one for one in cells if one.reach.rank >= Reach.EXPECTED.rank]
    motors = list(dict.fromkeys(one.course.motor for one in cells))
    return min(
        reaching,
        key=lambda one: (
            not one.sound, motors.index(one.course.motor), one.course.mach, one.course.burn, -one.build.slab,
        ),
        default=None,
    )  # fmt: skip


def _reach(target: Limit, metrics: Mapping[str, Bracketed]) -> Reach:
    value = metrics.get(target.metric)
    if value is None:
        return Reach.NONE
    if target.kept(value):
        return Reach.EVERY
    if target.past(value.expected) >= 0.0:
        return Reach.EXPECTED
    best = value.high if target.sense is Sense.AT_LEAST else value.low
    return Reach.BEST if target.past(best) >= 0.0 else Reach.NONE


def _flight(study: Study) -> Flight:
    flight = flown(study)
    if flight is None:
        raise UserMistakes.one(
            "flow.heating_table", "the study has a heating table and no flight to vary", "Give it a [flight]"
        )
    if study.tables.flow.heating_table is not None:
        problem = "the heating table is used as it is, whatever the flight"
        raise UserMistakes.one("flow.heating_table", problem, "Drop it, so that the flight heats")
    return flight


def _courses(
    study: Study, flight: Flight, machs: Sequence[float], burns: Sequence[float]
) -> Iterator[Course]:
    mach, burn = flight.peak_mach, flight.events["burnout"]
    seconds = tuple(sorted(burns)) or tuple(burn if one == 1.0 else _round(one * burn, 2) for one in LONGER)
    options = {} if machs else flight_options(study)
    for name, values in options.items():
        own = _flight(study.with_design(values))
        ends = own.events["burnout"]
        apart = [one for one in seconds if abs(one - ends) > NEAR * ends]
        for one in sorted({*(seconds if burns else (*apart, ends))}):
            varied = {} if one == ends else {BURN: f"{one:.6g} s"}
            yield Course(
                mach=own.peak_mach, motor=name, burn=one, own=not varied, design={**values, **varied}
            )
    if options:
        return
    numbers = tuple(sorted(machs)) or tuple(
        mach if one == 1.0 else min(round(20.0 * one * mach) / 20.0, MOST_MACH) for one in FASTER
    )
    for one in dict.fromkeys(numbers):
        for length in seconds:
            own_one = one == mach and length == burn
            varied = {MACH: f"{one:.6g}", BURN: f"{length:.6g} s"}
            yield Course(mach=one, motor="", burn=length, own=own_one, design={} if own_one else varied)


def _builds(study: Study, slabs: Sequence[float], joints: Sequence[JointBuild]) -> Iterator[Build]:
    sample = study.tables.sample
    own, joint = sample.slab.thickness, sample.joint
    thick = tuple(slabs) or tuple(own if one == 1.0 else _round(one * own, 2) for one in THINNER)
    builds = tuple(joints)
    if not builds and joint.conductance is None:
        better = _PRESSED[_PRESSED.index(joint.build) + 1 :][:1] if joint.build in _PRESSED else ()
        builds = (joint.build, *better)
    if joints and joint.conductance is not None:
        mistake = Mistake(
            "sample.joint.conductance", "it is given, so that no build changes it", "Drop it or --joint"
        )
        raise UserMistakes([mistake])
    said = f"{text(joint.conductance or 0.0, 'W/(m2 K)')}"
    for slab in dict.fromkeys(thick):
        thickness = {} if slab == own else {"sample.slab.thickness": f"{1e3 * slab:.6g} mm"}
        for build in builds:
            joined = {} if build is joint.build else {"sample.joint.build": build.value}
            yield Build(slab=slab, joint=build.value, design={**thickness, **joined})
        if not builds:
            yield Build(slab=slab, joint=said, design=thickness)


def _round(value: float, digits: int) -> float:
    return float(f"{value:.{digits}g}")
