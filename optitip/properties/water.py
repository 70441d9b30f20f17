"""Water: the temperature and the pressure at which it boils."""

import numpy as np
from numpy.typing import ArrayLike

from optitip.arrays import FloatArray
from optitip.errors import OutOfRange

TRIPLE_POINT = 273.15
"""[K], the low end of the saturation line; the lowest temperature there is liquid water at."""
_TRIPLE = (611.213, TRIPLE_POINT)  # Pa, K
_CRITICAL = (22.064e6, 647.096)  # Pa, K: its high end

# the numerical values of the coefficients of IAPWS-IF97, equations 29 to 31 (table 34)
_N = (
    0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2, 0.12020824702470e5, -0.32325550322333e7,
    0.14915108613530e2, -0.48232657361591e4, 0.40511340542057e6, -0.23855557567849, 0.65017534844798e3,
)  # fmt: skip


def boiling_temperature(pressure: ArrayLike) -> FloatArray:
    """Return the temperature [K] at which water boils under ``pressure`` [Pa], any shape.

    The root of a quadratic in theta = T + n9/(T - n10) whose coefficients are quadratics in p^(1/4).

    Valid 611.213 Pa to 22.064 MPa; outside, water has no such state and OutOfRange is raised.

    Source: IAPWS-IF97 (Wagner et al. 2000, J. Eng. Gas Turbines Power 122, 150), equation 31.

    >>> f"{float(boiling_temperature(101325.0)) - 273.15:.2f}"  # 99.97 degC by definition of the scale
    '99.97'
    """
    p = np.asarray(pressure, dtype=np.float64)
    _check(p, (_TRIPLE[0], _CRITICAL[0]), quantity="pressure", unit="Pa")
    n1, n2, n3, n4, n5, n6, n7, n8, n9, n10 = _N
    beta = (p / 1e6) ** 0.25
    E = beta**2 + n3 * beta + n6
    F = n1 * beta**2 + n4 * beta + n7
    G = n2 * beta**2 + n5 * beta + n8
    D = 2.0 * G / (-F - np.sqrt(F**2 - 4.0 * E * G))
    T: FloatArray = 0.5 * (n10 + D - np.sqrt((n10 + D) ** 2 - 4.0 * (n9 + n10 * D)))
    return T


def vapour_pressure(temperature: ArrayLike) -> FloatArray:
    """Return the pressure [Pa] of water vapour over water at ``temperature`` [K], any shape.

    The root of the same quadratic, solved for p^(1/4).

    Valid 273.15 to 647.096 K; outside, OutOfRange is raised (ice is not in).

    Source: IAPWS-IF97 (Wagner et al. 2000, J. Eng. Gas Turbines Power 122, 150), equation 30.

    >>> f"{float(vapour_pressure(300.0)):.3f}"  # printed there: 0.353 658 941e-2 MPa
    '3536.589'
    """
    T = np.asarray(temperature, dtype=np.float64)
    _check(T, (_TRIPLE[1], _CRITICAL[1]), quantity="temperature", unit="K")
    n1, n2, n3, n4, n5, n6, n7, n8, n9, n10 = _N
    theta = T + n9 / (T - n10)
    A = theta**2 + n1 * theta + n2
    B = n3 * theta**2 + n4 * theta + n5
    C = n6 * theta**2 + n7 * theta + n8
    p: FloatArray = 1e6 * (2.0 * C / (-B + np.sqrt(B**2 - 4.0 * A * C))) ** 4
    return p


def _check(values: FloatArray, limits: tuple[float, float], *, quantity: str, unit: str) -> None:
    low, high = limits
    if values.size and not (values.min() >= low and values.max() <= high):
        worst = float(values.max() if values.min() >= low else values.min())
        raise OutOfRange(
            f"water.{quantity}",
            f"{worst:g} {unit} lies outside {low:g} to {high:g} {unit}, where water can boil",
            "Look for the cause in the flight's pressure or in the sample's temperature",
        )
