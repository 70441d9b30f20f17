"""The holes of a tip's parts: for screws across, for a tie rod along the axis, for the pocket's breath."""

from dataclasses import dataclass, replace

import numpy as np

from optitip.errors import UserMistakes
from optitip.evaluate.building import Tip
from optitip.evaluate.sources import thread_at
from optitip.export.parts.arcs import Segment
from optitip.export.parts.part import AxialHole, CrossHoles, ThreadCut, TurnedPart
from optitip.geometry.assembly import seat_depth
from optitip.geometry.fitting import band_samples
from optitip.geometry.lap import RELIEF, Lap
from optitip.inputs.tip_tables import PocketAir
from optitip.properties.threads import INCH, Family, Thread

# mm of a screw's diameter: mm of the hole it passes; ISO 273, medium series (from memory)
MEDIUM = {
    1.6: 1.8, 2.0: 2.4, 2.5: 2.9, 3.0: 3.4, 4.0: 4.5, 5.0: 5.5, 6.0: 6.6, 8.0: 9.0, 10.0: 11.0, 12.0: 13.5,
    14.0: 15.5, 16.0: 17.5, 20.0: 22.0, 24.0: 26.0,
}  # fmt: skip
PLUG_LEFT = 1e-3  # [m] of metal ahead of a rod's hole: a choice


def clearance(thread: Thread) -> float:
    """Return the diameter of the hole a screw passes freely [m].

    ISO 273's medium series; other metric sizes 1.1 d; Unified d + 1/64 inch, from 1/4 inch on d + 1/32.
    Source: ISO 273, ASME B18.2.8 normal fit (both from memory).

    >>> from optitip.properties.threads import thread_of
    >>> round(clearance(thread_of("M4")) * 1e3, 6), round(clearance(thread_of("1/4-20 UNC")) * 1e3, 3)
    (4.5, 7.144)
    """
    if thread.family is Family.UNIFIED:
        return thread.major + (INCH / 64.0 if thread.major < 0.2499 * INCH else INCH / 32.0)
    size = round(thread.major * 1e3, 6)
    return MEDIUM.get(size, 1.1 * size) * 1e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class _Rod:
    thread: Thread
    engaged: float


def with_holes(parts: tuple[TurnedPart, ...], *, tip: Tip, base_lap: Lap | None) -> tuple[TurnedPart, ...]:
    """Return the parts with the holes of their fixings and of the pocket's vent.

    A rod's holes lie on the axis and are of the bore; the rest stands beside the profile.
    """
    fixing = tip.tables.tip.base.fixing
    named = {one.name: one for one in parts}
    if fixing is not None and fixing.screw is not None and base_lap is not None:
        screw = thread_at(fixing.screw, place="tip.base.fixing.screw")
        axial = base_lap.start + fixing.engagement
        tapped = CrossHoles(
            count=fixing.screws, diameter=screw.tap_drill, axial=axial, tapped=screw.designation
        )
        free = CrossHoles(count=fixing.screws, diameter=clearance(screw), axial=axial)
        named["shell"] = replace(named["shell"], holes=(tapped,))
        named["base"] = _flush(replace(named["base"], holes=(free,)))
    rod = None
    if fixing is not None and fixing.rod is not None:
        thread = thread_at(fixing.rod, place="tip.base.fixing.rod")
        rod = _Rod(thread=thread, engaged=fixing.engagement)
        named["shell"] = _tapped_for_rod(named["shell"], rod, face=tip.cavity.design.plug_length)
        named["base"] = _passed_by_rod(named["base"], rod)
    if tip.assembly.seat_wall is not None:
        named["shell"] = _with_flat(named["shell"], tip=tip, left=tip.assembly.seat_wall)
    if tip.tables.sample.pocket.air is PocketAir.VENTED:
        aft = parts[-1].name
        named[aft] = _vented(named[aft], tip=tip, rod=rod)
    return tuple(named[one.name] for one in parts)


def _flush(part: TurnedPart) -> TurnedPart:
    """Return the base with a note on its screws' heads, which the air is to pass over."""
    [holes] = part.holes
    note = (
        "sink the screws' heads flush with the outside or below it: the wall they bear on is "
        f"{_mm(part.wall_at(holes.axial))} there"
    )
    return replace(part, notes=(*part.notes, note))


def _with_flat(part: TurnedPart, *, tip: Tip, left: float) -> TurnedPart:
    """Return the shell with a note on the flat that is milled into its bore, under the pocket."""
    wall = band_samples(tip.cavity).pocket
    share = tip.cavity.design.slab_share
    deep = seat_depth(wall[:, 0], share=share)
    ends = [
        f"Z {1e3 * (part.end - wall[i, 1]):.2f} mm ({_mm(2.0 * np.pi * share * wall[i, 0])} wide, "
        f"{_mm(float(deep[i]))} deep)"
        for i in (0, -1)
    ]
    note = (
        f"mill a flat for the slab into the bore, from {ends[0]} straight to {ends[1]}; it leaves "
        f"{_mm(left)} of wall at its middle; the section, the tables, DXF and STEP are without it"
    )
    return replace(part, notes=(*part.notes, note))


def _tapped_for_rod(part: TurnedPart, rod: _Rod, *, face: float) -> TurnedPart:
    """Return the part with the rod's blind thread in the plug's face, 2.5 pitches of run-out behind it."""
    thread = rod.thread
    solid_from = part.inner[0].start[0] if _on_axis(part.inner[0]) else part.start
    for one in part.inner:
        if _on_axis(one) and abs(one.end[0] - face) < 1e-9:
            solid_from = one.start[0]
    depth = rod.engaged + RELIEF * thread.pitch
    notes = part.notes
    if depth > face - solid_from - PLUG_LEFT:
        kept = max(face - solid_from - PLUG_LEFT, 0.0)
        notes += (f"the rod's hole wants {_mm(depth)} of depth, the plug has {_mm(kept)}",)
        depth = kept
    bottom, radius = face - depth, 0.5 * thread.minor
    [first, *rest] = [one for one in part.inner if one.end[0] >= face - 1e-9 and not _on_axis(one)]
    if radius >= first.end[1]:
        problem = f"its hole of {_mm(2.0 * radius)} is wider than the fore face of {_mm(2.0 * first.end[1])}"
        raise UserMistakes.one("tip.base.fixing.rod", problem, "Take a thinner rod")
    before = [one for one in part.inner if one.end[0] < face - 1e-9]
    for one in part.inner:
        if _on_axis(one) and one.end[0] >= face - 1e-9 > one.start[0]:
            before.append(Segment(start=one.start, end=(bottom, 0.0)))
    inner = (
        *before,
        Segment(start=(bottom, 0.0), end=(bottom, radius)),
        Segment(start=(bottom, radius), end=(face, radius)),
        Segment(start=(face, radius), end=first.end, bulge=first.bulge),
        *rest,
    )
    cut = ThreadCut(thread=thread, external=False, start=face - min(rod.engaged, depth), end=face)
    drilled = (
        f"{thread.designation} for the tie rod, drilled ⌀{_mm(thread.tap_drill)}, {_mm(depth)} deep: "
        "the drill's point goes deeper"
    )
    return replace(part, inner=inner, threads=(*part.threads, cut), notes=(*notes, drilled))


def _passed_by_rod(part: TurnedPart, rod: _Rod) -> TurnedPart:
    """Return the base with a hole for the rod, where it is closed or narrower than that."""
    radius = 0.5 * clearance(rod.thread)
    if part.inner[-1].end[1] >= radius:
        note = f"the {rod.thread.designation} rod passes the base's opening: its nut needs a washer across it"
        return replace(part, notes=(*part.notes, note))
    aft = part.end
    kept = [one for one in part.inner if max(one.start[1], one.end[1]) > radius]
    # what is left of the bore ends on a face square to the axis, which now ends at the hole
    *before, face = kept
    inner = (
        *before,
        Segment(start=face.start, end=(face.end[0], radius)),
        Segment(start=(face.end[0], radius), end=(aft, radius)),
    )
    return replace(part, inner=inner)


def _on_axis(one: Segment) -> bool:
    return one.start[1] == 0.0 == one.end[1]


def _vented(part: TurnedPart, *, tip: Tip, rod: _Rod | None) -> TurnedPart:
    """Return the aft part with the pocket's vent: through a closed base, along the axis; else a note."""
    diameter = tip.tables.sample.pocket.vent
    design = tip.cavity.design
    if not design.solid_base or design.base_bore is not None:
        note = f"what closes the base's opening needs a vent hole of {_mm(diameter)} for the pocket"
        return replace(part, notes=(*part.notes, note))
    face = next(one for one in part.inner if one.start[0] == one.end[0] and one.end[1] < one.start[1])
    off_axis = 0.0 if rod is None else 0.5 * (face.start[1] + 0.5 * clearance(rod.thread))
    vent = AxialHole(
        diameter=diameter, off_axis=off_axis, start=face.start[0], end=part.end, use="vent of the pocket"
    )
    return replace(part, axial_holes=(*part.axial_holes, vent))


def _mm(length: float) -> str:
    return f"{length * 1e3:.3g} mm"
