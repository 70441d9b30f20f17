"""Film coefficients and recovery temperatures along the surface, laminar and turbulent.

Both films take the gas's properties at Eckert's reference enthalpy, which holds the wall's own, so that the
film follows the wall's temperature. Both reckon the boundary layer's growth as an integral along the
outline, with the wall at one temperature from the tip to the station.
"""

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from optitip.arrays import FloatArray
from optitip.heating.edge import Edge
from optitip.heating.integrals import momentum_reynolds
from optitip.heating.pressure import smooth_step
from optitip.heating.reference import reference_enthalpy
from optitip.heating.stream import Stations, Stream
from optitip.properties.air import Gas

_BLEND_FROM, _BLEND_TO = 1e7, 3e7  # local Reynolds number: from the power law to Schultz-Grunow's
_SAME = 0.5  # K: closer than this, the specific heat at the mean replaces the difference quotient


class LaminarParts(NamedTuple):
    """What the laminar laws have in common, both (n_t, n_s, n_w)."""

    rho_mu: FloatArray
    """[kg2/(m4 s)] rho* mu*"""
    conductance: FloatArray
    """[J/(kg K)] 0.332 Pr^-2/3 cp"""


def recovery_enthalpy(stream: Stream, *, edge: Edge, factor: float) -> FloatArray:
    """Return the recovery enthalpy (n_t, n_s) [J/kg]: haw = he + r u^2/2.

    ``factor`` r is Pr^(1/2) in laminar, Pr^(1/3) in turbulent flow.

    Valid for attached boundary layers; measured 0.823 to 0.840 laminar (0.843 here), 0.89 turbulent.

    Source: Eckert 1955, J. Aero. Sci. 22, 585; Stine & Wanlass 1954, NACA TN 3344.

    >>> from optitip.heating.edge import edge_state
    >>> from optitip.heating.stream import stations_of, stream_of
    >>> from optitip.properties.air import CALORIC_AIR
    >>> air = stream_of(speed=[898.6], temperature=[223.252], pressure=[26499.9], gas=CALORIC_AIR)
    >>> plate = stations_of(arc_length=[0.1, 0.3], radius=[1.0, 1.0], slope=[0.0, 0.0], tip_radius=1e-3)
    >>> edge = edge_state(air, stations=plate, gas=CALORIC_AIR)
    >>> CALORIC_AIR.temperature(recovery_enthalpy(air, edge=edge, factor=0.8426)[0, 1]).round(1)
    np.float64(561.9)
    """
    h0 = stream.total_enthalpy[:, None]
    return h0 - (1.0 - factor) * (h0 - edge.enthalpy)


def mean_specific_heat(
    recovery: FloatArray, recovery_level: FloatArray, wall: FloatArray, wall_level: FloatArray, *, gas: Gas
) -> FloatArray:
    """Return the mean cp = (haw - hw)/(Taw - Tw) [J/(kg K)]: an enthalpy's film into a temperature's.

    ``recovery`` [K] and ``wall`` [K] with their enthalpies ``recovery_level`` and ``wall_level`` [J/kg], of
    shapes that broadcast. Within 0.5 K of each other it is cp at their mean.

    Valid in the gas's range.

    Source: the definition of a mean.

    >>> from optitip.properties.air import CALORIC_AIR as gas
    >>> T, Tw = np.array([500.0, 300.0]), np.array([300.0, 300.0])
    >>> mean_specific_heat(T, gas.enthalpy(T), Tw, gas.enthalpy(Tw), gas=gas).round(2)  # constant cp
    array([1004.69, 1004.69])
    """
    gap = np.asarray(recovery - wall)
    close = np.flatnonzero(np.abs(gap) < _SAME)
    gap.flat[close] = 1.0
    mean = np.asarray(recovery_level - wall_level)
    mean /= gap
    if close.size:
        middle = np.broadcast_to(0.5 * (recovery + wall), gap.shape)
        mean.flat[close] = gas.specific_heat(middle.flat[close])
    return mean


def laminar_plate_film(
    stream: Stream,
    *,
    edge: Edge,
    stations: Stations,
    wall: ArrayLike,
    gas: Gas,
    parts: LaminarParts | None = None,
) -> FloatArray:
    """Return the laminar film coefficient (n_t, n_s, n_w) [W/(m2 K)] by the law of the flat plate.

    St* = 0.332 Re*^-1/2 Pr^-2/3 made axisymmetric by Mangler's integral:
    h = 0.332 Pr^-2/3 cp rho* mu* u r/sqrt(integral of rho* mu* u r^2 ds), starred at the reference enthalpy
    h* = (he + hw)/2 + 0.22 (haw - he). That is sqrt(3) times the plate on a cone.
    Positive: air at the recovery temperature heats a colder wall.

    ``wall`` (n_w,) [K]; ``parts`` is what ``laminar_parts`` returns for the same arguments, if at hand.

    Valid where the pressure changes slowly (13 % low at a stagnation point); scatter +-10 %.

    Source: Eckert 1955, J. Aero. Sci. 22, 585; Mangler's integral as in Lees 1956, Jet Propulsion 26, 259.

    >>> from optitip.heating.edge import edge_state
    >>> from optitip.heating.stream import stations_of, stream_of
    >>> from optitip.properties.air import CALORIC_AIR
    >>> air = stream_of(speed=[898.6], temperature=[223.252], pressure=[26499.9], gas=CALORIC_AIR)
    >>> plate = stations_of(arc_length=[0.0, 1e-6, 0.3], radius=[1.0] * 3, slope=[0.0] * 3, tip_radius=1e-9)
    >>> edge = edge_state(air, stations=plate, gas=CALORIC_AIR)
    >>> film = laminar_plate_film(air, edge=edge, stations=plate, wall=[300.0], gas=CALORIC_AIR)
    >>> film[0, 2].round(1)  # published worked figure 53.9
    array([53.9])
    """
    rho_mu, conductance = laminar_parts(stream, edge=edge, wall=wall, gas=gas) if parts is None else parts
    flux = rho_mu * edge.speed[..., None]
    integral = stations.laminar_growth @ flux
    # at the stagnation point u = K s and r = s, so the quotient tends to 2 sqrt(rho mu K)
    at_point = integral <= 0.0
    np.copyto(integral, 1.0, where=at_point)
    np.sqrt(integral, out=integral)
    flux *= stations.radius[:, None]
    flux /= integral
    if at_point.any():
        row = np.nonzero(at_point)[0]
        flux[at_point] = 2.0 * np.sqrt(rho_mu[at_point] * edge.velocity_gradient[row])
    flux *= conductance
    return flux


def laminar_shoulder_film(
    stream: Stream,
    *,
    edge: Edge,
    stations: Stations,
    wall: ArrayLike,
    gas: Gas,
    parts: LaminarParts | None = None,
    count: int | None = None,
) -> FloatArray:
    """Return the laminar film coefficient (n_t, n_s, n_w) [W/(m2 K)] that holds at least round a tip.

    h = sqrt(2) 0.332 Pr^-2/3 cp sqrt(rho* mu* u/s): the plate at its local state, with the axisymmetric
    factor of a hemisphere's shoulder. Positive: air at the recovery temperature heats a colder wall.

    ``wall`` (n_w,) [K]; ``parts`` is what ``laminar_parts`` returns for the same arguments, if at hand;
    ``count`` of the foremost stations alone.

    Valid as a floor on a round tip, where local similarity reads up to 25 % low at the shoulder.

    Source: Eckert 1955, J. Aero. Sci. 22, 585; measured by Stine & Wanlass 1954, NACA TN 3344.

    >>> from optitip.heating.edge import edge_state
    >>> from optitip.heating.stream import stations_of, stream_of
    >>> from optitip.properties.air import CALORIC_AIR
    >>> air = stream_of(speed=[898.6], temperature=[223.252], pressure=[26499.9], gas=CALORIC_AIR)
    >>> plate = stations_of(arc_length=[0.0, 1e-6, 0.3], radius=[1.0] * 3, slope=[0.0] * 3, tip_radius=1e-9)
    >>> edge = edge_state(air, stations=plate, gas=CALORIC_AIR)
    >>> film = laminar_shoulder_film(air, edge=edge, stations=plate, wall=[300.0], gas=CALORIC_AIR)
    >>> film[0, 2].round(1)  # sqrt(2) x 53.9
    array([76.3])
    """
    rho_mu, conductance = laminar_parts(stream, edge=edge, wall=wall, gas=gas) if parts is None else parts
    s = stations.arc_length[:count]
    gradient = edge.speed[:, :count] / np.where(s > 0.0, s, 1.0)
    gradient[:, s <= 0.0] = edge.velocity_gradient[:, None]
    film = rho_mu[:, :count] * (2.0 * gradient)[..., None]
    np.sqrt(film, out=film)
    film *= conductance[:, :count]
    return film


def laminar_parts(stream: Stream, *, edge: Edge, wall: ArrayLike, gas: Gas) -> LaminarParts:
    """Return rho* mu* [kg2/(m4 s)] and 0.332 Pr^-2/3 cp [J/(kg K)], which both laminar laws take.

    rho* mu* at h* = (he + hw)/2 + 0.22 (haw - he), cp = (haw - hw)/(Taw - Tw).

    ``wall`` (n_w,) [K]; both results are (n_t, n_s, n_w).

    Valid as ``laminar_plate_film``.

    Source: Eckert 1955, J. Aero. Sci. 22, 585.

    >>> from optitip.heating.edge import edge_state
    >>> from optitip.heating.stream import stations_of, stream_of
    >>> from optitip.properties.air import CALORIC_AIR
    >>> air = stream_of(speed=[898.6], temperature=[223.252], pressure=[26499.9], gas=CALORIC_AIR)
    >>> plate = stations_of(arc_length=[0.1, 0.3], radius=[1.0, 1.0], slope=[0.0, 0.0], tip_radius=1e-9)
    >>> edge = edge_state(air, stations=plate, gas=CALORIC_AIR)
    >>> parts = laminar_parts(air, edge=edge, wall=[300.0], gas=CALORIC_AIR)
    >>> parts.conductance[0, 1].round(1)  # 0.332 x 1.2565 x 1004.7
    array([419.1])
    """
    Tw = np.asarray(wall, dtype=np.float64)
    haw = recovery_enthalpy(stream, edge=edge, factor=gas.prandtl**0.5)
    rho_mu, _ = _at_reference(edge, haw=haw, wall=Tw, gas=gas)
    Taw = gas.temperature(haw)
    cp = mean_specific_heat(Taw[..., None], haw[..., None], Tw, gas.enthalpy(Tw), gas=gas)
    cp *= 0.332 * gas.prandtl ** (-2.0 / 3.0)
    return LaminarParts(rho_mu, cp)


def turbulent_plate_film(
    stream: Stream, *, edge: Edge, stations: Stations, wall: ArrayLike, gas: Gas
) -> FloatArray:
    """Return the turbulent film coefficient (n_t, n_s, n_w) [W/(m2 K)], grown from the tip on.

    St* = 0.0296 Re*^-0.2 Pr^-2/3, passing between Re* = 1e7 and 3e7 to 0.185 (log10 Re*)^-2.584 Pr^-2/3; the
    Reynolds number by the momentum integral: Re* = integral of rho* mu* u r^(5/4) ds/(mu*^2 r^(5/4)), which
    makes it (9/4)^0.2 = 1.176 times the plate on a cone. Starred at the reference enthalpy
    h* = (he + hw)/2 + 0.22 (haw - he). Positive: air at the recovery temperature heats a colder wall.

    ``wall`` (n_w,) [K].

    Valid 5e5 < Re* < 1e9; below, it falls under the laminar film, which is then the one to take. Scatter
    +-15 to 20 %. The cone's factor is also published as 2^0.2 = 1.149, 2.4 % lower.

    Source: Eckert 1955, J. Aero. Sci. 22, 585; Schultz-Grunow 1940; the integral's form with rho mu u as in
    Vaglio-Laurin, from memory.

    >>> from optitip.heating.edge import edge_state
    >>> from optitip.heating.stream import stations_of, stream_of
    >>> from optitip.properties.air import CALORIC_AIR
    >>> air = stream_of(speed=[898.6], temperature=[223.252], pressure=[26499.9], gas=CALORIC_AIR)
    >>> plate = stations_of(arc_length=[0.0, 1e-6, 0.3], radius=[1.0] * 3, slope=[0.0] * 3, tip_radius=1e-9)
    >>> edge = edge_state(air, stations=plate, gas=CALORIC_AIR)
    >>> film = turbulent_plate_film(air, edge=edge, stations=plate, wall=[300.0], gas=CALORIC_AIR)
    >>> film[0, 2].round(0)  # published worked figure 444.7
    array([445.])
    """
    Tw = np.asarray(wall, dtype=np.float64)
    haw = recovery_enthalpy(stream, edge=edge, factor=gas.prandtl ** (1.0 / 3.0))
    flux, mu = _at_reference(edge, haw=haw, wall=Tw, gas=gas)
    flux *= edge.speed[..., None]
    reynolds = momentum_reynolds(flux, viscosity=mu, growth=stations.turbulent_growth, radius=stations.radius)
    Taw = gas.temperature(haw)
    flux /= mu
    flux *= turbulent_stanton(reynolds, prandtl=gas.prandtl)
    flux *= mean_specific_heat(Taw[..., None], haw[..., None], Tw, gas.enthalpy(Tw), gas=gas)
    return flux


def turbulent_stanton(reynolds: ArrayLike, *, prandtl: float) -> FloatArray:
    """Return the local Stanton number of a turbulent plate at ``reynolds``, of any shape, both dimensionless.

    0.0296 Re^-0.2 Pr^-2/3 up to 1e7, 0.185 (log10 Re)^-2.584 Pr^-2/3 from 3e7, blended in log Re between them
    (switched at 1e7 the two jump by 2.8 %).

    Valid 5e5 to 1e9; no limit is enforced.

    Source: Eckert 1955, J. Aero. Sci. 22, 585; Schultz-Grunow 1940, both with Colburn's Pr^-2/3.

    >>> f"{float(turbulent_stanton(1e6, prandtl=1.0)):.3e}"  # 0.0296/15.85
    '1.868e-03'
    """
    Re = np.asarray(reynolds, dtype=np.float64)
    stanton = np.asarray(0.0296 * Re**-0.2)
    high = Re > _BLEND_FROM
    if high.any():
        above, power_law = Re[high], stanton[high]
        share = smooth_step(np.log(above / _BLEND_FROM) / np.log(_BLEND_TO / _BLEND_FROM))
        stanton[high] = power_law + share * (0.185 * np.log10(above) ** -2.584 - power_law)
    stanton *= prandtl ** (-2.0 / 3.0)
    return stanton


def _at_reference(
    edge: Edge, *, haw: FloatArray, wall: FloatArray, gas: Gas
) -> tuple[FloatArray, FloatArray]:
    """Return rho* mu* and mu* (n_t, n_s, n_w) at the reference enthalpy."""
    level = reference_enthalpy(edge.enthalpy[..., None], recovery=haw[..., None], wall=gas.enthalpy(wall))
    T = gas.temperature(level)
    mu = gas.viscosity(T)
    rho_mu = mu / T
    rho_mu *= (edge.pressure / gas.gas_constant)[..., None]
    return rho_mu, mu
