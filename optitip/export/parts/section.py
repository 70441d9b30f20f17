"""A design's exact half section as lines and tangent arcs, part by part."""

from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from optitip.arrays import FloatArray
from optitip.evaluate.building import Tip
from optitip.export.parts.arcs import CHORD_ERROR, Fit, Segment, fit_curve
from optitip.export.parts.profile import Profile, cut_apart, half_section, outline_segments
from optitip.geometry.shell import ProfileSegment, SegmentKind, ShellProfile, shell_profile


@dataclass(frozen=True, slots=True, kw_only=True)
class Materials:
    """The words for the materials of the parts; a part without one of its own is the shell's."""

    shell: str
    insert: str | None = None
    base: str | None = None
    slab: str = "sample"
    backing: str = "backing"


@dataclass(frozen=True, slots=True, kw_only=True)
class TipSection:
    """The curves of a tip, fore to aft, and its parts' closed profiles; ``error`` is the worst fit's [m]."""

    outer: tuple[Segment, ...]
    inner: tuple[Segment, ...]
    profiles: tuple[Profile, ...]
    error: float


def tip_section(
    shell: ShellProfile, *, materials: Materials, slab_share: float = 1.0, tolerance: float = CHORD_ERROR
) -> TipSection:
    """Return the section of a design's ``shell`` with every curve within ``tolerance`` [m].

    ``slab_share`` is the part of the circumference that slab and backing cover.
    """
    outer = outline_segments(
        _turned(shell.outer),
        direction=shell.outer_slope,
        nose_points=shell.sphere_points,
        tolerance=tolerance,
    )
    pieces = [_inner_piece(piece, tolerance) for piece in shell.inner]
    # neighbours stay apart here, so that a joint finds the corner it begins in
    inner = tuple(segment for piece in pieces for segment in piece.segments)
    lining = [
        (Profile(layer=layer, material=word, segments=closed, metal=False, share=slab_share), error)
        for layer, word, points in (
            ("SLAB", materials.slab, shell.slab),
            ("BACKING", materials.backing, shell.backing),
        )
        if points is not None
        for closed, error in [_lining(points, tolerance)]
    ]
    return TipSection(
        outer=outer.segments,
        inner=inner,
        profiles=(*_turned_parts(shell, outer.segments, inner, materials), *(one for one, _ in lining)),
        error=max([outer.error, *(piece.error for piece in pieces), *(error for _, error in lining)]),
    )


def section_of(tip: Tip, *, tolerance: float = CHORD_ERROR) -> TipSection:
    """Return the section of a built tip, its parts named by their materials, within ``tolerance`` [m]."""
    table, sample = tip.tables.tip, tip.tables.sample
    return tip_section(
        shell_profile(tip.cavity),
        materials=Materials(
            shell=table.material,
            insert=table.plug.material,
            base=table.base.material,
            slab=sample.material,
            backing=sample.backing.material if sample.backing else "backing",
        ),
        slab_share=sample.slab.share,
        tolerance=tolerance,
    )


def _turned_parts(
    shell: ShellProfile, outer: tuple[Segment, ...], inner: tuple[Segment, ...], materials: Materials
) -> Iterable[Profile]:
    cuts = []
    named = [("SHELL", materials.shell)]
    if shell.insert_plane is not None:
        cuts.append((shell.insert_plane, (shell.insert_plane, 0.0)))
        named.insert(0, ("PLUG_INSERT", materials.insert or materials.shell))
    if shell.joint_line is not None:
        corner, outside = shell.joint_line
        cuts.append((float(outside[1]), (float(corner[1]), float(corner[0]))))
        named.append(("BASE", materials.base or materials.shell))
    closed = cut_apart(outer, inner, cuts) if cuts else [half_section(outer, inner)]
    return [
        Profile(layer=layer, material=word, segments=segments)
        for (layer, word), segments in zip(named, closed, strict=True)
    ]


def _inner_piece(piece: ProfileSegment, tolerance: float) -> Fit:
    points = _turned(piece.points)
    if np.hypot(*(points[-1] - points[0])) == 0.0:
        return Fit(segments=(), error=0.0)
    if piece.kind is SegmentKind.CURVE:
        return fit_curve(points, tolerance=tolerance)
    start, end = ((float(z), float(r)) for z, r in (points[0], points[-1]))
    bulge = 0.0 if piece.kind is SegmentKind.LINE else _bulge(points)
    return Fit(segments=(Segment(start=start, end=end, bulge=bulge),), error=0.0)


def _bulge(points: FloatArray) -> float:
    """Return the bulge of an arc (start, middle, end): the middle's height over half the chord."""
    start, middle, end = points
    chord, step = end - start, middle - 0.5 * (start + end)
    height = chord[0] * step[1] - chord[1] * step[0]
    return float(-2.0 * height / (chord @ chord))


def _lining(points: FloatArray, tolerance: float) -> tuple[tuple[Segment, ...], float]:
    """Return slab or backing as a closed section; its hot face runs fore to aft, then the cold one back."""
    hot, cold = np.split(_turned(points), 2)
    fits = [fit_curve(face, tolerance=tolerance) for face in (hot, cold[::-1])]
    return half_section(fits[0].segments, fits[1].segments), max(fit.error for fit in fits)


def _turned(points: FloatArray) -> FloatArray:
    """Return columns r, z as columns z, r."""
    return np.ascontiguousarray(points[:, ::-1])
