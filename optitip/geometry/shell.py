"""The exact half section of a design: what is drawn, turned and weighed."""

from dataclasses import dataclass
from enum import Enum

import numpy as np

from optitip.arrays import FloatArray, frozen
from optitip.geometry.tip import Cavity

CURVE_POINTS = 201


class SegmentKind(Enum):
    """What a piece of the inner curve is."""

    LINE = "line"
    ARC = "arc"
    CURVE = "curve"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ProfileSegment:
    """A piece of the inner curve: a line's ends, an arc's start, middle and end, or a curve's points."""

    kind: SegmentKind
    points: FloatArray  # (n, 2) [m] columns r, z


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ShellProfile:
    """The half section: outline and inner curve, both from the axis to the aft plane."""

    outer: FloatArray  # (n, 2) [m] columns r, z
    outer_slope: FloatArray  # (n,) [rad] to the axis
    sphere_points: int  # how many of the first outer points lie on the tip's sphere
    inner: tuple[ProfileSegment, ...]
    insert_plane: float | None  # [m] z of the joint with the plug's insert
    joint_line: FloatArray | None  # (2, 2) the base's joint, from the inner corner to the outline
    slab: FloatArray | None  # (n, 2) closed section of the slab, first point not repeated
    backing: FloatArray | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PartVolumes:
    """Volumes of the turned parts [m3]; nought for a part the design hasn't as its own."""

    insert: float
    shell: float
    base: float


def shell_profile(cavity: Cavity) -> ShellProfile:
    """Return the half section of a buildable design, line by line, for drawing and export."""
    outline, design = cavity.outline, cavity.design
    outer = np.stack([outline.radius, outline.axial], axis=1)
    slab, backing = _lining_sections(cavity)
    joint = None
    if cavity.joint_arc is not None:
        z, r, _slope = outline.at(cavity.joint_arc)
        joint = frozen(np.stack([cavity.base_corner, np.array([float(r), float(z)])]))
    return ShellProfile(
        outer=frozen(outer),
        outer_slope=outline.slope,
        sphere_points=int(np.sum(outline.arc_length <= outline.sphere_arc * (1 + 1e-12))),
        inner=tuple(_inner_segments(cavity)),
        insert_plane=design.plug_insert,
        joint_line=joint,
        slab=slab,
        backing=backing,
    )


def part_volumes(cavity: Cavity) -> PartVolumes:
    """Return the volumes of insert, shell and base [m3], from the exact half section.

    V = pi times the loop integral of r^2 dz, on each straight piece pi dz (r1^2 + r1 r2 + r2^2)/3.
    Source: Green's theorem.
    """
    outline = cavity.outline
    inner = np.concatenate([_dense(cavity, segment) for segment in _inner_segments(cavity)])
    whole = outline.volume - _swept(inner)
    insert = 0.0 if cavity.insert_arc is None else outline.volume_between(0.0, cavity.insert_arc)
    base = 0.0
    if cavity.joint_arc is not None:
        z, r, _slope = outline.at(cavity.joint_arc)
        joint = np.stack([cavity.base_corner, np.array([float(r), float(z)])])
        behind = np.concatenate([segment.points for segment in _base_segments(cavity)])
        base = _swept(joint) + outline.volume_between(cavity.joint_arc, outline.total_arc) - _swept(behind)
    return PartVolumes(insert=insert, shell=whole - insert - base, base=base)


def _inner_segments(cavity: Cavity) -> list[ProfileSegment]:
    band = cavity.band_points(np.linspace(*cavity.band_arc, CURVE_POINTS))
    segments = [_line(cavity.face_centre, cavity.fillet_fore)]
    if cavity.design.plug_fillet > 0:
        centre, radius = cavity.fillet_centre, cavity.design.plug_fillet
        to_corner = cavity.corner - centre
        middle = centre + radius * to_corner / np.hypot(*to_corner)
        points = frozen(np.stack([cavity.fillet_fore, middle, cavity.fillet_aft]))
        segments.append(ProfileSegment(kind=SegmentKind.ARC, points=points))
    segments += [
        _line(cavity.fillet_aft, cavity.band_fore),
        ProfileSegment(kind=SegmentKind.CURVE, points=frozen(band)),
        _line(cavity.band_aft, cavity.base_corner),
    ]
    return segments + _base_segments(cavity)


def _base_segments(cavity: Cavity) -> list[ProfileSegment]:
    if cavity.bore_corner is not None:
        return [_line(cavity.base_corner, cavity.bore_corner), _line(cavity.bore_corner, cavity.end)]
    curve = cavity.base_points(np.linspace(cavity.base_arc, cavity.base_end_arc, CURVE_POINTS))
    curve[-1] = cavity.end
    return [ProfileSegment(kind=SegmentKind.CURVE, points=frozen(curve))]


def _dense(cavity: Cavity, segment: ProfileSegment) -> FloatArray:
    """Return a piece as a line broken finely enough to integrate along."""
    if segment.kind is not SegmentKind.ARC:
        return segment.points
    start, _middle, end = (segment.points - cavity.fillet_centre).tolist()
    angle = np.linspace(np.arctan2(start[1], start[0]), np.arctan2(end[1], end[0]), CURVE_POINTS)
    spokes = cavity.design.plug_fillet * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    return np.asarray(cavity.fillet_centre + spokes)


def _line(start: FloatArray, end: FloatArray) -> ProfileSegment:
    return ProfileSegment(kind=SegmentKind.LINE, points=frozen(np.stack([start, end])))


def _lining_sections(cavity: Cavity) -> tuple[FloatArray | None, FloatArray | None]:
    slab = cavity.design.slab_thickness
    if slab is None:
        return None, None
    arcs = np.linspace(*cavity.pocket_arc, CURVE_POINTS)
    wall, inward = cavity.band_section(arcs)
    back = wall + slab * inward
    section = frozen(np.concatenate([wall, back[::-1]]))
    if cavity.design.backing_thickness is None:
        return section, None
    far = back + cavity.design.backing_thickness * inward
    return section, frozen(np.concatenate([back, far[::-1]]))


def _swept(points: FloatArray) -> float:
    """Return pi times the integral of r^2 dz along a broken line (n, 2)."""
    r, dz = points[:, 0], np.diff(points[:, 1])
    return float(np.pi / 3 * np.sum(dz * (r[1:] ** 2 + r[1:] * r[:-1] + r[:-1] ** 2)))
