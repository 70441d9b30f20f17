"""How a part is held and in which order it is cut, in words, and what is read off it afterwards.

Allowances are common practice, no source; speeds are left to the shop.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from optitip.evaluate.building import Tip
from optitip.export.dimensions import thread_note
from optitip.export.part_features import SAME, radius_on
from optitip.export.part_words import walls_of
from optitip.export.sheet_blocks import length_text
from optitip.export.sheet_facts import SheetFacts
from optitip.export.step_off import step_rows
from optitip.export.turned import TurnedPart
from optitip.inputs.turning_tables import Support
from optitip.units import System

LEFT_ON = 0.5e-3  # [m] left all over for the last cuts
_BESIDE = 0.5e-3  # [m] that a drill keeps from the finished bore
_POINT = 0.3  # of a drill's diameter: its point of 118 degrees
_LEAST_DRILL = 3e-3
THIN = 1.0e-3  # [m] walls under it sing and give way: shop rule
_NUB = 8e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One thing to measure: what and where, what it should be and by how much it may be off, as text.

    ``key`` is its name in a file of measured parts, empty where it has none.
    """

    what: str
    key: str
    nominal: str
    off: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Shop:
    """What the words about one part are made of."""

    part: TurnedPart
    tip: Tip
    facts: SheetFacts
    system: System

    def long(self, length: float) -> str:
        return length_text(length, system=self.system, unit=True)


def blind(part: TurnedPart) -> bool:
    """Return whether a part's bore begins inside it, on a face across the axis."""
    return bool(part.inner[0].start[1] < SAME)


def setups_of(part: TurnedPart, *, tip: Tip, facts: SheetFacts, system: System) -> tuple[str, ...]:
    """Return the set-ups of a part in order: stock, bore first while the metal is thick, outside, finish."""
    shop = _Shop(part=part, tip=tip, facts=facts, system=system)
    steps = [f"Saw the stock: {facts.stock or '____________'}. Note its heat or batch number."]
    if part.name == "insert":
        steps += _insert(shop)
    elif blind(part):
        steps += _shell(shop)
    else:
        steps += _base(shop)
    return (*steps, *_finished(shop))


def _shell(shop: _Shop) -> Iterator[str]:
    part, bar = shop.part, shop.tip.assembly.bar
    yield "Chuck on the spare length, fore end in the jaws. Face the aft end: datum A for all that follows."
    face = shop.tip.cavity.design.plug_length
    yield from _drilled(shop, face=face)
    undercut = f", past an undercut of {shop.long(bar.undercut)} in radius" if bar.undercut > 0.0 else ""
    yield (
        f"Bore the cavity by the table, fore face last: bar {shop.long(bar.fore)} to {shop.long(bar.aft)} "
        f"thick, {shop.long(bar.reach)} out ({bar.overhang:.1f} diameters){undercut}. A light last cut."
    )
    yield from _fitted(shop, external=True)
    if any(not cut.external for cut in part.threads):
        yield from _fitted(shop, external=False)
    yield from _held_for_outside(shop)
    turning = shop.tip.tables.turning
    cut = f"{shop.long(turning.depth_of_cut)} deep at {shop.long(turning.feed)} a turn"
    yield (
        f"Turn the outside by the table, {shop.long(LEFT_ON)} left all over; let it cool, measure; then "
        f"finish with cuts {cut} in one direction, sharp tool, the nose last."
    )
    if shop.tip.tables.tip.base.separate:
        yield "Finish across the joint with the base on, in one pass, so that there is no step."


def _drilled(shop: _Shop, *, face: float) -> Iterator[str]:
    part = shop.part
    along = [face + 0.01 * number * (part.end - face) for number in range(1, 101)]
    clear = min(radius_on(part.inner, station) for station in along)
    flat = [one.end[1] for one in part.inner if abs(one.start[0] - face) + abs(one.end[0] - face) < 1e-8]
    drill = 1e-3 * math.floor(2e3 * (min([clear, *flat]) - _BESIDE))
    if drill < _LEAST_DRILL:
        yield "The cavity is too narrow at its fore face to drill with room to bore: open it step by step."
        return
    depth = part.end - face - _BESIDE
    yield (
        f"Centre and drill ⌀{length_text(drill, system=shop.system)}, point no deeper than "
        f"{shop.long(depth)} from A."
    )


def _fitted(shop: _Shop, *, external: bool) -> Iterator[str]:
    for cut in shop.part.threads:
        if cut.external is not external:
            continue
        where = f"{shop.long(shop.part.end - cut.end)} to {shop.long(shop.part.end - cut.start)} from A"
        what = "spigot" if external else "recess"
        thread = thread_note(cut.thread, external=external)
        yield f"Turn the {what} and cut {thread}, full from {where}; try it with its mate."
    if not shop.part.threads and external and shop.tip.tables.tip.base.fixing is not None:
        yield "Turn the spigot to slide in its mate without play; mark both parts' place."


def _held_for_outside(shop: _Shop) -> Iterator[str]:
    grip = "a threaded collar on its thread" if any(c.external for c in shop.part.threads) else "its aft end"
    nub = f"Leave a nub of {shop.long(_NUB)} ahead of the nose for a live centre."
    support = shop.tip.tables.turning.support
    if support is Support.MANDREL:
        yield f"Turn a mandrel to the bore's table, slide the part on, draw it up by {grip}. {nub}"
    elif support is Support.CORE:
        yield f"Fill the cavity with a core that melts out (wax, low-melting alloy); hold by {grip}. {nub}"
    else:
        yield f"Hold by {grip}, nothing behind the wall. {nub} A core or mandrel takes the wall's give away."


def _base(shop: _Shop) -> Iterator[str]:
    part = shop.part
    yield "Chuck on the spare length, aft end in the jaws. Face the fore end: it meets the shell's shoulder."
    narrow = min(one.start[1] for one in part.inner)
    if part.inner[-1].end[1] > 0.0 and narrow > 2e-3:
        drill = 1e-3 * math.floor(2e3 * (narrow - _BESIDE))
        yield f"Drill ⌀{length_text(drill, system=shop.system)} through; bore by the table."
    else:
        yield "Bore by the table."
    if any(not cut.external for cut in part.threads):
        yield from _fitted(shop, external=False)
    elif shop.tip.tables.tip.base.fixing is not None:
        yield "Bore the recess to slide on its spigot without play, faces touching."
    left = f"{shop.long(LEFT_ON)} left all over"
    yield f"Turn the outside with {left}, part off, turn round; face to length: datum A."
    for holes in part.holes:
        yield f"Drill the {holes.count} holes across through base and spigot together, on a dividing head."
    yield "Put it on the shell (or a stub like its spigot); finish the outside across the joint in one pass."


def _insert(shop: _Shop) -> Iterator[str]:
    yield "Chuck on the spare length, fore end in the jaws. Face the aft end (of its stud, if any): datum A."
    if any(cut.external for cut in shop.part.threads):
        yield from _fitted(shop, external=True)
        yield "The shoulder behind the groove meets the shell's fore face: keep it square and sharp."
    yield (
        f"Screw or hold it on the shell, turn the outside by the table with {shop.long(LEFT_ON)} left, then "
        "finish across the joint in one pass, so that there is no step."
    )


def _finished(shop: _Shop) -> Iterator[str]:
    if shop.part.outer[0].start[1] < 1e-9:
        yield "Part off the nub, blend the nose with a form tool or a file and a template."
    finish = f" to {shop.facts.finish}" if shop.facts.finish else ""
    yield f"Polish the outside{finish} without taking size off; break edges 0.2 mm; wash, dry, weigh."


def cautions_of_turning(part: TurnedPart, *, system: System) -> tuple[str, ...]:
    """Return what to beware of at the lathe."""
    cautions = ["CHECK BEFORE METAL IS CUT: run the table against the drawing first."]
    thinnest = min((row.metal for row in step_rows(part) if row.bore > 0.0), default=math.inf)
    if thinnest < 1.5 * THIN:
        thin = length_text(thinnest, system=system, unit=True)
        cautions.append(
            f"The wall is {thin} at its thinnest: it gives way under the tool and rings. Bore first, outside "
            "last; jaws never on the wall; no more than one finishing cut without measuring."
        )
    return tuple(cautions)


def readings_of(part: TurnedPart, *, tip: Tip, facts: SheetFacts, system: System) -> tuple[Reading, ...]:
    """Return what to measure on a part, the wall first, by the names that a file of measured parts has."""

    def long(length: float) -> str:
        return length_text(length, system=system)

    readings = []
    aft = tip.outline.turned_length
    for wall in walls_of(part):
        z = wall.end[0]
        key = f"wall, z_from_aft {length_text(aft - z, unit=True)}"
        off = f"±{long(wall.tolerance or 0.0)}"
        readings.append(
            Reading(what=f"wall, Z {long(part.end - z)}", key=key, nominal=long(wall.value), off=off)
        )
    if part.name == "shell":
        face = tip.cavity.design.plug_length
        off = f"±{long(tip.tables.turning.bore_depth_tolerance)}"
        depth = long(part.end - face)
        readings.append(Reading(what="cavity's fore face to A", key="", nominal=depth, off=off))
        key = "tip.plug.length"
        readings.append(Reading(what="nose point to that face", key=key, nominal=long(face), off=off))
    whole = abs(part.end - part.start - aft) < SAME
    key = "outline.turned_length" if whole else ""
    length, across = long(part.end - part.start), f"⌀{long(2.0 * part.outer[-1].end[1])}"
    readings += [
        Reading(what="overall length", key=key, nominal=length, off=facts.tolerance),
        Reading(
            what="outside at A",
            key="diameter, z_from_aft 0 mm" if part.end >= aft - SAME else "",
            nominal=across,
        ),
        Reading(what="mass of this part", key="mass, of all parts", nominal=facts.mass),
    ]
    return tuple(readings)
