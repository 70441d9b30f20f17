"""The free numbers of a tip, and the cavity they chain along the outline."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from optitip.arrays import FloatArray
from optitip.geometry.outline import Outline


@dataclass(frozen=True, slots=True, kw_only=True)
class TipDesign:
    """One value for each free number of the tip's inside; metres, thicknesses normal to the surface."""

    plug_length: float  # on the axis, nose point to the cavity's fore face
    plug_wall: float  # at the plug's end
    plug_fillet: float  # radius; 0 leaves a sharp corner
    plug_insert: float | None = None  # on the axis: forward of this plane the plug is another material
    fore_taper: float  # along the arc, as are all lengths below
    band_length: float
    thickness_fore: float
    thickness_aft: float
    aft_taper: float
    base_thickness: float | None  # None: the base is solid, behind a face normal to the axis
    base_bore: float | None = None  # radius of the bore through a solid base; None: closed
    base_separate: bool = False  # the base is a part of its own
    pocket_offset: float  # from the band's fore end
    pocket_length: float
    slab_thickness: float | None = None
    slab_soft: bool = False  # bends, so that it goes through an opening wider than its thickness
    slab_share: float = 1.0  # of the circumference
    backing_thickness: float | None = None

    @property
    def solid_base(self) -> bool:
        """Return whether the base is solid (bored or not) rather than a wall."""
        return self.base_thickness is None

    @property
    def lining(self) -> float:
        """Return the thickness of slab and backing together [m]."""
        return (self.slab_thickness or 0.0) + (self.backing_thickness or 0.0)

    @property
    def sample_rigid(self) -> bool:
        """Return whether a slab is there that has to pass the opening in its own shape."""
        return self.slab_thickness is not None and not self.slab_soft


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cavity:
    """The inner curve of a buildable design, fore to aft; points (r, z) [m], arcs [m] from the nose.

    Axis to ``face_centre``, out along the face, round the fillet, straight to ``band_fore``, the band's own
    curve to ``band_aft``, straight to ``base_corner``; then the base's own curve to ``end``, or its face in
    to ``bore_corner`` and along the bore or the axis to ``end``.
    """

    design: TipDesign
    outline: Outline
    plug_arc: float  # of the outline where the plug's wall is measured
    band_arc: tuple[float, float]
    pocket_arc: tuple[float, float]
    base_arc: float
    base_slope: float  # [rad] of the outline there
    base_end_arc: float  # whose normal reaches the base's inner curve in the aft end's plane
    face_centre: FloatArray
    corner: FloatArray  # where face and taper would meet without the fillet
    fillet_fore: FloatArray
    fillet_aft: FloatArray
    fillet_centre: FloatArray
    band_fore: FloatArray
    band_aft: FloatArray
    base_corner: FloatArray
    bore_corner: FloatArray | None
    end: FloatArray
    insert_arc: float | None  # of the outline in the insert's plane
    joint_arc: float | None  # of the outline where the base's joint comes out

    def wall_thickness(self, arc_length: ArrayLike) -> FloatArray:
        """Return the band's wall [m], normal to the surface, at ``arc_length`` (n,) [m] of the outline."""
        s0, s1 = self.band_arc
        share = (np.asarray(arc_length, dtype=np.float64) - s0) / (s1 - s0)
        return np.asarray(self.design.thickness_fore + share * (self._thickening * (s1 - s0)))

    @property
    def _thickening(self) -> float:
        return (self.design.thickness_aft - self.design.thickness_fore) / self.design.band_length

    def band_points(self, arc_length: ArrayLike) -> FloatArray:
        """Return the band's inner wall (n, 2) [m] under ``arc_length`` (n,) [m] of the outline."""
        return self.band_section(arc_length)[0]

    def band_inward(self, arc_length: ArrayLike) -> FloatArray:
        """Return the unit normals (n, 2) of the band's inner wall, into the cavity."""
        return self.band_section(arc_length)[1]

    def band_section(self, arc_length: ArrayLike) -> tuple[FloatArray, FloatArray]:
        """Return the band's inner wall and its unit normals into the cavity: n - t' T, made a unit.

        T and n are the outline's tangent and inward normal; t' kappa t (some 1e-4 rad) is left out, since it
        jumps where the outline's curvature kappa does and would fold a thick slab there.
        """
        z, r, slope = self.outline.at(arc_length)
        cos, sin, grows = np.cos(slope), np.sin(slope), self._thickening
        thickness = self.wall_thickness(arc_length)
        size = math.sqrt(1.0 + grows * grows)
        inward = _paired((-cos - sin * grows) / size, (sin - cos * grows) / size)
        return _paired(r - thickness * cos, z + thickness * sin), inward

    def base_points(self, arc_length: ArrayLike) -> FloatArray:
        """Return the inner wall (n, 2) [m] of a base that has a thickness, under ``arc_length`` (n,) [m]."""
        return offset_points(self.outline, arc_length, thickness=self.design.base_thickness or 0.0)


def offset_points(outline: Outline, arc_length: ArrayLike, *, thickness: FloatArray | float) -> FloatArray:
    """Return the points (n, 2) [m] that lie ``thickness`` [m] inside the outline, along its normal.

    With the slope phi: r - t cos(phi), z + t sin(phi).
    """
    return offset_section(outline, arc_length, thickness=thickness)[0]


def offset_section(
    outline: Outline, arc_length: ArrayLike, *, thickness: FloatArray | float
) -> tuple[FloatArray, FloatArray]:
    """Return the points (n, 2) [m] ``thickness`` [m] inside the outline, and its slope there (n,) [rad]."""
    z, r, slope = outline.at(arc_length)
    return _paired(r - thickness * np.cos(slope), z + thickness * np.sin(slope)), slope


def _paired(radius: FloatArray, axial: FloatArray) -> FloatArray:
    points = np.empty((*np.shape(radius), 2))
    points[..., 0], points[..., 1] = radius, axial
    return points
