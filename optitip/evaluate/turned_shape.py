"""A built tip as the lathe meets it: its walls, the lengths between corners, the bars its parts come from."""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np

from optitip.evaluate.building import Tip
from optitip.geometry.lap import Lap
from optitip.geometry.outline import Outline
from optitip.geometry.tip import Cavity
from optitip.metrics.stock import Stock, stock_of
from optitip.metrics.turning import Run, arc_takes
from optitip.properties.materials import Material


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Turned:
    """A wall of a tip: of which part, the study key of its thickness [m], its station [m], its material."""

    part: str
    place: str
    axial: float
    thickness: float
    material: Material


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Metals:
    """What insert, shell and base are made of; those that aren't parts of their own are the shell's."""

    insert: Material
    shell: Material
    base: Material


def metals_of(tip: Tip) -> Metals:
    """Return the materials of the parts."""
    of = {one.part: one.material for one in tip.parts.pieces}
    return Metals(
        insert=tip.materials[tip.parts.pieces[0].material],
        shell=tip.materials[of["band"]],
        base=tip.materials[of["base"]],
    )


def turned_walls(tip: Tip, metals: Metals) -> tuple[Turned, ...]:
    """Return the walls of a tip, the thinnest first."""
    design, cavity = tip.cavity.design, tip.cavity
    fore = design.thickness_fore <= design.thickness_aft
    found = [
        Turned(
            part="plug",
            place="tip.plug.wall",
            axial=float(cavity.corner[1]),
            thickness=design.plug_wall,
            material=metals.shell,
        ),
        Turned(
            part="band",
            place="tip.band.thickness" if fore else "tip.band.thickness_aft",
            axial=float((cavity.band_fore if fore else cavity.band_aft)[1]),
            thickness=min(design.thickness_fore, design.thickness_aft),
            material=metals.shell,
        ),
        *_base_walls(cavity, metals.base),
    ]
    if design.plug_insert is not None:
        web = design.plug_length - design.plug_insert
        found.append(
            Turned(
                part="plug",
                place="tip.plug.insert",
                axial=design.plug_insert,
                thickness=web,
                material=metals.shell,
            )
        )
    return tuple(sorted(found, key=lambda one: one.thickness))


def _base_walls(cavity: Cavity, metal: Material) -> Iterator[Turned]:
    """Yield the wall of a hollow base, or the lid of a solid one and what its bore leaves round itself."""
    design, start = cavity.design, float(cavity.base_corner[1])
    if design.base_thickness is not None:
        walls = {"tip.base.thickness": design.base_thickness}
    else:
        walls = {"outline.turned_length": cavity.outline.turned_length - start}
        if design.base_bore is not None:
            walls["tip.base.bore"] = _outside(cavity.outline, start) - design.base_bore
    for place, thickness in walls.items():
        yield Turned(part="base", place=place, axial=start, thickness=thickness, material=metal)


def runs_of(cavity: Cavity, *, nose_radius: float) -> tuple[Run, ...]:
    """Return the lengths between the corners of the cavity that the bar cuts, with what their arcs take.

    Arcs are in corners whose void is under 180 degrees; the fore one's is the design's own fillet where it
    has one. The base of its own is another part: its corner is none of the bored one's.
    """
    corner, fore, aft, base = (
        (float(r), float(z))
        for r, z in (cavity.corner, cavity.band_fore, cavity.band_aft, cavity.base_corner)
    )
    inward = cavity.band_inward(list(cavity.band_arc))
    band = [(float(n_z), float(-n_r)) for n_r, n_z in inward]
    tapers = (_along(corner, fore), _along(aft, base))
    filleted = max(cavity.design.plug_fillet, nose_radius)
    face = arc_takes(_turn((1.0, 0.0), tapers[0]), radius=filleted)
    kink = arc_takes(_turn(tapers[0], band[0]), radius=nose_radius)
    second = arc_takes(_turn(band[1], tapers[1]), radius=nose_radius)
    runs = [
        Run(place="tip.plug.length", length=corner[0], taken=face),
        Run(place="tip.fore_taper", length=math.dist(corner, fore), taken=face + kink),
        Run(place="tip.band.length", length=cavity.band_arc[1] - cavity.band_arc[0], taken=kink + second),
    ]
    last, behind = 0.0, None
    if not cavity.design.base_separate:
        behind, last = _base_run(cavity, tapers[1], nose_radius=nose_radius)
        runs.append(behind)
    runs.append(Run(place="tip.aft_taper", length=math.dist(aft, base), taken=second + last))
    return tuple(runs)


def _base_run(cavity: Cavity, taper: tuple[float, float], *, nose_radius: float) -> tuple[Run, float]:
    """Return the base's face or inside that is one with the shell, and what the arc before it takes."""
    if cavity.bore_corner is None:
        ahead = (math.sin(cavity.base_slope), math.cos(cavity.base_slope))
        place, length = "tip.base.thickness", cavity.base_end_arc - cavity.base_arc
    else:
        ahead, place = (-1.0, 0.0), "tip.base.bore"
        length = float(cavity.base_corner[0] - cavity.bore_corner[0])
    last = arc_takes(_turn(taper, ahead), radius=nose_radius)
    return Run(place=place, length=length, taken=last), last


def _along(first: tuple[float, float], second: tuple[float, float]) -> tuple[float, float]:
    """Return the direction (r, z) from one point to another."""
    long = math.dist(first, second)
    return (second[0] - first[0]) / long, (second[1] - first[1]) / long


def _turn(before: tuple[float, float], after: tuple[float, float]) -> float:
    """Return by how much a path (r, z), fore to aft, bends towards the axis [rad]; 0 where it bends away."""
    cross = before[0] * after[1] - before[1] * after[0]
    return max(math.atan2(cross, before[0] * after[0] + before[1] * after[1]), 0.0)


def stocks_of(tip: Tip, metals: Metals, *, laps: Mapping[str, Lap]) -> tuple[Stock, ...]:
    """Return what each part is sawn from, fore to aft, spigots with the parts that carry them."""
    cavity, outline = tip.cavity, tip.outline
    insert, joint = cavity.design.plug_insert, cavity.joint_arc
    ends = [outline.turned_length]
    if joint is not None:
        ends.insert(0, float(np.interp(joint, outline.arc_length, outline.axial)))
    names = [("shell", metals.shell)] if joint is None else [("shell", metals.shell), ("base", metals.base)]
    starts = [0.0, *ends[:-1]]
    if joint is not None:
        starts[1] = float(cavity.base_corner[1])
    if insert is not None:
        starts, ends, names = [0.0, insert, *starts[1:]], [insert, *ends], [("insert", metals.insert), *names]
    reaches = {"insert": laps.get("plug"), "shell": laps.get("base")}
    made = []
    for (name, metal), start, end in zip(names, starts, ends, strict=True):
        lap = reaches.get(name)
        ahead = outline.axial <= end
        made.append(
            stock_of(
                name,
                material=metal.name,
                diameter=2.0 * max(float(outline.radius[ahead].max()), _outside(outline, end)),
                length=(end if lap is None else max(end, lap.end)) - start,
                series=tip.tables.turning.stock,
            )
        )
    return tuple(made)


def _outside(outline: Outline, axial: float) -> float:
    """Return the outline's radius at a station [m], straight between its points."""
    return float(np.interp(axial, outline.axial, outline.radius))
