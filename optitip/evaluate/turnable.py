"""Whether a built tip can be turned: what the rules of the lathe find, its bars, what the tool does to it."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from optitip.evaluate.building import Tip
from optitip.evaluate.laps import fixing_of, lap_at
from optitip.evaluate.sources import thread_at
from optitip.evaluate.turned_shape import Metals, Turned, metals_of, runs_of, stocks_of, turned_walls
from optitip.geometry.boring import Bar
from optitip.geometry.lap import POINT, RELIEF, Lap
from optitip.inputs.turning_tables import Support
from optitip.metrics.cutting import PASSIVE, cutting_force, wall_compliance
from optitip.metrics.stock import Stock
from optitip.metrics.turning import (
    Finding,
    Held,
    Need,
    Wall,
    bar_rule,
    bore_rule,
    corner_rule,
    deflection_rule,
    rod_needs,
    smallest,
    stock_rule,
    thin_walls,
    thread_rule,
    wall_rule,
)
from optitip.properties.materials import REFERENCE_TEMPERATURE, Material
from optitip.units import Sentence

SMALLEST, DEFLECTION_LENGTH = "turning.smallest", "turning.deflection_length"
SUPPORTED = {Support.CORE: "a core stands behind the wall", Support.MANDREL: "the wall sits on a mandrel"}
NOTHING_APART = "no part of the shell is a part of its own"


@dataclass(frozen=True, slots=True, kw_only=True)
class Push:
    """What the finishing tool does: force along the cut and on the wall [N], how far that gives way [m]."""

    cutting: float
    passive: float
    deflection: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Turnable:
    """How a tip is turned: what the rules found, and what a drawing and the lathe's card need.

    missing: metrics that have no figure, with the reason; unknown: those of them for want of a material's
    data. advice: walls a shop would like thicker. walls: as they are turned, the thinnest first. stock: what
    the parts are sawn from, fore to aft. bar: that bores the cavity. push: None where no force is known.
    laps: fore to aft.
    """

    findings: tuple[Finding, ...]
    missing: Mapping[str, str]
    unknown: tuple[str, ...]
    advice: tuple[Sentence, ...]
    walls: tuple[Turned, ...]
    stock: tuple[Stock, ...]
    bar: Bar
    push: Push | None
    support: Support
    laps: tuple[Lap, ...]

    @property
    def smallest(self) -> Finding:
        """Return the finding nearest to its limit, or farthest beyond it."""
        return smallest(self.findings)

    @property
    def metrics(self) -> dict[str, float]:
        """Return the figures by the names of their metrics."""
        found = {one.name: one.value for one in self.findings}
        if not self.unknown:
            found[SMALLEST] = self.smallest.value
        if self.push is not None:
            found[DEFLECTION_LENGTH] = self.push.deflection
        return found


@dataclass(frozen=True, slots=True, kw_only=True)
class _Judged:
    """One rule's finding, or why there is none; ``unknown`` where a material's file is what lacks."""

    name: str
    finding: Finding | None = None
    reason: str = ""
    unknown: bool = False


def findings(tip: Tip) -> tuple[Finding, ...]:
    """Return what the rules of the lathe find on a tip, of those that can be judged."""
    return turnable(tip).findings


def turnable(tip: Tip) -> Turnable:
    """Return how a tip is turned."""
    metals = metals_of(tip)
    walls = turned_walls(tip, metals)
    laps = {name: lap for name in ("plug", "base") if (lap := lap_at(tip, name)) is not None}
    stock = stocks_of(tip, metals, laps=laps)
    push = _push(tip, metals.shell)
    judged = (
        _wall(walls),
        *_bars_and_corners(tip, stock=stock),
        _deflection(tip, push),
        _thread(tip, metals, laps),
    )
    unknown = tuple(one.name for one in judged if one.unknown)
    missing = {one.name: one.reason for one in judged if one.finding is None}
    if unknown:
        missing[SMALLEST] = f"{' and '.join(unknown)} can't be judged"
    if push is None:
        missing[DEFLECTION_LENGTH] = missing["turning.deflection"]
    return Turnable(
        findings=tuple(one.finding for one in judged if one.finding is not None),
        missing=missing,
        unknown=unknown,
        advice=thin_walls([wall for one in walls if (wall := _known(one)) is not None]),
        walls=walls,
        stock=stock,
        bar=tip.assembly.bar,
        push=push,
        support=tip.tables.turning.support,
        laps=tuple(laps.values()),
    )


def _known(one: Turned) -> Wall | None:
    """Return a wall with what its material stands; None where its file doesn't tell."""
    lathe = one.material.machining
    if lathe is None:
        return None
    return Wall(
        part=one.part,
        place=one.place,
        axial=one.axial,
        thickness=one.thickness,
        thinnest=lathe.thinnest,
        advised=lathe.advised,
    )


def _wall(walls: tuple[Turned, ...]) -> _Judged:
    name = "turning.wall"
    strangers = {one.material.name for one in walls if one.material.machining is None}
    if strangers:
        return _Judged(name=name, reason=_no_wall(strangers), unknown=True)
    known = [wall for one in walls if (wall := _known(one)) is not None]
    return _Judged(name=name, finding=wall_rule(known))


def _bars_and_corners(tip: Tip, *, stock: tuple[Stock, ...]) -> Iterator[_Judged]:
    table, bar = tip.tables.turning, tip.assembly.bar
    narrow = tip.assembly.opening_place if bar.undercut > 0.0 else "tip.plug.length"
    for finding in (
        bar_rule(bar.overhang, limit=bar.limit),
        bore_rule(bar.fore, smallest=table.smallest_bar, place=narrow),
        corner_rule(
            tip.cavity.design.plug_fillet,
            nose_radius=table.nose_radius,
            runs=runs_of(tip.cavity, nose_radius=table.nose_radius),
        ),
        stock_rule(max(one.bar.diameter for one in stock), largest=table.largest_stock),
    ):
        yield _Judged(name=finding.name, finding=finding)


def _push(tip: Tip, metal: Material) -> Push | None:
    """Return what the finishing tool does to the band; None where its material tells no cutting force.

    Of a wall as thin as the band's thinnest all along, held round at the cavity's fore face and at the base;
    how the whole part bends off its chuck isn't in it.
    """
    if metal.machining is None or metal.machining.cutting is None or metal.elastic is None:
        return None
    table, cavity = tip.tables.turning, tip.cavity
    thickness = min(cavity.design.thickness_fore, cavity.design.thickness_aft)
    outside = float(cavity.outline.at(0.5 * (cavity.band_arc[0] + cavity.band_arc[1]))[1])
    force = cutting_force(
        metal.machining.cutting, depth=table.depth_of_cut, feed=table.feed, nose_radius=table.nose_radius
    )
    compliance = wall_compliance(
        float(metal.elastic.modulus_at(REFERENCE_TEMPERATURE)),
        poisson=metal.elastic.poisson,
        radius=outside - 0.5 * thickness,
        thickness=thickness,
        length=float(cavity.base_corner[1] - cavity.corner[1]),
    )
    return Push(cutting=force, passive=PASSIVE * force, deflection=PASSIVE * force * compliance)


def _deflection(tip: Tip, push: Push | None) -> _Judged:
    name, table = "turning.deflection", tip.tables.turning
    if table.support in SUPPORTED:
        return _Judged(name=name, reason=SUPPORTED[table.support])
    if push is None:
        reason = f"no [turning.cutting] in the file of {tip.tables.tip.material}"
        return _Judged(name=name, reason=reason, unknown=True)
    return _Judged(name=name, finding=deflection_rule(push.deflection, tolerance=table.wall_tolerance))


def _thread(tip: Tip, metals: Metals, laps: Mapping[str, Lap]) -> _Judged:
    """Return the rule of threads, spigots and screws over all joints whose fixing is given."""
    name, tables = "turning.thread", tip.tables.tip
    if not laps:
        apart = {"tip.plug.fixing": tables.plug.insert is not None, "tip.base.fixing": tables.base.separate}
        lacks = " and ".join(key for key, is_apart in apart.items() if is_apart)
        return _Judged(name=name, reason=f"{lacks} isn't given" if lacks else NOTHING_APART)
    around = {"plug": (metals.insert, metals.shell), "base": (metals.shell, metals.base)}
    strangers = {
        one.name for joint in laps for one in (*around[joint], metals.shell) if one.machining is None
    }
    if strangers:
        return _Judged(name=name, reason=_no_wall(strangers), unknown=True)
    held = [
        _held(tip, joint, lap, spigot=around[joint][0], skirt=around[joint][1]) for joint, lap in laps.items()
    ]
    return _Judged(name=name, finding=thread_rule(held, rods=_rods(tip, metals.shell, laps.get("plug"))))


def _no_wall(names: Iterable[str]) -> str:
    return f"no [turning.wall] in the file of {' and '.join(sorted(names))}"


def _held(tip: Tip, joint: str, lap: Lap, *, spigot: Material, skirt: Material) -> Held:
    fixing = fixing_of(tip.tables, joint)
    assert fixing is not None  # a lap is there because its fixing is
    assert spigot.machining is not None and skirt.machining is not None  # noqa: PT018 (asked before)
    key = f"tip.{joint}.fixing"
    return Held(
        lap=lap,
        key=key,
        wall_place="tip.band.thickness_aft" if tip.cavity.design.solid_base else "tip.base.thickness",
        spigot_thinnest=spigot.machining.thinnest,
        skirt_thinnest=skirt.machining.thinnest,
        screw=None if fixing.screw is None else thread_at(fixing.screw, place=f"{key}.screw"),
        screws=fixing.screws,
        edge=fixing.engagement,
    )


def _rods(tip: Tip, metal: Material, stud: Lap | None) -> tuple[Need, ...]:
    """Return what a tie rod's thread in the plug asks for, if there is one; ``stud`` is the insert's lap."""
    fixing = tip.tables.tip.base.fixing
    if fixing is None or fixing.rod is None or metal.machining is None:
        return ()
    thread = thread_at(fixing.rod, place="tip.base.fixing.rod")
    bottom = tip.cavity.design.plug_length - fixing.engagement - RELIEF * thread.pitch
    before = tip.cavity.design.plug_insert or 0.0
    if stud is not None:
        before = stud.end + stud.point
    return rod_needs(
        thread,
        engaged=fixing.engagement,
        around=float(tip.outline.at(tip.outline.arc_length_of(max(bottom, 0.0)))[1]),
        ahead=bottom - POINT * thread.tap_drill - before,
        thinnest=metal.machining.thinnest,
    )
