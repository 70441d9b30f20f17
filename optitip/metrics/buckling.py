"""Buckling loads of the band, a thin cylinder or cone, with the knock-down factors of tests."""

from dataclasses import dataclass

import numpy as np

from optitip.arrays import FloatArray

STEEP = np.radians(10.0)
KNOCKDOWN_STEEP = 0.33
KNOCKDOWN_STEEP_BENT = 0.41  # from memory
KNOCKDOWN_PRESSURE = 0.75  # from memory, as the 0.92 of the formula it belongs to


@dataclass(frozen=True, slots=True, kw_only=True)
class BandShape:
    """The band as a truncated cone of even thickness.

    Args:
        fore_radius: mid-wall radius at its fore end [m].
        aft_radius: mid-wall radius at its aft end [m].
        axial_length: along the axis [m].
        thickness: the thinnest of its wall [m].
        axial: z of its middle [m].
    """

    fore_radius: float
    aft_radius: float
    axial_length: float
    thickness: float
    axial: float

    @property
    def half_angle(self) -> float:
        """Return the cone's half angle [rad]."""
        return float(np.arctan2(abs(self.aft_radius - self.fore_radius), self.axial_length))


def axial_knockdown(radius_over_thickness: FloatArray | float) -> FloatArray:
    """Return the factor of tests over theory for a cylinder pushed along its axis.

    gamma = 1 - 0.901 (1 - exp(-phi)), phi = sqrt(r/t)/16. Ratio and factor are dimensionless.

    Valid for r/t below 1500; thicker walls tend to 1.
    Source: NASA SP-8007 (1968), Buckling of thin-walled circular cylinders.

    >>> [round(float(axial_knockdown(ratio)), 4) for ratio in (20, 50, 100, 500)]
    [0.7803, 0.6782, 0.5813, 0.3217]
    """
    return 1.0 - 0.901 * (1.0 - np.exp(-np.sqrt(radius_over_thickness) / 16.0))


def bending_knockdown(radius_over_thickness: FloatArray | float) -> FloatArray:
    """Return the factor of tests over theory for a bent cylinder.

    gamma = 1 - 0.731 (1 - exp(-phi)), phi = sqrt(r/t)/16. Ratio and factor are dimensionless.

    Valid for r/t below 1500; thicker walls tend to 1. Higher than pushed: little of the wall is pressed.
    Source: NASA SP-8007 (1968), Buckling of thin-walled circular cylinders.

    >>> [round(float(bending_knockdown(ratio)), 4) for ratio in (20, 50, 100, 500)]
    [0.8217, 0.7389, 0.6603, 0.4497]
    """
    return 1.0 - 0.731 * (1.0 - np.exp(-np.sqrt(radius_over_thickness) / 16.0))


def critical_axial_force(modulus: FloatArray | float, *, poisson: float, band: BandShape) -> FloatArray:
    """Return the axial force [N] that buckles the band elastically, compression positive.

    P_cr = gamma 2 pi E t^2 cos^2 a / sqrt(3 (1 - nu^2)); gamma 0.33 for half angles a of 10 degrees and
    more, that of the cylinder of radius r/cos a (at the aft end, where it is least) below.

    Args:
        modulus: Young's modulus at temperature (n_i,) [Pa].
        poisson: Poisson's ratio.
        band: its shape.

    Valid for half angles to 75 degrees. Elastic: cap it by yield.
    Source: NASA SP-8019 (1968), Buckling of thin-walled truncated cones; SP-8007 below 10 degrees.

    A cylinder of radius 27 mm, 1 mm thick, E 68.9 GPa: over its section 2 pi r t that is 1171 MPa.

    >>> straight = BandShape(fore_radius=0.027, aft_radius=0.027, axial_length=0.06, thickness=1e-3, axial=0)
    >>> force = critical_axial_force(68.9e9, poisson=0.33, band=straight)
    >>> round(float(force) / (2 * np.pi * 0.027 * 1e-3) / 1e6)
    1171
    """
    cosine = np.cos(band.half_angle)
    ratio = max(band.fore_radius, band.aft_radius) / (band.thickness * cosine)
    gamma = KNOCKDOWN_STEEP if band.half_angle >= STEEP else axial_knockdown(ratio)
    wall = 2.0 * np.pi * np.asarray(modulus) * band.thickness**2 * cosine**2
    return np.asarray(gamma * wall / np.sqrt(3.0 * (1.0 - poisson**2)))


def critical_moment(modulus: FloatArray | float, *, poisson: float, band: BandShape) -> FloatArray:
    """Return the bending moment [N m] that buckles the band elastically on its pressed side.

    M_cr = gamma pi E r t^2 cos^2 a / sqrt(3 (1 - nu^2)), r the smaller radius; gamma 0.41 for half angles a
    of 10 degrees and more, that of the bent cylinder of radius r/cos a (at the aft end, where it is least)
    below.

    Args:
        modulus: Young's modulus at temperature (n_i,) [Pa].
        poisson: Poisson's ratio.
        band: its shape.

    Valid for half angles to 60 degrees, and a moment that is even along the band: take the largest. Elastic:
    cap it by yield.
    Source: NASA SP-8007 (1968) below 10 degrees; SP-8019 (1968) above, with its 0.41, from memory.

    The cylinder whose pushed wall buckles at 1171 MPa (gamma 0.7502) buckles bent at 1171 x 0.7973/0.7502 MPa
    in its outermost fibre, M/(pi r^2 t).

    >>> straight = BandShape(fore_radius=0.027, aft_radius=0.027, axial_length=0.06, thickness=1e-3, axial=0)
    >>> moment = critical_moment(68.9e9, poisson=0.33, band=straight)
    >>> round(float(moment) / (np.pi * 0.027**2 * 1e-3) / 1e6)
    1244
    """
    cosine = np.cos(band.half_angle)
    narrow, wide = sorted((band.fore_radius, band.aft_radius))
    steep = band.half_angle >= STEEP
    gamma = KNOCKDOWN_STEEP_BENT if steep else bending_knockdown(wide / (band.thickness * cosine))
    wall = np.pi * np.asarray(modulus) * narrow * band.thickness**2 * cosine**2
    return np.asarray(gamma * wall / np.sqrt(3.0 * (1.0 - poisson**2)))


def critical_pressure(modulus: FloatArray | float, *, band: BandShape) -> FloatArray:
    """Return the outside pressure, sides and end, that buckles the band elastically [Pa].

    p_cr = gamma 0.92 E / ((L/rho) (rho/t)^2.5), L the slant length, rho = (r1 + r2)/(2 cos a), gamma 0.75.

    Args:
        modulus: Young's modulus at temperature (n_i,) [Pa].
        band: its shape.

    Valid for thin walls of moderate length held round at both ends. Elastic: cap it by yield.
    Source: NASA SP-8019 (1968); 0.92 and 0.75 from memory.

    L/rho = 2 and rho/t = 16 give 0.75 * 0.92 * 70e9 / (2 * 1024) Pa.

    >>> straight = BandShape(fore_radius=0.032, aft_radius=0.032, axial_length=0.064, thickness=2e-3, axial=0)
    >>> round(float(critical_pressure(70e9, band=straight)) / 1e6, 3)
    23.584
    """
    cosine = np.cos(band.half_angle)
    rho = (band.fore_radius + band.aft_radius) / (2.0 * cosine)
    slant = band.axial_length / cosine
    stockiness = slant / rho * (rho / band.thickness) ** 2.5
    return np.asarray(KNOCKDOWN_PRESSURE * 0.92 * np.asarray(modulus) / stockiness)


def buckling_use(
    modulus: FloatArray,
    *,
    poisson: float,
    yield_strength: FloatArray,
    band: BandShape,
    pressure: FloatArray,
    axial_force: FloatArray,
    moment: FloatArray | None = None,
) -> FloatArray:
    """Return the dimensionless share of the band's strength against collapse in use (n_i,): 1 at collapse.

    R_p + R_a + R_b, R_p = p / min(p_cr, p_y), R_a = P / min(P_cr, P_y), R_b = |M| / min(M_cr, M_y), with
    p_y = yield t/rho, P_y = yield 2 pi r t cos a (r the smaller radius) and M_y = yield pi r^2 t cos a; M_cr
    and M_y are each end's by its own radius; the worse end counts. Loads that pull or burst count as none.

    Args:
        modulus: of the band at temperature (n_i,) [Pa].
        poisson: Poisson's ratio.
        yield_strength: at temperature (n_i,) [Pa].
        band: its shape.
        pressure: outside over inside (n_i,) [Pa].
        axial_force: compression of the band by all that acts ahead of it (n_i,) [N].
        moment: that bends the band at its fore and its aft end (n_i, 2) [N m]; None where nothing does.

    The critical pressure is that of sides and end together, so the end's share counts twice: on the safe
    side. Stress of temperature is no load and is left out.
    Valid where ``critical_pressure``, ``critical_axial_force`` and ``critical_moment`` are; yield caps what
    they give too much.
    Source: the straight line between loads is common practice (NASA SP-8019, from memory).

    Yield rules at 240 MPa: 1.5 MPa of 240 x 2/32, and 9651 N of 240e6 x 2 pi x 0.032 x 0.002: a tenth each.

    >>> straight = BandShape(fore_radius=0.032, aft_radius=0.032, axial_length=0.064, thickness=2e-3, axial=0)
    >>> modulus, strength, pressure, force = np.array([[70e9], [240e6], [1.5e6], [9651.0]])
    >>> buckling_use(modulus, poisson=0.33, yield_strength=strength, band=straight, pressure=pressure,
    ...     axial_force=force).round(4)
    array([0.2])
    """
    cosine = np.cos(band.half_angle)
    rho = (band.fore_radius + band.aft_radius) / (2.0 * cosine)
    narrow = min(band.fore_radius, band.aft_radius)
    most_pressure = np.minimum(critical_pressure(modulus, band=band), yield_strength * band.thickness / rho)
    most_force = np.minimum(
        critical_axial_force(modulus, poisson=poisson, band=band),
        yield_strength * 2.0 * np.pi * narrow * band.thickness * cosine,
    )
    used = _share(pressure, most_pressure) + _share(axial_force, most_force)
    if moment is None:
        return used
    ends = np.array([band.fore_radius, band.aft_radius])
    buckles = critical_moment(modulus, poisson=poisson, band=band)[:, None] * ends / narrow
    yields = yield_strength[:, None] * np.pi * ends**2 * band.thickness * cosine
    return np.asarray(used + _share(np.abs(moment), np.minimum(buckles, yields)).max(axis=1))


def _share(load: FloatArray, most: FloatArray) -> FloatArray:
    """Return load over what is borne: none where nothing presses, infinite where a hot wall bears nothing."""
    with np.errstate(divide="ignore"):
        used: FloatArray = np.divide(load, most, out=np.zeros(np.shape(most)), where=load > 0.0)
    return used


def force_ahead(
    pressure: FloatArray, *, radius: FloatArray, mass: float, acceleration: FloatArray
) -> FloatArray:
    """Return the axial compression (n_i,) [N] of the section that ends the given outline.

    P = int (p - p_ref) 2 pi r dr + m a: what the air pushes aft on the outline ahead, and inertia.

    Args:
        pressure: along the outline from the nose point to the section (n_i, n_s) [Pa], above the pressure
            inside.
        radius: of the outline at the same places (n_s,) [m].
        mass: of all that is ahead of the section [kg].
        acceleration: positive when the rocket is pushed fore (n_i,) [m/s2].

    Valid for any outline that starts on the axis; the pressure is straight between its places in r^2.
    Source: the balance of forces along the axis.

    100 kPa on a disc of 20 mm radius is 125.66 N; 0.1 kg at 100 m/s2 adds 10 N.

    >>> disc = np.linspace(0.0, 0.02, 201)
    >>> force = force_ahead(np.full((1, 201), 1e5), radius=disc, mass=0.1, acceleration=np.array([100.0]))
    >>> force.round(2).tolist()
    [135.66]
    """
    middle = 0.5 * (pressure[:, 1:] + pressure[:, :-1])
    return np.pi * middle @ np.diff(radius**2) + mass * np.asarray(acceleration)
