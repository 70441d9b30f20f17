"""What the height of the surface's roughness does: where it trips the layer, where it is no longer smooth.

No film is raised for it: how much more heat a rough wall takes up isn't certain enough in print. What is
common ground is used: a height above the first moves the onset, above the second is told.
"""

import numpy as np
from numpy.typing import ArrayLike

from optitip.arrays import FloatArray
from optitip.heating.edge import Edge
from optitip.properties.air import Gas

TRIPS_FROM = 600.0
"""Reynolds number of the height in a laminar layer: Braslow & Knox 1958, NACA TN 4363, from memory."""

SMOOTH_TO = 5.0
"""k+ in a turbulent layer up to which a wall is smooth: Nikuradse 1933, from memory."""


def wall_units(film: ArrayLike, *, edge: Edge, height: float, wall: float, gas: Gas) -> FloatArray:
    """Return k+ = k u_t rho_w/mu_w (n_t, n_s), the dimensionless height of the roughness.

    u_t = sqrt(tau/rho_w), and the friction by Colburn's analogy: tau = film Pr^(2/3) u/cp. In a laminar
    layer the velocity at the height is tau k/mu_w, so that k+^2 is the height's own Reynolds number.

    ``film`` (n_t, n_s) [W/(m2 K)] on a wall of ``wall`` [K]; ``height`` [m] is k, for a turned surface its
    height from peak to valley.

    Valid for roughness well inside the layer, as on a turned or painted tip; no limit is enforced.

    Source: definitions; Colburn's analogy (any textbook).

    >>> from optitip.heating.edge import edge_state
    >>> from optitip.heating.stream import stations_of, stream_of
    >>> from optitip.properties.air import CALORIC_AIR
    >>> air = stream_of(speed=[898.6], temperature=[223.252], pressure=[26499.9], gas=CALORIC_AIR)
    >>> plate = stations_of(arc_length=[0.0, 1e-6, 0.3], radius=[1.0] * 3, slope=[0.0] * 3, tip_radius=1e-9)
    >>> edge = edge_state(air, stations=plate, gas=CALORIC_AIR)
    >>> found = wall_units([[0.0, 0.0, 445.0]], edge=edge, height=1e-5, wall=300.0, gas=CALORIC_AIR)
    >>> found[0, 2].round(1)  # tau 316 Pa, rho 0.308: u_t 32.1 m/s; 1e-5 x 32.1 x 0.308/1.85e-5
    np.float64(5.3)
    """
    h = np.asarray(film, dtype=np.float64)
    friction = h * gas.prandtl ** (2.0 / 3.0) * edge.speed / gas.specific_heat(wall)
    density = edge.pressure / (gas.gas_constant * wall)
    plus: FloatArray = height * np.sqrt(friction * density) / gas.viscosity(wall)
    return plus


def height_reynolds(film: ArrayLike, *, edge: Edge, height: float, wall: float, gas: Gas) -> FloatArray:
    """Return the dimensionless Reynolds number (n_t, n_s) of the roughness in a laminar layer.

    Re_k = rho u k/mu at the wall's temperature, u = tau k/mu the velocity at the height, so Re_k = k+^2; at
    most the edge's velocity, where the height reaches out of the layer.

    Arguments as ``wall_units``, ``film`` [W/(m2 K)] the laminar one.

    Valid as ``wall_units``.

    Source: definitions.

    >>> from optitip.heating.edge import edge_state
    >>> from optitip.heating.stream import stations_of, stream_of
    >>> from optitip.properties.air import CALORIC_AIR
    >>> air = stream_of(speed=[898.6], temperature=[223.252], pressure=[26499.9], gas=CALORIC_AIR)
    >>> plate = stations_of(arc_length=[0.0, 1e-6, 0.3], radius=[1.0] * 3, slope=[0.0] * 3, tip_radius=1e-9)
    >>> edge = edge_state(air, stations=plate, gas=CALORIC_AIR)
    >>> found = height_reynolds([[0.0, 0.0, 53.9]], edge=edge, height=1e-5, wall=300.0, gas=CALORIC_AIR)
    >>> found[0, 2].round(1)  # k+ 5.34 sqrt(53.9/445) = 1.86, squared
    np.float64(3.5)
    """
    plus = wall_units(film, edge=edge, height=height, wall=wall, gas=gas)
    density = edge.pressure / (gas.gas_constant * wall)
    return np.minimum(plus * plus, density * edge.speed * height / gas.viscosity(wall))


def tripped_at(reynolds: ArrayLike, *, arc_length: ArrayLike) -> FloatArray:
    """Return the arc length (n_t,) [m] at which the roughness trips the layer; infinity where it doesn't.

    s = the arc length of the first station with Re_k >= 600.

    ``reynolds`` (n_t, n_s) is the dimensionless ``height_reynolds``, ``arc_length`` (n_s,) [m].

    Valid for grains that stand apart; a close even roughness of the same height trips later.

    Source: Braslow & Knox 1958, NACA TN 4363 (from memory).

    >>> tripped_at([[0.0, 400.0, 900.0], [0.0, 1.0, 2.0]], arc_length=[0.0, 0.1, 0.2])
    array([0.2, inf])
    """
    over = np.asarray(reynolds, dtype=np.float64) >= TRIPS_FROM
    s = np.asarray(arc_length, dtype=np.float64)
    return np.where(over.any(axis=1), s[np.argmax(over, axis=1)], np.inf)


def roughness_warnings(
    reynolds: FloatArray, units: FloatArray, *, height: float, time: FloatArray
) -> tuple[str, ...]:
    """Return what a person should know of a roughness of ``height`` [m], from its Re_k and its k+."""
    found = []
    largest = float(reynolds.max(initial=0.0))
    if largest >= TRIPS_FROM:
        first = time[np.argmax((reynolds >= TRIPS_FROM).any(axis=1))]
        found.append(
            f"the surface's roughness of {1e6 * height:.3g} um trips the boundary layer from {first:.1f} s on"
            f" (Reynolds number of its height {largest:.0f}, limit {TRIPS_FROM:.0f})"
        )
    if units.max(initial=0.0) > SMOOTH_TO:
        found.append(
            f"at {1e6 * height:.3g} um the surface isn't smooth to a turbulent boundary layer: k+ reaches"
            f" {units.max():.0f}, smooth up to {SMOOTH_TO:.0f}; the turbulent films read low"
        )
    return tuple(found)
