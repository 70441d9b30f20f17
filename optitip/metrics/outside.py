"""What a change of the outside does to the vehicle: wave drag, centre of pressure, static margin, ballast.

Stations count from one nose point, positive aft; the plane of the nose's base stays where it is.
"""

import numpy as np
from numpy.typing import ArrayLike

from optitip.arrays import FloatArray
from optitip.heating.pressure import smooth_step

DRAG, PRESSURE_CENTRE = "outline.drag_change", "outline.pressure_centre_change"
MARGIN, BALLAST = "vehicle.static_margin_change", "vehicle.ballast"
"""The names of the metrics."""
NOSE_SLOPE = 2.0
"""Normal force slope of a slender nose on its base's area [1/rad] (Munk 1924)."""
NO_WAVES, ALL_WAVES = 0.8, 1.0
"""Mach numbers from which waves begin to carry drag away, and do so wholly."""


def wave_drag(
    pressure_coefficient: FloatArray, *, mach: ArrayLike, radius: FloatArray, reference_radius: float
) -> FloatArray:
    """Return the wave drag coefficient of a nose at each Mach number (n_m,), dimensionless.

    C_D = S integral of Cp 2 pi r dr/(pi R^2), by trapezia in r^2: exact on a cone and, as Newton's Cp is a
    straight line in r^2 there, on the sphere. S is 0 to Mach 0.8, 1 from Mach 1 and smooth between, since
    there are no waves in a subsonic stream and its pressures on a closed body push as much as they pull.

    ``pressure_coefficient`` (n_m, n_s), ``mach`` (n_m,); ``radius`` (n_s,) [m] from the nose point to the
    nose's base; ``reference_radius`` [m] of the circle the coefficient is referred to. Positive slows down.

    Valid for any Cp handed in at no angle of attack. With the pressures of ``heating.pressure`` tangent
    ogives come within 7 % of Miles' correlation (fineness 3 to 6, Mach 1.5 to 3), and von Karman's nose and
    the Haack LV of fineness 5 within 17 % of slender theory, which knows no Mach number: so a difference
    between two outlines is to be trusted further than either. Skin friction and the base are left out; the
    fade below Mach 1 is an engineering choice.

    Source: definition; the fade: no source.

    >>> cone = np.full((2, 3), 0.1045)
    >>> wave_drag(cone, mach=[0.5, 2.0], radius=np.array([0.0, 0.01, 0.02]), reference_radius=0.02).round(4)
    array([0.    , 0.1045])
    """
    share = smooth_step((np.asarray(mach, dtype=np.float64) - NO_WAVES) / (ALL_WAVES - NO_WAVES))
    middle = 0.5 * (pressure_coefficient[:, 1:] + pressure_coefficient[:, :-1])
    drag: FloatArray = share * (middle @ np.diff(radius**2)) / reference_radius**2
    return drag


def slender_pressure_centre(volume: float, *, length: float, base_area: float) -> float:
    """Return the station of a nose's centre of pressure [m] from its nose point.

    x = L - V/A: the normal force grows with the section's area, dN = 2 q alpha dA, whatever the outline.

    ``volume`` [m3] inside the nose; ``length`` [m] nose point to base; ``base_area`` [m2]. A base wider or
    narrower than the vehicle steps to it at its plane: then the area is the vehicle's.

    Valid for slender noses at small angles of attack; the Mach number has no part in it.

    Source: Munk 1924, NACA Report 184.

    >>> round(slender_pressure_centre(0.1 * 0.3 / 3, length=0.3, base_area=0.1), 6)  # a cone: 2/3 of 0.3
    0.2
    """
    return length - volume / base_area


def pressure_centre_shift(nose_shift: float, *, normal_force_slope: float | None) -> float:
    """Return how far the vehicle's centre of pressure moves [m], positive aft.

    dx = 2 dx_nose/C_N_alpha: only the nose's share of the normal force moves.

    ``nose_shift`` [m] of the nose's own centre; ``normal_force_slope`` [1/rad] of the vehicle, at least 2.
    Unknown (None), a shift fore counts whole and one aft not at all: the vehicle can't fare worse.

    Valid for slender noses at small angles of attack.

    Source: moments of the parts' normal forces; the nose's 2 of Munk 1924, NACA Report 184.

    >>> pressure_centre_shift(-0.006, normal_force_slope=12.0)
    -0.001
    """
    if normal_force_slope is None:
        return min(nose_shift, 0.0)
    return NOSE_SLOPE * nose_shift / normal_force_slope


def exchanged(
    mass: float, *, centre: float, removed: tuple[float, float], added: tuple[float, float]
) -> tuple[float, float]:
    """Return mass [kg] and centre of mass [m] of a vehicle after one part has been exchanged for another.

    M' = M - m_old + m_new, x' = (M x - m_old x_old + m_new x_new)/M'.

    ``mass`` [kg] and ``centre`` [m] of the vehicle before; ``removed`` and ``added`` are the parts' mass [kg]
    and centre of mass [m].

    Valid for a removed part lighter than the vehicle.

    Source: moments of mass.

    >>> mass, centre = exchanged(10.0, centre=1.0, removed=(1.0, 0.2), added=(0.5, 0.1))
    >>> mass, round(centre, 6)  # (10 - 0.2 + 0.05)/9.5
    (9.5, 1.036842)
    """
    total = mass - removed[0] + added[0]
    return total, (mass * centre - removed[0] * removed[1] + added[0] * added[1]) / total


def static_margin(pressure_centre: float, *, centre_of_mass: float, diameter: float) -> float:
    """Return the static margin in calibres, dimensionless: (x_cp - x_cm) / d = margin, positive is stable.

    Stations and ``diameter`` [m].

    Valid at small angles of attack.

    Source: definition.

    >>> round(static_margin(1.25, centre_of_mass=1.1, diameter=0.1), 6)
    1.5
    """
    return (pressure_centre - centre_of_mass) / diameter


def ballast_mass(mass: float, *, centre: float, wanted: float, station: float) -> float | None:
    """Return the ballast [kg] that brings the centre of mass fore to where it is wanted, None if none can.

    (M x + m s)/(M + m) = w, so m = M (x - w)/(w - s).

    ``mass`` [kg], ``centre`` [m] of the vehicle; ``wanted`` and ``station`` [m]. A centre already fore of the
    wanted one needs nothing: 0. Ballast that doesn't stand fore of the wanted centre can't bring it there.

    Valid for any stations.

    Source: moments of mass.

    >>> round(ballast_mass(10.0, centre=1.01, wanted=1.0, station=0.2), 6)  # 10 x 0.01/0.8
    0.125
    """
    if centre <= wanted:
        return 0.0
    return mass * (centre - wanted) / (wanted - station) if station < wanted else None
