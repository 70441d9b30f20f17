"""Food from its composition: density, specific heat and conductivity at temperature."""

from collections.abc import Mapping
from enum import Enum

import numpy as np
from numpy.typing import ArrayLike

from optitip.arrays import FloatArray


class Structure(Enum):
    """How the components lie to the heat: side by side along it, or one behind the other."""

    PARALLEL = "parallel"
    SERIES = "series"


# Choi & Okos 1986, T in degC: coefficients of 1, T, T^2
_CONDUCTIVITY = {
    "water": (0.57109, 1.7625e-3, -6.7036e-6),
    "protein": (0.17881, 1.1958e-3, -2.7178e-6),
    "fat": (0.18071, -2.7604e-4, -1.7749e-7),
    "carbohydrate": (0.20141, 1.3874e-3, -4.3312e-6),
    "fibre": (0.18331, 1.2497e-3, -3.1683e-6),
    "ash": (0.32962, 1.4011e-3, -2.9069e-6),
}
_DENSITY = {
    "water": (997.18, 3.1439e-3, -3.7574e-3),
    "protein": (1329.9, -0.51840, 0.0),
    "fat": (925.59, -0.41757, 0.0),
    "carbohydrate": (1599.1, -0.31046, 0.0),
    "fibre": (1311.5, -0.36589, 0.0),
    "ash": (2423.8, -0.28063, 0.0),
}
# water as Choi & Okos give it; the handbook's reprint (4128.9) lies 1 % under water's own
_SPECIFIC_HEAT = {
    "water": (4176.2, -0.090864, 5.4731e-3),
    "protein": (2008.2, 1.2089, -1.3129e-3),
    "fat": (1984.2, 1.4733, -4.8008e-3),
    "carbohydrate": (1548.8, 1.9625, -5.9399e-3),
    "fibre": (1845.9, 1.8306, -4.6509e-3),
    "ash": (1092.6, 1.8896, -3.6817e-3),
}

COMPONENTS = tuple(_DENSITY)
"""The components a composition may name."""

_FREEZING = 273.15


def density(composition: Mapping[str, float], *, temperature: ArrayLike) -> FloatArray:
    """Return the density [kg/m3] of a food at ``temperature`` [K], any shape.

    1/rho = sum x_i/rho_i(T) over the components.

    ``composition`` maps a component to its mass fraction [1]; the fractions are scaled to add up to one.

    Valid 0 to 150 degC, no ice, no pores; outside, the polynomials are followed unchecked.

    Source: Choi & Okos 1986 (ASHRAE Handbook, Refrigeration, thermal properties of foods).

    >>> f"{float(density({'water': 1.0}, temperature=293.15)):.2f}"  # 997.18 + .0629 - 1.5030
    '995.74'
    """
    _, specific_volume = _volumes(composition, temperature=temperature)
    rho: FloatArray = 1.0 / specific_volume
    return rho


def specific_heat(composition: Mapping[str, float], *, temperature: ArrayLike) -> FloatArray:
    """Return the specific heat [J/(kg K)] of a food at ``temperature`` [K], any shape.

    cp = sum x_i cp_i(T) over the components.

    ``composition`` maps a component to its mass fraction [1]; the fractions are scaled to add up to one.

    Valid 0 to 150 degC, no ice; outside, the polynomials are followed unchecked.

    Source: Choi & Okos 1986 (ASHRAE Handbook, Refrigeration, thermal properties of foods).

    >>> f"{float(specific_heat({'water': 1.0}, temperature=293.15)):.1f}"  # 4176.2 - 1.82 + 2.19
    '4176.6'
    """
    cp: FloatArray = sum(
        (x * _polynomial(_SPECIFIC_HEAT[name], temperature) for name, x in _normal(composition).items()),
        start=np.zeros(np.shape(temperature)),
    )
    return cp


def conductivity(
    composition: Mapping[str, float], *, temperature: ArrayLike, structure: Structure = Structure.PARALLEL
) -> FloatArray:
    """Return the thermal conductivity [W/(m K)] of a food at ``temperature`` [K], any shape.

    Parallel: k = sum v_i k_i(T). Series: 1/k = sum v_i/k_i(T). The volume fraction is
    v_i = (x_i/rho_i)/sum(x_j/rho_j).

    ``composition`` maps a component to its mass fraction [1]; the fractions are scaled to add up to one.

    Valid 0 to 150 degC, no ice, no pores; outside, the polynomials are followed unchecked.

    Source: Choi & Okos 1986 (ASHRAE Handbook, Refrigeration, thermal properties of foods).

    >>> f"{float(conductivity({'water': 1.0}, temperature=293.15)):.4f}"  # .57109 + .03525 - .00268
    '0.6037'
    """
    shares, specific_volume = _volumes(composition, temperature=temperature)
    fractions = {name: share / specific_volume for name, share in shares.items()}
    start = np.zeros(np.shape(temperature))
    k = {name: _polynomial(_CONDUCTIVITY[name], temperature) for name in fractions}
    if structure is Structure.PARALLEL:
        along: FloatArray = sum((v * k[name] for name, v in fractions.items()), start=start)
        return along
    across: FloatArray = 1.0 / sum((v / k[name] for name, v in fractions.items()), start=start)
    return across


def _volumes(
    composition: Mapping[str, float], *, temperature: ArrayLike
) -> tuple[dict[str, FloatArray], FloatArray]:
    """Return each component's volume and all components' volume, per mass of food [m3/kg]."""
    shares = {name: x / _polynomial(_DENSITY[name], temperature) for name, x in _normal(composition).items()}
    return shares, sum(shares.values(), start=np.zeros(np.shape(temperature)))


def _normal(composition: Mapping[str, float]) -> dict[str, float]:
    total = sum(composition.values())
    return {name: x / total for name, x in composition.items() if x > 0.0}


def _polynomial(coefficients: tuple[float, float, float], temperature: ArrayLike) -> FloatArray:
    T = np.asarray(temperature, dtype=np.float64) - _FREEZING
    a, b, c = coefficients
    value: FloatArray = a + b * T + c * T**2
    return value
