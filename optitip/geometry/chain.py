"""Chains a design's lengths along the outline into its cavity; what can't be built is a DesignFailure."""

import math
from dataclasses import dataclass

import numpy as np

from optitip.arrays import FloatArray, frozen
from optitip.errors import DesignFailure, Outcome, UserMistakes
from optitip.geometry.fitting import check_fit
from optitip.geometry.outline import Outline
from optitip.geometry.tip import Cavity, TipDesign, offset_points, offset_section

# no part of a shell is turned shorter or thinner than this, and no cell is made for it
SMALLEST = 2e-4
# nor a solid base than this
THINNEST_LID = 1e-3
# a solid base's joint leans aft from the plane of its face, so that both parts keep an angle there
JOINT_LEAN = math.radians(20)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Stations:
    plug: float
    band: tuple[float, float]
    base: float
    pocket: tuple[float, float]


def build_cavity(design: TipDesign, *, outline: Outline) -> Cavity:
    """Return the cavity of ``design`` under ``outline``.

    The plug ends where a normal of its wall's length reaches the plane of the fore face; fore taper, band
    and aft taper follow along the outline's arc; the base is the rest. Raises DesignFailure with the study
    key to change.
    """
    _check_numbers(design)
    stations = _chain(design, outline=outline, plug=_plug_end(design, outline=outline))
    ends, slopes = offset_section(
        outline,
        [stations.plug, *stations.band, stations.base],
        thickness=np.array(
            [design.plug_wall, design.thickness_fore, design.thickness_aft, _base_wall(design)]
        ),
    )
    ends[0, 1] = design.plug_length
    _check_walls(design, outline=outline, stations=stations, ends=ends)
    _check_tapers(design, ends=ends, aft_end=outline.turned_length)
    corner, band_fore, band_aft, base_corner = ends
    fillet = _fillet(design, corner=corner, band_fore=band_fore)
    base_end_arc, bore_corner, end = _base(design, outline=outline, base_corner=base_corner)
    cavity = Cavity(
        design=design,
        outline=outline,
        plug_arc=stations.plug,
        band_arc=stations.band,
        pocket_arc=stations.pocket,
        base_arc=stations.base,
        base_slope=float(slopes[3]),
        base_end_arc=base_end_arc,
        face_centre=frozen([0.0, design.plug_length]),
        corner=frozen(corner),
        fillet_fore=frozen(fillet[0]),
        fillet_aft=frozen(fillet[1]),
        fillet_centre=frozen(fillet[2]),
        band_fore=frozen(band_fore),
        band_aft=frozen(band_aft),
        base_corner=frozen(base_corner),
        bore_corner=bore_corner,
        end=frozen(end),
        insert_arc=_insert_arc(design, outline=outline, plug_arc=stations.plug),
        joint_arc=_joint_arc(design, outline=outline, base_corner=base_corner),
    )
    check_fit(cavity)
    return cavity


def _base_wall(design: TipDesign) -> float:
    """Return the wall at the base's start: its own, or the band's in front of a solid base."""
    return design.thickness_aft if design.base_thickness is None else design.base_thickness


def _check_numbers(design: TipDesign) -> None:
    positive = {
        "tip.plug.length": design.plug_length,
        "tip.plug.wall": design.plug_wall,
        "tip.band.thickness": design.thickness_fore,
        "tip.band.thickness_aft": design.thickness_aft,
        "tip.band.length": design.band_length,
        "sample.pocket.length": design.pocket_length,
        "tip.base.thickness": design.base_thickness,
        "tip.base.bore": design.base_bore,
        "sample.slab.thickness": design.slab_thickness,
        "sample.backing.thickness": design.backing_thickness,
    }
    for place, value in positive.items():
        if value is not None and not value > 0:
            raise UserMistakes.one(place, f"{_mm(value)} is no length", "Give a positive one")
    if design.base_bore is not None and not design.solid_base:
        raise UserMistakes.one(
            "tip.base.bore", "a base with a thickness is open already", "Leave one of them out"
        )
    if design.backing_thickness is not None and design.slab_thickness is None:
        raise UserMistakes.one(
            "sample.backing.thickness", "there is no slab to back", "Give the slab a thickness"
        )


def _plug_end(design: TipDesign, *, outline: Outline) -> float:
    """Return the arc whose normal of the wall's length ends in the fore face's plane (the last such arc)."""
    if design.plug_length >= outline.turned_length - SMALLEST:
        detail = f"{_mm(design.plug_length)} of {_mm(outline.turned_length)}"
        raise DesignFailure(Outcome.PLUG_TOO_LONG, place="tip.plug.length", detail=detail)
    reach = outline.axial + design.plug_wall * np.sin(outline.slope)
    before = np.flatnonzero(reach < design.plug_length)
    if before.size == 0 or before[-1] == reach.size - 1:
        raise DesignFailure(
            Outcome.WALL_TOO_THICK if before.size == 0 else Outcome.PLUG_TOO_LONG,
            place="tip.plug.wall" if before.size == 0 else "tip.plug.length",
            detail=f"a wall of {_mm(design.plug_wall)} at {_mm(design.plug_length)} from the nose",
        )
    i = int(before[-1])
    share = (design.plug_length - reach[i]) / (reach[i + 1] - reach[i])
    return float(outline.arc_length[i] + share * (outline.arc_length[i + 1] - outline.arc_length[i]))


def _chain(design: TipDesign, *, outline: Outline, plug: float) -> _Stations:
    end = plug
    arcs = []
    for place, length in (
        ("tip.fore_taper", design.fore_taper),
        ("tip.band.length", design.band_length),
        ("tip.aft_taper", design.aft_taper),
    ):
        if length < SMALLEST:
            detail = f"{_mm(length)}, at least {_mm(SMALLEST)}"
            raise DesignFailure(Outcome.MESH_FOLDED, place=place, detail=detail)
        end += length
        if end > outline.total_arc - SMALLEST:
            detail = f"it ends at {_mm(end)} of the outline's arc of {_mm(outline.total_arc)}"
            raise DesignFailure(Outcome.TIP_TOO_SHORT, place=place, detail=detail)
        arcs.append(end)
    band_fore, band_aft, base = arcs
    start, pocket_end = (
        band_fore + design.pocket_offset,
        band_fore + design.pocket_offset + design.pocket_length,
    )
    if design.pocket_offset < 0 or pocket_end > band_aft + 1e-9:
        outside = not 0 <= design.pocket_offset < design.band_length
        raise DesignFailure(
            Outcome.SLAB_OUTSIDE_BAND,
            place="sample.pocket.offset" if outside else "sample.pocket.length",
            detail=f"{_mm(design.pocket_offset)} + {_mm(design.pocket_length)} in {_mm(design.band_length)}",
        )
    return _Stations(
        plug=plug, band=(band_fore, band_aft), base=base, pocket=(start, min(pocket_end, band_aft))
    )


def _check_walls(design: TipDesign, *, outline: Outline, stations: _Stations, ends: FloatArray) -> None:
    places = ("tip.plug.wall", "tip.band.thickness", "tip.band.thickness_aft", "tip.base.thickness")
    walls = (design.plug_wall, design.thickness_fore, design.thickness_aft, _base_wall(design))
    arcs = (stations.plug, *stations.band, stations.base)
    # the offset curve folds where the wall exceeds the outline's radius of curvature
    fold = np.interp(arcs, outline.arc_length, outline.curvature) * walls
    for place, wall, bend, point in zip(places, walls, fold, ends, strict=True):
        if wall < SMALLEST:
            detail = f"{_mm(wall)}, at least {_mm(SMALLEST)}"
            raise DesignFailure(Outcome.WALL_TOO_THIN, place=place, detail=detail)
        if point[0] < SMALLEST or bend > 0.95:
            detail = (
                f"{_mm(wall)} where the outline's radius is {_mm(float(point[0]) + wall)} or bends tighter"
            )
            raise DesignFailure(Outcome.WALL_TOO_THICK, place=place, detail=detail)
    if design.base_bore is not None and design.base_bore > ends[3, 0] - SMALLEST:
        raise DesignFailure(
            Outcome.BORE_TOO_WIDE,
            place="tip.base.bore",
            detail=f"radius {_mm(design.base_bore)} in a cavity of {_mm(float(ends[3, 0]))}",
        )


def _check_tapers(design: TipDesign, *, ends: FloatArray, aft_end: float) -> None:
    """Fail where a taper would lead forward: it could be neither turned nor meshed."""
    for place, fore, aft in (("tip.fore_taper", ends[0], ends[1]), ("tip.aft_taper", ends[2], ends[3])):
        if aft[1] - fore[1] < 0.5 * SMALLEST:
            detail = f"the taper advances {_mm(float(aft[1] - fore[1]))} along the axis"
            raise DesignFailure(Outcome.MESH_FOLDED, place=place, detail=detail)
    if ends[3, 1] > aft_end - (THINNEST_LID if design.solid_base else SMALLEST):
        place = "outline.turned_length" if design.solid_base else "tip.base.thickness"
        detail = f"the base starts at {_mm(float(ends[3, 1]))} of {_mm(aft_end)}"
        raise DesignFailure(Outcome.TIP_TOO_SHORT, place=place, detail=detail)


def _fillet(
    design: TipDesign, *, corner: FloatArray, band_fore: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the fillet's fore and aft tangent points and its centre."""
    taper = band_fore - corner
    room = math.hypot(*taper.tolist())
    along = taper / room
    half = 0.5 * math.acos(min(max(float(-along[0]), -1.0), 1.0))
    tangent = design.plug_fillet / math.tan(half)
    if not 0 <= tangent < min(float(corner[0]), room) - 0.5 * SMALLEST:
        detail = (
            f"radius {_mm(design.plug_fillet)} takes {_mm(tangent)} of {_mm(min(float(corner[0]), room))}"
        )
        raise DesignFailure(Outcome.FILLET_TOO_LARGE, place="tip.plug.fillet", detail=detail)
    fore = corner - np.array([tangent, 0.0])
    return fore, corner + tangent * along, fore + np.array([0.0, design.plug_fillet])


def _base(
    design: TipDesign, *, outline: Outline, base_corner: FloatArray
) -> tuple[float, FloatArray | None, FloatArray]:
    """Return the base's last arc, its face's inner corner and the aft end of its inner curve."""
    plane = outline.turned_length
    if design.base_thickness is None:
        bore = design.base_bore or 0.0
        return outline.total_arc, frozen([bore, base_corner[1]]), np.array([bore, plane])
    reach = outline.axial + design.base_thickness * np.sin(outline.slope)
    arc = float(np.interp(plane, reach, outline.arc_length))
    end = offset_points(outline, arc, thickness=design.base_thickness)
    if end[0] < SMALLEST:
        detail = f"{_mm(design.base_thickness)} at the aft end"
        raise DesignFailure(Outcome.WALL_TOO_THICK, place="tip.base.thickness", detail=detail)
    return arc, None, np.array([end[0], plane])


def _insert_arc(design: TipDesign, *, outline: Outline, plug_arc: float) -> float | None:
    """Return where the insert's plane meets the outline: fore of where the plug's wall is measured."""
    if design.plug_insert is None:
        return None
    arc = float(outline.arc_length_of(design.plug_insert))
    inside = SMALLEST <= design.plug_insert <= design.plug_length - SMALLEST
    if not inside or arc > plug_arc - SMALLEST:
        detail = (
            f"{_mm(design.plug_insert)} in a plug of {_mm(design.plug_length)}, its plane out at {_mm(arc)}"
        )
        raise DesignFailure(Outcome.INSERT_TOO_LONG, place="tip.plug.insert", detail=detail)
    return arc


def _joint_arc(design: TipDesign, *, outline: Outline, base_corner: FloatArray) -> float | None:
    """Return where a separate base's joint meets the outline: in the plane of its corner, or leaning aft."""
    if not design.base_separate:
        return None
    r, z = base_corner
    arc = float(outline.arc_length_of(z))
    if design.solid_base:
        rise = float(outline.at(arc)[1]) - r
        room = 0.4 * (outline.turned_length - z)
        arc = float(outline.arc_length_of(z + min(rise * math.tan(JOINT_LEAN), room)))
    return arc


def _mm(length: float) -> str:
    return f"{length * 1e3:.4g} mm"
