"""The pressure in the pocket behind the slab: shut in and warmed, or following the outside by a hole."""

from collections.abc import Iterable
from dataclasses import dataclass
from math import ceil, sqrt

import numpy as np
from numpy.typing import ArrayLike

from optitip.arrays import FloatArray, read_only
from optitip.properties.air import GAS_CONSTANT
from optitip.properties.water import TRIPLE_POINT, vapour_pressure

VAPOUR_CONSTANT = 8314.32 / 18.01528
"""Specific gas constant of water vapour [J/(kg K)]."""
GAMMA = 1.4
CHOKED: float = (2.0 / (GAMMA + 1.0)) ** (GAMMA / (GAMMA - 1.0))
"""Pressure ratio below which a hole passes no more: 0.5283 (NACA Report 1135)."""
CHOKED_FLOW: float = sqrt(GAMMA) * (2.0 / (GAMMA + 1.0)) ** ((GAMMA + 1.0) / (2.0 * (GAMMA - 1.0)))
"""Flow sqrt(R T)/(p A) of a choked nozzle: 0.6847."""
SHARP_EDGED = 0.6
"""Discharge coefficient of a drilled hole in a thin wall (common practice, no source): 0.6 while slow, some
0.8 once choked. The low one leaves the pocket further from the pressure outside, on the safe side."""
_STEP = 0.03  # relative change of a pressure in one step of the march
_STEEP: float = 1.0 / (1.0 - CHOKED) ** 2
_LEFT: float = 1.0 - _STEEP * CHOKED**2
_NOTHING = 1e-3  # [Pa] the least outside pressure
_MOST_STEPS = 200  # between two of the times asked for


@dataclass(frozen=True, slots=True, kw_only=True)
class Vent:
    """A pocket with a hole.

    Args:
        volume: of its air [m3].
        area: of the hole, or of all holes together [m2].
        discharge: its discharge coefficient, dimensionless.
    """

    volume: float
    area: float
    discharge: float = SHARP_EDGED


def sealed_pressure(
    air_temperature: ArrayLike,
    *,
    shut_pressure: float,
    shut_temperature: float,
    wet_temperature: ArrayLike | None = None,
    shut_vapour: float = 0.0,
) -> FloatArray:
    """Return the pressure in a pocket that nothing leaves [Pa], the shape of ``air_temperature``.

    p = (p_0 - p_v0) T/T_0 + p_v(T_w): the air shut in, by its own temperature, and the vapour over water at
    T_w.

    Args:
        air_temperature: T of the air in the pocket (n_i,) [K].
        shut_pressure: p_0 when it was shut [Pa].
        shut_temperature: T_0 of its air then [K].
        wet_temperature: T_w of the face that rules the vapour (n_i,) [K]; None for a dry sample. The hottest
            wet face gives an upper bound, the coldest face of all the lower one: vapour condenses there.
        shut_vapour: p_v0, share of vapour in the pressure it was shut at [Pa]; none counted is on the safe
            side.

    Valid for a volume that doesn't change and water on the face at all times; below 273.15 K the vapour is
    held at that of the triple point (611 Pa); above 647 K ``vapour_pressure`` raises OutOfRange.
    Source: an ideal gas; IAPWS-IF97 for the vapour (1 atm at 99.97 degC).

    Shut at 20 degC and 1 atm, at 100 degC and wet: 101325 x 373.15/293.15 + 101418.

    >>> f"{float(sealed_pressure(373.15, shut_pressure=101325.0, shut_temperature=293.15)):.0f}"
    '128976'
    >>> wet = sealed_pressure(373.15, shut_pressure=101325.0, shut_temperature=293.15, wet_temperature=373.15)
    >>> f"{float(wet):.0f}"
    '230394'
    """
    air = (shut_pressure - shut_vapour) * np.asarray(air_temperature, dtype=np.float64) / shut_temperature
    if wet_temperature is None:
        return np.asarray(air)
    return np.asarray(air + vapour_pressure(np.maximum(wet_temperature, TRIPLE_POINT)))


def orifice_flow(
    upstream: ArrayLike,
    *,
    downstream: ArrayLike,
    temperature: ArrayLike,
    area: float,
    discharge: float = SHARP_EDGED,
    gas_constant: float = GAS_CONSTANT,
) -> FloatArray:
    """Return the mass flow through a hole [kg/s], any shape; 0 where upstream isn't above downstream.

    m' = C A p/sqrt(R T) sqrt(2 g/(g - 1) (x^(2/g) - x^((g + 1)/g))), x = p_down/p_up, not below 0.5283.

    Args:
        upstream: total pressure ahead of the hole [Pa].
        downstream: pressure behind it [Pa].
        temperature: total, upstream [K].
        area: of the hole [m2].
        discharge: C, dimensionless: 0.6 to 0.8 for a drilled hole.
        gas_constant: R of what flows [J/(kg K)].

    Valid for gamma 1.4; steam has 1.33 and passes 2 % less when choked. Sharp holes choke later than nozzles:
    what C covers.
    Source: isentropic nozzle, NACA Report 1135 (1953); choked in air 0.0404 p A/sqrt(T) (textbooks).

    >>> flow = orifice_flow(2e5, downstream=5e4, temperature=300.0, area=1e-6, discharge=1.0)
    >>> f"{float(flow):.4e}"  # 0.040415 x 2e5 x 1e-6/17.3205
    '4.6667e-04'
    >>> float(orifice_flow(1e5, downstream=1e5, temperature=300.0, area=1e-6))
    0.0
    """
    p = np.asarray(upstream, dtype=np.float64)
    x = np.clip(np.asarray(downstream) / p, CHOKED, 1.0)
    shape = np.sqrt(2.0 * GAMMA / (GAMMA - 1.0) * (x ** (2.0 / GAMMA) - x ** ((GAMMA + 1.0) / GAMMA)))
    return np.asarray(discharge * area * p / np.sqrt(gas_constant * np.asarray(temperature)) * shape)


def vented_pressure(
    time: FloatArray,
    *,
    vent: Vent,
    outside: FloatArray,
    temperature: FloatArray,
    outside_temperature: FloatArray,
    vapour: FloatArray,
    start_pressure: float | None = None,
) -> FloatArray:
    """Return the pressure in a pocket with a hole (n_c, n_t) [Pa], a row a case.

    d(p V/T)/dt = R_v m_v - R m_out or + R_a m_in, T given; m_out, m_in through the hole, m_v of vapour set
    free.

    Args:
        time: rising (n_t,) [s].
        vent: the pocket's volume and hole.
        outside: pressure over the hole (n_c, n_t) [Pa].
        temperature: of the pocket's air (n_c, n_t) [K].
        outside_temperature: of the air over the hole (n_c, n_t) [K].
        vapour: set free in the pocket (n_c, n_t) [kg/s], not negative.
        start_pressure: in the pocket at the first time [Pa]; that outside if left out.

    Implicit steps of 3 % of pressure at most, each the root of a quadratic, so stable at any step: the flow
    is taken as sqrt(1 - ((x - b)/(1 - b))^2), b = 0.5283, of the choked one, within 0.4 % of ``orifice_flow``
    at all x. What leaves has the mixture of air and vapour that is in the pocket; no vapour condenses, on the
    safe side for a pocket that mustn't burst.
    Valid for holes small beside the pocket, ideal gas, gamma 1.4. A hole of no area is a sealed pocket.
    Source: balance of gas in a volume; the ellipse: ISO 6358 (from memory), checked against NACA Report 1135
    here.

    A litre, 2 atm, hole of 1 mm2 (C 1) into nothing: p falls by e in V/(A sqrt(R T) 0.68473) = 4.977 s.

    >>> two, none = np.full((1, 2), 300.0), np.zeros((1, 2))
    >>> inside = vented_pressure(np.array([0.0, 4.977]), vent=Vent(volume=1e-3, area=1e-6, discharge=1.0),
    ...     outside=none, temperature=two, outside_temperature=two, vapour=none, start_pressure=202650.0)
    >>> round(float(inside[0, 1]) / 202650.0, 2)
    0.37
    """
    rows = [
        _marched(
            _intervals(time, vent=vent, rows=case),
            start=float(case[0][0]) if start_pressure is None else start_pressure,
        )
        for case in zip(outside, temperature, outside_temperature, vapour, strict=True)
    ]
    return read_only(np.array(rows, dtype=np.float64))


_Interval = tuple[float, ...]


def _intervals(time: FloatArray, *, vent: Vent, rows: tuple[FloatArray, ...]) -> Iterable[_Interval]:
    """Return for each interval its ends' outside pressure and temperature, and what the march needs of it.

    That is what vapour adds to p/T, what choked flow would take of it over p sqrt(R/T), sqrt(R/T) of the air
    outside, and by how much pressure and temperature change.
    """
    outside, T, T_out, vapour = np.maximum(rows[0], _NOTHING), *rows[1:]
    span = np.diff(time)
    gained = VAPOUR_CONSTANT / vent.volume * span * 0.5 * (vapour[1:] + vapour[:-1])
    flow = vent.discharge * vent.area * CHOKED_FLOW / vent.volume * span
    cold = np.sqrt(GAS_CONSTANT / T_out[1:])
    change = np.abs(np.diff(np.log(outside))) + np.abs(np.diff(np.log(T)))
    courses = (outside[:-1], outside[1:], T[:-1], T[1:], gained, flow, cold, change)
    return zip(*(one.tolist() for one in courses), strict=True)


def _marched(intervals: Iterable[_Interval], *, start: float) -> list[float]:
    """Return the pressure at the times of one case.

    A flight has some 150 steps, so the gas of a step is reckoned where it is used: a call costs as much.
    """
    p, share = start, 0.0  # of vapour in the moles
    found = [p]
    for p_old, p_new, T_old, T_new, gained, flow, cold, change in intervals:
        gas = 1.0 / ((1.0 - share) / GAS_CONSTANT + share / VAPOUR_CONSTANT)
        if p > p_old:
            moved = flow * sqrt(gas / T_old) * p * _ellipse(p_old / p)
        else:
            moved = -flow * cold * p_old * _ellipse(p / p_old)
        own = (change if flow > 0.0 else 0.0) + abs(gained - moved) * T_old / p
        n = 1 if own <= _STEP else min(ceil(own / _STEP), _MOST_STEPS)
        T, rise, warming, added, passed = (
            T_old,
            (p_new - p_old) / n,
            (T_new - T_old) / n,
            gained / n,
            flow / n,
        )
        for j in range(1, n + 1):
            held, T, p_out = p / T, T_old + j * warming, p_old + j * rise
            have, left = held + added, share * held + added
            if have * T >= p_out:
                p = _outward(have, T, p_out, passed * sqrt(gas / T))
                share = left / have
            else:
                p = _inward(have, T, p_out, passed * cold)
                share = left * T / p
            gas = 1.0 / ((1.0 - share) / GAS_CONSTANT + share / VAPOUR_CONSTANT)
        found.append(p)
    return found


def _ellipse(ratio: float) -> float:
    """Return the flow over the choked one at a ratio of pressures up to 1."""
    if ratio <= CHOKED:
        return 1.0
    past = (ratio - CHOKED) / (1.0 - CHOKED)
    return sqrt(1.0 - past * past) if past < 1.0 else 0.0


# the roots after one implicit step from p/T; k: what choked flow takes of p/T, or brings, per pascal of what
# drives it [1/K]
def _outward(have: float, T: float, p_out: float, k: float) -> float:
    """Return the root p >= p_out of p/T + k p f(p_out/p) = have."""
    p = have / (1.0 / T + k)
    if p_out <= CHOKED * p or k == 0.0:
        return p
    # (have - p/T)^2 = k^2 (p^2 - ((p_out - b p)/(1 - b))^2): the least positive root
    kk = k * k
    A = 1.0 / (T * T) - kk * _LEFT
    half = have / T + kk * _STEEP * CHOKED * p_out
    C = have * have + kk * _STEEP * p_out * p_out
    square = half * half - A * C
    p = C / (half + sqrt(square)) if square > 0.0 else C / half
    most = have * T
    return most if p > most else p_out if p < p_out else p


def _inward(have: float, T: float, p_out: float, k: float) -> float:
    """Return the root p <= p_out of p/T - k p_out f(p/p_out) = have."""
    p = T * (have + k * p_out)
    if p <= CHOKED * p_out or k == 0.0:
        return p
    # (p/T - have)^2 = k^2 (p_out^2 - ((p - b p_out)/(1 - b))^2): the larger root
    kk = k * k
    A = 1.0 / (T * T) + kk * _STEEP
    half = have / T + kk * _STEEP * CHOKED * p_out
    C = have * have - kk * p_out * p_out * _LEFT
    square = half * half - A * C
    p = (half + sqrt(square)) / A if square > 0.0 else half / A
    least = have * T
    return p_out if p > p_out else least if p < least else p
