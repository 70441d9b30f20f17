"""Where a mesh's lines run: from which arc of the outline to which point of the inner curve."""

import math

import numpy as np

from optitip.arrays import FloatArray
from optitip.geometry.outline import Outline
from optitip.geometry.tip import Cavity
from optitip.geometry.topology import Topology, Zone

# spacing at a zone's ends relative to its mean: what a nine-node cell's middle nodes bear
FINEST, COARSEST = 0.5, 1.7
# over a whole zone strips grow aft from the nose point by this at the most: 1.35 a strip of twelve
LARGEST_GROWTH = 1.35**12
NOSE_STRIPS = 12


def place_lines(cavity: Cavity, plan: Topology) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return each line's arc on the outline (n_lines,), its inner point (n_lines, 2), the pocket's normals.

    Corners of the cavity are placed first; between them lines are spread so that the spacing changes
    gently from zone to zone, outside and inside apart (in the band both follow the outside).
    """
    corners = _band_corners(cavity)
    anchors = _inner_anchors(cavity, corners)
    outer = _outer_anchors(cavity, anchors, corners=corners)
    ends = [*plan.zones, None]
    arcs = np.array([outer[zone] for zone in ends])
    points = np.array([anchors[zone] for zone in ends])
    chords = points[1:] - points[:-1]
    lengths = np.stack([arcs[1:] - arcs[:-1], np.hypot(chords[:, 0], chords[:, 1])])
    outer_share, inner_share = _spread(lengths, plan)
    _grow_aft(cavity, plan, arcs=arcs, outer_share=outer_share, inner_share=inner_share)
    k = plan.line_zone
    line_arcs = arcs[k] + outer_share * (arcs[1:] - arcs[:-1])[k]
    line_points = points[k] + inner_share[:, None] * chords[k]
    _bend_fillet(cavity, plan, line_points=line_points, share=inner_share)
    pocket_inward = _bend_band(cavity, plan, line_points=line_points, share=outer_share)
    if not cavity.design.solid_base:
        of_base = plan.lines_of[Zone.BASE]
        s0, s1 = cavity.base_arc, cavity.base_end_arc
        line_points[of_base] = cavity.base_points(s0 + inner_share[of_base] * (s1 - s0))
    # what ends on the axis or in the aft end's plane lies on it to the last digit
    line_points[-1] = cavity.end
    return line_arcs, line_points, pocket_inward


def _bend_fillet(cavity: Cavity, plan: Topology, *, line_points: FloatArray, share: FloatArray) -> None:
    here = plan.lines_of.get(Zone.FILLET)
    if here is None:
        return
    spoke0, spoke1 = cavity.fillet_fore - cavity.fillet_centre, cavity.fillet_aft - cavity.fillet_centre
    start, end = math.atan2(spoke0[1], spoke0[0]), math.atan2(spoke1[1], spoke1[0])
    angle = start + share[here] * (end - start)
    spokes = cavity.design.plug_fillet * np.stack([np.cos(angle), np.sin(angle)], axis=1)
    line_points[here] = cavity.fillet_centre + spokes


def _bend_band(cavity: Cavity, plan: Topology, *, line_points: FloatArray, share: FloatArray) -> FloatArray:
    """Lay the band's lines on its own curve; return the inward normals at the pocket's lines."""
    pieces = [zone for zone in (Zone.FORE, Zone.POCKET, Zone.AFT) if zone in plan.lines_of]
    (s0, s1), (p0, p1) = cavity.band_arc, cavity.pocket_arc
    start = {Zone.FORE: s0, Zone.POCKET: p0, Zone.AFT: p1}
    arcs = np.array([*(start[zone] for zone in pieces), s1])
    here = slice(plan.lines_of[pieces[0]].start, plan.lines_of[pieces[-1]].stop)
    k = plan.line_zone[here] - plan.line_zone[here.start]
    band = np.concatenate([arcs[:1], arcs[k] + share[here] * (arcs[1:] - arcs[:-1])[k]])
    points, inward = cavity.band_section(band)
    line_points[here] = points[1:]
    fore_end = here.start - 1
    return inward[plan.pocket_lines.start - fore_end : plan.pocket_lines.stop - fore_end]


def _spread(lengths: FloatArray, plan: Topology) -> FloatArray:
    """Return each line's share (..., n_lines) of its zone, of ``lengths`` (..., n_zones).

    A cubic whose end slopes make the spacings meet.
    """
    size = lengths / plan.counts
    border = np.sqrt(size[..., 1:] * size[..., :-1])
    ends = np.concatenate([size[..., :1], border, size[..., -1:]], axis=-1)
    slopes = np.stack([ends[..., :-1] / size, ends[..., 1:] / size])
    slopes = np.minimum(np.maximum(slopes, FINEST), COARSEST)
    u, (a, b) = plan.line_share, slopes[..., plan.line_zone]
    # exactly 1 at a zone's end, so that what begins on the axis lies on it
    return np.where(u == 1, 1.0, u * (a + u * (3 - 2 * a - b + u * (a + b - 2))))


def _grow_aft(
    cavity: Cavity, plan: Topology, *, arcs: FloatArray, outer_share: FloatArray, inner_share: FloatArray
) -> None:
    """Let the strips of nose and plug grow aft from a seventh of the tip radius."""
    wanted = 0.15 * cavity.outline.tip_radius * NOSE_STRIPS / float(plan.counts[0])
    for k, zone in enumerate(plan.zones[:2]):
        span, count = float(arcs[k + 1] - arcs[k]), float(plan.counts[k])
        low, high = 1.1 / LARGEST_GROWTH, LARGEST_GROWTH
        for _ in range(20):
            growth = math.sqrt(low * high)
            # the halving never meets a growth of 1, which would divide by nought
            first = span * (growth ** (1 / count) - 1) / (growth - 1)
            low, high = (growth, high) if first > wanted else (low, growth)
        here = plan.lines_of[zone]
        share = (low ** plan.line_share[here] - 1) / (low - 1)
        outer_share[here] = inner_share[here] = share
        wanted = span * float(share[-1] - share[-2])


def _band_corners(cavity: Cavity) -> tuple[FloatArray, FloatArray]:
    """Return the inner wall and its inward normals (4, 2) at the pocket's two ends, then the band's."""
    return cavity.band_section(np.array([*cavity.pocket_arc, *cavity.band_arc]))


def _inner_anchors(cavity: Cavity, corners: tuple[FloatArray, FloatArray]) -> dict[Zone | None, FloatArray]:
    """Return the inner point at which each zone begins, under None the last one."""
    design = cavity.design
    nose_end = np.array(
        [0.0, design.plug_insert if design.plug_insert is not None else 0.5 * design.plug_length]
    )
    fore, aft = corners[0][:2]
    return {
        Zone.NOSE: np.zeros(2),
        Zone.PLUG: nose_end,
        Zone.FACE: cavity.face_centre,
        Zone.FILLET: cavity.fillet_fore,
        Zone.FORE_TAPER: cavity.fillet_aft,
        Zone.FORE: cavity.band_fore,
        Zone.POCKET: fore,
        Zone.AFT: aft,
        Zone.AFT_TAPER: cavity.band_aft,
        Zone.BASE_FACE: cavity.base_corner,
        Zone.BASE: cavity.base_corner if cavity.bore_corner is None else cavity.bore_corner,
        None: cavity.end,
    }


def _outer_anchors(
    cavity: Cavity, anchors: dict[Zone | None, FloatArray], *, corners: tuple[FloatArray, FloatArray]
) -> dict[Zone | None, float]:
    """Return the outline's arc at which each zone begins: shot near bisectors, then kept in order."""
    shot = _shot_corners(cavity, inward=corners[1][2:])
    end = cavity.outline.total_arc
    outer: dict[Zone | None, float] = {Zone.NOSE: 0.0, None: end}
    p0, p1 = cavity.pocket_arc
    s0, s1 = cavity.band_arc
    after, before = (p0 if p0 - s0 > 1e-5 else p1), (p1 if s1 - p1 > 1e-5 else p0)
    _place_plug(cavity, anchors, outer=outer, shot=shot, after=after)
    outer[Zone.POCKET], outer[Zone.AFT] = (p0 if p0 - s0 > 1e-5 else outer[Zone.FORE]), p1
    _place_base(cavity, outer=outer, shot=shot, before=before)
    return outer


def _place_plug(
    cavity: Cavity,
    anchors: dict[Zone | None, FloatArray],
    *,
    outer: dict[Zone | None, float],
    shot: dict[str, float],
    after: float,
) -> None:
    """Order the arcs of the plug, the face and the fillet between the nose (or insert) and the band."""
    low, s0 = cavity.insert_arc or 0.0, cavity.band_arc[0]
    corner = min(max(shot["corner"], low + 0.6 * (cavity.plug_arc - low)), cavity.plug_arc)
    room = corner - low
    face = min(max(shot["face"], low + 0.3 * room), corner - min(0.35 * float(cavity.corner[0]), 0.5 * room))
    band = min(max(shot["band_fore"], s0 - 0.7 * (s0 - corner)), s0 + 0.5 * (after - s0))
    outer[Zone.FACE], outer[Zone.FORE] = face, band
    gap, least = corner - face, 0.2 * cavity.design.plug_fillet
    outer[Zone.FILLET] = min(max(shot["fillet_fore"], face + 0.6 * gap), corner - min(0.05 * gap, least))
    outer[Zone.FORE_TAPER] = min(
        max(shot["fillet_aft"], corner + min(0.05 * (band - corner), least)), corner + 0.6 * (band - corner)
    )
    if cavity.design.plug_fillet <= 1e-5:
        outer[Zone.FORE_TAPER] = corner
    if cavity.insert_arc is not None:
        outer[Zone.PLUG] = cavity.insert_arc
        return
    nose = min(max(cavity.outline.sphere_arc, 0.15 * face), 0.6 * face)
    outer[Zone.PLUG] = nose
    # the line at the nose's end leans half as much as the one from the face's centre
    z, r, _slope = cavity.outline.at(np.array([nose, face]))
    length = cavity.design.plug_length
    lean = (length - z[1]) / r[1]
    anchors[Zone.PLUG] = np.array([0.0, min(z[0] + 0.5 * lean * r[0] + 0.25 * r[0], 0.8 * length)])


def _place_base(
    cavity: Cavity, *, outer: dict[Zone | None, float], shot: dict[str, float], before: float
) -> None:
    """Order the arcs of the aft taper, the base's face and the base between the band and the aft end."""
    end, s1, s2 = cavity.outline.total_arc, cavity.band_arc[1], cavity.base_arc
    if cavity.joint_arc is not None:
        base = cavity.joint_arc
    elif cavity.design.solid_base:
        plane = float(np.interp(cavity.base_corner[1], cavity.outline.axial, cavity.outline.arc_length))
        least = min(0.1 * (end - plane), 0.3 * cavity.design.thickness_aft)
        base = min(max(shot["base"], plane + least), plane + 0.4 * (end - plane))
    else:
        base = min(max(shot["base"], s1 + 0.5 * (s2 - s1)), s2 + 0.5 * (end - s2))
    outer[Zone.BASE_FACE] = outer[Zone.BASE] = base
    if cavity.design.solid_base:
        outer[Zone.BASE] = min(max(shot["bore"], base + 0.25 * (end - base)), base + 0.75 * (end - base))
    outer[Zone.AFT_TAPER] = min(max(shot["band_aft"], s1 - 0.5 * (s1 - before)), base - 0.4 * (base - s1))


def _shot_corners(cavity: Cavity, *, inward: FloatArray) -> dict[str, float]:
    """Return the outline's arcs that the cavity's corners see near the bisector of the solid's angle."""
    forward, aftward, outward = np.array([0.0, -1.0]), np.array([0.0, 1.0]), np.array([1.0, 0.0])
    fore_taper = _outward(cavity.fillet_aft, cavity.band_fore)
    aft_taper = _outward(cavity.band_aft, cavity.base_corner)
    band = -inward
    slope = cavity.base_slope
    base = aftward if cavity.design.solid_base else np.array([math.cos(slope), -math.sin(slope)])
    corners = {
        "face": (cavity.face_centre, forward + outward),
        "fillet_fore": (cavity.fillet_fore, 0.7 * forward + 0.3 * fore_taper),
        "corner": (cavity.corner, forward + fore_taper),
        "fillet_aft": (cavity.fillet_aft, 0.25 * forward + 0.75 * fore_taper),
        "band_fore": (cavity.band_fore, fore_taper + band[0]),
        "band_aft": (cavity.band_aft, band[1] + aft_taper),
        "base": (cavity.base_corner, aft_taper + base),
        "bore": (cavity.end if cavity.bore_corner is None else cavity.bore_corner, aftward + outward),
    }
    starts, directions = (np.array(column) for column in zip(*corners.values(), strict=True))
    return dict(zip(corners, shoot(cavity.outline, starts, directions=directions).tolist(), strict=True))


def shoot(outline: Outline, starts: FloatArray, *, directions: FloatArray) -> FloatArray:
    """Return the arcs (k,) [m] at which rays from inside the outline meet it; its end where they pass it by.

    ``starts`` (k, 2) [m] and ``directions`` (k, 2), columns r, z, outward. Valid for convex outlines.
    """
    across = directions @ np.stack([outline.axial, -outline.radius])
    across -= (directions[:, 0] * starts[:, 1] - directions[:, 1] * starts[:, 0])[:, None]
    i = np.minimum(np.maximum(np.count_nonzero(across < 0, axis=1), 1), outline.axial.size - 1)
    rows = np.arange(len(starts))
    low, high = across[rows, i - 1], across[rows, i]
    share = np.minimum(np.maximum(low / np.where(low == high, 1.0, low - high), 0.0), 1.0)
    arc = outline.arc_length
    return np.asarray(arc[i - 1] + share * (arc[i] - arc[i - 1]))


def _outward(start: FloatArray, end: FloatArray) -> FloatArray:
    """Return the unit normal, toward the outline, of a straight piece of the inner curve."""
    along = end - start
    return np.asarray(np.array([along[1], -along[0]]) / math.hypot(along[0], along[1]))
