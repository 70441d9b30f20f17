"""Film coefficients and recovery temperatures along the surface, laminar and turbulent.

Both films take the gas's properties at Eckert's reference enthalpy, which holds the wall's own, so that the
film follows the wall's temperature. Both reckon the boundary layer's growth as an integral along the
outline, with the wall at one temperature from the tip to the station.
"""

import numpy as np
from numpy.typing import ArrayLike

from optitip.arrays import FloatArray
from optitip.heating.edge import Edge
from optitip.heating.integrals import momentum_reynolds, weighted_integral
from optitip.heating.pressure import smooth_step
from optitip.heating.reference import reference_enthalpy
from optitip.heating.stream import Stations, Stream
from optitip.properties.air import Gas

_BLEND_FROM, _BLEND_TO = 1e7, 3e7  # local Reynolds number: from the power law to Schultz-Grunow's
_SAME = 0.5  # K: closer than this, the specific heat at the mean replaces the difference quotient


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
    gap = recovery - wall
    close = np.abs(gap) < _SAME
    mean: FloatArray = (recovery_level - wall_level) / np.where(close, 1.0, gap)
    if close.any():
        middle = np.broadcast_to(0.5 * (recovery + wall), close.shape)
        mean[close] = gas.specific_heat(middle[close])
    return mean


def laminar_plate_film(
    stream: Stream, *, edge: Edge, stations: Stations, wall: ArrayLike, gas: Gas
) -> FloatArray:
    """Return the laminar film coefficient (n_t, n_s, n_w) [W/(m2 K)] by the law of the flat plate.

    St* = 0.332 Re*^-1/2 Pr^-2/3 made axisymmetric by Mangler's integral:
    h = 0.332 Pr^-2/3 cp rho* mu* u r/sqrt(integral of rho* mu* u r^2 ds), starred at the reference enthalpy
    h* = (he + hw)/2 + 0.22 (haw - he). That is sqrt(3) times the plate on a cone.
    Positive: air at the recovery temperature heats a colder wall.

    ``wall`` (n_w,) [K].

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
    rho_mu, conductance = _laminar_parts(stream, edge=edge, wall=wall, gas=gas)
    flux = rho_mu * edge.speed[..., None]
    integral = weighted_integral(stations.arc_length, stations.radius, exponent=2.0) @ flux
    # at the stagnation point u = K s and r = s, so the quotient tends to 2 sqrt(rho mu K)
    limit = 2.0 * np.sqrt(rho_mu * edge.velocity_gradient[:, None, None])
    growth = np.divide(flux * stations.radius[:, None], np.sqrt(integral), out=limit, where=integral > 0.0)
    return conductance * growth


def laminar_shoulder_film(
    stream: Stream, *, edge: Edge, stations: Stations, wall: ArrayLike, gas: Gas
) -> FloatArray:
    """Return the laminar film coefficient (n_t, n_s, n_w) [W/(m2 K)] that holds at least round a tip.

    h = sqrt(2) 0.332 Pr^-2/3 cp sqrt(rho* mu* u/s): the plate at its local state, with the axisymmetric
    factor of a hemisphere's shoulder. Positive: air at the recovery temperature heats a colder wall.

    ``wall`` (n_w,) [K].

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
    rho_mu, conductance = _laminar_parts(stream, edge=edge, wall=wall, gas=gas)
    gradient = edge.velocity_gradient[:, None] * np.ones_like(edge.speed)
    s = np.broadcast_to(stations.arc_length, edge.speed.shape)
    np.divide(edge.speed, s, out=gradient, where=s > 0.0)
    return conductance * np.sqrt(2.0 * rho_mu * gradient[..., None])


def _laminar_parts(stream: Stream, *, edge: Edge, wall: ArrayLike, gas: Gas) -> tuple[FloatArray, FloatArray]:
    """Return rho* mu* and 0.332 Pr^-2/3 cp, both (n_t, n_s, n_w)."""
    Tw = np.asarray(wall, dtype=np.float64)
    haw = recovery_enthalpy(stream, edge=edge, factor=gas.prandtl**0.5)
    rho_mu, _ = _at_reference(edge, haw=haw, wall=Tw, gas=gas)
    Taw = gas.temperature(haw)
    cp = mean_specific_heat(Taw[..., None], haw[..., None], Tw, gas.enthalpy(Tw), gas=gas)
    return rho_mu, 0.332 * gas.prandtl ** (-2.0 / 3.0) * cp


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
    rho_mu, mu = _at_reference(edge, haw=haw, wall=Tw, gas=gas)
    flux = rho_mu * edge.speed[..., None]
    reynolds = momentum_reynolds(flux, viscosity=mu, arc_length=stations.arc_length, radius=stations.radius)
    Taw = gas.temperature(haw)
    cp = mean_specific_heat(Taw[..., None], haw[..., None], Tw, gas.enthalpy(Tw), gas=gas)
    film: FloatArray = flux / mu * turbulent_stanton(reynolds, prandtl=gas.prandtl) * cp
    return film


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
    stanton = 0.0296 * Re**-0.2
    high = Re > _BLEND_FROM
    if high.any():
        above = np.where(high, Re, _BLEND_FROM)
        share = smooth_step(np.log(above / _BLEND_FROM) / np.log(_BLEND_TO / _BLEND_FROM))
        stanton = stanton + share * (0.185 * np.log10(above) ** -2.584 - stanton)
    return np.asarray(stanton * prandtl ** (-2.0 / 3.0), dtype=np.float64)


def _at_reference(
    edge: Edge, *, haw: FloatArray, wall: FloatArray, gas: Gas
) -> tuple[FloatArray, FloatArray]:
    """Return rho* mu* and mu* (n_t, n_s, n_w) at the reference enthalpy."""
    level = reference_enthalpy(edge.enthalpy[..., None], recovery=haw[..., None], wall=gas.enthalpy(wall))
    T = gas.temperature(level)
    mu = gas.viscosity(T)
    return (edge.pressure / gas.gas_constant)[..., None] * mu / T, mu
