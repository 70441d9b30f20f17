"""The outline: the outer curve of the turned tip, by arc length from the nose point."""

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import partial
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from optitip.arrays import FloatArray, frozen, read_only
from optitip.errors import UserMistakes
from optitip.geometry.families import own_nose_radius, sharp_profile
from optitip.geometry.measured import MeasuredProfile, smooth_profile
from optitip.inputs.study_tables import OutlineFamily

Profile: TypeAlias = Callable[[FloatArray], tuple[FloatArray, FloatArray]]

SPHERE_POINTS = 161
SIDE_POINTS = 441
SMALLEST_TIP_RADIUS = 5e-5
# a sphere that ends nearer to the axis than this share of its radius is no tip (power, n near 1/2)
SMALLEST_SPHERE = 0.05


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Outline:
    """The turned outline; z = 0 at the blunted nose point, aft positive.

    ``length`` is the nose's from the *sharp* family's tip to its base, so that the side doesn't move with the
    tip radius; blunting takes ``blunting`` off it. ``slope`` is the angle of the tangent to the axis, pi/2 at
    the nose.
    """

    arc_length: FloatArray  # (n,) [m]
    axial: FloatArray  # (n,) [m]
    radius: FloatArray  # (n,) [m]
    slope: FloatArray  # (n,) [rad]
    curvature: FloatArray  # (n,) [1/m], positive where convex
    tip_radius: float  # [m]
    sphere_arc: float  # [m] arc length at which the sphere ends; 0 where the family's own nose is kept
    diameter: float  # [m] of the whole nose
    length: float  # [m] sharp tip to base
    blunting: float  # [m] from the sharp tip to the nose point
    _pieces: NDArray[np.complex128] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        """Lay out the cubic pieces between the points, once for all designs under the outline."""
        object.__setattr__(self, "_pieces", _cubics(self))

    @property
    def turned_length(self) -> float:
        """Return the axial length of the tip [m], from the nose point."""
        return float(self.axial[-1])

    @property
    def total_arc(self) -> float:
        """Return the arc length from the nose point to the tip's aft end [m]."""
        return float(self.arc_length[-1])

    def at(self, arc_length: ArrayLike) -> tuple[FloatArray, FloatArray, FloatArray]:
        """Return axial [m], radius [m] and slope [rad] at ``arc_length`` (n,) [m]; clipped to its ends."""
        s = np.minimum(np.maximum(arc_length, 0.0), self.arc_length[-1])
        piece = self.arc_length[1:-1].searchsorted(s, side="right")
        x = s - self.arc_length.take(piece)
        point, tangent, square, cube = self._pieces.take(piece, axis=1)
        place = point + x * (tangent + x * (square + x * cube))
        direction = tangent + x * (2.0 * square + x * (3.0 * cube))
        return place.real, place.imag, np.arctan2(direction.imag, direction.real)

    def arc_length_of(self, axial: ArrayLike) -> FloatArray:
        """Return the arc length [m] at ``axial`` (n,) [m] from the nose point; clipped to the tip's ends."""
        z = np.minimum(np.maximum(axial, 0.0), self.axial[-1])
        piece = self.axial[1:-1].searchsorted(z, side="right")
        low, high = self.arc_length.take(piece), self.arc_length.take(piece + 1)
        start = self.axial.take(piece)
        s = low + (high - low) * (z - start) / (self.axial.take(piece + 1) - start)
        for _ in range(8):
            here, _radius, slope = self.at(s)
            nearer = s - (here - z) / np.maximum(np.cos(slope), 1e-6)
            before, s = s, np.minimum(np.maximum(nearer, low), high)
            if np.abs(s - before).max() < 1e-12:
                break
        return np.asarray(s)

    def volume_between(self, start: float, end: float) -> float:
        """Return the volume [m3] inside the outline between the planes at arcs ``start`` and ``end`` [m].

        V = pi integral of r^2 cos(phi) ds, by Simpson's rule between the outline's points.
        """
        inside = self.arc_length[(self.arc_length > start) & (self.arc_length < end)]
        ends = np.concatenate([[start], inside, [end]])
        _, r, slope = self.at(np.concatenate([ends, 0.5 * (ends[1:] + ends[:-1])]))
        area, middle = np.split(r**2 * np.cos(slope), [ends.size])
        return float(np.pi / 6 * np.sum(np.diff(ends) * (area[1:] + area[:-1] + 4 * middle)))

    @property
    def volume(self) -> float:
        """Return the volume of the body inside the outline [m3]."""
        return self.volume_between(0.0, self.total_arc)

    @property
    def surface(self) -> float:
        """Return the area of the outline's surface of revolution [m2]."""
        return float(np.pi * np.sum(np.diff(self.arc_length) * (self.radius[1:] + self.radius[:-1])))


def family_outline(
    family: OutlineFamily,
    *,
    diameter: float,
    length: float,
    turned_length: float | None = None,
    tip_radius: float | None = None,
    exponent: float | None = None,
) -> Outline:
    """Return the outline of a family with a spherical tip, cut at ``turned_length`` [m] from the nose point.

    Without a turned length it goes on to the base of the nose.

    The sphere is tangent where the normal's length to the axis is its radius: r sqrt(1 + r'^2) = R_n; its
    centre lies at z + r r'. ``tip_radius`` [m] None or 0 keeps the family's own nose, if that is round.

    >>> cone = OutlineFamily.CONE
    >>> tip = family_outline(cone, diameter=0.05, length=0.25, turned_length=0.1, tip_radius=0.005)
    >>> round(float(tip.slope[0]), 6), round(1e3 * tip.blunting, 3)  # R_n (1/sin(5.71 deg) - 1) = 45.25 mm
    (1.570796, 45.249)
    """
    profile = partial(sharp_profile, family=family, diameter=diameter, length=length, exponent=exponent)
    own = own_nose_radius(family, diameter=diameter, length=length, exponent=exponent)
    return _blunted(
        profile, own=own, length=length, diameter=diameter, tip_radius=tip_radius, turned_length=turned_length
    )


def measured_outline(
    axial: ArrayLike,
    radius: ArrayLike,
    *,
    turned_length: float | None = None,
    tip_radius: float | None = None,
    tolerance: float = 2e-5,
) -> Outline:
    """Return the outline through measured points (n,) [m], smoothed within ``tolerance`` [m] rms.

    Without a turned length [m] it goes on to the last point.
    Points that begin on the axis may keep their own nose; others need a ``tip_radius`` whose sphere is
    tangent inside the measured range.
    """
    profile = smooth_profile(axial, radius, tolerance=tolerance)
    return smoothed_outline(profile, turned_length=turned_length, tip_radius=tip_radius)


def smoothed_outline(
    profile: MeasuredProfile, *, turned_length: float | None = None, tip_radius: float | None = None
) -> Outline:
    """Return the outline of a measured profile that is smoothed already, as ``measured_outline`` does."""
    own, diameter = profile.own_nose_radius, 2 * float(profile(profile.length)[0][0])
    if tip_radius and profile.square[0] > 0:
        own = float(_normal_length(profile, np.zeros(1))[0])
    return _blunted(
        profile,
        own=own,
        length=profile.length,
        diameter=diameter,
        tip_radius=tip_radius,
        turned_length=turned_length,
    )


def _blunted(
    profile: Profile,
    *,
    own: float,
    length: float,
    diameter: float,
    tip_radius: float | None,
    turned_length: float | None,
) -> Outline:
    start, angle, nose, radius = 0.0, 0.0, 0.0, own
    if not tip_radius or np.isclose(tip_radius, own, rtol=1e-9):
        if not own >= SMALLEST_TIP_RADIUS:
            raise UserMistakes.one(
                "outline.tip_radius", "the outline's own nose isn't round", "Give it a radius"
            )
    else:
        radius = tip_radius
        start = _tangent_station(profile, own=own, length=length, tip_radius=tip_radius)
        (r,), (gradient,) = profile(np.array([start]))
        angle = float(np.arctan2(1.0, gradient))  # of the sphere, from the nose point to the tangent point
        nose = float(start + r * gradient - tip_radius)
    cut = length if turned_length is None else nose + turned_length
    if turned_length is not None and cut > length * (1 + 1e-12):
        said = f"{turned_length * 1e3:.4g} mm of {(length - nose) * 1e3:.4g} mm"
        raise UserMistakes.one(
            "outline.turned_length", f"it is longer than the blunted nose ({said})", "Shorten it"
        )
    if cut < start + 0.01 * radius:
        raise UserMistakes.one("outline.turned_length", "the tip ends inside its own sphere", "Lengthen it")
    sphere = _sphere(radius, angle=angle) if start > 0 else np.zeros((1, 4))
    side = _side(
        profile, start=start, cut=min(cut, length), step=radius * max(angle, 0.3) / (SPHERE_POINTS - 1)
    )
    side[:, 1] -= nose
    side[:, 0] += sphere[-1, 0]
    curvature = np.concatenate([np.full(len(sphere) - 1, 1 / radius), -np.gradient(side[:, 3], side[:, 0])])
    s, z, r, slope = np.concatenate([sphere[:-1], side]).T
    return Outline(
        arc_length=frozen(s),
        axial=frozen(z),
        radius=frozen(r),
        slope=frozen(slope),
        curvature=frozen(curvature),
        tip_radius=float(radius),
        sphere_arc=radius * angle,
        diameter=diameter,
        length=length,
        blunting=nose,
    )


def _tangent_station(profile: Profile, *, own: float, length: float, tip_radius: float) -> float:
    """Return the first axial station [m] at which the normal reaches the axis after ``tip_radius``."""
    z = length * np.linspace(0, 1, 401)[1:] ** 3
    reach = _normal_length(profile, z)
    above = np.flatnonzero(reach >= tip_radius)
    given = f"{tip_radius * 1e3:.4g} mm"
    if tip_radius < own:
        raise UserMistakes.one(
            "outline.tip_radius",
            f"no sphere of {given} is tangent to an outline whose own nose has {own * 1e3:.4g} mm",
            "Leave it out to keep the own nose, or give a larger one",
        )
    if above.size == 0:
        raise UserMistakes.one(
            "outline.tip_radius",
            f"a sphere of {given} is wider than the outline",
            f"Give less than {reach.max() * 1e3:.4g} mm",
        )
    low, high = (0.0, z[0]) if above[0] == 0 else (z[above[0] - 1], z[above[0]])
    for _ in range(12):  # thirty-two times closer each
        pieces = np.linspace(low, high, 33)
        reached = int(np.argmax(_normal_length(profile, pieces[1:]) >= tip_radius))
        low, high = pieces[reached], pieces[reached + 1]
    if profile(np.array([high]))[0][0] < SMALLEST_SPHERE * tip_radius:
        raise UserMistakes.one(
            "outline.tip_radius",
            f"just aft of its nose point the outline is blunter than a sphere of {given}",
            "Give a larger one, or leave it out where the own nose is round",
        )
    return float(high)


def _normal_length(profile: Profile, z: FloatArray) -> FloatArray:
    r, gradient = profile(z)
    return np.hypot(r, r * gradient)


def _sphere(radius: float, *, angle: float) -> FloatArray:
    """Return columns arc length, axial, radius, slope of the sphere up to ``angle`` from the axis."""
    a = np.linspace(0, angle, SPHERE_POINTS)
    return np.stack(
        [radius * a, 2 * radius * np.sin(0.5 * a) ** 2, radius * np.sin(a), 0.5 * np.pi - a], axis=1
    )


def _side(profile: Profile, *, start: float, cut: float, step: float) -> FloatArray:
    """Return columns arc length, axial, radius, slope of the side, graded from ``step`` [m] fore."""
    u = np.linspace(0, 1, SIDE_POINTS)
    # a round nose is regular in the root of z
    stations = start + (cut - start) * (_graded(u, first=step / (cut - start)) if start > 0 else u**2)
    # three-point Gauss on each piece, in the root of z - start, where ds is regular at an own nose too
    root = np.sqrt(stations - start)
    half, middle = 0.5 * np.diff(root), 0.5 * (root[1:] + root[:-1])
    nodes = middle[:, None] + half[:, None] * np.sqrt(0.6) * np.array([-1, 0, 1])
    gradient = profile(start + (nodes**2).ravel())[1].reshape(nodes.shape)
    pieces = half * ((2 * nodes * np.hypot(1, gradient)) @ (np.array([5.0, 8.0, 5.0]) / 9))
    r, gradient = profile(stations)
    if start == 0:
        r[0], gradient[0] = 0.0, np.inf
    return np.stack(
        [np.concatenate([np.zeros(1), np.cumsum(pieces)]), stations, r, np.arctan2(gradient, 1.0)], axis=1
    )


def _graded(u: FloatArray, *, first: float) -> FloatArray:
    """Return 0..1 growing exponentially from a first piece of ``first``; even where that is longer."""
    if first * (u.size - 1) >= 1:
        return u
    low, high, piece = 1e-6, 60.0, float(u[1])
    for _ in range(50):
        rate = 0.5 * (low + high)
        low, high = (low, rate) if math.expm1(rate * piece) / math.expm1(rate) < first else (rate, high)
    return np.asarray(np.expm1(low * u) / np.expm1(low))


def _cubics(outline: Outline) -> NDArray[np.complex128]:
    """Return the Hermite cubics z + i r of the arc within each piece, (4, n - 1): constant to cube."""
    h = np.diff(outline.arc_length)
    point = outline.axial + 1j * outline.radius
    tangent = np.cos(outline.slope) + 1j * np.sin(outline.slope)
    secant, a, b = np.diff(point) / h, tangent[:-1], tangent[1:]
    return read_only(np.stack([point[:-1], a, (3 * secant - 2 * a - b) / h, (a + b - 2 * secant) / h**2]))
