"""The air over the launch site: the US Standard Atmosphere 1976 shifted to the day."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from optitip.arrays import FloatArray, frozen
from optitip.errors import Mistake, OutOfRange, UserMistakes

GAS_CONSTANT = 8314.32 / 28.9644  # [J/(kg K)] R* / M0 of the standard
STANDARD_GRAVITY = 9.80665  # [m/s2]
GAMMA = 1.4
LOWEST, HIGHEST = -500.0, 80_000.0  # [m] geometric; above 80 km the standard's molar mass changes

_EARTH_RADIUS = 6_356_766.0  # [m]
_SEA_LEVEL_TEMPERATURE = 288.15  # [K]
_SEA_LEVEL_PRESSURE = 101_325.0  # [Pa]
_LAYER_BASE = np.array([0.0, 11_000.0, 20_000.0, 32_000.0, 47_000.0, 51_000.0, 71_000.0])  # [m] geopotential
_LAPSE = np.array([-6.5e-3, 0.0, 1.0e-3, 2.8e-3, 0.0, -2.8e-3, -2.0e-3])  # [K/m]
_PRESSURE_SHARE = (0.85, 1.08)  # of the standard one: sea-level records lie near 0.86 and 1.07


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AirState:
    """The air at rest at some altitudes, each array of the altitudes' shape."""

    temperature: FloatArray
    """[K]"""
    pressure: FloatArray
    """[Pa]"""
    density: FloatArray
    """[kg/m3]"""

    @property
    def sound_speed(self) -> FloatArray:
        """Return sqrt(1.4 R T) [m/s]; cp(T) moves it by less than 0.1 % in the open air."""
        return np.asarray(np.sqrt(GAMMA * GAS_CONSTANT * self.temperature), dtype=np.float64)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Atmosphere:
    """The air over one site on one day; ``site_atmosphere`` makes it."""

    site_altitude: float
    """[m] of the launch site above sea level"""
    site_temperature: float
    """[K] of the air at the site"""
    site_pressure: float
    """[Pa] at the site itself, not reduced to sea level"""
    base_temperature: FloatArray
    """(7,) [K] at the foot of each layer"""
    base_pressure: FloatArray
    """(7,) [Pa] at the foot of each layer"""

    def at(self, altitude: ArrayLike) -> AirState:
        """Return the air at geometric ``altitude`` [m above sea level], of any shape.

        In each layer T = Tb + L (H - Hb) and p = pb (T/Tb)^(-g0/(R L)), or
        p = pb exp(-g0 (H - Hb)/(R Tb)) where L = 0; rho = p/(R T); H = r0 z/(r0 + z).

        Valid from -500 m to 80 km; outside, ``OutOfRange``.
        Source: US Standard Atmosphere 1976, NOAA-S/T 76-1562, layers and constants.

        >>> air = site_atmosphere().at(5000.0)
        >>> print(f"{float(air.temperature):.3f} K, {float(air.pressure):.1f} Pa")
        255.676 K, 54048.3 Pa
        """
        z = np.asarray(altitude, dtype=np.float64)
        if z.size and not (z.min() >= LOWEST and z.max() <= HIGHEST):
            raise OutOfRange(
                "altitude",
                f"the atmosphere is asked for at {z.min():.0f} to {z.max():.0f} m above sea level",
                f"It is known from {LOWEST:.0f} m to {HIGHEST / 1000:.0f} km",
            )
        T, p = _profile(_geopotential(z), self.base_temperature, self.base_pressure)
        return AirState(temperature=T, pressure=p, density=p / (GAS_CONSTANT * T))

    def altitude_of(self, pressure: ArrayLike) -> FloatArray:
        """Return the geometric altitude [m above sea level] at which the air has ``pressure`` [Pa].

        ``at`` turned round: H = Hb + (Tb/L) ((p/pb)^(-R L/g0) - 1), or H = Hb - (R Tb/g0) ln(p/pb)
        where L = 0; z = r0 H/(r0 - H).

        Valid for pressures of -500 m to 80 km; outside, ``OutOfRange``.
        Source: US Standard Atmosphere 1976, NOAA-S/T 76-1562, layers and constants.

        >>> float(site_atmosphere().altitude_of(54_048.3).round(1))
        5000.0
        """
        p = np.asarray(pressure, dtype=np.float64)
        deepest, thinnest = self.at([LOWEST, HIGHEST]).pressure
        if p.size and not (p.min() >= thinnest and p.max() <= deepest):
            raise OutOfRange(
                "pressure",
                f"{p.min():.3g} to {p.max():.6g} Pa are no pressures of this site's air",
                f"It is known from {LOWEST:.0f} m, {deepest:.0f} Pa, to {HIGHEST / 1000:.0f} km",
            )
        layer = np.clip(np.searchsorted(-self.base_pressure, -p, side="right") - 1, 0, None)
        Tb, lapse = self.base_temperature[layer], _LAPSE[layer]
        drop = -(GAS_CONSTANT / STANDARD_GRAVITY) * np.log(p / self.base_pressure[layer])
        u = lapse * drop
        flat = np.abs(u) < 1e-12
        mean = np.where(flat, 1.0, np.expm1(u) / np.where(flat, 1.0, u))
        H = _LAYER_BASE[layer] + Tb * drop * mean
        return np.asarray(_EARTH_RADIUS * H / (_EARTH_RADIUS - H), dtype=np.float64)


def site_atmosphere(
    altitude: float = 0.0,
    *,
    temperature: float | None = None,
    pressure: float | None = None,
    place: str = "flight",
) -> Atmosphere:
    """Return the standard atmosphere shifted to a site at ``altitude`` [m above sea level].

    One offset, the site's ``temperature`` [K] less the standard one there, is added at all heights: a
    single reading at the ground says how warm the air mass is and nothing of its lapse rate, and the
    offset goes straight into the total temperature. It errs where the ground air is a thin layer of its
    own (a clear night's inversion). ``pressure`` [Pa] is the station's own; dp/dz = -rho g is
    integrated from it through the shifted temperatures. Left out, each is the standard's.

    Valid for sites from sea level to 5 km, 210 to 330 K, 0.85 to 1.08 of the standard pressure; below the
    sea, ``OutOfRange``; else outside, a mistake under ``place``.
    Source of the offset: common practice, no source.

    >>> warm = site_atmosphere(0.0, temperature=308.15).at(5000.0)
    >>> print(f"{float(warm.temperature):.3f} K")  # 20 K above the standard 255.676 K
    275.676 K
    """
    if altitude < 0.0:
        raise OutOfRange(
            f"{place}.site_altitude",
            f"a site {-altitude:.0f} m below sea level",
            "Sites from sea level to 5000 m are known",
        )
    if not altitude <= 5000.0:
        raise UserMistakes.one(
            f"{place}.site_altitude",
            f"a site at {altitude:.0f} m above sea level",
            "Give one from 0 to 5000 m",
        )
    standard_T, standard_p = _standard(altitude)
    T = standard_T if temperature is None else temperature
    p = standard_p if pressure is None else pressure
    _check_site(T, p, standard_p, place)
    base_T = _base_temperature(T - standard_T)
    base_p = _base_pressure(base_T)
    _, p_unscaled = _profile(_geopotential(np.array(altitude)), base_T, base_p)
    return Atmosphere(
        site_altitude=altitude,
        site_temperature=T,
        site_pressure=p,
        base_temperature=frozen(base_T),
        base_pressure=frozen(base_p * (p / float(p_unscaled))),
    )


def gravity(altitude: float) -> float:
    """Return the acceleration of gravity [m/s2], g0 (r0/(r0 + z))^2, at ``altitude`` z [m].

    Positive toward the ground. Valid at any altitude above sea level; latitude and spin are in g0 alone.

    Source: US Standard Atmosphere 1976, NOAA-S/T 76-1562.

    >>> round(gravity(0.0), 5)
    9.80665
    """
    share = _EARTH_RADIUS / (_EARTH_RADIUS + altitude)
    return STANDARD_GRAVITY * share * share


def _check_site(temperature: float, pressure: float, standard: float, place: str) -> None:
    mistakes = []
    if not 210.0 <= temperature <= 330.0:
        mistakes.append(
            Mistake(
                f"{place}.site_temperature",
                f"{temperature - 273.15:.1f} degC is no air temperature at a launch site",
                "Give one from -63 to 57 degC",
            )
        )
    low, high = _PRESSURE_SHARE
    if not low * standard <= pressure <= high * standard:
        mistakes.append(
            Mistake(
                f"{place}.site_pressure",
                f"{pressure / 100:.0f} hPa is far from the {standard / 100:.0f} hPa usual at that altitude",
                "Give the pressure at the site itself, not the one reduced to sea level",
            )
        )
    if mistakes:
        raise UserMistakes(mistakes)


def _geopotential(z: FloatArray) -> FloatArray:
    return np.asarray(_EARTH_RADIUS * z / (_EARTH_RADIUS + z), dtype=np.float64)


def _base_temperature(offset: float) -> FloatArray:
    rise = np.concatenate([[0.0], np.cumsum(_LAPSE[:-1] * np.diff(_LAYER_BASE))])
    return np.asarray(_SEA_LEVEL_TEMPERATURE + offset + rise, dtype=np.float64)


def _base_pressure(base_temperature: FloatArray) -> FloatArray:
    base = np.full(_LAYER_BASE.size, _SEA_LEVEL_PRESSURE)
    for layer in range(_LAYER_BASE.size - 1):
        top = _LAYER_BASE[layer + 1] - _LAYER_BASE[layer]
        base[layer + 1] = base[layer] * _pressure_share(top, base_temperature[layer], _LAPSE[layer])
    return base


def _pressure_share(
    height: FloatArray | float, base_temperature: FloatArray | float, lapse: FloatArray | float
) -> FloatArray:
    """Return p/pb, ``height`` above the foot of a layer: ln(1 + u)/u is 1 where the lapse is 0."""
    u = np.asarray(lapse * height / base_temperature)
    flat = np.abs(u) < 1e-12
    mean = np.where(flat, 1.0, np.log1p(u) / np.where(flat, 1.0, u))
    return np.asarray(np.exp(-STANDARD_GRAVITY * height / (GAS_CONSTANT * base_temperature) * mean))


def _profile(
    H: FloatArray, base_temperature: FloatArray, base_pressure: FloatArray
) -> tuple[FloatArray, FloatArray]:
    layer = np.clip(np.searchsorted(_LAYER_BASE, H, side="right") - 1, 0, None)
    height = H - _LAYER_BASE[layer]
    T = base_temperature[layer] + _LAPSE[layer] * height
    p = base_pressure[layer] * _pressure_share(height, base_temperature[layer], _LAPSE[layer])
    return T, p


def _standard(altitude: float) -> tuple[float, float]:
    base_T = _base_temperature(0.0)
    T, p = _profile(_geopotential(np.array(altitude)), base_T, _base_pressure(base_T))
    return float(T), float(p)
