"""The turbulent film by Van Driest's second law: a second opinion beside the reference enthalpy."""

import numpy as np
from numpy.typing import ArrayLike

from optitip.arrays import FloatArray
from optitip.heating.edge import Edge
from optitip.heating.film import mean_specific_heat, recovery_enthalpy
from optitip.heating.integrals import momentum_reynolds
from optitip.heating.stream import Stations, Stream
from optitip.properties.air import Gas

_LEAST, _MOST, _NODES = 4.0, 11.0, 351  # log10 of the Reynolds number: ends of the table of the friction law


def incompressible_friction(reynolds: ArrayLike) -> FloatArray:
    """Return the local skin friction coefficient of a smooth plate in turbulent flow without heat.

    0.242/sqrt(CF) = log10(Re CF) for the mean one, cf = 0.242 CF/(0.242 + 0.8686 sqrt(CF)).

    ``reynolds`` by length from the start, of any shape; argument and result are dimensionless.

    Valid 1e5 to 1e10; held outside 1e4 to 1e11.

    Source: von Karman and Schoenherr, as in Hopkins & Inouye 1971, AIAA J. 9, 993 (from memory).

    >>> float(incompressible_friction(1e7).round(5))  # CF 0.00293: 0.242 x 0.00293/(0.242 + 0.0470)
    0.00246
    """
    found: FloatArray = np.interp(np.log10(np.maximum(reynolds, 1.0)), _LOG_REYNOLDS, _FRICTION)
    return found


def _friction_table() -> tuple[FloatArray, FloatArray]:
    log_reynolds = np.linspace(_LEAST, _MOST, _NODES)
    root = np.full(_NODES, 0.06)  # of the mean coefficient
    for _ in range(40):
        root = 0.242 / (log_reynolds + 2.0 * np.log10(root))
    return log_reynolds, 0.242 * root * root / (0.242 + 0.8686 * root)


_LOG_REYNOLDS, _FRICTION = _friction_table()


def transformation(
    recovery: ArrayLike, *, edge: ArrayLike, wall: ArrayLike, gas: Gas
) -> tuple[FloatArray, FloatArray]:
    """Return (Fc, Fx), dimensionless: cf = cfi(Fx Re)/Fc of the incompressible plate's cfi.

    With F = Tw/Te, m = Taw/Te - 1, A^2 = m/F, B = (1 + m)/F - 1: a = (2 A^2 - B)/sqrt(4 A^2 + B^2),
    b = B/sqrt(4 A^2 + B^2), Fc = m/(asin a + asin b)^2, Fx = mu_e/(mu_w Fc).

    ``recovery`` Taw, ``edge`` Te and ``wall`` Tw [K] are of shapes that broadcast.

    Valid in turbulent flow of small pressure gradient; at rest Fc = ((1 + sqrt F)/2)^2.

    Source: Van Driest 1956, as in Hopkins & Inouye 1971, AIAA J. 9, 993 (from memory).

    >>> from optitip.properties.air import AIR
    >>> Fc, _ = transformation(2.6, edge=1.0, wall=2.6, gas=AIR)  # adiabatic: B = 0, 1.6/asin(0.7845)^2
    >>> float(Fc.round(3))
    1.967
    """
    Te, Tw = np.asarray(edge, dtype=np.float64), np.asarray(wall, dtype=np.float64)
    m = np.maximum(np.asarray(recovery, dtype=np.float64) / Te - 1.0, 1e-6)
    F = Tw / Te
    A2, B = m / F, (1.0 + m) / F - 1.0
    Q = np.sqrt(4.0 * A2 + B * B)
    angle = np.arcsin(np.minimum((2.0 * A2 - B) / Q, 1.0)) + np.arcsin(B / Q)
    Fc: FloatArray = m / (angle * angle)
    return Fc, gas.viscosity(Te) / (gas.viscosity(Tw) * Fc)


def van_driest_film(
    stream: Stream, *, edge: Edge, stations: Stations, wall: ArrayLike, gas: Gas
) -> FloatArray:
    """Return the turbulent film coefficient (n_t, n_s, n_w) [W/(m2 K)] by Van Driest's second law.

    h = St rho u cp, St = s cf/2, cf = cfi(Fx Re)/Fc, with the Reynolds analogy factor s = Pr^-2/3 = 1.256
    (Colburn's, as in ``turbulent_plate_film``; 1.16 has been measured on plates, Chi & Spalding 1966, from
    memory, 8 % lower). Re by the momentum integral: integral of rho mu u r^(5/4) ds/(mu^2 r^(5/4)) at the
    edge. Positive: air at the recovery temperature heats a colder wall.

    ``wall`` (n_w,) [K].

    Valid as ``turbulent_plate_film``, to 10 % of measured plates (Hopkins & Inouye 1971, from memory).

    Source: Van Driest 1956; Hopkins & Inouye 1971, AIAA J. 9, 993 (both from memory).

    >>> from optitip.heating.edge import edge_state
    >>> from optitip.heating.stream import stations_of, stream_of
    >>> from optitip.properties.air import CALORIC_AIR
    >>> air = stream_of(speed=[898.6], temperature=[223.252], pressure=[26499.9], gas=CALORIC_AIR)
    >>> plate = stations_of(arc_length=[0.0, 1e-6, 0.3], radius=[1.0] * 3, slope=[0.0] * 3, tip_radius=1e-9)
    >>> edge = edge_state(air, stations=plate, gas=CALORIC_AIR)
    >>> film = van_driest_film(air, edge=edge, stations=plate, wall=[300.0], gas=CALORIC_AIR)
    >>> film[0, 2].round(0)  # the reference enthalpy says 445
    array([461.])
    """
    Tw = np.asarray(wall, dtype=np.float64)
    haw = recovery_enthalpy(stream, edge=edge, factor=gas.prandtl ** (1.0 / 3.0))
    Taw = gas.temperature(haw)[..., None]
    Te = edge.temperature[..., None]
    Fc, Fx = transformation(Taw, edge=Te, wall=Tw, gas=gas)
    density = edge.pressure / (gas.gas_constant * edge.temperature)
    mu = gas.viscosity(edge.temperature)
    reynolds = momentum_reynolds(
        (density * mu * edge.speed)[..., None],
        viscosity=mu[..., None],
        growth=stations.turbulent_growth,
        radius=stations.radius,
    )
    stanton = 0.5 * gas.prandtl ** (-2.0 / 3.0) * incompressible_friction(Fx * reynolds) / Fc
    cp = mean_specific_heat(Taw, haw[..., None], Tw, gas.enthalpy(Tw), gas=gas)
    film: FloatArray = stanton * (density * edge.speed)[..., None] * cp
    return film
