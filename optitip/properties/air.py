"""Air as an ideal gas of frozen composition: enthalpy, specific heat and transport at temperature.

Enthalpy counts from h(0 K) = 0. The tables have a uniform step, so that a look-up of 50,000 points is
one index and one multiplication.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from optitip.arrays import FloatArray, frozen
from optitip.errors import OutOfRange

GAS_CONSTANT = 8314.32 / 28.9644
"""Specific gas constant of air [J/(kg K)], US Standard Atmosphere 1976."""

PRANDTL = 0.71
"""Prandtl number: within 3 % of air's own from 220 to 1000 K."""

_STEP = 1.0  # K between two temperatures of a table
_HOTTEST = 4000.0  # K, the last temperature of a table
_ENTHALPY_STEP = 1000.0  # J/kg between two enthalpies of the inverse table
_COLDEST_FIT = 200.0  # K: the published fits start here; below, cp keeps its value at 200 K
_FIT_BREAK = 1000.0  # K: where the published fits change from the first interval to the second

# moles per mole of dry air, US Standard Atmosphere 1976, table 3 (scaled to add up to one)
_COMPOSITION = {"N2": 0.78084, "O2": 0.209476, "Ar": 0.00934, "CO2": 0.000314}

# cp/R = a1 T^-2 + a2 T^-1 + a3 + a4 T + a5 T^2 + a6 T^3 + a7 T^4, 200-1000 K and 1000-6000 K
_FITS = {
    "N2": (
        (2.210371497e4, -3.818461820e2, 6.082738360, -8.530914410e-3, 1.384646189e-5, -9.625793620e-9,
         2.519705809e-12),
        (5.877124060e5, -2.239249073e3, 6.066949220, -6.139685500e-4, 1.491806679e-7, -1.923105485e-11,
         1.061954386e-15),
    ),
    "O2": (
        (-3.425563420e4, 4.847000970e2, 1.119010961, 4.293889240e-3, -6.836300520e-7, -2.023372700e-9,
         1.039040018e-12),
        (-1.037939022e6, 2.344830282e3, 1.819732036, 1.267847582e-3, -2.188067988e-7, 2.053719572e-11,
         -8.193467050e-16),
    ),
    "Ar": ((0.0, 0.0, 2.5, 0.0, 0.0, 0.0, 0.0), (0.0, 0.0, 2.5, 0.0, 0.0, 0.0, 0.0)),
    "CO2": (
        (4.943650540e4, -6.264116010e2, 5.301725240, 2.503813816e-3, -2.127308728e-7, -7.689988780e-10,
         2.849677801e-13),
        (1.176962419e5, -1.788791477e3, 8.291523190, -9.223156780e-5, 4.863676880e-9, -1.891053312e-12,
         6.330036590e-16),
    ),
}  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Gas:
    """An ideal gas whose specific heat depends on temperature alone.

    ``enthalpy_table`` and ``specific_heat_table`` (n,) stand at 0, 1, 2 ... K; ``temperature_table`` (n,)
    stands at 0, 1000, 2000 ... J/kg. ``valid`` is the range of temperature [K] the physics covers.
    """

    name: str
    gas_constant: float
    prandtl: float
    valid: tuple[float, float]
    specific_heat_table: FloatArray
    enthalpy_table: FloatArray
    temperature_table: FloatArray

    def enthalpy(self, temperature: ArrayLike) -> FloatArray:
        """Return the enthalpy [J/kg] at ``temperature`` [K], any shape: h = integral of cp dT from 0 K.

        Valid 150 to 2000 K: above, oxygen starts to dissociate, which is not in; below, cp is held at its
        value of 200 K. A temperature outside 0 to 4000 K raises OutOfRange.

        Source: McBride, Zehe & Gordon 2002, NASA/TP-2002-211556, integrated.

        >>> f"{float(CALORIC_AIR.enthalpy(300.0)):.0f}"  # 3.5 x 287.0529 x 300
        '301406'
        """
        return _look_up(temperature, self.enthalpy_table, step=_STEP, quantity="temperature", unit="K")

    def temperature(self, enthalpy: ArrayLike) -> FloatArray:
        """Return the temperature [K] at ``enthalpy`` [J/kg], any shape: the root of h(T) = ``enthalpy``.

        Valid as ``enthalpy`` is; it comes back to the same temperature within 1 mK. An enthalpy below
        zero or above that of 4000 K raises OutOfRange.

        Source: McBride, Zehe & Gordon 2002, NASA/TP-2002-211556, integrated.

        >>> float(round(CALORIC_AIR.temperature(301405.7), 3))  # 301405.7 / 1004.6857
        300.0
        """
        return _look_up(
            enthalpy, self.temperature_table, step=_ENTHALPY_STEP, quantity="enthalpy", unit="J/kg"
        )

    def specific_heat(self, temperature: ArrayLike) -> FloatArray:
        """Return cp [J/(kg K)] at constant pressure at ``temperature`` [K], any shape.

        cp = R sum x_i (cp/R)_i over nitrogen, oxygen, argon and carbon dioxide.

        Valid 150 to 2000 K, as ``enthalpy`` is. A temperature outside 0 to 4000 K raises OutOfRange.

        Source: McBride, Zehe & Gordon 2002, NASA/TP-2002-211556; composition US Standard Atmosphere 1976.

        >>> float(round(CALORIC_AIR.specific_heat(300.0), 3))  # 3.5 x 287.0529
        1004.686
        """
        return _look_up(temperature, self.specific_heat_table, step=_STEP, quantity="temperature", unit="K")

    def gamma(self, temperature: ArrayLike) -> FloatArray:
        """Return the dimensionless ratio of specific heats at ``temperature`` [K], any shape.

        gamma = cp/(cp - R).

        Valid 150 to 2000 K, as ``enthalpy`` is. A temperature outside 0 to 4000 K raises OutOfRange.

        Source: an ideal gas.

        >>> float(round(CALORIC_AIR.gamma(300.0), 6))  # 3.5 / 2.5
        1.4
        """
        cp = self.specific_heat(temperature)
        return cp / (cp - self.gas_constant)

    def sound_speed(self, temperature: ArrayLike) -> FloatArray:
        """Return the speed of sound [m/s] at ``temperature`` [K], any shape: a = sqrt(gamma R T).

        Valid 150 to 2000 K, as ``enthalpy`` is. A temperature outside 0 to 4000 K raises OutOfRange.

        Source: an ideal gas; US Standard Atmosphere 1976 prints 340.294 at 288.15 K with gamma 1.4.

        >>> float(round(CALORIC_AIR.sound_speed(288.15), 3))  # sqrt(1.4 x 287.0529 x 288.15)
        340.294
        """
        T = np.asarray(temperature, dtype=np.float64)
        a: FloatArray = np.sqrt(self.gamma(T) * self.gas_constant * T)
        return a

    def viscosity(self, temperature: ArrayLike) -> FloatArray:
        """Return the dynamic viscosity [Pa s] at ``temperature`` [K], any shape.

        mu = beta T^1.5/(T + S), beta = 1.458e-6 kg/(s m K^0.5), S = 110.4 K.

        Valid 150 to 2000 K (few per cent at the ends); defined, and positive, at any temperature above 0 K.

        Source: US Standard Atmosphere 1976, equation 51 (Sutherland's law).

        >>> f"{float(AIR.viscosity(288.15)):.4e}"  # 1.458e-6 x 4891.3 / 398.55
        '1.7894e-05'
        """
        T = np.asarray(temperature, dtype=np.float64)
        mu: FloatArray = 1.458e-6 * T * np.sqrt(T) / (T + 110.4)
        return mu

    def conductivity(self, temperature: ArrayLike) -> FloatArray:
        """Return the thermal conductivity [W/(m K)] at ``temperature`` [K], any shape: k = mu cp/Pr.

        Valid 220 to 1000 K within 3 %. A temperature outside 0 to 4000 K raises OutOfRange.

        Source: the definition of the Prandtl number, held at 0.71.

        >>> f"{float(CALORIC_AIR.conductivity(288.15)):.5f}"  # 1.7894e-5 x 1004.685 / 0.71
        '0.02532'
        """
        return self.specific_heat(temperature) * self.viscosity(temperature) / self.prandtl


def _look_up(values: ArrayLike, table: FloatArray, *, step: float, quantity: str, unit: str) -> FloatArray:
    x = np.asarray(values, dtype=np.float64) / step
    last = table.size - 1
    if x.size and not (x.min() >= 0.0 and x.max() <= last):
        worst = float(x.max() if x.min() >= 0.0 else x.min()) * step
        raise OutOfRange(
            f"air.{quantity}",
            f"{worst:g} {unit} lies outside 0 to {last * step:g} {unit}",
            "Lower the flight's speed, or look for a wrong number in the flight",
        )
    left = np.minimum(x.astype(np.int64), last - 1)
    below = table.take(left)
    found: FloatArray = table[1:].take(left)
    found -= below
    x -= left
    found *= x
    found += below
    return found


def _fitted_specific_heat(temperature: FloatArray) -> FloatArray:
    """Return cp/R of air from the species' fits, held at its end value below the first interval."""
    T = np.maximum(temperature, _COLDEST_FIT)
    powers = np.stack([T**exponent for exponent in range(-2, 5)])
    moles = sum(_COMPOSITION.values())
    cp = np.zeros_like(T)
    for species, share in _COMPOSITION.items():
        low, high = (np.asarray(fit) @ powers for fit in _FITS[species])
        cp += share / moles * np.where(T <= _FIT_BREAK, low, high)
    return cp


def _gas(name: str, *, cp_over_R: FloatArray) -> Gas:
    """Return the gas whose cp/R at 0, 1, 2 ... K is ``cp_over_R``."""
    cp = GAS_CONSTANT * cp_over_R
    h = np.concatenate([[0.0], np.cumsum(0.5 * (cp[1:] + cp[:-1]) * _STEP)])
    levels = np.arange(0.0, h[-1], _ENTHALPY_STEP)
    return Gas(
        name=name,
        gas_constant=GAS_CONSTANT,
        prandtl=PRANDTL,
        valid=(150.0, 2000.0),
        specific_heat_table=frozen(cp),
        enthalpy_table=frozen(h),
        temperature_table=frozen(np.interp(levels, h, _TEMPERATURES)),
    )


_TEMPERATURES: FloatArray = np.arange(0.0, _HOTTEST + _STEP / 2.0, _STEP)

AIR = _gas("air", cp_over_R=_fitted_specific_heat(_TEMPERATURES))
"""Thermally perfect air: cp rises with temperature."""

CALORIC_AIR = _gas("air of constant specific heat", cp_over_R=np.full_like(_TEMPERATURES, 3.5))
"""Calorically perfect air, gamma 1.4: for checks against published figures of constant cp."""
