"""Whether a tip can be put together: slab in and out, wires, a probe, and the bar that bores its cavity."""

import math
from dataclasses import dataclass
from enum import Enum

import numpy as np

from optitip.arrays import FloatArray
from optitip.errors import DesignFailure, Outcome
from optitip.geometry.boring import Bar, boring_bar
from optitip.geometry.fitting import TOLERANCE, BandSamples, band_samples
from optitip.geometry.lap import Lap, Spigot, base_lap
from optitip.geometry.probing import Path, straight_path
from optitip.geometry.tip import Cavity
from optitip.inputs.tip_tables import BoringBar, Opens, Seat

WIRE_ROOM = 1e-3  # [m] over the bundle's diameter: common practice, no source
NARROWED = 0.1  # of a mouth's radius: a deeper undercut behind it is what asks for a thin bar
SEAT_WALL = 5e-4  # [m] the thinnest wall a flat is milled down to: common practice, no source


class Stuff(Enum):
    """How a thing goes through an opening: there is nothing to go, it bends, or it keeps its shape."""

    AIR = "air"
    SOFT = "soft"
    RIGID = "rigid"


@dataclass(frozen=True, slots=True, kw_only=True)
class Fittings:
    """What beside the cavity decides how a tip is put together.

    slab_growth, backing_growth: linear strain [1] of what comes out hot, over its size at room temperature.
    wires, probe: diameters [m], None for none. spigot: what holds a base of its own, None where nobody says;
    rod: the diameter of a tie rod, which lies on the axis.
    """

    opens: Opens = Opens.BASE
    boring: BoringBar = BoringBar.DAMPED
    seat: Seat = Seat.CURVED
    wires: float | None = None
    probe: float | None = None
    spigot: Spigot | None = None
    rod: float | None = None
    slab_growth: float = 0.0
    backing: Stuff = Stuff.AIR
    backing_growth: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class AssemblyLine:
    """One figure to show: what it is, its SI value and unit."""

    name: str
    value: float
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Assembly:
    """How a tip is put together; diameters and lengths [m].

    base_comes_off: the slab comes out where the base was, else through the base's own hole. opening, way_out:
    clear diameters it goes in and comes out by; opening_place: the study key that sets the first. passes,
    passes_hot: the round hole that slab and backing need, at room temperature and hot; opening_room: what is
    left of the tighter way, in while cold, out while they are hot and the shell has cooled. Below 0 they come
    out no sooner than cooled. wires_hole: the narrowest the wires have. seat_depth: what a flat takes
    from the wall; seat_wall: what it leaves at least. probe: the straight way in. lap: of a base whose fixing
    is known. None where there is none.
    """

    base_comes_off: bool
    opening: float
    way_out: float
    opening_place: str
    passes: float
    passes_hot: float
    opening_room: float
    bar: Bar
    wires_hole: float | None
    probe: Path | None
    seat_depth: float | None
    seat_wall: float | None
    lap: Lap | None = None

    @property
    def bar_overhang(self) -> float:
        """Return how far the bar stands out [1], over its diameter."""
        return self.bar.overhang

    @property
    def lines(self) -> tuple[AssemblyLine, ...]:
        """Return what there is to show, in order."""
        figures: list[tuple[str, float | None, str]] = [
            ("opening the sample goes in by, across", self.opening, "m"),
            ("opening it comes out by, across", self.way_out, "m"),
            ("sample and backing need, across", self.passes, "m"),
            ("sample and backing need when hot, across", self.passes_hot, "m"),
            ("room left", self.opening_room, "m"),
            ("boring bar, thickest", self.bar.aft, "m"),
            ("boring bar, thinnest", self.bar.fore, "m"),
            ("boring bar reaches", self.bar.reach, "m"),
            ("boring bar overhang, lengths over diameters", self.bar.overhang, "1"),
            ("its kind can do", self.bar.limit, "1"),
            ("undercut, in radius", self.bar.undercut or None, "m"),
            ("narrowest the wires have, across", self.wires_hole, "m"),
            ("the probe's tilt to the axis", None if self.probe is None else self.probe.tilt, "rad"),
            ("the probe reaches", None if self.probe is None else self.probe.length, "m"),
            ("flat seat takes of the wall", self.seat_depth, "m"),
            ("flat seat leaves of the wall", self.seat_wall, "m"),
        ]
        return tuple(
            AssemblyLine(name=name, value=value, unit=unit)
            for name, value, unit in figures
            if value is not None
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Way:
    """A way through: its clear radius [m] and the study key that sets it."""

    radius: float
    place: str


@dataclass(frozen=True, slots=True, kw_only=True)
class _Passing:
    """What has to pass an opening: across [m] cold and hot; soft things as two layers, rolled up."""

    name: str
    soft: bool
    cold: float
    hot: float


def put_together(cavity: Cavity, *, fittings: Fittings) -> Assembly:
    """Return how the tip is put together; DesignFailure, with the study key, where it can't be."""
    sampled = band_samples(cavity)
    seat_depth, seat_wall = _seat(cavity, sampled) if fittings.seat is Seat.FLAT else (None, None)
    hole = _hole(cavity, aft=sampled.aft)
    mouth = _mouth(cavity, aft=sampled.aft) if cavity.design.base_separate else hole
    out = mouth if fittings.opens is Opens.BASE else _Way(radius=hole.radius, place="tip.opens")
    passing = _passing(cavity, sampled, fittings=fittings)
    for one in passing:
        _check_way(one, way=mouth, outcome=Outcome.SLAB_CANNOT_GO_IN)
        _check_way(one, way=out, outcome=Outcome.SLAB_CANNOT_COME_OUT)
    _check_rod(cavity, sampled, fittings=fittings)
    lap = None if fittings.spigot is None else _lap(cavity, fittings.spigot)
    cold, hot = (max((getattr(one, key) for one in passing), default=0.0) for key in ("cold", "hot"))
    return Assembly(
        base_comes_off=cavity.design.base_separate and fittings.opens is Opens.BASE,
        opening=2.0 * mouth.radius,
        way_out=2.0 * out.radius,
        opening_place=mouth.place,
        passes=cold,
        passes_hot=hot,
        opening_room=min(2.0 * mouth.radius - cold, 2.0 * out.radius - hot),
        bar=_bar(cavity, sampled, kind=fittings.boring, mouth=mouth, lap=lap),
        wires_hole=_wires(cavity, sampled, fittings=fittings, hole=hole),
        probe=_probe(cavity, sampled, fittings=fittings, hole=hole),
        seat_depth=seat_depth,
        seat_wall=seat_wall,
        lap=lap,
    )


def _lap(cavity: Cavity, spigot: Spigot) -> Lap:
    return base_lap(cavity, kind=spigot.kind, thread=spigot.thread, engagement=spigot.engagement)


def seat_depth(radius: FloatArray, *, share: float) -> FloatArray:
    """Return how deep a flat seat cuts into a round wall (n,) [m]: w^2 / (8 r), w = 2 pi r share.

    radius: ``(n,)`` [m] of the wall's inside. share: of the circumference the coupon covers.
    Valid for coupons narrow against the circle: 0.5 % high at 0.05 of the circumference, 8 % at 0.2.
    Source: the sagitta of a shallow arc (any textbook).

    >>> round(float(seat_depth(np.array([0.025]), share=0.03 / (2 * math.pi * 0.025))[0]), 6)
    0.0045
    """
    width = 2.0 * math.pi * radius * share
    return np.asarray(width**2 / (8.0 * radius))


def _seat(cavity: Cavity, sampled: BandSamples) -> tuple[float, float]:
    """Return depth and what is left of the wall where a flat takes most of it."""
    depth = seat_depth(sampled.pocket[:, 0], share=cavity.design.slab_share)
    left = cavity.wall_thickness(sampled.arcs) - depth
    worst = int(left.argmin())
    if left[worst] < SEAT_WALL:
        width = 2.0 * math.pi * float(sampled.pocket[worst, 0]) * cavity.design.slab_share
        detail = f"{_mm(width)} wide, it takes {_mm(depth[worst])} of {_mm(depth[worst] + left[worst])}"
        detail += f" and must leave {_mm(SEAT_WALL)}"
        raise DesignFailure(Outcome.SEAT_DOES_NOT_FIT, place="sample.seat", detail=detail)
    return float(depth[worst]), float(left[worst])


def _mouth(cavity: Cavity, *, aft: FloatArray) -> _Way:
    """Return the way in with a base of its own left off: the narrower of band and joint.

    The shell's spigot goes on behind the joint with the base's own bore, which is no narrower.
    """
    place = "tip.band.thickness_aft" if cavity.design.solid_base else "tip.base.thickness"
    ways = [(float(aft[:, 0].min()), "tip.band.thickness_aft"), (float(cavity.base_corner[0]), place)]
    radius, place = min(ways)
    return _Way(radius=radius, place=place)


def _hole(cavity: Cavity, *, aft: FloatArray) -> _Way:
    """Return the way through the base as it stands: its bore, or the inside of its wall."""
    mouth = _mouth(cavity, aft=aft)
    own = float(cavity.end[0])
    place = "tip.base.bore" if cavity.design.solid_base else "tip.base.thickness"
    return mouth if mouth.radius <= own else _Way(radius=own, place=place)


def _passing(cavity: Cavity, sampled: BandSamples, *, fittings: Fittings) -> list[_Passing]:
    """Return slab and backing as they have to pass the opening.

    Soft: twice the thickness. Rigid strip: the diagonal of its box, sqrt(chord^2 + (thickness + sagitta)^2),
    a flat one's sqrt(width^2 + thickness^2). Rigid ring (half the circumference or more): its outer diameter.
    The fore side is always closed. Source: plain geometry.
    """
    design = cavity.design
    if design.slab_thickness is None:
        return []
    outer = float(sampled.pocket[:, 0].max())
    pieces = [("slab", design.slab_thickness, outer, design.slab_soft, fittings.slab_growth)]
    if design.backing_thickness is not None and fittings.backing is not Stuff.AIR:
        back = float((sampled.pocket[:, 0] + design.slab_thickness * sampled.inward[:, 0]).max())
        rest = (fittings.backing is Stuff.SOFT, fittings.backing_growth)
        pieces.append(("backing", design.backing_thickness, back, *rest))
    flat = 2.0 * math.pi * outer * design.slab_share if fittings.seat is Seat.FLAT else None
    made = []
    for name, thickness, radius, soft, growth in pieces:
        across = 2.0 * thickness
        if not soft:
            across = _across(radius, thickness=thickness, share=design.slab_share, flat=flat)
        made.append(_Passing(name=name, soft=soft, cold=across, hot=across * (1.0 + growth)))
    return made


def _across(radius: float, *, thickness: float, share: float, flat: float | None) -> float:
    if flat is not None:
        return math.hypot(flat, thickness)
    if share >= 0.5:
        return 2.0 * radius
    angle = math.pi * share
    return math.hypot(2.0 * radius * math.sin(angle), thickness + radius * (1.0 - math.cos(angle)))


def _check_way(one: _Passing, *, way: _Way, outcome: Outcome) -> None:
    """Raise DesignFailure where a thing can't pass at all, however long one waits for it to cool."""
    over = one.cold - 2.0 * way.radius
    if over < 0.0 or (over <= TOLERANCE and not one.soft):
        return
    if one.soft:
        detail = f"the {one.name}, soft, {_mm(0.5 * one.cold)} thick, through a radius of {_mm(way.radius)}"
    else:
        detail = f"the {one.name}, rigid, {_mm(one.cold)} across, through {_mm(2.0 * way.radius)}"
    raise DesignFailure(outcome, place=way.place, detail=detail)


def _bar(cavity: Cavity, sampled: BandSamples, *, kind: BoringBar, mouth: _Way, lap: Lap | None) -> Bar:
    """Return the bar that bores the cavity; DesignFailure where no bar of its kind reaches all of it."""
    wall = _bored_wall(cavity, sampled, lap=lap)
    bar = boring_bar(wall[:, 1], radius=wall[:, 0], kind=kind)
    if bar.overhang <= bar.limit:
        return bar
    detail = f"{_mm(bar.fore)} to {_mm(bar.aft)} thick and {_mm(bar.reach)} out, its overhang is "
    detail += f"{bar.overhang:.3g}; a {kind.value} bar cuts up to {bar.limit:g}"
    if not math.isfinite(bar.overhang):
        detail = f"{_mm(bar.undercut)} wider in radius behind {_mm(2.0 * mouth.radius)} across"
    deep = "tip.band.length" if cavity.design.base_separate else "tip.base.separate"
    place = mouth.place if bar.undercut > NARROWED * mouth.radius else deep
    raise DesignFailure(Outcome.CANNOT_BE_TURNED, place=place, detail=detail)


def _bored_wall(cavity: Cavity, sampled: BandSamples, *, lap: Lap | None) -> FloatArray:
    """Return the wall that is bored from aft (n, 2), fore face to open end; a base of its own is off.

    The shell's spigot is bored with it: on as the base's own inside, or straight under a solid one.
    """
    points = [cavity.corner[None], sampled.band, cavity.base_corner[None]]
    if cavity.design.base_separate:
        points += _spigot(cavity, lap=lap)
    elif cavity.bore_corner is not None:
        points += [cavity.bore_corner[None], cavity.end[None]]
    else:
        arcs = np.linspace(cavity.base_arc, cavity.base_end_arc, 9)[1:-1]
        points += [cavity.base_points(arcs), cavity.end[None]]
    return np.concatenate(points)


def _spigot(cavity: Cavity, *, lap: Lap | None) -> list[FloatArray]:
    """Return the inside of the shell's spigot behind the joint; without one the shell's own end."""
    r, z = (float(x) for x in cavity.base_corner)
    if not cavity.design.solid_base:
        if lap is None:
            return []
        share = min((lap.end - z) / (float(cavity.end[1]) - z), 1.0)
        arcs = (
            cavity.base_arc + share * (cavity.base_end_arc - cavity.base_arc) * np.linspace(0.0, 1.0, 5)[1:]
        )
        return [cavity.base_points(arcs)]
    if lap is not None:
        return [np.array([[r, lap.end]])]
    if cavity.joint_arc is None:
        return []
    z_out, r_out, _slope = cavity.outline.at(cavity.joint_arc)
    return [np.array([[float(r_out), float(z_out)]])]


def _wires(cavity: Cavity, sampled: BandSamples, *, fittings: Fittings, hole: _Way) -> float | None:
    """Return the narrowest the wires have across [m]: the core of the lining or what it leaves, the base.

    Beside a strip a bundle finds the circle in the free sector, r sin(a)/(1 + sin(a)) with a half its angle.
    A tie rod leaves what is between it and the way's side.
    """
    design, bundle = cavity.design, fittings.wires
    if bundle is None:
        return None
    solid = fittings.backing is not Stuff.AIR
    angle = min(math.pi * (1.0 - design.slab_share), 0.5 * math.pi)
    wall = float(sampled.pocket[:, 0].min())
    sector = 2.0 * wall * math.sin(angle) / (1.0 + math.sin(angle))
    place = f"sample.{'backing' if solid and design.backing_thickness else 'slab'}.thickness"
    rod = 0.5 * (fittings.rod or 0.0)

    def beside(radius: float) -> float:
        return radius - rod if rod > 0.0 else 2.0 * radius

    inside = max(beside(_core(cavity, sampled, fittings=fittings)), min(sector, beside(wall)))
    clear, place = min((beside(hole.radius), hole.place), (inside, place))
    if clear < bundle + WIRE_ROOM:
        detail = f"{_mm(bundle)} and {_mm(WIRE_ROOM)} of room through {_mm(max(clear, 0.0))}"
        raise DesignFailure(Outcome.WIRES_CANNOT_LEAVE, place=place, detail=detail)
    return clear


def _core(cavity: Cavity, sampled: BandSamples, *, fittings: Fittings) -> float:
    """Return the radius [m] that slab and solid backing leave round the axis."""
    design = cavity.design
    depth = design.lining if fittings.backing is not Stuff.AIR else design.slab_thickness or 0.0
    return float((sampled.pocket[:, 0] + depth * sampled.inward[:, 0]).min())


def _check_rod(cavity: Cavity, sampled: BandSamples, *, fittings: Fittings) -> None:
    """Raise DesignFailure where what lines the wall leaves a tie rod no room on the axis."""
    core = 2.0 * _core(cavity, sampled, fittings=fittings)
    if fittings.rod is not None and fittings.rod > core:
        detail = f"{_mm(fittings.rod)} across, through {_mm(core)}"
        raise DesignFailure(Outcome.ROD_CANNOT_PASS, place="tip.base.fixing.rod", detail=detail)


def _probe(cavity: Cavity, sampled: BandSamples, *, fittings: Fittings, hole: _Way) -> Path | None:
    """Return the straight way of a probe to the slab's back, the base on; it doesn't cross a tie rod."""
    diameter = fittings.probe
    if diameter is None or cavity.design.slab_thickness is None:
        return None
    back = sampled.pocket + cavity.design.slab_thickness * sampled.inward
    ends = [cavity.base_corner, cavity.end]
    if cavity.bore_corner is not None:
        ends.insert(1, cavity.bore_corner)
    walls = np.concatenate([sampled.aft, np.array(ends)])
    path = straight_path(back, walls=walls, diameter=diameter)
    if path is not None and fittings.rod is not None and path.nearest < 0.5 * (fittings.rod + diameter):
        detail = f"{_mm(diameter)} across, past a rod of {_mm(fittings.rod)} on the axis"
        raise DesignFailure(Outcome.PROBE_CANNOT_REACH, place="tip.base.fixing.rod", detail=detail)
    if path is None:
        detail = f"{_mm(diameter)} across, through {_mm(2.0 * hole.radius)} at the narrowest"
        raise DesignFailure(Outcome.PROBE_CANNOT_REACH, place=hole.place, detail=detail)
    return path


def _mm(length: float) -> str:
    return f"{length * 1e3:.4g} mm"
