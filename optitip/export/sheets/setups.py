"""How a part is held and in which order it is cut, in words, and what is read off it afterwards.

Allowances are common practice, no source; speeds are left to the shop.
"""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from optitip.evaluate.building import Tip
from optitip.evaluate.sources import thread_at
from optitip.export.parts.dimensions import thread_note
from optitip.export.parts.holes import clearance
from optitip.export.parts.part import TurnedPart
from optitip.export.parts.step_off import step_rows, straight_error
from optitip.export.sheets.part_features import SAME, radius_on
from optitip.export.sheets.part_words import walls_of
from optitip.export.sheets.sheet_blocks import length_text
from optitip.export.sheets.sheet_facts import SheetFacts
from optitip.geometry.boring import SHARE
from optitip.inputs.turning_tables import Support
from optitip.units import System

LEFT_ON = 0.5e-3  # [m] left all over for the last cuts
_BESIDE = 0.5e-3  # [m] that a drill keeps from the finished bore
_LEAST_DRILL = 3e-3
_LARGEST_DRILL = 25e-3  # [m] wider holes are bored open: shops have few drills above it
THIN = 1.0e-3  # [m] walls under it sing and give way: shop rule
_NUB = 8e-3
_ACROSS = 5e-3  # [m] ahead of a joint that is finished with both parts on


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


def setups_of(part: TurnedPart, *, tip: Tip, facts: SheetFacts, system: System) -> tuple[str, ...]:
    """Return the set-ups of a part in order: stock, bore first while the metal is thick, outside, finish."""
    shop = _Shop(part=part, tip=tip, facts=facts, system=system)
    steps = [f"Saw the stock: {facts.stock or '____________'}. Note its heat or batch number."]
    steps += {"insert": _insert, "shell": _shell, "base": _base}[part.name](shop)
    return (*steps, *_finished(shop))


def _shell(shop: _Shop) -> Iterator[str]:
    bar, table = shop.tip.assembly.bar, shop.tip.tables.tip
    yield "Chuck on the spare length, fore end in the jaws. Face the aft end: datum A for all that follows."
    face = shop.tip.cavity.design.plug_length
    yield from _drilled(shop, face=face)
    undercut = f", past an undercut of {shop.long(bar.undercut)} in radius" if bar.undercut > 0.0 else ""
    yield (
        f"Bore the cavity by the table, fore face last: bar no thicker than {shop.long(bar.fore)} at its "
        f"head, {shop.long(bar.aft)} at the mouth, {shop.long(bar.reach)} out ({bar.overhang:.1f} diameters)"
        f"{undercut}. A light last cut."
    )
    yield from _tapped_for_rod(shop, face=face)
    yield from _threads_outside(shop)
    if shop.tip.assembly.seat_depth is not None:
        yield "Mill the flat of the bore (note on the drawing) now, while the metal round it is thick."
    yield from _held_for_outside(shop)
    if table.plug.insert is not None:
        yield from _fore_end(shop)
    turning = shop.tip.tables.turning
    cut = f"{shop.long(turning.depth_of_cut)} deep at {shop.long(turning.feed)} a turn"
    kept = f", but for {shop.long(_ACROSS)} ahead of the joint," if table.base.separate else ""
    yield (
        f"Turn the outside by the table, {shop.long(LEFT_ON)} left all over; let it cool, measure; then "
        f"finish{kept} with cuts {cut} in one direction, sharp tool, the nose last."
    )
    if table.base.separate:
        yield from _across_holes(shop)
        yield (
            f"Put the base on, held {_by(shop)}, the centre still at the nose: finish across the joint in "
            "one pass, so that there is no step."
        )


def _drilled(shop: _Shop, *, face: float) -> Iterator[str]:
    part = shop.part
    along = [face + 0.01 * number * (part.end - face) for number in range(1, 101)]
    clear = min(radius_on(part.inner, station) for station in along)
    flat = [one.end[1] for one in part.inner if abs(one.start[0] - face) + abs(one.end[0] - face) < 1e-8]
    drill = _drill_under(2.0 * min([clear, *flat]))
    if drill < _LEAST_DRILL:
        yield "The cavity is too narrow at its fore face to drill with room to bore: open it step by step."
        return
    depth = part.end - face - _BESIDE
    yield (
        f"Centre and drill ⌀{length_text(drill, system=shop.system)}, point no deeper than "
        f"{shop.long(depth)} from A."
    )


def _drill_under(bore: float) -> float:
    """Return the drill ahead of a bore [m], in whole millimetres and no wider than shops have."""
    return min(1e-3 * math.floor(1e3 * (bore - 2.0 * _BESIDE)), _LARGEST_DRILL)


def _tapped_for_rod(shop: _Shop, *, face: float) -> Iterator[str]:
    """Yield how the rod's thread gets into the cavity's fore face: the only one that ends there."""
    for cut in shop.part.threads:
        if not cut.external and abs(cut.end - face) < SAME:
            drill, full = shop.long(cut.thread.tap_drill), shop.long(cut.end - cut.start)
            yield (
                f"Drill ⌀{drill} into the cavity's fore face (depth in the notes) and tap "
                f"{thread_note(cut.thread, external=False)}, full {full} deep, without moving the part."
            )


def _threads_outside(shop: _Shop) -> Iterator[str]:
    outside = [cut for cut in shop.part.threads if cut.external]
    for cut in outside:
        where = f"{shop.long(shop.part.end - cut.end)} to {shop.long(shop.part.end - cut.start)} from A"
        thread = thread_note(cut.thread, external=True)
        yield f"Turn the spigot and cut {thread}, full from {where}; try it with its mate."
    if not outside and shop.part.name == "shell" and shop.tip.assembly.lap is not None:
        yield "Turn the spigot to slide in its mate without play; mark both parts' place."


def _held_for_outside(shop: _Shop) -> Iterator[str]:
    lap = shop.tip.assembly.lap
    grip = "its aft end, a close disc inside it"
    if lap is not None:
        grip = "its spigot in a ring or soft jaws bored to it, a close disc inside it"
        if lap.thread is not None:
            grip = "a threaded collar on its thread"
    nub = f"Leave a nub of {shop.long(_NUB)} ahead of the nose, with a hole for a live centre."
    if shop.tip.tables.tip.plug.insert is not None:
        nub = "The nub for a live centre is on the insert."
    support = shop.tip.tables.turning.support
    if support is Support.MANDREL:
        yield f"Turn a mandrel to the bore's table, slide the part on, draw it up by {grip}. {nub}"
    elif support is Support.CORE:
        yield f"Fill the cavity with a core that melts out (wax, low-melting alloy); hold by {grip}. {nub}"
    else:
        yield f"Hold by {grip}, nothing behind the wall. {nub} A core or mandrel takes the wall's give away."


def _fore_end(shop: _Shop) -> Iterator[str]:
    """Yield how the end that an insert goes on is cut, from the aft end held."""
    part = shop.part
    yield (
        f"Take the spare length off, face the fore end {shop.long(part.end - part.start)} from A: the "
        "insert's shoulder meets it."
    )
    for cut in part.threads:
        if cut.external or abs(cut.end - shop.tip.cavity.design.plug_length) < SAME:
            continue
        depth = next(one.end[0] for one in part.inner if abs(one.end[0] - one.start[0]) < SAME) - part.start
        thread, full = thread_note(cut.thread, external=False), shop.long(cut.end - part.start)
        yield (
            f"Drill ⌀{shop.long(cut.thread.tap_drill)}, {shop.long(depth)} deep from there, chamfer, cut "
            f"{thread}, full to {full}; try it with its mate."
        )
    loose = shop.tip.tables.tip.plug.fixing is None
    held = " (the study names nothing that holds it)" if loose else ""
    yield f"Put the rough insert on{held}; its nub takes the live centre."


def _base(shop: _Shop) -> Iterator[str]:
    part, lap = shop.part, shop.tip.assembly.lap
    yield (
        "Chuck on the spare length, aft end in the jaws. Face the fore end: it meets the shell's shoulder. "
        "Lengths count from it until datum A is cut: 'Z from fore'."
    )
    yield from _base_bored(shop)
    for cut in part.threads:
        depth = lap.length if lap is not None else cut.end - part.start
        where = f"{shop.long(cut.start - part.start)} to {shop.long(cut.end - part.start)} from the fore face"
        yield (
            f"Bore the recess {shop.long(depth)} deep and cut {thread_note(cut.thread, external=False)}, "
            f"full from {where}; try it with its mate."
        )
    if not part.threads and lap is not None:
        deep = shop.long(lap.length)
        yield f"Bore the recess {deep} deep, to slide on its spigot without play, faces touching."
    opens = "; bore what opens aft" if _opens_aft(part) else ""
    left = f"{shop.long(LEFT_ON)} left all over"
    yield f"Turn the outside with {left}, part off, turn round; face to length: datum A{opens}."
    for hole in part.axial_holes:
        off = f"{shop.long(hole.off_axis)} off the axis" if hole.off_axis > 0.0 else "on the axis"
        yield f"Drill the {hole.use}, ⌀{shop.long(hole.diameter)}, through, {off}."
    yield from _across_holes(shop)
    yield (
        f"Put it on the shell (or a stub like its spigot), held {_by(shop)}; finish the outside across the "
        "joint in one pass."
    )


def _by(shop: _Shop) -> str:
    """Return what of the base is held while its outside is finished."""
    opening = float(shop.tip.cavity.end[0])
    return "by its bore" if opening > 0.0 else "by a disc that drives its aft face"


def _base_bored(shop: _Shop) -> Iterator[str]:
    part = shop.part
    narrow = min(one.start[1] for one in part.inner)
    if part.inner[-1].end[1] <= 0.0 or narrow <= 2e-3:
        return
    if 2.0 * narrow < shop.tip.tables.turning.smallest_bar / SHARE:
        hole = length_text(2.0 * narrow, system=shop.system)
        yield f"Drill ⌀{hole} through: no bar goes in, it is the bore."
        return
    drill = _drill_under(2.0 * narrow)
    yield f"Drill ⌀{length_text(drill, system=shop.system)} through; bore by the table."


def _opens_aft(part: TurnedPart) -> bool:
    radii = [one.end[1] for one in part.inner]
    return radii[-1] > min(radii) + _BESIDE


def _across_holes(shop: _Shop) -> Iterator[str]:
    """Yield how screws' holes are drilled, once and both parts together; the shell's card has the tapping."""
    fixing = shop.tip.tables.tip.base.fixing
    if fixing is None or fixing.screw is None:
        return
    screw = thread_at(fixing.screw, place="tip.base.fixing.screw")
    for holes in shop.part.holes:
        drill, at = shop.long(screw.tap_drill), shop.long(shop.part.end - holes.axial)
        yield (
            f"Base on the shell, faces together: drill the {holes.count} holes ⌀{drill} through both on a "
            f"dividing head, {at} from this part's A; open the base's to ⌀{shop.long(clearance(screw))}, tap "
            f"the shell's {screw.designation}. No burr inside; heads below the outside while it is turned."
        )


def _insert(shop: _Shop) -> Iterator[str]:
    yield "Chuck on the spare length, fore end in the jaws. Face the aft end (of its stud, if any): datum A."
    if any(cut.external for cut in shop.part.threads):
        yield from _threads_outside(shop)
        yield "The shoulder behind the groove meets the shell's fore face: keep it square and sharp."
    yield f"Leave a nub of {shop.long(_NUB)} ahead of the nose, with a hole for a live centre."
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
    rows = step_rows(part)
    off = length_text(max(straight_error(part, rows), 1e-5), system=system, unit=True)
    cautions = [
        "CHECK BEFORE METAL IS CUT: run the table against the drawing first.",
        f"Straight from row to row the table is within {off} of the radius, at its worst; the drawing has "
        "the tool's arcs in the corners.",
    ]
    thinnest = min((row.metal for row in rows if row.bore > 0.0), default=math.inf)
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
