"""How two parts of a shell overlap at their joint: a spigot of the fore part in a recess of the aft part.

All lengths in metres, z aft of the nose point.
"""

from dataclasses import dataclass
from enum import Enum

import numpy as np

from optitip.arrays import FloatArray
from optitip.geometry.tip import Cavity
from optitip.properties.threads import Thread

RELIEF = 2.5  # pitches, the groove behind a thread: between DIN 76-1's short and regular, from memory
POINT = 0.3  # diameters: how much deeper than its full bore a drill of 118 degrees reaches
REGISTER = 3e-3  # [m] of plain spigot that keeps parts under a tie rod in line: common practice, no source
STATIONS = 65
_EVENLY = np.linspace(0.0, 1.0, STATIONS)
_FINELY = np.linspace(0.0, 1.0, 4 * STATIONS)


class LapKind(Enum):
    """What the spigot is: threaded, held by screws across it, or plain, for a tie rod to clamp."""

    THREAD = "thread"
    SCREWS = "screws"
    PLAIN = "plain"


@dataclass(frozen=True, slots=True, kw_only=True)
class Spigot:
    """What a base of its own is held by: the kind of its lap, its thread, its engagement [m]."""

    kind: LapKind
    thread: Thread | None
    engagement: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Lap:
    """One overlap, as it is turned.

    joint: "plug" or "base". start: station of the spigot's root. radius: the spigot's outside, over the
    crests of a thread; recess: the bore it goes into, a thread's as it is bored; root: to which its metal
    reaches. relief: length of the groove behind a thread, and of the plain end ahead of it; engaged: length
    of thread, or of the plain spigot. inner: radius of the hole through the spigot, None where it is solid.
    spigot_wall, skirt_wall: the thinnest metal inside and outside the fit. room: from the recess' end to the
    next thing aft, cavity or aft plane.
    """

    joint: str
    kind: LapKind
    thread: Thread | None
    start: float
    radius: float
    recess: float
    root: float
    relief: float
    engaged: float
    inner: float | None
    spigot_wall: float
    skirt_wall: float
    room: float

    @property
    def length(self) -> float:
        """Return the length of the spigot: groove, thread and plain end."""
        return 2.0 * self.relief + self.engaged

    @property
    def point(self) -> float:
        """Return how much deeper than its end a recess on the axis is drilled [m]; 0 for a bored one."""
        if self.inner is not None or self.thread is None:
            return 0.0
        return POINT * self.thread.tap_drill

    @property
    def end(self) -> float:
        """Return the station of the spigot's end, which is that of the recess."""
        return self.start + self.length


def base_lap(cavity: Cavity, *, kind: LapKind, thread: Thread | None, engagement: float) -> Lap:
    """Return the lap of a base of its own; the shell ahead of it carries the spigot.

    engagement: of thread; or from the skirt's edge to the screws' centres: the spigot is twice as long. A
    thread's spigot has the thread's diameter, a plain one ends in the middle of the wall at the joint.
    The spigot's inside is the base's own bore, or in a solid base the cavity's radius at the joint.
    Valid for a base of its own; whether its walls are enough is for others to judge.
    """
    if cavity.joint_arc is None:
        raise ValueError("a base that is one with the shell has no lap")
    z_out, r_out = (float(x) for x in cavity.outline.at(cavity.joint_arc)[:2])
    r_in, z_in = (float(x) for x in cavity.base_corner)
    plain = 0.5 * (r_in + r_out)
    radius = plain if thread is None else 0.5 * thread.major
    share = min(max((radius - r_in) / (r_out - r_in), 0.0), 1.0)
    start = z_in + share * (z_out - z_in)
    relief, engaged = _relief(thread), _engaged(kind, engagement)
    end = start + 2.0 * relief + engaged
    z = start + (end - start) * _EVENLY
    inner = np.full(STATIONS, r_in) if cavity.design.solid_base else _base_bore(cavity, z)
    root = radius if thread is None else 0.5 * thread.root
    outside = np.interp(z, cavity.outline.axial, cavity.outline.radius)
    return Lap(
        joint="base",
        kind=kind,
        thread=thread,
        start=start,
        radius=radius,
        recess=radius if thread is None else 0.5 * thread.minor,
        root=root,
        relief=relief,
        engaged=engaged,
        inner=float(inner.max()),
        spigot_wall=float((root - inner).min()),
        skirt_wall=float((outside - radius).min()),
        room=cavity.outline.turned_length - end,
    )


def insert_lap(cavity: Cavity, *, thread: Thread, engagement: float) -> Lap:
    """Return the lap of the plug's insert: its own stud, screwed into the plug behind it.

    Valid for a design with an insert; whether the walls are enough is for others to judge.
    """
    plane = cavity.design.plug_insert
    if plane is None:
        raise ValueError("a plug without an insert has no lap")
    relief = _relief(thread)
    end = plane + 2.0 * relief + engagement
    outside = np.interp(plane + (end - plane) * _EVENLY, cavity.outline.axial, cavity.outline.radius)
    return Lap(
        joint="plug",
        kind=LapKind.THREAD,
        thread=thread,
        start=plane,
        radius=0.5 * thread.major,
        recess=0.5 * thread.minor,
        root=0.5 * thread.root,
        relief=relief,
        engaged=engagement,
        inner=None,
        spigot_wall=0.5 * thread.root,
        skirt_wall=float(outside.min() - 0.5 * thread.major),
        room=cavity.design.plug_length - end,
    )


def _relief(thread: Thread | None) -> float:
    return 0.0 if thread is None else RELIEF * thread.pitch


def _engaged(kind: LapKind, engagement: float) -> float:
    return {LapKind.THREAD: engagement, LapKind.SCREWS: 2.0 * engagement, LapKind.PLAIN: REGISTER}[kind]


def _base_bore(cavity: Cavity, z: FloatArray) -> FloatArray:
    """Return the radius of a hollow base's inside at stations (n,)."""
    arcs = cavity.base_arc + (cavity.base_end_arc - cavity.base_arc) * _FINELY
    r, along = cavity.base_points(arcs).T
    return np.asarray(np.interp(z, along, r))
