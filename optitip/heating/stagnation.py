"""The laminar film: at the stagnation point, round the tip, and on to the side."""

import numpy as np
from numpy.typing import ArrayLike

from optitip.arrays import FloatArray
from optitip.heating.edge import Edge
from optitip.heating.film import (
    laminar_parts,
    laminar_plate_film,
    laminar_shoulder_film,
    mean_specific_heat,
)
from optitip.heating.pressure import smooth_step
from optitip.heating.stream import Stations, Stream
from optitip.properties.air import Gas

_PLATE_BY = 3.0  # tip radii aft of the tip by which the film round the nose has given way to the plate's


def stagnation_film(stream: Stream, *, edge: Edge, wall: ArrayLike, gas: Gas) -> FloatArray:
    """Return the laminar film coefficient (n_t, n_w) [W/(m2 K)] at the stagnation point.

    q = 0.763 Pr^-0.6 (rho_e mu_e)^0.4 (rho_w mu_w)^0.1 (h0 - hw) sqrt(K), and h = q/(T0 - Tw), with the
    velocity gradient K = ``edge.velocity_gradient``. Positive: the air at T0 heats a colder wall.

    ``wall`` (n_w,) [K]; ``edge`` gives the stagnation pressure and K (n_t,).

    Valid for undissociated air (the term of the Lewis number is zero) and Mach 0 to 5; zero at rest.

    Source: Fay & Riddell 1958, J. Aero. Sci. 25, 73, equation 63 with the Lewis term zero.

    >>> from optitip.heating.edge import edge_state
    >>> from optitip.heating.stream import stations_of, stream_of
    >>> from optitip.properties.air import CALORIC_AIR
    >>> air = stream_of(speed=[898.6], temperature=[223.252], pressure=[26499.9], gas=CALORIC_AIR)
    >>> tip = stations_of(arc_length=[0.0], radius=[0.0], slope=[1.5708], tip_radius=0.01)
    >>> film = stagnation_film(air, edge=edge_state(air, stations=tip, gas=CALORIC_AIR), wall=[300.0],
    ...     gas=CALORIC_AIR)
    >>> film.round(-1)  # T0 625 K, pt2 319.6 kPa: 0.763 Pr^-.6 (5.6e-5)^.4 (6.8e-5)^.1 cp sqrt(56700)
    array([[1710.]])
    """
    Tw = np.asarray(wall, dtype=np.float64)
    pt, h0 = edge.stagnation_pressure, stream.total_enthalpy
    T0 = gas.temperature(h0)
    rho_mu_e = pt / (gas.gas_constant * T0) * gas.viscosity(T0)
    rho_mu_w = pt[:, None] / (gas.gas_constant * Tw) * gas.viscosity(Tw)
    conductance = (
        0.763 * gas.prandtl**-0.6 * (rho_mu_e**0.4 * np.sqrt(edge.velocity_gradient))[:, None] * rho_mu_w**0.1
    )
    film: FloatArray = conductance * mean_specific_heat(
        T0[:, None], gas.enthalpy(T0)[:, None], Tw, gas.enthalpy(Tw), gas=gas
    )
    return film


def round_the_tip(edge: Edge, *, stations: Stations) -> FloatArray:
    """Return the film over that at the stagnation point (n_t, n_s) by local similarity.

    h/h(0) = (1/2) p u r/sqrt(p0 K I), I = integral of p u r^2 ds, the products rho mu being taken
    proportional to the pressure. One at the stagnation point itself.

    ``edge`` has (n_t, n_s) pressures [Pa] and speeds [m/s]; the ratio is dimensionless.

    Valid where the pressure falls, so on the sphere; it reads up to 25 % low at a shoulder (Kemp, Rose &
    Detra 1959), where the law of the plate is the floor.

    Source: Lees 1956, Jet Propulsion 26, 259.

    >>> from optitip.heating.edge import edge_state
    >>> from optitip.heating.stream import stations_of, stream_of
    >>> from optitip.properties.air import CALORIC_AIR
    >>> air = stream_of(speed=[898.6], temperature=[223.252], pressure=[26499.9], gas=CALORIC_AIR)
    >>> angle = np.linspace(0.0, 1.5, 31)
    >>> sphere = stations_of(arc_length=0.01 * angle, radius=0.01 * np.sin(angle), slope=np.pi / 2 - angle,
    ...     tip_radius=0.01)
    >>> shape = round_the_tip(edge_state(air, stations=sphere, gas=CALORIC_AIR), stations=sphere)
    >>> shape[0, [0, 15]].round(2)  # at 0.75 rad: 0.574 x 0.748 x 0.682/(2 sqrt(0.0493))
    array([1.  , 0.66])
    """
    flux = edge.pressure * edge.speed
    integral = stations.laminar_growth @ flux[..., None]
    at_stagnation = (edge.stagnation_pressure * edge.velocity_gradient)[:, None]
    below = 4.0 * at_stagnation * integral[..., 0]
    shape: FloatArray = np.divide(
        flux * stations.radius, np.sqrt(below), out=np.ones_like(flux), where=below > 0.0
    )
    return shape


def laminar_film(stream: Stream, *, edge: Edge, stations: Stations, wall: FloatArray, gas: Gas) -> FloatArray:
    """Return the laminar film (n_t, n_s, n_w) [W/(m2 K)] from the stagnation point to the side.

    On the tip h = max(h(0) shape, floor): Fay-Riddell's with Lees's distribution, and the shoulder's floor;
    along the side the plate's law with Mangler's integral; what the former has over the latter fades over
    three tip radii aft of the tip. Positive: air hotter than the wall heats it.

    ``wall`` (n_w,) [K]; ``stream``, ``edge`` and ``stations`` belong together.

    Valid from Mach 0 to 5.

    Source: Fay & Riddell 1958, J. Aero. Sci. 25, 73; Lees 1956, Jet Propulsion 26, 259; the floor
    after Kemp, Rose & Detra 1959; the fading: no source.

    >>> from optitip.heating.edge import edge_state
    >>> from optitip.heating.stream import stations_of, stream_of
    >>> from optitip.properties.air import CALORIC_AIR
    >>> air = stream_of(speed=[898.6], temperature=[223.252], pressure=[26499.9], gas=CALORIC_AIR)
    >>> tip = stations_of(arc_length=[0.0], radius=[0.0], slope=[1.5708], tip_radius=0.01)
    >>> edge = edge_state(air, stations=tip, gas=CALORIC_AIR)
    >>> laminar_film(air, edge=edge, stations=tip, wall=[300.0], gas=CALORIC_AIR).round(-1)  # Fay-Riddell
    array([[[1710.]]])
    """
    parts = laminar_parts(stream, edge=edge, wall=wall, gas=gas)
    plate = laminar_plate_film(stream, edge=edge, stations=stations, wall=wall, gas=gas, parts=parts)
    reach = _PLATE_BY * stations.tip_radius
    nose = 1.0 - smooth_step((stations.arc_length - stations.joint_arc) / reach)
    near = int(np.searchsorted(-nose, 0.0))  # it only falls aft
    at_point = stagnation_film(stream, edge=edge, wall=wall, gas=gas)
    shape = round_the_tip(edge, stations=stations)[:, :near, None]
    floor = laminar_shoulder_film(
        stream, edge=edge, stations=stations, wall=wall, gas=gas, parts=parts, count=near
    )
    over = np.maximum(at_point[:, None, :] * shape, floor, out=floor)
    over -= plate[:, :near]
    np.maximum(over, 0.0, out=over)
    over *= nose[:near, None]
    plate[:, :near] += over
    return plate
