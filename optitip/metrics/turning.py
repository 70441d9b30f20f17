"""Rules of the lathe: what there is over what is needed, less one, as the margins have it.

0 is the limit, -1 nothing there at all; none is given above ``CAP``. Each rule tells the place to change,
what is wrong there and what to do, kept or not: what it says holds once its figure is below 0.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from optitip.geometry.lap import Lap, LapKind
from optitip.metrics.margins import CAP
from optitip.properties.threads import Thread
from optitip.units import Sentence, System

TURNS = 3.0
"""full turns of a thread that bear at least: common practice, no source"""
TAPPED = 2.0
"""turns that a tapped hole through a spigot's wall has at least: common practice, no source"""
SPACING = 2.2
"""diameters from one hole's centre to the next at least (EN 1993-1-8, table 3.3, from memory)"""
EDGE = 1.2
"""diameters from a hole's centre to the edge at least (EN 1993-1-8, table 3.3, from memory)"""
ALIKE = 1e-9  # [m] a wall of just what is advised is no thin one


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """What one rule found: its figure ``value``, and one line of what to do where that is below 0.

    name: of the metric. place: the study key that sets it. words: the problem, with {0} and {1} for figures.
    """

    name: str
    value: float
    place: str
    words: str
    figures: tuple[tuple[float, str], ...]
    remedy: str

    @property
    def problem(self) -> Sentence:
        """Return what is wrong."""
        return Sentence(self.words, *self.figures)

    @property
    def kept(self) -> bool:
        """Return whether the design keeps the rule."""
        return self.value >= 0.0

    def said(self, system: System = System.METRIC) -> str:
        """Return the line ``place: problem. remedy.`` in the units of ``system``."""
        return f"{self.place}: {self.problem.said(system)}. {self.remedy}."


@dataclass(frozen=True, slots=True, kw_only=True)
class Wall:
    """A wall as it is turned: its part, the study key of its ``thickness`` [m], its station [m].

    thinnest, advised: [m] of its material.
    """

    part: str
    place: str
    axial: float
    thickness: float
    thinnest: float
    advised: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """A straight or curve of a cavity, the study key of its ``length`` [m].

    taken: [m] of it that the arcs in its inside corners take, from corner to where they touch.
    """

    place: str
    length: float
    taken: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """A lap with what is asked of it: the thinnest walls [m] of its spigot's and its skirt's material.

    key: of the fixing, "tip.base.fixing"; wall_place: the key of the wall that spigot and skirt share. screw:
    the thread of ``screws`` across it, None for others. edge: [m] from their centres to the skirt's edge.
    """

    lap: Lap
    key: str
    wall_place: str
    spigot_thinnest: float
    skirt_thinnest: float
    screw: Thread | None = None
    screws: int = 1
    edge: float = 0.0


def room_over(has: float, *, needs: float) -> float:
    """Return has/needs - 1, from -1 to ``CAP``.

    >>> room_over(3.0, needs=2.0), room_over(-1.0, needs=2.0), room_over(1.0, needs=0.0)
    (0.5, -1.0, 10.0)
    """
    if needs <= 0.0 or has > (1.0 + CAP) * needs:
        return CAP
    return max(has / needs - 1.0, -1.0)


def arc_takes(turn: float, *, radius: float) -> float:
    """Return the length [m] that an arc in a corner takes of both its sides.

    s = r tan(c/2), from the corner to where it touches.

    Args:
        turn: c by which the tool's path bends there [rad].
        radius: r of the arc [m].

    Valid below pi; a path that turns straight back has no room for any arc.
    Source: plain geometry.

    >>> round(arc_takes(math.pi / 2.0, radius=0.4e-3) * 1e3, 6)  # a square corner takes the radius
    0.4
    """
    return radius * math.tan(0.5 * turn)


def wall_rule(walls: Sequence[Wall]) -> Finding:
    """Return how the wall nearest to the thinnest that is turned of its material stands to it."""
    worst = min(walls, key=lambda one: room_over(one.thickness, needs=one.thinnest))
    return Finding(
        name="turning.wall",
        value=room_over(worst.thickness, needs=worst.thinnest),
        place=worst.place,
        words=f"the {worst.part}'s wall is {{0}}, thinner than the {{1}} that are turned of its material",
        figures=(
            (worst.thickness, "m"),
            (worst.thinnest, "m"),
        ),
        remedy="Thicken it, or take another material",
    )


def thin_walls(walls: Sequence[Wall]) -> tuple[Sentence, ...]:
    """Return a line on each wall that can be turned but is thinner than a shop asks for."""
    return tuple(
        Sentence(
            f"{one.place}: the {one.part}'s wall of {{0}} can be turned, {{1}} are advised",
            (one.thickness, "m"),
            (one.advised, "m"),
        )
        for one in walls
        if one.thinnest <= one.thickness < one.advised - ALIKE
    )


def bar_rule(overhang: float, *, limit: float) -> Finding:
    """Return how the overhang a bar of its kind cuts at stands to the one it has, both over its diameter."""
    return Finding(
        name="turning.bar",
        value=room_over(limit, needs=overhang),
        place="tip.boring",
        words="the boring bar stands out {0} diameters, such a bar cuts to {1}",
        figures=(
            (overhang, "1"),
            (limit, "1"),
        ),
        remedy="Take a stiffer bar, shorten the cavity or open it wider",
    )


def bore_rule(thickest: float, *, smallest: float, place: str) -> Finding:
    """Return how the thickest bar that goes in stands to the thinnest there is, diameters [m]."""
    return Finding(
        name="turning.bore",
        value=room_over(thickest, needs=smallest),
        place=place,
        words="no bar thicker than {0} gets to the bottom of the cavity, the thinnest there is has {1}",
        figures=(
            (thickest, "m"),
            (smallest, "m"),
        ),
        remedy="Open the cavity wider, or name a thinner bar (turning.smallest_bar)",
    )


def corner_rule(fillet: float, *, nose_radius: float, runs: Sequence[Run]) -> Finding:
    """Return how a fillet stands to the tool's nose radius, or a length to the arcs in its corners.

    fillet: [m] of the cavity's fore corner; 0 leaves it as the tool does. The least of all of them.
    """
    tight = min(runs, key=lambda one: room_over(one.length, needs=one.taken))
    room = room_over(tight.length, needs=tight.taken)
    rounded = CAP if fillet == 0.0 else room_over(fillet, needs=nose_radius)
    if rounded <= room:
        return Finding(
            name="turning.corner",
            value=rounded,
            place="tip.plug.fillet",
            words="a fillet of {0} is tighter than the tool's nose radius of {1}",
            figures=(
                (fillet, "m"),
                (nose_radius, "m"),
            ),
            remedy="Round it as much at least, or name a sharper tool (turning.nose_radius)",
        )
    return Finding(
        name="turning.corner",
        value=room,
        place=tight.place,
        words="{0} have no room for the arcs that the tool's nose leaves in the corners, {1}",
        figures=(
            (tight.length, "m"),
            (tight.taken, "m"),
        ),
        remedy="Lengthen it, or take a tool with a smaller nose (turning.nose_radius)",
    )


def deflection_rule(deflection: float, *, tolerance: float) -> Finding:
    """Return how the wall's tolerance stands to how far the wall gives way under the tool, both [m]."""
    return Finding(
        name="turning.deflection",
        value=room_over(tolerance, needs=deflection),
        place="tip.band.thickness",
        words="the wall gives way by {0} under the finishing tool, its tolerance is {1}",
        figures=(
            (deflection, "m"),
            (tolerance, "m"),
        ),
        remedy='Thicken it, cut less, or put something behind it (turning.support = "core")',
    )


def stock_rule(diameter: float, *, largest: float) -> Finding:
    """Return how the thickest bar that goes into the lathe stands to the one that is needed, both [m]."""
    return Finding(
        name="turning.stock",
        value=room_over(largest + ALIKE, needs=diameter),
        place="outline.turned_length",
        words="it is turned from a bar of {0}, the lathe takes {1}",
        figures=(
            (diameter, "m"),
            (largest, "m"),
        ),
        remedy="Turn less of the nose, or find a wider lathe (turning.largest_stock)",
    )


def thread_rule(held: Sequence[Held], *, rods: Sequence["Need"] = ()) -> Finding:
    """Return what is nearest to its limit where parts are joined: turns that bear, metal left, room.

    held: the laps; rods: what is asked of a tie rod's own thread, by ``rod_needs``.
    """
    needs = [need for one in held for need in _lap_needs(one)] + list(rods)
    worst = min(needs, key=lambda one: one.value)
    return Finding(
        name="turning.thread",
        value=worst.value,
        place=worst.place,
        words=worst.words if worst.has >= 0.0 or not worst.gone else worst.gone,
        figures=((abs(worst.has), "m"), (worst.needs, "m")),
        remedy=worst.remedy,
    )


def smallest(findings: Iterable[Finding]) -> Finding:
    """Return the finding with the smallest figure."""
    return min(findings, key=lambda one: one.value)


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """One thing a joint asks for: what it has and needs [m], in words with {0} and {1} for both.

    gone: the words where it has less than nothing, {0} by how much.
    """

    place: str
    has: float
    needs: float
    words: str
    remedy: str
    gone: str = ""

    @property
    def value(self) -> float:
        """Return has/needs - 1 as the rules have it."""
        return room_over(self.has, needs=self.needs)


def rod_needs(
    thread: Thread, *, engaged: float, around: float, ahead: float, thinnest: float
) -> tuple[Need, ...]:
    """Return what a tie rod's thread in the plug asks for: three turns, metal round its hole and ahead of it.

    engaged: [m] of thread. around: radius [m] of the outline at the hole's bottom. ahead: [m] of metal from
    the drill's point to what comes next, nose or insert. thinnest: wall [m] of the plug's material.
    """
    return (
        _turns(engaged, thread=thread, place="tip.base.fixing.engagement"),
        Need(
            place="tip.base.fixing.rod",
            has=around - 0.5 * thread.major,
            needs=thinnest,
            words="the rod's hole in the plug leaves {0} of metal round it, {1} are turned",
            remedy="Take a thinner rod, engage less of it or lengthen the plug",
            gone="the rod's hole is {0} wider in radius than the plug is at its bottom",
        ),
        Need(
            place="tip.base.fixing.engagement",
            has=ahead,
            needs=thinnest,
            words="ahead of the point of the drill for the rod {0} of metal are left, {1} are turned",
            remedy="Engage less of the rod or lengthen the plug",
            gone="the rod's hole, its run-out and the drill's point in it, is {0} deeper than the plug",
        ),
    )


def _lap_needs(held: Held) -> Iterable[Need]:
    """Yield what one lap asks for."""
    lap, threaded = held.lap, held.lap.kind is LapKind.THREAD
    about = f"{held.key}.thread" if threaded else held.wall_place
    yield Need(
        place=about,
        has=lap.spigot_wall,
        needs=held.spigot_thinnest,
        words="the spigot keeps {0} of metal, {1} are turned of its material",
        remedy="Take a wider thread or thicken the wall" if threaded else "Thicken the wall",
        gone="the spigot keeps no metal: its bore is {0} wider in radius than what it has outside",
    )
    yield Need(
        place=about,
        has=lap.skirt_wall,
        needs=held.skirt_thinnest,
        words="round the spigot {0} of metal are left, {1} are turned of its material",
        remedy="Take a narrower thread or thicken the wall" if threaded else "Thicken the wall",
        gone="no metal is left round the spigot: it is {0} wider in radius than the part outside it",
    )
    yield Need(
        place=f"{held.key}.engagement",
        has=lap.room - lap.point,
        needs=held.skirt_thinnest,
        words="behind the spigot {0} of metal are left, {1} are turned of its material",
        remedy="Engage less, or lengthen the part it goes into",
        gone="the spigot is {0} longer than the part that it goes into",
    )
    if lap.thread is not None:
        yield _turns(lap.engaged, thread=lap.thread, place=f"{held.key}.engagement")
    if held.screw is not None:
        yield from _screw_needs(held, held.screw)


def _screw_needs(held: Held, screw: Thread) -> Iterable[Need]:
    """Yield what screws across a lap ask for: turns in the spigot that is tapped, and an edge to bear on."""
    yield Need(
        place=f"{held.key}.screw",
        has=held.lap.spigot_wall,
        needs=TAPPED * screw.pitch,
        words="the tapped spigot's wall is {0}, two turns of the screws' thread are {1}",
        remedy="Take a smaller or finer screw, or thicken the wall",
    )
    yield Need(
        place=f"{held.key}.engagement",
        has=held.edge,
        needs=EDGE * screw.major,
        words="the screws' centres lie {0} from the edge, 1.2 diameters are {1}",
        remedy="Move them in, or take smaller screws",
    )
    yield Need(
        place=f"{held.key}.screws",
        has=2.0 * math.pi * held.lap.radius / held.screws,
        needs=SPACING * screw.major,
        words="the screws' centres lie {0} from each other, 2.2 diameters are {1}",
        remedy="Take fewer or smaller screws",
    )


def _turns(engaged: float, *, thread: Thread, place: str) -> Need:
    return Need(
        place=place,
        has=engaged,
        needs=TURNS * thread.pitch,
        words="{0} of thread bear, three turns are {1}",
        remedy="Engage more, or take a finer thread",
    )
