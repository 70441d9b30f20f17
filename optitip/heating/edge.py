"""The state of the air at the edge of the boundary layer, along the surface and in time.

Pressure: ``heating/pressure.py``. Entropy: of the air that the boundary layer has come to at its edge, which
crossed the blunt tip's shock near the axis at first and further out later (``heating/swallowing.py``); so it
depends on how much air the layer takes in. Temperature: from the total enthalpy, with the gas's own cp(T).
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from optitip.arrays import FloatArray
from optitip.heating.compressible import (
    GAMMA,
    log_shock_loss,
    log_total_pressure,
    mach_from_log_total_pressure,
    pitot_pressure_ratio,
    temperature_ratio,
)
from optitip.heating.pressure import SLOWEST_MACH, gradient_factor, pressure_and_loss, smooth_step
from optitip.heating.stream import Stations, Stream
from optitip.heating.swallowing import Layer, bow_shock_loss, swallowed_height
from optitip.properties.air import Gas


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Edge:
    """The air at the edge of the boundary layer; every array is (n_t, n_s) but where it says so."""

    pressure: FloatArray
    """[Pa]"""
    temperature: FloatArray
    """[K]"""
    enthalpy: FloatArray
    """[J/kg]"""
    speed: FloatArray
    """[m/s]"""
    mach: FloatArray
    """of the isentropic expansion to the pressure, gamma 1.4"""
    reynolds: FloatArray
    """rho u s/mu with the arc length from the stagnation point"""
    stagnation_pressure: FloatArray
    """(n_t,) [Pa] at the stagnation point"""
    velocity_gradient: FloatArray
    """(n_t,) [1/s] du/ds at the stagnation point"""


def edge_state(stream: Stream, *, stations: Stations, gas: Gas, layer: Layer = Layer.LAMINAR) -> Edge:
    """Return the boundary layer's edge at each time and station: pressure [Pa], speed [m/s] and the rest.

    The same as ``edge_states``, for one kind of ``layer``.

    pe = p (1 + 0.7 M^2 Cp).

    Valid as ``edge_states``.

    Source: as ``edge_states``.

    >>> from optitip.heating.stream import stations_of, stream_of
    >>> from optitip.properties.air import CALORIC_AIR
    >>> air = stream_of(speed=[898.6], temperature=[223.252], pressure=[26499.9], gas=CALORIC_AIR)
    >>> cone = stations_of(arc_length=[0.1, 0.3], radius=[0.0174, 0.0521], slope=[0.174533] * 2,
    ...     tip_radius=1e-6)
    >>> edge_state(air, stations=cone, gas=CALORIC_AIR).temperature.round(1)  # 1.13408 x 223.252
    array([[253.2, 253.2]])
    """
    return edge_states(stream, stations=stations, gas=gas)[layer]


def edge_states(
    stream: Stream, *, stations: Stations, gas: Gas, layers: Sequence[Layer] = tuple(Layer)
) -> dict[Layer, Edge]:
    """Return the edge under a laminar and under a turbulent layer: pressure [Pa], speed [m/s] and the rest.

    pe = p (1 + 0.7 M^2 Cp); u/V from the isentropic expansion of the edge's total pressure to pe at gamma
    1.4; he = h0 - u^2/2 and Te = T(he) with the gas's cp(T); Re = rho u s/mu. The total pressure's loss is
    that of the bow shock at the radius of the stream tube which fills the layer: the laminar one's reckoned
    from the edge behind a normal shock, the turbulent one's from the laminar edge. A second round moves the
    edge's Reynolds number by 1.3 % at Mach 3 and 4 % at Mach 5.

    ``stream`` has n_t times, with speed [m/s], temperature [K] and pressure [Pa]; ``stations`` n_s points,
    with arc length [m] and slope [rad]. ``layers`` are the ones wanted, the laminar first, which the
    turbulent one is reckoned from.

    Valid from Mach 0 to 5; above raises OutOfRange. Continuum flow: at 30 km and 0.1 m Kn is 4e-5. The
    boundary layer's own thickness and the angle of attack are left out.

    Source: pressure as in ``pressure_coefficient``; mass balance of the layer as in ``swallowed_height``;
    shock of Billig 1967 (from memory).

    Mach 3 at 10 km, cone of 10 degrees with a 3 mm tip, 100 mm of arc: the laminar layer takes in 2.2 mm of
    the stream, whose shock loses 56 % of the total pressure (a normal shock 67 %), the turbulent one 6 mm:

    >>> from optitip.heating.stream import stations_of, stream_of
    >>> from optitip.properties.air import CALORIC_AIR
    >>> air = stream_of(speed=[898.6], temperature=[223.252], pressure=[26499.9], gas=CALORIC_AIR)
    >>> s = 0.2 * np.linspace(0.0, 1.0, 81) ** 2
    >>> angle = np.minimum(s / 0.003, np.radians(80.0))
    >>> cone = stations_of(arc_length=s, radius=0.003 * np.sin(angle) + 0.1736 * np.maximum(s - 0.00419, 0.0),
    ...     slope=np.pi / 2 - angle, tip_radius=0.003)
    >>> edges = edge_states(air, stations=cone, gas=CALORIC_AIR)
    >>> [edges[layer].speed[0, 57].round() for layer in Layer]  # behind a normal shock 746, on the cone 864
    [np.float64(781.0), np.float64(839.0)]
    """
    M = np.maximum(stream.mach, SLOWEST_MACH)[:, None]
    cp, sharp_loss = pressure_and_loss(stream.mach, stations=stations)
    pe = stream.pressure[:, None] * (1.0 + 0.5 * GAMMA * (stream.mach**2)[:, None] * cp)
    # to the pressure on the surface from the total one, ln, before any loss
    expansion = log_total_pressure(M) - np.log1p(0.5 * GAMMA * (M * M) * cp)
    normal = log_shock_loss(M)
    # at the stagnation point itself the velocity gradient is the one of a normal shock's total pressure
    begun = smooth_step(stations.arc_length / max(stations.joint_arc, 1e-12))
    u = _speed(stream, expansion=expansion + normal)
    found = {}
    for layer in layers:
        height = swallowed_height(
            pe,
            speed=u,
            enthalpy=stream.total_enthalpy[:, None] - 0.5 * u * u,
            stream=stream,
            stations=stations,
            gas=gas,
            layer=layer,
        )
        # the shock at that radius is held by the surface at or ahead of that radius
        far = _at_radius(height, stations=stations, values=sharp_loss)
        height /= stations.tip_radius
        loss = bow_shock_loss(M, height=height, far_loss=far)
        loss -= normal
        loss *= begun
        loss += expansion + normal
        u = _speed(stream, expansion=loss)
        mach = mach_from_log_total_pressure(loss)
        found[layer] = _edge(stream, stations=stations, gas=gas, pressure=pe, speed=u, mach=mach)
    return found


def _at_radius(height: FloatArray, *, stations: Stations, values: FloatArray) -> FloatArray:
    """Return the values (n_t, n_s) where the radius is the height, or at the own station if that is aft."""
    reach = np.maximum.accumulate(stations.radius)
    own = np.arange(reach.size)
    place = np.minimum(np.interp(height, reach, own), own)
    left = np.minimum(place.astype(np.int64), max(reach.size - 2, 0))
    place -= left
    left += own.size * np.arange(len(values))[:, None]
    before = values.take(left)
    found: FloatArray = values.take(left + min(1, reach.size - 1))
    found -= before
    found *= place
    found += before
    return found


def _speed(stream: Stream, *, expansion: FloatArray) -> FloatArray:
    """Return the speed after an expansion, ln(p0/p), from the stream's total enthalpy."""
    M = np.maximum(stream.mach, SLOWEST_MACH)
    # u^2 over the greatest speed squared is 1 - T/T0 on either side
    share = -np.expm1(np.maximum(expansion, 0.0) * ((1.0 - GAMMA) / GAMMA))
    share *= (stream.speed**2 / (1.0 - temperature_ratio(M)))[:, None]
    return np.sqrt(share)


def _edge(
    stream: Stream,
    *,
    stations: Stations,
    gas: Gas,
    pressure: FloatArray,
    speed: FloatArray,
    mach: FloatArray,
) -> Edge:
    he = stream.total_enthalpy[:, None] - 0.5 * speed * speed
    Te = gas.temperature(he)
    unit = pressure * speed
    unit /= Te * gas.viscosity(Te)
    unit *= stations.arc_length / gas.gas_constant
    return Edge(
        pressure=pressure,
        temperature=Te,
        enthalpy=he,
        speed=speed,
        mach=mach,
        reynolds=unit,
        stagnation_pressure=stream.pressure * pitot_pressure_ratio(stream.mach),
        velocity_gradient=gradient_factor(stream.mach) * stream.speed / stations.tip_radius,
    )
