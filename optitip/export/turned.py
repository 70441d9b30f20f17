"""The parts of a tip as each is turned: its outside and its bore as lines and arcs, its threads and holes.

Points are (z, r) in metres, z aft of the nose point of the whole tip.
"""

from dataclasses import dataclass

from optitip.export.arcs import Segment
from optitip.export.profile import half_section
from optitip.properties.threads import Thread


@dataclass(frozen=True, slots=True, kw_only=True)
class ThreadCut:
    """A thread on a part: full from ``start`` to ``end`` [m]; drawn over crests outside, as bored inside."""

    thread: Thread
    external: bool
    start: float
    end: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CrossHoles:
    """Holes across the axis, alike, even all round: ``count`` of ``diameter`` [m] at the station ``axial``.

    ``tapped`` names the thread in them; None is a clearance hole.
    """

    count: int
    diameter: float
    axial: float
    tapped: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TurnedPart:
    """One part: ``name`` is insert, shell or base; its curves run fore to aft and z never falls on them.

    ``outer`` begins at the fore end, on the axis or at the joint's outside, and ends at the aft face;
    ``inner`` begins on the axis (a blind bore) or at the fore face's inner edge, and ends at the aft face. A
    thread outside is drawn over its crests, one inside as it is bored. ``nose_radius`` [m] is that of the
    tool's edge, which inside corners have at least.
    """

    name: str
    material: str
    outer: tuple[Segment, ...]
    inner: tuple[Segment, ...]
    threads: tuple[ThreadCut, ...] = ()
    holes: tuple[CrossHoles, ...] = ()
    nose_radius: float = 0.0

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
