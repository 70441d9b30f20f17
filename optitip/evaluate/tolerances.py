"""How far a part made within its tolerances may be off: each lever at both its ends, then all together.

Energy and coldest peak are those of the expected flow state, the smallest margin is that of the worst one, as
a check prints them; all flow states run, so that the figures as drawn are the check's own.
"""

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import Enum
from typing import Any

from optitip.errors import Outcome
from optitip.evaluate.assess import assess_many, check
from optitip.evaluate.assessment import SMALLEST, Assessment
from optitip.evaluate.drawn import AFT, FORE, drawn_lengths, with_the_rest_held
from optitip.inputs.study import Study
from optitip.metrics.registry import UNITS
from optitip.metrics.turning import Finding
from optitip.metrics.values import Design
from optitip.properties.joints import JOINT_RANGES
from optitip.units import System, shown, text, written

ENERGY, COLDEST, MASS = "sample.energy_peak", "sample.temperature_coldest_peak", "shell.mass"
FIGURES = (ENERGY, COLDEST, SMALLEST, MASS)
PLUG, SLAB, JOINT = "tip.plug.length", "sample.slab.thickness", "sample.joint.conductance"


class Source(Enum):
    """What lets a lever move: two levers of one tolerance are two ways of one part being off."""

    WALL = "wall"
    SLAB = "slab"
    JOINT = "joint"
    DEPTH = "depth of the cavity"


@dataclass(frozen=True, slots=True, kw_only=True)
class LeverEnd:
    """One end of a lever: what it is set to (SI) and what a check then says; none without an answer.

    ``unturned`` are the rules of the lathe that it breaks and the drawing keeps.
    """

    values: tuple[float, ...]
    design: Design
    outcome: Outcome = Outcome.ANSWERED
    detail: str = ""
    figures: Mapping[str, float] | None = None
    unturned: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Lever:
    """One thing that may be off, all else as drawn; ``unit`` is that of its values, drawn and at its ends."""

    name: str
    source: Source
    unit: str
    drawn: tuple[float, ...]
    ends: tuple[LeverEnd, LeverEnd]

    @property
    def failed(self) -> tuple[LeverEnd, ...]:
        """Return the ends that can't be built, turned or solved."""
        return tuple(end for end in self.ends if end.figures is None)

    def sides(self, metric: str, *, nominal: float) -> tuple[float, float]:
        """Return how far below and above ``nominal`` a figure gets between its ends; neither is negative."""
        there = [
            end.figures[metric] for end in self.ends if end.figures is not None and metric in end.figures
        ]
        return max(0.0, nominal - min(there, default=nominal)), max(
            0.0, max(there, default=nominal) - nominal
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """One figure with all levers together: ``worst`` is the sum of all sides, ``root`` that of their squares.

    The worst case has every lever at its worse end at once, as if none minded the others: the design marched
    there lies within a few per cent of the spread. The root of the sum of squares is what levers that are
    independent of each other, each at its end, would come to.
    """

    nominal: float
    worst: tuple[float, float]
    root: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Tolerances:
    """What the study's tolerances do to its own design.

    ``spreads`` are by metric; ``still`` says why a lever isn't there. Ends without an answer are no
    part of the spreads.
    """

    levers: tuple[Lever, ...]
    spreads: Mapping[str, Spread]
    still: Mapping[str, str]

    @property
    def watched(self) -> Lever | None:
        """Return the lever that moves the energy furthest; None where nothing moves it."""
        if not self.levers:
            return None
        nominal = self.spreads[ENERGY].nominal
        most = max(self.levers, key=lambda one: max(one.sides(ENERGY, nominal=nominal)))
        return most if max(most.sides(ENERGY, nominal=nominal)) > 0.0 else None

    @property
    def failed(self) -> tuple[tuple[Lever, LeverEnd], ...]:
        """Return the levers' ends without an answer."""
        return tuple((lever, end) for lever in self.levers for end in lever.failed)


def tolerances(study: Study) -> Tolerances:
    """Return how far the study's own design may be off within its tolerances and its joint's range.

    All designs run as one batch. Raises as ``check`` does where the design itself has no answer.
    """
    planned = list(levers_of(study))
    designs = [end.design for lever in planned for end in lever.ends]
    nominal, *answers = assess_many(study, designs=[{}, *designs], searching=False)
    if nominal.outcome is not Outcome.ANSWERED:
        nominal = check(study)
    told, kept = iter(answers), _kept_rules(nominal)
    levers = tuple(
        replace(one, ends=(_told(one.ends[0], next(told), kept), _told(one.ends[1], next(told), kept)))
        for one in planned
    )
    drawn = _figures(nominal)
    return Tolerances(
        levers=levers,
        spreads={name: spread(levers, metric=name, nominal=value) for name, value in drawn.items()},
        still=_still(study),
    )


def levers_of(study: Study) -> Iterator[Lever]:
    """Yield the levers that a study's tolerances leave, not yet run; a tolerance of 0 leaves none.

    The wall's two ends go together, then against each other. The cavity moves with its fore face, since its
    lengths are chained from there.
    """
    turning, drawn = study.tables.turning, drawn_lengths(study)
    fore, aft, wall = drawn[FORE], drawn[AFT], turning.wall_tolerance

    def lengths(name: str, source: Source, *ends: Mapping[str, float]) -> Lever:
        less, more = (
            LeverEnd(values=tuple(end.values()), design=with_the_rest_held(study, end)) for end in ends
        )
        middle = tuple(drawn[key] for key in ends[0])
        return Lever(name=name, source=source, unit="m", drawn=middle, ends=(less, more))

    if wall > 0.0:
        yield lengths(
            "wall", Source.WALL, {FORE: fore - wall, AFT: aft - wall}, {FORE: fore + wall, AFT: aft + wall}
        )
        yield lengths(
            "taper",
            Source.WALL,
            {FORE: fore - wall, AFT: aft + wall},
            {FORE: fore + wall, AFT: aft - wall},
        )
    for name, source, key, off in (
        ("slab", Source.SLAB, SLAB, turning.slab_tolerance),
        ("depth", Source.DEPTH, PLUG, turning.bore_depth_tolerance),
    ):
        if off > 0.0:
            yield lengths(name, source, {key: drawn[key] - off}, {key: drawn[key] + off})
    joint = study.tables.sample.joint
    if joint.conductance is None:
        ends = JOINT_RANGES[joint.build]
        low, high = (
            LeverEnd(values=(one,), design={JOINT: f"{one!r} W/(m2 K)"}) for one in (ends.low, ends.high)
        )
        yield Lever(
            name="joint", source=Source.JOINT, unit="W/(m2 K)", drawn=(ends.expected,), ends=(low, high)
        )


def _still(study: Study) -> dict[str, str]:
    """Return the levers that aren't there, and why."""
    turning = study.tables.turning
    given = {
        "wall": (turning.wall_tolerance == 0.0, "turning.wall_tolerance is 0"),
        "slab": (turning.slab_tolerance == 0.0, "turning.slab_tolerance is 0"),
        "depth": (turning.bore_depth_tolerance == 0.0, "turning.bore_depth_tolerance is 0"),
        "joint": (
            study.tables.sample.joint.conductance is not None,
            "the study gives one number, sample.joint.conductance, and no range",
        ),
        "base's joint": (
            study.tables.tip.base.separate,
            "the study gives one number, tip.base.joint, and no range",
        ),
    }
    return {name: why for name, (still, why) in given.items() if still}


def _told(end: LeverEnd, answer: Assessment, kept: frozenset[str]) -> LeverEnd:
    figures = _figures(answer) if answer.outcome is Outcome.ANSWERED else None
    findings = () if answer.turnable is None else answer.turnable.findings
    return replace(
        end,
        outcome=answer.outcome,
        detail=answer.detail,
        figures=figures,
        unturned=tuple(one for one in findings if not one.kept and one.name in kept),
    )


def _kept_rules(answer: Assessment) -> frozenset[str]:
    """Return the rules of the lathe that the drawing keeps: those it breaks itself are told by the check."""
    findings = () if answer.turnable is None else answer.turnable.findings
    return frozenset(one.name for one in findings if one.kept)


def _figures(answer: Assessment) -> dict[str, float]:
    """Return what is told of an answer: expected figures, of the smallest margin the worst state's."""
    there = [name for name in FIGURES if name in answer.metrics]
    return {
        name: answer.metrics[name].low if name == SMALLEST else answer.metrics[name].expected
        for name in there
    }


def spread(levers: Sequence[Lever], *, metric: str, nominal: float) -> Spread:
    """Return one figure's spread over levers, from the sides of each.

    Levers of one source are ways of one tolerance: the wall's ends within +-t lie both at t, or one at t and
    one at -t, never in between at once, so the farther of the two ways counts on either side.
    """
    sides: dict[Source, tuple[float, float]] = {}
    for lever in levers:
        below, above = lever.sides(metric, nominal=nominal)
        before = sides.get(lever.source, (0.0, 0.0))
        sides[lever.source] = max(before[0], below), max(before[1], above)
    down, up = (tuple(side[k] for side in sides.values()) for k in (0, 1))
    return Spread(
        nominal=nominal,
        worst=(nominal - math.fsum(down), nominal + math.fsum(up)),
        root=(nominal - math.hypot(*down), nominal + math.hypot(*up)),
    )


def spread_line(told: Tolerances, *, units: System = System.METRIC) -> str:
    """Return the spread in one line, for a drawing: as drawn, at worst from where to where, the margin."""
    energy = told.spreads[ENERGY]
    drawn = f"As drawn {text(energy.nominal, UNITS[ENERGY], units)}"
    if not told.levers:
        return f"{drawn}; nothing has a tolerance or a range"
    sources = list(dict.fromkeys(lever.source.value for lever in told.levers))
    named = sources[0] if len(sources) == 1 else f"{', '.join(sources[:-1])} and {sources[-1]}"
    plural = "tolerance" if len(sources) == 1 else "tolerances"
    line = f"{drawn}; within the {plural} of {named} {range_text(energy.worst, ENERGY, units)} (worst case)"
    if SMALLEST in told.spreads:
        line += f", smallest margin {range_text(told.spreads[SMALLEST].worst, SMALLEST, units)}"
    if told.failed:
        line += "; ends that can't be made are left out"
    return line


def range_text(ends: tuple[float, float], metric: str, units: System) -> str:
    """Return from where to where a metric goes, with its unit at the end."""
    if metric == SMALLEST:
        return " to ".join(dict.fromkeys(f"{one:.2f}" for one in ends))
    low, high = (text(one, UNITS[metric], units) for one in ends)
    if low == high:
        return high
    unit = shown(ends[0], UNITS[metric], units)[1]
    return f"{low.removesuffix(unit).rstrip()} to {high}"


def as_mapping(told: Tolerances) -> dict[str, Any]:
    """Return the tolerances as plain mappings for JSON, SI throughout."""
    return {
        "levers": [
            {
                "name": lever.name,
                "source": lever.source.value,
                "unit": written(lever.unit),
                "as_drawn": list(lever.drawn),
                "ends": [
                    {
                        "values": list(end.values),
                        "outcome": end.outcome.name.lower(),
                        "detail": end.detail,
                        "unturned": [one.said() for one in end.unturned],
                        "metrics": None if end.figures is None else dict(end.figures),
                    }
                    for end in lever.ends
                ],
            }
            for lever in told.levers
        ],
        "spreads": {
            name: {
                "unit": written(UNITS[name]),
                "as_drawn": one.nominal,
                "worst_case": list(one.worst),
                "root_of_squares": list(one.root),
            }
            for name, one in told.spreads.items()
        },
        "still": dict(told.still),
    }
