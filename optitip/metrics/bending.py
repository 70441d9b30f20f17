"""The tip as a beam: air that meets it askew, its own inertia and a hand bend it; stress in its sections.

Stations count from the nose point, positive aft. Loads lie across the axis, all in the one plane where they
add up.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from optitip.arrays import FloatArray, frozen

FORCE_SLOPE = 2.0
"""Normal force over dynamic pressure, incidence and area [1/rad] of any slender body (Munk 1924)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sections:
    """The sections (n_s,) at which a tip is judged, with all that lies ahead of each.

    Args:
        axial: station of the section [m].
        area: inside the outline, at the section [m2].
        volume: inside the outline, ahead of it [m3].
        mass: ahead of it [kg].
        centre: station of that mass's centre [m].
    """

    axial: FloatArray
    area: FloatArray
    volume: FloatArray
    mass: FloatArray
    centre: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CrossLoads:
    """What bends each section at each instant (n_i, n_s), sizes.

    Args:
        shear: force across the axis [N].
        air: moment of the air [N m].
        inertia: moment of the mass ahead [N m].
        point: moment of the force on a point [N m].
    """

    shear: FloatArray
    air: FloatArray
    inertia: FloatArray
    point: FloatArray

    @property
    def moment(self) -> FloatArray:
        """Return the bending moment [N m] of all of them (n_i, n_s)."""
        return self.air + self.inertia + self.point


def gust_incidence(speed: ArrayLike, *, gust: ArrayLike) -> FloatArray:
    """Return the angle [rad] between the axis and the air that a gust makes, any shape.

    alpha = atan(|gust|/speed), 0 to pi/2.

    Args:
        speed: of the air along the axis [m/s], not negative.
        gust: speed of the air across the axis [m/s].

    Valid for a gust that strikes at once, before the vehicle turns into it: on the safe side. At no speed it
    is pi/2 (0 without a gust), where the air has no dynamic pressure along the axis and so no force here.
    Source: geometry.

    >>> round(float(np.degrees(gust_incidence(600.0, gust=10.0))), 4)  # 10/600 rad is 0.9549 deg
    0.9548
    >>> gust_incidence([0.0, 0.0], gust=[5.0, 0.0]).round(4).tolist()
    [1.5708, 0.0]
    """
    return np.asarray(np.arctan2(np.abs(gust), speed))


def sections_of(
    axial: ArrayLike,
    *,
    outline_axial: FloatArray,
    outline_radius: FloatArray,
    mass: ArrayLike,
    centre: ArrayLike,
) -> Sections:
    """Return the sections with area [m2] and volume [m3] inside the outline, by frusta between its points.

    A = pi r^2, V = sum of pi h (r1^2 + r1 r2 + r2^2)/3.

    Args:
        axial: stations of the sections (n_s,) [m], within the outline; beyond it the end is held.
        outline_axial: stations of the outline's points (n_p,) [m], rising from the nose point.
        outline_radius: its radii there (n_p,) [m].
        mass: ahead of each section (n_s,) [kg].
        centre: station of that mass's centre (n_s,) [m].

    Valid for an outline whose stations rise: a flat face is two points a hair apart.
    Source: volume of a frustum.

    A cone 0.3 m long of base radius 0.05 m: 78.540 cm2 and 785.40 cm3.

    >>> cone = {"outline_axial": np.array([0.0, 0.3]), "outline_radius": np.array([0.0, 0.05])}
    >>> one = sections_of([0.3], mass=[0.2], centre=[0.2], **cone)
    >>> round(float(one.area[0]) * 1e4, 3), round(float(one.volume[0]) * 1e6, 2)
    (78.54, 785.4)
    """
    z = np.asarray(axial, dtype=np.float64)
    r = np.interp(z, outline_axial, outline_radius)
    r1, r2 = outline_radius[:-1], outline_radius[1:]
    cells = np.pi / 3.0 * np.diff(outline_axial) * (r1**2 + r1 * r2 + r2**2)
    below = np.clip(np.searchsorted(outline_axial, z, side="right") - 1, 0, len(outline_axial) - 2)
    whole = np.concatenate([[0.0], np.cumsum(cells)])[below]
    fore = outline_radius[below]
    rest = np.clip(z, outline_axial[0], outline_axial[-1]) - outline_axial[below]
    return Sections(
        axial=frozen(z),
        area=frozen(np.pi * r**2),
        volume=frozen(whole + np.pi / 3.0 * rest * (fore**2 + fore * r + r**2)),
        mass=frozen(mass),
        centre=frozen(centre),
    )


def slender_normal_force(
    dynamic_pressure: FloatArray, *, incidence: FloatArray, area: FloatArray
) -> FloatArray:
    """Return the force of the air across the axis on all ahead of each section (n_i, n_s) [N].

    dN/dz = 2 q alpha dA/dz, so N = 2 q alpha A whatever the outline ahead.

    Args:
        dynamic_pressure: of the free stream (n_i,) [Pa].
        incidence: angle of the air to the axis (n_i,) [rad]; the force has its sign.
        area: inside the outline at the section (n_s,) [m2].

    Valid for slender noses to about 10 degrees; beyond, the wake of the cross flow adds to it, which is left
    out. A cone of 10 degrees half angle has 2 cos^2 of it, 3 % less. The Mach number has no part in it: near
    a slender nose measured slopes lie between 1.8 and 2.2 (from memory).
    Source: Munk 1924, NACA Report 184.

    A cone of base area 0.01 m2 at 50 kPa and 0.02 rad: 2 x 50000 x 0.02 x 0.01.

    >>> slender_normal_force(np.array([5e4]), incidence=np.array([0.02]), area=np.array([0.01])).tolist()
    [[20.0]]
    """
    return FORCE_SLOPE * (dynamic_pressure * incidence)[:, None] * area


def slender_moment(dynamic_pressure: FloatArray, *, incidence: FloatArray, volume: FloatArray) -> FloatArray:
    """Return the bending moment of the air at each section (n_i, n_s) [N m].

    M = int (z_s - z) dN = int N dz = 2 q alpha V, V the volume ahead: exact for ``slender_normal_force``.

    Args:
        dynamic_pressure: of the free stream (n_i,) [Pa].
        incidence: angle of the air to the axis (n_i,) [rad].
        volume: inside the outline, ahead of the section (n_s,) [m3].

    Valid as ``slender_normal_force`` is.
    Source: Munk 1924, NACA Report 184, integrated once more.

    That cone, 0.3 m long, holds 0.001 m3: 20 N, a third of its length (0.1 m) ahead of its base.

    >>> slender_moment(np.array([5e4]), incidence=np.array([0.02]), volume=np.array([1e-3])).round(9).tolist()
    [[2.0]]
    """
    return FORCE_SLOPE * (dynamic_pressure * incidence)[:, None] * volume


def cross_loads(
    sections: Sections,
    *,
    dynamic_pressure: FloatArray,
    incidence: FloatArray,
    acceleration: FloatArray,
    point_force: FloatArray,
    point_axial: float = 0.0,
) -> CrossLoads:
    """Return shear [N] and moments [N m] of air, inertia and a force on a point, sizes (n_i, n_s).

    M = 2 q alpha V + m a (z_s - z_m) + F (z_s - z_F), each as a size.

    Args:
        sections: where, and what is ahead.
        dynamic_pressure: of the free stream (n_i,) [Pa].
        incidence: angle of the air to the axis (n_i,) [rad].
        acceleration: of the tip across the axis (n_i,) [m/s2].
        point_force: across the axis on one point (n_i,) [N]: a hand, the ground.
        point_axial: station of that point [m], the nose point if left out; sections ahead don't feel it.

    Sizes are added: which way the vehicle is being pushed when a gust strikes isn't known, and the inertia
    that would relieve the air's load isn't relied on.
    Valid for a rigid tip held at its aft end.
    Source: balance of moments.

    The cone above, 0.5 kg, centre 0.225 m, 100 m/s2: 0.5 x 100 x 0.075; 40 N on its nose point: 40 x 0.3.

    >>> here = Sections(axial=np.array([0.3]), area=np.array([0.01]), volume=np.array([1e-3]),
    ...     mass=np.array([0.5]), centre=np.array([0.225]))
    >>> loads = cross_loads(here, dynamic_pressure=np.array([5e4]), incidence=np.array([0.02]),
    ...     acceleration=np.array([-100.0]), point_force=np.array([40.0]))
    >>> [round(float(x[0, 0]), 6) for x in (loads.air, loads.inertia, loads.point, loads.moment, loads.shear)]
    [2.0, 3.75, 12.0, 17.75, 110.0]
    """
    air = {"incidence": np.abs(incidence)}
    inertia = np.abs(acceleration)[:, None] * sections.mass
    point = np.abs(point_force)[:, None] * (sections.axial > point_axial)
    return CrossLoads(
        shear=slender_normal_force(dynamic_pressure, area=sections.area, **air) + inertia + point,
        air=slender_moment(dynamic_pressure, volume=sections.volume, **air),
        inertia=inertia * np.maximum(sections.axial - sections.centre, 0.0),
        point=point * (sections.axial - point_axial),
    )


def bending_stress(moment: FloatArray, *, outer: FloatArray, inner: FloatArray) -> FloatArray:
    """Return the stress along the axis in the outermost fibre [Pa], the shape of ``moment``.

    sigma = M r_o / I, I = pi/4 (r_o^4 - r_i^4); pulled on one side, pushed on the other.

    Args:
        moment: (n_i, n_s) [N m].
        outer: outer radius (n_s,) [m].
        inner: inner radius (n_s,) [m], 0 where it is solid.

    Valid for sections that stay plane and round, within yield.
    Source: Euler and Bernoulli's beam, any textbook.

    10 N m on a tube of 20 and 18 mm radius: I = 43.216e-9 m4, so 4.628 MPa.

    >>> stress = bending_stress(np.array([[10.0]]), outer=np.array([0.02]), inner=np.array([0.018]))
    >>> round(float(stress[0, 0]) / 1e6, 3)
    4.628
    """
    return np.asarray(moment * outer / (np.pi / 4.0 * (outer**4 - inner**4)))
