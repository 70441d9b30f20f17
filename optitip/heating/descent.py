"""Film coefficients where no stream comes head on: across the stream, inside a shell, on the ground."""

import numpy as np
from numpy.typing import ArrayLike

from optitip.arrays import FloatArray
from optitip.properties.air import Gas

CROSS_RECOVERY = 0.85
"""Recovery factor of a cylinder across the stream (common practice, no source)."""

SHELTERED_FILM = 5.0
"""[W/(m2 K)] of the air inside a shell: still air against a wall some kelvins warmer (common practice)."""

_GRAVITY = 9.80665


def cross_flow_film(
    speed: ArrayLike,
    *,
    temperature: ArrayLike,
    pressure: ArrayLike,
    diameter: ArrayLike,
    wall: ArrayLike,
    gas: Gas,
) -> FloatArray:
    """Return the mean film coefficient (n_t, n_s, n_w) [W/(m2 K)] of a cylinder across the stream.

    Nu = 0.3 + 0.62 Re^1/2 Pr^1/3 [1 + (0.4/Pr)^2/3]^-1/4 [1 + (Re/282000)^5/8]^4/5 on the local diameter, the
    properties at the mean of wall and air. Positive: the air heats a colder wall.

    ``speed`` [m/s], ``temperature`` [K] and ``pressure`` [Pa] of the air are (n_t,), ``diameter`` (n_s,) [m],
    ``wall`` (n_w,) [K].

    Valid for Re Pr > 0.2, scatter 20 %; the flow is taken as incompressible. At rest it leaves Nu = 0.3.

    Source: Churchill & Bernstein 1977, J. Heat Transfer 99, 300.

    >>> from optitip.properties.air import CALORIC_AIR
    >>> film = cross_flow_film([30.0], temperature=[300.0], pressure=[101325.0], diameter=[0.05],
    ...     wall=[300.0], gas=CALORIC_AIR)
    >>> film.round(0)  # Re 95,600: Nu 0.3 + 0.4857 x 309.2 x 1.389 = 208.9, k 0.0261
    array([[[109.]]])
    """
    V, T, p = (np.asarray(v, dtype=np.float64)[:, None, None] for v in (speed, temperature, pressure))
    D, Tw = np.asarray(diameter, dtype=np.float64)[:, None], np.asarray(wall, dtype=np.float64)
    mean = 0.5 * (T + Tw)
    Pr = gas.prandtl
    Re = p / (gas.gas_constant * mean) * V * D / gas.viscosity(mean)
    shape = 0.62 * Pr ** (1.0 / 3.0) / (1.0 + (0.4 / Pr) ** (2.0 / 3.0)) ** 0.25
    Nu = 0.3 + shape * np.sqrt(Re) * (1.0 + (Re / 282000.0) ** 0.625) ** 0.8
    film: FloatArray = Nu * gas.conductivity(mean) / D
    return film


def cross_flow_recovery(speed: ArrayLike, *, temperature: ArrayLike, gas: Gas) -> FloatArray:
    """Return the recovery temperature (n_t,) [K] of a cylinder across the stream: h = h(T) + 0.85 V^2/2.

    ``speed`` [m/s] and ``temperature`` [K] of the air are (n_t,).

    Valid at subsonic speeds, where descents are; the factor 0.85 is an average round the cylinder.

    Source: common practice, no source.

    >>> from optitip.properties.air import CALORIC_AIR
    >>> cross_flow_recovery([100.0], temperature=[288.15], gas=CALORIC_AIR).round(2)  # 288.15 + 0.85 x 4.977
    array([292.38])
    """
    V = np.asarray(speed, dtype=np.float64)
    return gas.temperature(gas.enthalpy(temperature) + 0.5 * CROSS_RECOVERY * V * V)


def still_air_film(
    temperature: ArrayLike, *, pressure: ArrayLike, diameter: float, wall: ArrayLike, gas: Gas
) -> FloatArray:
    """Return the film coefficient (n_t, n_w) [W/(m2 K)] of natural convection from a horizontal cylinder.

    Nu = {0.60 + 0.387 Ra^1/6 [1 + (0.559/Pr)^9/16]^-8/27}^2, Ra = g |Tw - T| D^3 Pr/(Tm nu^2), the properties
    at the mean Tm of wall and air. It never falls below Nu = 0.36.

    ``temperature`` [K] and ``pressure`` [Pa] of the air are (n_t,), ``diameter`` [m], ``wall`` (n_w,) [K].

    Valid for Ra up to 1e12 under one g. A tip that stands upright is within the scatter, +-20 %.

    Source: Churchill & Chu 1975, Int. J. Heat Mass Transfer 18, 1049.

    >>> from optitip.properties.air import CALORIC_AIR
    >>> film = still_air_film([300.0], pressure=[101325.0], diameter=0.05, wall=[400.0], gas=CALORIC_AIR)
    >>> film.round(1)  # Ra 5.85e5: Nu (0.60 + 0.3213 x 9.13)^2 = 12.5, k 0.0294
    array([[7.4]])
    """
    T, p = (np.asarray(v, dtype=np.float64)[:, None] for v in (temperature, pressure))
    Tw = np.asarray(wall, dtype=np.float64)
    mean = 0.5 * (T + Tw)
    nu = gas.viscosity(mean) * gas.gas_constant * mean / p
    Ra = _GRAVITY * np.abs(Tw - T) * diameter**3 * gas.prandtl / (mean * nu * nu)
    shape = 0.387 / (1.0 + (0.559 / gas.prandtl) ** 0.5625) ** (8.0 / 27.0)
    film: FloatArray = (0.60 + shape * Ra ** (1.0 / 6.0)) ** 2 * gas.conductivity(mean) / diameter
    return film


def together(forced: FloatArray, natural: FloatArray) -> FloatArray:
    """Return the film [W/(m2 K)] of forced and natural convection at once: h^3 = hF^3 + hN^3.

    Both are of shapes that broadcast, [W/(m2 K)] and never negative.

    Valid for assisting flows within the scatter of either; exact where one of them rules.

    Source: Churchill 1977, AIChE J. 23, 10.

    >>> together(np.array([100.0, 0.0]), np.array([5.0, 5.0])).round(3)  # (1e6 + 125)^(1/3)
    array([100.004,   5.   ])
    """
    film: FloatArray = np.cbrt(forced * forced * forced + natural * natural * natural)
    return film
