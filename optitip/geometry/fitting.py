"""Whether slab and backing fit the cavity they are to line."""

from dataclasses import dataclass

import numpy as np

from optitip.arrays import FloatArray
from optitip.errors import DesignFailure, Outcome
from optitip.geometry.tip import Cavity

CLEARANCE = 1e-4  # the free room left on the axis
TOLERANCE = 1e-6

_SAMPLES = np.linspace(0.0, 1.0, 17)
_FINER = np.linspace(0.0, 1.0, 34)
_SIDES = np.linspace(0.2, 1.0, 5)[:, None]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BandSamples:
    """The band's inner wall at samples: under the pocket, aft of it, and the whole of it.

    arcs ``(n,)`` [m] of the outline over the pocket; inward ``(n, 2)`` the wall's unit normals there; the
    others ``(n, 2)`` [m] columns r, z.
    """

    arcs: FloatArray
    pocket: FloatArray
    inward: FloatArray
    aft: FloatArray
    band: FloatArray


def check_fit(cavity: Cavity) -> None:
    """Raise DesignFailure where slab and backing don't fit the cavity."""
    if cavity.design.slab_thickness is not None:
        _check_lining(cavity, band_samples(cavity))


def band_samples(cavity: Cavity) -> BandSamples:
    """Return the band's inner wall at samples."""
    (p0, p1), (s0, s1) = cavity.pocket_arc, cavity.band_arc
    arcs = np.concatenate([p0 + (p1 - p0) * _SAMPLES, p1 + (s1 - p1) * _SAMPLES, s0 + (s1 - s0) * _FINER])
    points, inward = cavity.band_section(arcs)
    count = _SAMPLES.size
    return BandSamples(
        arcs=arcs[:count],
        pocket=points[:count],
        inward=inward[:count],
        aft=points[count : 2 * count],
        band=points[2 * count :],
    )


def _check_lining(cavity: Cavity, sampled: BandSamples) -> None:
    """Raise DesignFailure where slab and backing don't fit between the band and the rest of the cavity."""
    design, outline = cavity.design, cavity.outline
    arcs, wall, inward = sampled.arcs, sampled.pocket, sampled.inward
    # past the centre of curvature the offset folds; the outline bends most where its sphere ends
    bend = np.interp(arcs, outline.arc_length, outline.curvature)
    bend[0] = outline.curvature[(outline.arc_length >= arcs[0]) & (outline.arc_length <= arcs[-1])].max(
        initial=bend[0]
    )
    free = np.min(np.where(bend > 0, 0.85 / np.maximum(bend, 1e-9) - cavity.wall_thickness(arcs), np.inf))
    room = min(float(free), float(np.min(wall[:, 0] / np.maximum(-inward[:, 0], 1e-9))) - CLEARANCE)
    lining = design.lining
    if lining > room:
        raise DesignFailure(
            Outcome.SLAB_TOO_THICK, place=_lining_place(cavity, room), detail=f"{_mm(lining)} in {_mm(room)}"
        )
    back = wall + lining * inward
    sides = _SIDES * lining
    points = np.concatenate([back, wall[0] + sides * inward[0], wall[-1] + sides * inward[-1]])
    outside = _outside(cavity, points, band=sampled.band)
    if outside > TOLERANCE:
        raise DesignFailure(
            Outcome.SLAB_TOO_THICK,
            place=_lining_place(cavity, lining - outside),
            detail=f"{_mm(lining)} runs {_mm(outside)} into the shell fore or aft of the band",
        )


def _outside(cavity: Cavity, points: FloatArray, *, band: FloatArray) -> float:
    """Return how far the worst of ``points`` (n, 2) lies outside the cavity [m], in r or z."""
    wall = np.concatenate([cavity.corner[None], band, cavity.base_corner[None]])
    aft = cavity.base_corner[1]
    if not cavity.design.solid_base:
        base = cavity.base_arc + (cavity.base_end_arc - cavity.base_arc) * _SAMPLES
        wall = np.concatenate([wall, cavity.base_points(base)])
        aft = cavity.outline.turned_length
    radial = points[:, 0] - np.interp(points[:, 1], wall[:, 1], wall[:, 0])
    fore = cavity.design.plug_length - points[:, 1]
    return float(max(radial.max(), fore.max(), (points[:, 1] - aft).max()))


def _lining_place(cavity: Cavity, room: float) -> str:
    backing = cavity.design.backing_thickness
    fits_alone = backing is not None and cavity.design.lining - backing <= room
    return "sample.backing.thickness" if fits_alone else "sample.slab.thickness"


def _mm(length: float) -> str:
    return f"{length * 1e3:.4g} mm"
