"""A part as it is turned: its outside and its bore as lines and arcs, its threads and holes.

Points are (z, r) in metres, z aft of the nose point of the whole tip.
"""

import math
from dataclasses import dataclass

from optitip.export.parts.arcs import Point, Segment
from optitip.export.parts.profile import half_section, radius_at, revolved_volume
from optitip.properties.threads import Thread, thread_of


@dataclass(frozen=True, slots=True, kw_only=True)
class ThreadCut:
    """A thread on a part: full from ``start`` to ``end`` [m]; drawn over crests outside, as bored inside."""

    thread: Thread
    external: bool
    start: float
    end: float

    @property
    def volume(self) -> float:
        """Return the metal that cutting it takes from what is drawn [m3], by its pitch diameter.

        V = pi/4 L (d^2 - d2^2) outside, pi/4 L (d2^2 - D1^2) inside. The profile of 60 degrees has as much
        metal outside its pitch line as gaps inside it.
        """
        drawn = self.thread.major if self.external else self.thread.minor
        return 0.25 * math.pi * (self.end - self.start) * abs(drawn**2 - self.thread.pitch_diameter**2)


@dataclass(frozen=True, slots=True, kw_only=True)
class CrossHoles:
    """Holes across the axis, alike, even all round: ``count`` of ``diameter`` [m] at the station ``axial``.

    ``tapped`` names the thread in them, whose tapping drill the diameter is; None is a clearance hole.
    """

    count: int
    diameter: float
    axial: float
    tapped: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class AxialHole:
    """A drilled hole along the axis, ``off_axis`` off it, from ``start`` to ``end`` [m]; ``use``: why."""

    diameter: float
    off_axis: float
    start: float
    end: float
    use: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TurnedPart:
    """One part: ``name`` is insert, shell or base; its curves run fore to aft and z never falls on them.

    ``outer`` begins at the fore end, on the axis or at the joint's outside, and ends at the aft face;
    ``inner`` begins on the axis (a blind bore) or at the fore face's inner edge, and ends at the aft face;
    where a part is solid behind its fore face it runs along the axis, in a solid part to the end. A
    thread outside is drawn over its crests, one inside as it is bored. ``nose_radius`` [m] is that of the
    tool's edge, which inside corners have at least, but for those in ``sharp``, where no arc has room.
    ``density`` [kg/m3] is the metal's, ``chord_error`` [m] how far the curves are off the design's at most;
    ``notes`` is what a drawing has to say in words. ``walls`` are points of the bore at which the wall is
    measured, square to the outside, within ``wall_tolerance`` [m] either way.
    """

    name: str
    material: str
    outer: tuple[Segment, ...]
    inner: tuple[Segment, ...]
    threads: tuple[ThreadCut, ...] = ()
    holes: tuple[CrossHoles, ...] = ()
    nose_radius: float = 0.0
    axial_holes: tuple[AxialHole, ...] = ()
    sharp: tuple[Point, ...] = ()
    notes: tuple[str, ...] = ()
    density: float = math.nan
    chord_error: float = 0.0
    walls: tuple[Point, ...] = ()
    wall_tolerance: float | None = None

    @property
    def closed(self) -> tuple[Segment, ...]:
        """Return the closed half section."""
        return half_section(self.outer, self.inner)

    @property
    def start(self) -> float:
        """Return the station of the fore end [m]."""
        return min(self.outer[0].start[0], self.inner[0].start[0])

    @property
    def end(self) -> float:
        """Return the station of the aft end [m]."""
        return max(self.outer[-1].end[0], self.inner[-1].end[0])

    @property
    def solid(self) -> bool:
        """Return whether the part has no bore at all."""
        return all(one.start[1] == 0.0 == one.end[1] for one in self.inner)

    @property
    def volume(self) -> float:
        """Return the volume as finished [m3]: threads at their pitch diameter, holes taken out.

        A hole across counts as straight through the wall at its station.
        """
        across = sum(one.count * _bore_area(one) * self.wall_at(one.axial) for one in self.holes)
        along = sum(0.25 * math.pi * one.diameter**2 * (one.end - one.start) for one in self.axial_holes)
        return revolved_volume(self.closed) - sum(one.volume for one in self.threads) - across - along

    @property
    def mass(self) -> float:
        """Return the mass as finished [kg]."""
        if not math.isfinite(self.density):
            raise ValueError(f"the {self.name} has no density")
        return self.density * self.volume

    def wall_at(self, station: float) -> float:
        """Return the metal between outside and bore across the axis [m] at a station [m] inside the part."""
        return radius_at(self.outer, station) - radius_at(self.inner, station)


def _bore_area(holes: CrossHoles) -> float:
    diameter = holes.diameter if holes.tapped is None else thread_of(holes.tapped).pitch_diameter
    return 0.25 * math.pi * diameter**2
