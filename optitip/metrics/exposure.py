"""What the heat of all its flights takes from a temper, and whether a warm base still fits."""

import numpy as np

from optitip.arrays import FloatArray
from optitip.metrics.margins import Margin, margin_of, room_margin
from optitip.properties.materials import Elastic

EXPOSURE, COUPLER = "margin.exposure", "margin.coupler"
"""The names of the metrics."""


def life_share(time: FloatArray, *, allowed: FloatArray) -> FloatArray:
    """Return the dimensionless share of its time in the heat that one flight takes (...).

    D = integral of dt/t_allowed(T): shares of life at one temperature after another add up; 1 where all is
    used.

    Args:
        time: rising (n_t,) [s].
        allowed: t_allowed at the temperature then (n_t, ...) [s], such as ``Exposure.time_at`` gives; its
            logarithm is straight between the times, and so integrated exactly.

    Valid as the rule of allowed times is; in which order heats come doesn't matter here.
    Source: Robinson 1952, Trans. ASME 74, 777 (from memory).

    An hour where three are allowed, then an hour where six are: 1/3 + 1/6.

    >>> time = np.array([0.0, 3600.0, 3600.001, 7200.001])
    >>> round(float(life_share(time, allowed=np.array([10800.0, 10800.0, 21600.0, 21600.0]))), 6)
    0.5
    """
    rate, logs = 1.0 / allowed, np.log(allowed)
    fall = np.abs(np.diff(logs, axis=0))
    safe = np.where(fall > 1e-8, fall, 1.0)
    mean = np.maximum(rate[1:], rate[:-1]) * np.where(fall > 1e-8, -np.expm1(-fall) / safe, 1.0)
    return np.asarray(np.tensordot(np.diff(time), mean, axes=(0, 0)))


def exposure_margin(
    share: float,
    *,
    flights: int,
    allowed: tuple[float, float],
    part: str,
    axial: float | None,
    factor: float = 1.0,
) -> Margin:
    """Return 1/(factor n D) - 1: whether a temper outlasts its flights.

    Args:
        share: D of one flight at the worst place.
        flights: n in all.
        allowed: one pair of the material's rule, the time [s] at the temperature [K]: what is told is in it.
        part: that the place is in.
        axial: z of the place [m].
        factor: safety factor on the share.

    >>> one = exposure_margin(0.05, flights=10, allowed=(7200.0, 473.15), part="plug", axial=0.01)
    >>> one.value, one.said()
    (1.0, '10 flights are as 3600 s at 200 degC, where 7200 s take its temper')
    """
    used = share * flights
    many = f"{flights} flights are" if flights != 1 else "one flight is"
    return Margin(
        name=EXPOSURE,
        value=float(margin_of(np.ones(1), load=np.full(1, used), factor=factor)[0]),
        part=part,
        axial=axial,
        time="the whole flight",
        detail=f"{many} as {{0}} at {{1}}, where {{2}} take its temper",
        figures=((used * allowed[0], "s"), (allowed[1], "K"), (allowed[0], "s")),
    )


def radial_growth(elastic: Elastic, *, radius: float, temperature: FloatArray, start: float) -> FloatArray:
    """Return by how much a ring grows in radius as it warms [m], the shape of ``temperature``.

    growth = r (a(T) (T - T_ref) - a(T_0) (T_0 - T_ref)), a the secant coefficient from T_ref.

    Args:
        elastic: table of its material.
        radius: r when cold [m].
        temperature: T, mean of the ring (n_t,) [K].
        start: T_0 at which it was measured [K].

    Valid for a ring as warm all round and through, free of its neighbours.
    Source: definition of the coefficient.

    25 mm of 23.6e-6/K, 100 K warmer: 59 um.

    >>> from optitip.arrays import frozen
    >>> metal = Elastic(temperature=frozen([300.0]), modulus=frozen([7e10]), poisson=0.33,
    ...     expansion=frozen([23.6e-6]), reference_temperature=293.15, yield_strength=frozen([2e8]),
    ...     valid=(250.0, 500.0))
    >>> round(float(radial_growth(metal, radius=0.025, temperature=np.array(400.0), start=300.0)) * 1e6, 6)
    59.0
    """
    base = elastic.reference_temperature
    first = elastic.expansion_at(start) * (start - base)
    return radius * (elastic.expansion_at(temperature) * (temperature - base) - first)


def coupler_margin(
    growth: FloatArray, *, time: FloatArray, clearance: float, axial: float | None, factor: float
) -> Margin:
    """Return the smallest of clearance/(factor growth) - 1: whether the warm base still slides out.

    Args:
        growth: of the base's radius (n_t,) [m]; none where it is negative. What it slides into counts as
            cold.
        time: (n_t,) [s].
        clearance: room all round, in radius [m].
        axial: z of the base's aft end [m].
        factor: safety factor on the growth.

    >>> one = coupler_margin(np.array([0.0, 40e-6]), time=np.array([0.0, 90.0]), clearance=0.1e-3, axial=0.2,
    ...     factor=1.0)
    >>> round(one.value, 9), one.said()
    (1.5, 'the base grows by 0.04 mm in radius, room 0.1 mm, factor 1')
    """
    return room_margin(
        COUPLER,
        taken=growth,
        room=clearance,
        time=time,
        part="base",
        axial=axial,
        factor=factor,
        detail="the base grows by {0} in radius, room {1}",
    )
