"""Food from its composition: density, specific heat and conductivity at temperature, frozen or not.

Below the initial freezing point T_f part of the water is ice, the more the colder; what dissolves in the rest
holds it liquid. Nothing supercools: thawing and freezing go along one line.
"""

from collections.abc import Mapping
from enum import Enum
from typing import TypeAlias

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
    "ice": (2.2196, -6.2489e-3, 1.0154e-4),
}
_DENSITY = {
    "water": (997.18, 3.1439e-3, -3.7574e-3),
    "protein": (1329.9, -0.51840, 0.0),
    "fat": (925.59, -0.41757, 0.0),
    "carbohydrate": (1599.1, -0.31046, 0.0),
    "fibre": (1311.5, -0.36589, 0.0),
    "ash": (2423.8, -0.28063, 0.0),
    "ice": (916.89, -0.13071, 0.0),
}
# water as Choi & Okos give it; the handbook's reprint (4128.9) lies 1 % under water's own
_SPECIFIC_HEAT = {
    "water": (4176.2, -0.090864, 5.4731e-3),
    "protein": (2008.2, 1.2089, -1.3129e-3),
    "fat": (1984.2, 1.4733, -4.8008e-3),
    "carbohydrate": (1548.8, 1.9625, -5.9399e-3),
    "fibre": (1845.9, 1.8306, -4.6509e-3),
    "ash": (1092.6, 1.8896, -3.6817e-3),
    "ice": (2062.3, 6.0769, 0.0),
}

COMPONENTS = tuple(name for name in _DENSITY if name != "ice")
"""The components a composition may name; ice is what water becomes."""

_Shares: TypeAlias = dict[str, FloatArray]

_MELTING = 273.15
_BOUND = 0.4  # water held by protein for each part of it: it never freezes


def ice_fraction(
    composition: Mapping[str, float], *, temperature: ArrayLike, freezing: float | None
) -> FloatArray:
    """Return the mass fraction [1] of ice in a food at ``temperature`` [K], any shape.

    x_ice = (x_w - x_b) (1 - t_f/t) below t_f, 0 above it; t in degC. x_b = 0.4 x_p is the bound water.

    ``composition`` maps a component to its mass fraction [1]; the fractions are scaled to add up to one.
    ``freezing`` is the initial freezing point [K], under 273.15; None leaves all water liquid.

    Valid -40 degC to the initial freezing point; below, the equation is followed unchecked.

    Source: Chen 1985, Miles 1974, bound water by Schwartzberg 1976 (ASHRAE Handbook, Refrigeration, thermal
    properties of foods; the three from memory).

    >>> f"{float(ice_fraction({'water': 1.0}, temperature=253.15, freezing=272.15)):.2f}"  # 1 - 1/20
    '0.95'
    """
    T = np.asarray(temperature, dtype=np.float64)
    if freezing is None:
        return np.zeros(T.shape)
    t, t_f = np.minimum(T, freezing) - _MELTING, freezing - _MELTING
    fraction: FloatArray = _freezable(composition) * (1.0 - t_f / t)
    return fraction


def density(
    composition: Mapping[str, float], *, temperature: ArrayLike, freezing: float | None = None
) -> FloatArray:
    """Return the density [kg/m3] of a food at ``temperature`` [K], any shape.

    1/rho = sum x_i/rho_i(T) over the components, ice among them.

    ``composition`` maps a component to its mass fraction [1]; the fractions are scaled to add up to one.
    ``freezing`` is the initial freezing point [K]; None leaves all water liquid.

    Valid -40 to 150 degC, no pores; outside, the polynomials are followed unchecked.

    Source: Choi & Okos 1986 (ASHRAE Handbook, Refrigeration, thermal properties of foods).

    >>> f"{float(density({'water': 1.0}, temperature=293.15)):.2f}"  # 997.18 + .0629 - 1.5030
    '995.74'
    """
    _, specific_volume = _volumes(_shares(composition, temperature, freezing), temperature=temperature)
    rho: FloatArray = 1.0 / specific_volume
    return rho


def specific_heat(
    composition: Mapping[str, float], *, temperature: ArrayLike, freezing: float | None = None
) -> FloatArray:
    """Return the specific heat [J/(kg K)] of a food at ``temperature`` [K], any shape; no heat of melting.

    cp = sum x_i cp_i(T) over the components, ice among them.

    ``composition`` maps a component to its mass fraction [1]; the fractions are scaled to add up to one.
    ``freezing`` is the initial freezing point [K]; None leaves all water liquid.

    Valid -40 to 150 degC; outside, the polynomials are followed unchecked.

    Source: Choi & Okos 1986 (ASHRAE Handbook, Refrigeration, thermal properties of foods).

    >>> f"{float(specific_heat({'water': 1.0}, temperature=293.15)):.1f}"  # 4176.2 - 1.82 + 2.19
    '4176.6'
    """
    shares = _shares(composition, temperature, freezing)
    cp: FloatArray = sum(
        (x * _polynomial(_SPECIFIC_HEAT[name], temperature) for name, x in shares.items()),
        start=np.zeros(np.shape(temperature)),
    )
    return cp


def heat_of_melting(
    composition: Mapping[str, float], *, temperature: ArrayLike, freezing: float, latent_heat: float
) -> FloatArray:
    """Return what melting ice adds to the specific heat [J/(kg K)] at ``temperature`` [K], any shape.

    -L(T) dx_ice/dT with L(T) = L_0 + integral from 0 degC of (cp_water - cp_ice) dT, so that the heat doesn't
    depend on the way; 0 above the initial freezing point.

    ``composition`` maps a component to its mass fraction [1]; the fractions are scaled to add up to one.
    ``freezing`` is the initial freezing point [K], under 273.15; ``latent_heat`` is L_0 [J/kg].

    Valid -40 degC to the initial freezing point; below, the equations are followed unchecked.

    Source: the slope of ``ice_fraction``; Kirchhoff's law for the latent heat.

    >>> added = heat_of_melting({"water": 1.0}, temperature=263.15, freezing=272.15, latent_heat=333.6e3)
    >>> f"{float(added):.0f}"  # (333.6e3 - 10 x 2145, the gap at -5 degC) x 1/10^2
    '3122'
    """
    T = np.asarray(temperature, dtype=np.float64)
    t, t_f = np.minimum(T, freezing) - _MELTING, freezing - _MELTING
    slope = -_freezable(composition) * t_f / t**2
    gap = [w - i for w, i in zip(_SPECIFIC_HEAT["water"], _SPECIFIC_HEAT["ice"], strict=True)]
    latent = latent_heat + sum(c * t ** (n + 1) / (n + 1) for n, c in enumerate(gap))
    return np.where(freezing < T, 0.0, slope * latent)


def conductivity(
    composition: Mapping[str, float],
    *,
    temperature: ArrayLike,
    structure: Structure = Structure.PARALLEL,
    freezing: float | None = None,
) -> FloatArray:
    """Return the thermal conductivity [W/(m K)] of a food at ``temperature`` [K], any shape.

    Parallel: k = sum v_i k_i(T). Series: 1/k = sum v_i/k_i(T). The volume fraction is
    v_i = (x_i/rho_i)/sum(x_j/rho_j), ice a component of its own.

    ``composition`` maps a component to its mass fraction [1]; the fractions are scaled to add up to one.
    ``freezing`` is the initial freezing point [K]; None leaves all water liquid.

    Valid -40 to 150 degC, no pores; outside, the polynomials are followed unchecked.

    Source: Choi & Okos 1986 (ASHRAE Handbook, Refrigeration, thermal properties of foods).

    >>> f"{float(conductivity({'water': 1.0}, temperature=293.15)):.4f}"  # .57109 + .03525 - .00268
    '0.6037'
    """
    shares = _shares(composition, temperature, freezing)
    volumes, specific_volume = _volumes(shares, temperature=temperature)
    fractions = {name: volume / specific_volume for name, volume in volumes.items()}
    start = np.zeros(np.shape(temperature))
    k = {name: _polynomial(_CONDUCTIVITY[name], temperature) for name in fractions}
    if structure is Structure.PARALLEL:
        along: FloatArray = sum((v * k[name] for name, v in fractions.items()), start=start)
        return along
    across: FloatArray = 1.0 / sum((v / k[name] for name, v in fractions.items()), start=start)
    return across


def _volumes(shares: _Shares, *, temperature: ArrayLike) -> tuple[_Shares, FloatArray]:
    """Return each component's volume and all components' volume, per mass of food [m3/kg]."""
    volumes = {name: x / _polynomial(_DENSITY[name], temperature) for name, x in shares.items()}
    return volumes, sum(volumes.values(), start=np.zeros(np.shape(temperature)))


def _shares(composition: Mapping[str, float], temperature: ArrayLike, freezing: float | None) -> _Shares:
    """Return the mass fraction of each component at temperature, what water is ice apart."""
    shares = {name: np.asarray(x) for name, x in _whole(composition).items()}
    if freezing is None or "water" not in shares:
        return shares
    ice = ice_fraction(composition, temperature=temperature, freezing=freezing)
    return {**shares, "water": shares["water"] - ice, "ice": ice}


def _whole(composition: Mapping[str, float]) -> dict[str, float]:
    total = sum(composition.values())
    return {name: x / total for name, x in composition.items() if x > 0.0}


def _freezable(composition: Mapping[str, float]) -> float:
    """Return the mass fraction of water that isn't bound to protein."""
    whole = _whole(composition)
    return max(whole.get("water", 0.0) - _BOUND * whole.get("protein", 0.0), 0.0)


def _polynomial(coefficients: tuple[float, float, float], temperature: ArrayLike) -> FloatArray:
    T = np.asarray(temperature, dtype=np.float64) - _MELTING
    a, b, c = coefficients
    value: FloatArray = a + b * T + c * T**2
    return value
