"""The entropy layer of a blunt tip, and where the boundary layer has swallowed it.

Air that crossed the bow shock near the axis lost more of its total pressure than air that crossed it further
out. The boundary layer takes in this air from the axis outward; what flows at its edge crossed the shock at
the radius of the stream tube that fills the layer.
"""

from enum import Enum

import numpy as np
from numpy.typing import ArrayLike

from optitip.arrays import FloatArray
from optitip.heating.compressible import log_shock_loss
from optitip.heating.reference import reference_enthalpy
from optitip.heating.stream import Stations, Stream
from optitip.properties.air import Gas

_SLOWEST = 0.01  # Mach number below which nothing is lost and the stream tube is taken at this one
_STRONGEST = 6.0  # Mach number: end of the table the shock's loss is inverted by
_LAMINAR_MASS = 4.8 * 0.664
_TURBULENT_MASS = 9.0 * 0.037
_FASTEST_GROWTH = 0.05  # M - 1 below which the shock's radius is taken at this one; its loss is nothing there


class Layer(Enum):
    """How the boundary layer flows: a turbulent one takes in more air."""

    LAMINAR = "laminar"
    TURBULENT = "turbulent"


_NORMAL = 1.0 + (_STRONGEST - 1.0) * np.linspace(0.0, 1.0, 1501) ** 2
_LOSS = -log_shock_loss(_NORMAL)


def bow_shock_radius(mach: ArrayLike) -> FloatArray:
    """Return the dimensionless radius of curvature of a sphere's bow shock over the sphere's own.

    Rc/Rn = 1.143 exp(0.54/(M - 1)^1.2).

    ``mach`` of the stream, any shape; below 1.05 it counts as 1.05, where the shock is all but flat.

    Valid in air from Mach 1.5; towards 1 the shock recedes and its loss vanishes.

    Source: Billig 1967, J. Spacecraft Rockets 4, 822 (from memory).

    >>> float(bow_shock_radius(3.0).round(3))  # 1.143 exp(0.54/2.297)
    1.446
    """
    excess = np.maximum(np.asarray(mach, dtype=np.float64) - 1.0, _FASTEST_GROWTH)
    ratio: FloatArray = 1.143 * np.exp(0.54 / excess**1.2)
    return ratio


def bow_shock_loss(mach: ArrayLike, *, height: ArrayLike, far_loss: ArrayLike) -> FloatArray:
    """Return ln(p02/p01), dimensionless, of the air that crossed a blunt tip's shock at ``height``.

    The shock is a hyperbola that ends at the angle b of the sharp body's own: at the radius y, with
    Y = y/Rc, its angle f has sin^2 f = (cos^2 b + Y^2 sin^2 b)/(cos^2 b + Y^2); the loss is that of a normal
    shock at M sin f. On the axis it is a normal shock's, far out ``far_loss``.

    ``mach`` of the stream; ``height`` is y over the tip's radius; ``far_loss``, zero or negative, fixes b;
    their shapes broadcast.

    Valid in air from Mach 1 to 5; without a shock 0.

    Source: Billig 1967, J. Spacecraft Rockets 4, 822 (from memory).

    >>> float(bow_shock_loss(3.0, height=2.0, far_loss=-0.0016).round(2))  # Y 1.383, sin f .636, M 1.91
    -0.27
    """
    M = np.maximum(np.asarray(mach, dtype=np.float64), 1.0)
    Y2 = (np.asarray(height, dtype=np.float64) / bow_shock_radius(M)) ** 2
    normal = np.interp(-np.asarray(far_loss, dtype=np.float64), _LOSS, _NORMAL)
    sine2 = np.clip((normal / M) ** 2, 1.0 / (M * M), 1.0)
    cosine2 = 1.0 - sine2 + 1e-12
    return log_shock_loss(M * np.sqrt((cosine2 + Y2 * sine2) / (cosine2 + Y2)))


def swallowed_height(
    pressure: FloatArray,
    *,
    speed: FloatArray,
    enthalpy: FloatArray,
    stream: Stream,
    stations: Stations,
    gas: Gas,
    layer: Layer,
) -> FloatArray:
    """Return the radius (n_t, n_s) [m] of the stream tube, far ahead, whose air fills the boundary layer.

    rho V pi y^2 = 2 pi r rho_e u_e (d - d*), with d - d* = H theta: 4.8 theta laminar (Blasius, to 99 % of
    the speed), 9 theta turbulent (a profile to the power 1/7). The momentum thickness theta is that of the
    films: r rho_e u_e theta = 0.664 sqrt(integral of rho* mu* u r^2 ds) laminar and
    0.037 mu*^-0.6 (integral of rho* mu* u r^(5/4) ds)^0.8 turbulent, at the reference enthalpy with the wall
    half way between the air and the recovery temperature. Turbulent takes in no less than laminar.

    ``pressure`` [Pa], ``speed`` [m/s] and ``enthalpy`` [J/kg] (n_t, n_s) of the edge.

    Valid where the pressure changes slowly; the height goes with the square root of the mass, so its error is
    half of the layer's.

    Source: a mass balance; the thicknesses of any textbook (Schlichting, from memory); Eckert 1955,
    J. Aero. Sci. 22, 585.

    Mach 3 at 10 km, sharp 10 degree cone, s = 0.1 m: rho* mu* = 8.4e-6, u = 864, integral 7.1e-8:
    4.8 x 0.664 x 2.67e-4 = 8.5e-4 kg/s in a radian, y^2 = 2 x 8.5e-4/(0.4135 x 898.6), y = 2.14 mm.

    >>> from optitip.heating.stream import stations_of, stream_of
    >>> from optitip.properties.air import CALORIC_AIR as gas
    >>> air = stream_of(speed=[898.6], temperature=[223.252], pressure=[26499.9], gas=gas)
    >>> s = np.linspace(0.0, 0.1, 41)
    >>> cone = stations_of(arc_length=s, radius=0.17365 * s, slope=np.full(41, 0.174533), tip_radius=1e-6)
    >>> edge = np.ones((1, 41))
    >>> y = swallowed_height(41105.0 * edge, speed=864.4 * edge, enthalpy=gas.enthalpy(253.2) * edge,
    ...     stream=air, stations=cone, gas=gas, layer=Layer.LAMINAR)
    >>> float(y[0, -1].round(5))
    0.00214
    """
    recovery = stream.total_enthalpy[:, None] - (1.0 - gas.prandtl**0.5) * 0.5 * speed * speed
    wall = 0.5 * (gas.enthalpy(stream.temperature)[:, None] + recovery)
    T = gas.temperature(reference_enthalpy(enthalpy, recovery=recovery, wall=wall))
    mu = gas.viscosity(T)
    flux = pressure / (gas.gas_constant * T) * mu * speed
    mass = _LAMINAR_MASS * np.sqrt(flux @ stations.laminar_growth.T)
    if layer is Layer.TURBULENT:
        turbulent = _TURBULENT_MASS * mu**-0.6 * (flux @ stations.turbulent_growth.T) ** 0.8
        mass = np.maximum(mass, turbulent)
    slowest = _SLOWEST * gas.sound_speed(stream.temperature)
    ahead = stream.pressure / (gas.gas_constant * stream.temperature) * np.maximum(stream.speed, slowest)
    height: FloatArray = np.sqrt(2.0 * mass / ahead[:, None])
    return height
