"""How a lap is turned: the outside of a spigot, and the recess it goes into, as lines.

Points are (z, r) in metres, fore to aft. Inside corners are rounded later.
"""

import itertools

from optitip.errors import UserMistakes
from optitip.export.parts.arcs import Point, Segment
from optitip.geometry.lap import Lap, LapKind

GROOVE = 1e-4  # [m] in radius below the root, so that the thread's tool runs out: common practice, no source
MAKING = 0.2  # [mm] that a spigot may be shorter, a recess deeper: within ISO 2768-m, one way (a choice)
CLEAR = 1e-4  # [m] that edges keep from the arcs left in the corners they meet: common practice, no source
_KEYS = {"plug": "tip.plug.fixing", "base": "tip.base.fixing"}


def check_room(lap: Lap) -> None:
    """Raise UserMistakes where a lap has no metal inside or outside its fit, or no length."""
    named = {LapKind.THREAD: "thread", LapKind.SCREWS: "screw", LapKind.PLAIN: "rod"}[lap.kind]
    place = f"{_KEYS[lap.joint]}.{named}"
    what = "the thread" if lap.thread is not None else "the spigot"
    if lap.spigot_wall <= 0.0:
        problem = f"{what} is cut through from inside, by {_mm(-lap.spigot_wall)}"
        raise UserMistakes.one(place, problem, "Thicken the wall at the joint, or move the fit outwards")
    if lap.skirt_wall <= 0.0:
        problem = f"{what} comes out through the outside, by {_mm(-lap.skirt_wall)}"
        raise UserMistakes.one(place, problem, "Take a narrower thread, or move the joint aft")
    if lap.room <= 0.0:
        problem = f"the recess of {_mm(lap.length)} is longer than what it is cut into"
        key = f"{_KEYS[lap.joint]}.engagement"
        raise UserMistakes.one(key, problem, "Shorten it, or take a finer pitch")


def seat_gap(lap: Lap, *, nose_radius: float) -> float:
    """Return how far a spigot ends short of its recess' end [m], so that the joint's faces meet first.

    The arc that the tool leaves in the recess' corner has room in it. Never over half of the plain end.
    """
    return min(nose_radius + CLEAR, 0.5 * (lap.relief if lap.thread is not None else lap.engaged))


def spigot(lap: Lap, *, outside: float, nose_radius: float) -> tuple[Segment, ...]:
    """Return the spigot's outside, from the shell's ``outside`` radius [m] in its shoulder to its end.

    Groove behind the thread, thread over its crests between slopes of 45 degrees, plain end at root diameter.
    """
    end = lap.end - seat_gap(lap, nose_radius=nose_radius)
    if lap.thread is None:
        return _lines((lap.start, outside), (lap.start, lap.radius), (end, lap.radius))
    groove = lap.root - min(GROOVE, 0.1 * lap.spigot_wall)
    first, last = lap.start + lap.relief, lap.start + lap.relief + lap.engaged
    return _lines(
        (lap.start, outside),
        (lap.start, groove),
        (first - (lap.radius - groove), groove),
        (first, lap.radius),
        (last, lap.radius),
        (last + (lap.radius - lap.root), lap.root),
        (end, lap.root),
    )


def mouth_chamfer(lap: Lap, *, outside: float, nose_radius: float) -> float:
    """Return the chamfer at the recess' mouth [m], at 45 degrees: past the thread, clear of the root's arc.

    It takes half of the joint's face at most, and half of the recess.
    """
    wanted = max(lap.radius, lap.root + nose_radius) + CLEAR
    return min(min(wanted, 0.5 * (lap.radius + outside)) - lap.recess, 0.5 * lap.length)


def spigot_notes(lap: Lap, *, outside: float, nose_radius: float) -> tuple[str, ...]:
    """Return what of a spigot isn't under the general tolerance, so that it goes in and the faces meet.

    Where a corner's arc has no room in the fit the edge against it is relieved.
    """
    gap = seat_gap(lap, nose_radius=nose_radius)
    across = f"its ⌀{_exact(2.0 * lap.radius)} is g6 in H7, or made to slide in the recess without play"
    if lap.thread is not None:
        across = f"groove and plain end +0 / -{MAKING:g} across"
    fit = (
        f"the joint's faces meet first, the spigot ends {_mm(gap)} short of its recess: it is "
        f"{_exact(lap.length - gap)} long, +0 / -{MAKING:g}; {across}"
    )
    return (fit, *_relieved(lap, outside=outside, nose_radius=nose_radius))


def recess_notes(lap: Lap) -> tuple[str, ...]:
    """Return what of a recess isn't under the general tolerance: its depth, a plain one's diameter."""
    across = f"; its ⌀{_exact(2.0 * lap.recess)} is H7 for g6" if lap.thread is None else ""
    return (f"the recess is {_exact(lap.length)} deep from the fore face, +{MAKING:g} / -0{across}",)


def _relieved(lap: Lap, *, outside: float, nose_radius: float) -> tuple[str, ...]:
    chamfer = mouth_chamfer(lap, outside=outside, nose_radius=nose_radius)
    root = lap.radius if lap.thread is None else lap.root
    notes = []
    if lap.recess + chamfer < root + nose_radius:
        notes.append(
            f"relieve the spigot's root, or the recess' edge: an arc of {_mm(nose_radius)} meets its chamfer"
        )
    if seat_gap(lap, nose_radius=nose_radius) < nose_radius:
        notes.append(f"relieve the spigot's end by {_mm(nose_radius)}: it meets the arc in the recess")
    return tuple(notes)


def recess(lap: Lap, *, outside: float, bore: float, nose_radius: float) -> tuple[Segment, ...]:
    """Return the recess, from its mouth's chamfer to its end and in to the ``bore`` behind it [m]."""
    chamfer = mouth_chamfer(lap, outside=outside, nose_radius=nose_radius)
    return _lines(
        (lap.start, lap.recess + chamfer),
        (lap.start + chamfer, lap.recess),
        (lap.end, lap.recess),
        (lap.end, bore),
    )


def _lines(*points: Point) -> tuple[Segment, ...]:
    return tuple(Segment(start=a, end=b) for a, b in itertools.pairwise(points))


def _mm(length: float) -> str:
    return f"{length * 1e3:.3g} mm"


def _exact(length: float) -> str:
    return f"{f'{length * 1e3:.2f}'.rstrip('0').rstrip('.')} mm"
