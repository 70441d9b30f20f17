"""The levers of a sample's energy, and how far each can be pulled: what 'check' tries for a missed target."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from optitip.evaluate.sources import atmosphere_of, flown, material_of
from optitip.inputs.keys import value_at
from optitip.inputs.study import OWN_MATERIALS, Study
from optitip.inputs.swept import swept_options
from optitip.inputs.tip_tables import JointBuild
from optitip.metrics.goals import Limit, Sense
from optitip.properties.joints import JOINT_RANGES
from optitip.properties.materials import Family, material_names
from optitip.units import Sentence, scale, shown

MOST_MACH = 5.0
FASTER = (0.6, 1.5)
"""of the flight's peak Mach number; Mach 5 at most, where the air stops being plain air"""
LONGER = (0.25, 4.0)
"""of the flight's burn"""
THINNEST_SLAB, THICKER_SLAB = 0.5e-3, 2.0
"""[m] that can be cut and handled, and times the study's own: common practice, no source"""
THICKER_WALL = 3.0
"""times the study's own; the thinnest is what is turned of its metal"""
THINNEST_COAT, THICKER_COAT = 10e-6, 2.0
"""[m] that still covers, and times the study's own: common practice, no source"""
PREPARED = (273.15, 313.15)
"""[K] a sample can be brought to before its flight, neither cooking nor freezing: a choice"""
SOURCES = frozenset({"flight.record", "flight.ascent.thrust"})
WALL, WALL_AFT = "tip.band.thickness", "tip.band.thickness_aft"


@dataclass(frozen=True, slots=True, kw_only=True)
class Pull:
    """A number that can be changed: in whole steps between its bounds, in the unit that a study writes.

    ``now``, ``low``, ``high`` count in ``unit``; ``si`` is the kind of quantity. ``beside`` are keys that
    keep their ratio to it, with their values in the same unit. ``group``: pulls of one group exclude others.
    """

    name: str
    group: str
    key: str
    si: str
    unit: str
    now: float
    low: float
    high: float
    step: float
    beside: Mapping[str, float]

    def written(self, value: float) -> str:
        """Return a value as it would stand in a study."""
        return f"{value:.6g} {self.unit}".rstrip()

    def said(self, value: float) -> Sentence:
        """Return a value as a person reads it in either system of units."""
        offset, factor = scale(self.unit, self.si) if self.unit else (0.0, 1.0)
        return Sentence("{0}", (offset + factor * value, self.si))

    def design(self, value: float) -> dict[str, str | bool]:
        """Return the keys that set the value."""
        others = {key: self.written(round(one * value / self.now, 4)) for key, one in self.beside.items()}
        return {self.key: self.written(value), **others}


@dataclass(frozen=True, slots=True, kw_only=True)
class Swap:
    """Options of a choice other than the study's own; each is the keys it sets.

    Of those that reach a target the first is told: joints from the loosest, coats from the thinnest, metals,
    flights and motors as they are listed.
    """

    name: str
    group: str
    now: str
    options: Mapping[str, Mapping[str, str | bool]]


def pulls_of(study: Study, *, target: Limit) -> Iterator[Pull | Swap]:
    """Yield the levers of a study in the order of the physics, the strongest first.

    The flight itself, the joint, the slab, the wall, the metal, the coating, the sample's start.
    """
    yield from _flights(study)
    yield from _joints(study)
    sample, tip = study.tables.sample, study.tables.tip
    yield _length(
        "the slab's thickness", "sample.slab.thickness", sample.slab.thickness, THINNEST_SLAB, THICKER_SLAB
    )
    metal = material_of(tip.material, folder=study.folder)
    thinnest = THINNEST_SLAB if metal.machining is None else metal.machining.thinnest
    aft = tip.band.thickness_aft
    beside = {} if aft is None else {WALL_AFT: shown(aft, "m")[0]}
    yield _length("the band's wall", WALL, tip.band.thickness, thinnest, THICKER_WALL, beside=beside)
    yield _metals(study)
    if tip.coating is not None:
        key = "tip.coating.thickness"
        yield _length(
            "the coating's thickness", key, tip.coating.thickness, THINNEST_COAT, THICKER_COAT, step=0.01
        )
    elif target.sense is Sense.AT_MOST:
        coats = {
            f"{one} mm of paint": {"tip.coating.thickness": f"{one} mm"} for one in ("0.05", "0.1", "0.2")
        }
        yield Swap(name="the coating", group="coating", now="none", options=coats)
    yield from _starts(study)


def flight_options(study: Study) -> dict[str, dict[str, str | bool]]:
    """Return the flights and motors that the study's sweep chooses among, by name, with the keys they set."""
    return {
        _called(place, values): {key: _plain(one) for key, one in values.items()}
        for place, values in swept_options(study.raw)
        if SOURCES & values.keys()
    }


def _flights(study: Study) -> Iterator[Pull | Swap]:
    table, flight = study.tables.flight, flown(study)
    if table is None or flight is None or study.tables.flow.heating_table is not None:
        return
    options = {
        name: values
        for name, values in flight_options(study).items()
        if any(value_at(study.raw, key) != one for key, one in values.items())
    }
    if options:
        yield Swap(name="the flight", group="flight", now="as it is", options=options)
    mach, burn = flight.peak_mach, flight.events["burnout"]
    yield Pull(
        name="the flight's peak Mach number", group="flight", key="flight.varied.peak_mach", si="1", unit="",
        now=mach, low=FASTER[0] * mach, high=min(FASTER[1] * mach, MOST_MACH), step=0.01, beside={},
    )  # fmt: skip
    yield Pull(
        name="its length of burn", group="flight", key="flight.varied.burn", si="s", unit="s",
        now=burn, low=LONGER[0] * burn, high=LONGER[1] * burn, step=0.05, beside={},
    )  # fmt: skip


def _called(place: str, values: Mapping[str, object]) -> str:
    """Return the name of an option: that of a set with its own, or what stands in a list of choices."""
    *_, name, option = place.split(".", 3)
    words = f"{name} {option}" if place.startswith("sweep.sets.") else str(next(iter(values.values())))
    return words.replace("'", "")


def _plain(value: object) -> str | bool:
    return value if isinstance(value, str | bool) else str(value)


def _joints(study: Study) -> Iterator[Pull | Swap]:
    joint = study.tables.sample.joint
    own = JOINT_RANGES[joint.build]
    unit = "W/(m2 K)"
    if joint.conductance is None:
        others = sorted(
            (one for one in JointBuild if one is not joint.build), key=lambda one: JOINT_RANGES[one].expected
        )
        options = {one.value: {"sample.joint.build": one.value} for one in others}
        yield Swap(name="the joint's build", group="joint", now=joint.build.value, options=options)
    now = own.expected if joint.conductance is None else joint.conductance
    name = f"the conductance of the {joint.build.value} joint"
    yield Pull(
        name=name, group="joint", key="sample.joint.conductance", si=unit, unit=unit, now=now,
        low=min(own.low, now), high=max(own.high, now), step=10.0, beside={},
    )  # fmt: skip


def _length(
    name: str, key: str, now: float, least: float, times: float, *,
    beside: Mapping[str, float] | None = None, step: float = 0.05,
) -> Pull:  # fmt: skip
    """Return the pull of a length [m], in steps [mm], between the ``least`` [m] and some times its own."""
    here, unit = shown(now, "m")
    low, high = shown(min(least, now), "m")[0], times * here
    group = key
    return Pull(
        name=name, group=group, key=key, si="m", unit=unit,
        now=here, low=low, high=high, step=step, beside=beside or {},
    )  # fmt: skip


def _metals(study: Study) -> Swap:
    now = study.tables.tip.material
    options = {}
    for name in material_names(study.folder / OWN_MATERIALS):
        material = material_of(name, folder=study.folder)
        if name != now and material.family is Family.METAL and material.elastic is not None:
            options[name] = {"tip.material": name}
    return Swap(name="the metal", group="metal", now=now, options=options)


def _starts(study: Study) -> Iterator[Pull]:
    table = study.tables.flight
    start = study.tables.sample.start_temperature
    if start is None and table is not None:
        start = table.start_temperature or atmosphere_of(table).site_temperature
    if start is None:
        return
    now, unit = shown(start, "K")
    low, high = (shown(one, "K")[0] for one in PREPARED)
    yield Pull(
        name="the sample's start", group="start", key="sample.start_temperature", si="K", unit=unit,
        now=now, low=min(low, now), high=max(high, now), step=0.5, beside={},
    )  # fmt: skip
