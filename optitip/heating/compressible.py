"""Compressible flow of a calorically perfect gas, gamma 1.4: isentropic relations, normal shock, pitot.

Every function takes arrays of any shape. Dry air keeps gamma within 1 % of 1.4 up to 500 K; the edge state
takes pressures and velocity *ratios* from here and temperatures from the enthalpy of real air.
"""

import numpy as np
from numpy.typing import ArrayLike

from optitip.arrays import FloatArray

GAMMA = 1.4
"""Ratio of specific heats of cold air."""


def temperature_ratio(mach: ArrayLike) -> FloatArray:
    """Return static over total temperature: T/T0 = 1/(1 + 0.2 M^2).

    ``mach`` is of any shape and at least 0.

    Argument and result are dimensionless.

    Valid while cp is constant, gamma 1.4; no upper limit is enforced.

    Source: Ames Research Staff 1953, NACA Report 1135, equation 43.

    >>> float(temperature_ratio(2.0).round(5))  # 1/(1 + 0.8)
    0.55556
    """
    M = np.asarray(mach, dtype=np.float64)
    ratio: FloatArray = 1.0 / (1.0 + 0.5 * (GAMMA - 1.0) * M * M)
    return ratio


def log_total_pressure(mach: ArrayLike) -> FloatArray:
    """Return ln(p0/p) = 3.5 ln(1 + 0.2 M^2), which keeps its digits at small Mach numbers.

    ``mach`` is of any shape and at least 0.

    Argument and result are dimensionless.

    Valid while cp is constant, gamma 1.4; no upper limit is enforced.

    Source: Ames Research Staff 1953, NACA Report 1135, equation 44.

    >>> float(np.exp(-log_total_pressure(2.0)).round(5))  # 1.8^-3.5
    0.1278
    """
    M = np.asarray(mach, dtype=np.float64)
    ratio: FloatArray = GAMMA / (GAMMA - 1.0) * np.log1p(0.5 * (GAMMA - 1.0) * M * M)
    return ratio


def mach_from_log_total_pressure(log_ratio: ArrayLike) -> FloatArray:
    """Return the Mach number whose ln(p0/p) is ``log_ratio``: the inverse of ``log_total_pressure``.

    M^2 = 5 ((p0/p)^(2/7) - 1).

    ``log_ratio`` is of any shape; a negative value (rounding at a stagnation point) counts as zero.

    Argument and result are dimensionless.

    Valid while cp is constant, gamma 1.4; no upper limit is enforced.

    Source: Ames Research Staff 1953, NACA Report 1135, equation 44.

    >>> float(mach_from_log_total_pressure(3.5 * np.log(1.8)).round(9))
    2.0
    """
    x = np.maximum(np.asarray(log_ratio, dtype=np.float64), 0.0)
    M: FloatArray = np.sqrt(2.0 / (GAMMA - 1.0) * np.expm1((GAMMA - 1.0) / GAMMA * x))
    return M


def shock_pressure_ratio(normal_mach: ArrayLike) -> FloatArray:
    """Return p2/p1 across a shock: 1 + (2 gamma/(gamma + 1)) (M^2 - 1).

    ``normal_mach`` is the Mach number normal to the shock, any shape; below 1 there is no shock: 1.

    Argument and result are dimensionless.

    Valid while cp is constant, gamma 1.4; no upper limit is enforced.

    Source: Ames Research Staff 1953, NACA Report 1135, equation 93.

    >>> float(shock_pressure_ratio(2.0))  # 1 + 7/6 x 3
    4.5
    """
    M = np.maximum(np.asarray(normal_mach, dtype=np.float64), 1.0)
    ratio: FloatArray = 1.0 + 2.0 * GAMMA / (GAMMA + 1.0) * (M * M - 1.0)
    return ratio


def shock_mach(normal_mach: ArrayLike) -> FloatArray:
    """Return the normal Mach number behind a shock: M2^2 = (1 + 0.2 M^2)/(1.4 M^2 - 0.2).

    ``normal_mach`` is the Mach number normal to the shock, any shape; below 1 there is no shock: unchanged.

    Argument and result are dimensionless.

    Valid while cp is constant, gamma 1.4; no upper limit is enforced.

    Source: Ames Research Staff 1953, NACA Report 1135, equation 96.

    >>> float(shock_mach(2.0).round(4))  # sqrt(1.8/5.4)
    0.5774
    """
    M = np.asarray(normal_mach, dtype=np.float64)
    ahead = np.maximum(M, 1.0) ** 2
    behind = np.sqrt((1.0 + 0.5 * (GAMMA - 1.0) * ahead) / (GAMMA * ahead - 0.5 * (GAMMA - 1.0)))
    return np.where(M > 1.0, behind, M)


def log_shock_loss(normal_mach: ArrayLike) -> FloatArray:
    """Return ln(p02/p01) of the total pressure across a shock, zero or negative.

    p02/p01 = [6 M^2/(M^2 + 5)]^3.5 [6/(7 M^2 - 1)]^2.5.

    ``normal_mach`` is the Mach number normal to the shock, any shape; below 1 there is no loss: 0.

    Argument and result are dimensionless.

    Valid while cp is constant, gamma 1.4; no upper limit is enforced.

    Source: Ames Research Staff 1953, NACA Report 1135, equation 99.

    >>> float(np.exp(log_shock_loss(2.0)).round(4))  # (24/9)^3.5 (6/27)^2.5
    0.7209
    """
    M2 = np.maximum(np.asarray(normal_mach, dtype=np.float64), 1.0) ** 2
    loss: FloatArray = 3.5 * np.log(6.0 * M2 / (M2 + 5.0)) + 2.5 * np.log(6.0 / (7.0 * M2 - 1.0))
    return loss


def pitot_pressure_ratio(mach: ArrayLike) -> FloatArray:
    """Return pt2/p1: the pressure at a stagnation point over the stream's static pressure.

    pt2/p1 = (p0/p)(M) x (p02/p01)(M), the second factor being 1 below Mach 1.

    ``mach`` is of any shape and at least 0.

    Argument and result are dimensionless.

    Valid while cp is constant, gamma 1.4; no upper limit is enforced.

    Source: Ames Research Staff 1953, NACA Report 1135, equations 44 and 100.

    >>> float(pitot_pressure_ratio(2.0).round(4))  # 7.8244 x 0.7209
    5.6404
    """
    ratio: FloatArray = np.exp(log_total_pressure(mach) + log_shock_loss(mach))
    return ratio


def stagnation_pressure_coefficient(mach: ArrayLike) -> FloatArray:
    """Return Cp,max = (pt2/p1 - 1)/(0.7 M^2), which tends to 1 at rest.

    ``mach`` is of any shape and at least 0; below 0.01 it counts as 0.01 (1 + M^2/4 to five digits).

    Argument and result are dimensionless.

    Valid while cp is constant, gamma 1.4; no upper limit is enforced.

    Source: Ames Research Staff 1953, NACA Report 1135, equation 100.

    >>> float(stagnation_pressure_coefficient(2.0).round(4))  # 4.6404/2.8
    1.6573
    """
    M = np.maximum(np.asarray(mach, dtype=np.float64), 0.01)
    rise = np.expm1(log_total_pressure(M) + log_shock_loss(M))
    coefficient: FloatArray = rise / (0.5 * GAMMA * M * M)
    return coefficient
