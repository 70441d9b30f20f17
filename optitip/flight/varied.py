"""A vehicle flown to another peak Mach number or with another burn, and a recorded flight as a vehicle."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache

import numpy as np
from scipy.optimize import brentq, nnls

from optitip.arrays import FloatArray
from optitip.errors import UserMistakes
from optitip.flight.atmosphere import STANDARD_GRAVITY, Atmosphere
from optitip.flight.climb import burning_time, peak_mach_of
from optitip.flight.trajectory import Flight
from optitip.flight.vehicle import Vehicle

PLACE = "flight.varied"
TAIL = 0.3
"""[s] after a recorded burnout in which the motor may still push: its drag is read off what comes later"""
_NODES = (
    0.0,
    0.5,
    0.8,
    0.95,
    1.05,
    1.2,
    1.5,
    2.0,
    2.5,
    3.0,
    4.0,
    5.0,
)  # Mach numbers of a drag read off a coast
_INSIDE = 8  # samples of an interval of the flight
_EDGE = 1e-6  # [s] between two steps of a thrust
_SLOW = 0.1  # [m/s]: a vehicle at rest climbs nowhere
_CLOSE = 1e-6  # of the thrust's factor
_WEIGHTLESS = 1e-9  # share of the mass burnt by a vehicle whose thrust is known per mass alone
_TRIES = 8
_FACTORS = (0.02, 50.0)  # of the thrust: beyond them nothing is sought


@dataclass(frozen=True, slots=True, kw_only=True)
class Variation:
    """What was done to the thrust: its factor, and that of its times."""

    thrust: float
    time: float


def varied_vehicle(
    vehicle: Vehicle,
    *,
    peak_mach: float,
    longer: float,
    atmosphere: Atmosphere,
    rail_angle: float,
    rail_length: float,
) -> tuple[Vehicle, Variation]:
    """Return ``vehicle`` with the motor that takes it to ``peak_mach`` in a burn ``longer`` times as long.

    T'(t) = a T(t/s), with a and s such that peak Mach number and burn, from lift-off, come out. The mass
    without propellant and the drag table stay, and m_p' = a s m_p: as much propellant as the impulse takes.
    ``rail_angle`` [rad], ``rail_length`` [m] as in ``from_ascent``.

    Valid where the thrust lifts the vehicle and it burns out on its way up; else a mistake.
    Source: Newton's second law; that the curve keeps its shape is a choice.
    """
    flies = _Flies(vehicle=vehicle, atmosphere=atmosphere, rail_angle=rail_angle, rail_length=rail_length)
    burn = longer * flies.burn(1.0, 1.0)
    guess = peak_mach / flies.peak(1.0, 1.0) / longer
    factor = _thrust_factor(flies, mach=peak_mach, seconds=burn, guess=guess)
    if factor is None:
        problem = f"no thrust takes the vehicle to Mach {peak_mach:.3g} in {longer:.3g} times its burn"
        raise UserMistakes.one(PLACE, problem, "Ask for a shorter burn or another Mach number")
    stretch = flies.stretch(factor, burn)
    return flies.scaled(factor, stretch), Variation(thrust=factor, time=stretch)


def as_vehicle(flight: Flight) -> Vehicle:
    """Return a vehicle of 1 kg whose ascent is that of a recorded ``flight``: thrust and drag per mass.

    On the coast dV/dt + g dz/ds = -(C_D A/m) q: C_D A/m, straight between Mach numbers, by least squares on
    the recorded coast; above its fastest the last value holds. While burning T/m = dV/dt + g dz/ds +
    (C_D A/m) q with that same drag per mass, though the vehicle is heavier then: what is read too high as
    drag is read too high as thrust too, and cancels in the flight as it was. Each value is the mean of an
    interval of the flight's times, between which all is linear.

    Valid where the record has burnout, coast and apogee. Source: Newton's second law along the path.
    """
    tail = float(flight.time[flight.time > flight.events["burnout"] + TAIL - _EDGE][0])
    nodes, drag = _drag_per_mass(_stretches(flight, tail, flight.events["apogee"]))
    burn = _stretches(flight, 0.0, tail)
    thrust = burn.felt + (np.interp(burn.mach, nodes, drag) * burn.pressure).mean(axis=1)
    edges = np.stack([burn.start, burn.end - _EDGE], axis=1)
    return Vehicle(
        thrust_time=edges.ravel(),
        thrust=np.maximum(thrust, 0.0).repeat(2),
        start_mass=1.0,
        propellant_mass=_WEIGHTLESS,
        diameter=math.sqrt(4.0 / math.pi),  # a circle of 1 m2
        drag_mach=nodes,
        drag_coefficient=drag,
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Stretches:
    """The flight between neighbouring times, (n,): its ends [s], the mean acceleration felt [m/s2].

    ``mach`` and ``pressure`` [Pa], of the stream, (n, n_inside), are at even times inside each.
    """

    start: FloatArray
    end: FloatArray
    felt: FloatArray
    mach: FloatArray
    pressure: FloatArray


def _stretches(flight: Flight, start: float, end: float) -> _Stretches:
    among = (flight.time > start - _EDGE) & (flight.time < end + _EDGE)
    time, speed, altitude = flight.time[among], flight.speed[among], flight.altitude[among]
    step = np.diff(time)
    share = (np.arange(_INSIDE) + 0.5) / _INSIDE
    inside = time[:-1, None] + step[:, None] * share
    climbing = np.diff(altitude) / np.maximum(0.5 * (speed[1:] + speed[:-1]) * step, _SLOW * step)
    return _Stretches(
        start=time[:-1],
        end=time[1:],
        felt=np.diff(speed) / step + STANDARD_GRAVITY * np.clip(climbing, -1.0, 1.0),
        mach=np.interp(inside, flight.time, flight.mach),
        pressure=np.interp(inside, flight.time, flight.dynamic_pressure),
    )


def _drag_per_mass(coast: _Stretches) -> tuple[FloatArray, FloatArray]:
    """Return Mach numbers, and the drag per mass and dynamic pressure [m2/kg] there."""
    fastest = float(coast.mach.max())
    nodes = np.array([*(node for node in _NODES if node < 0.98 * fastest), fastest])
    hats = np.stack([np.interp(coast.mach, nodes, unit) * coast.pressure for unit in np.eye(nodes.size)])
    weight = np.sqrt(coast.end - coast.start)
    drag, _ = nnls(hats.mean(axis=2).T * weight[:, None], -coast.felt * weight)
    return nodes, np.asarray(drag, dtype=np.float64)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Flies:
    """One vehicle off one rail, whatever its motor."""

    vehicle: Vehicle
    atmosphere: Atmosphere
    rail_angle: float
    rail_length: float

    def scaled(self, factor: float, stretch: float) -> Vehicle:
        own = self.vehicle
        propellant = own.propellant_mass * factor * stretch
        return replace(
            own,
            thrust_time=own.thrust_time * stretch,
            thrust=own.thrust * factor,
            propellant_mass=propellant,
            start_mass=own.start_mass - own.propellant_mass + propellant,
        )

    def burn(self, factor: float, stretch: float) -> float:
        return burning_time(
            self.scaled(factor, stretch), atmosphere=self.atmosphere, rail_angle=self.rail_angle, place=PLACE
        )

    def stretch(self, factor: float, seconds: float) -> float:
        """Return by what the curve's times have to be multiplied, so that it burns ``seconds``."""
        stretch = seconds / float(np.ptp(self.vehicle.thrust_time))
        for _ in range(30):
            nearer = stretch * seconds / self.burn(factor, stretch)
            stretch, last = nearer, stretch
            if abs(stretch - last) < 1e-9 * stretch:
                break
        return stretch

    def peak(self, factor: float, stretch: float) -> float:
        """Return the peak Mach number."""
        return peak_mach_of(
            self.scaled(factor, stretch),
            atmosphere=self.atmosphere,
            rail_angle=self.rail_angle,
            rail_length=self.rail_length,
            place=PLACE,
        )


def _thrust_factor(flies: _Flies, *, mach: float, seconds: float, guess: float) -> float | None:
    """Return the factor of the thrust for a peak Mach number in a burn [s]; None where there is none."""

    @cache
    def over(logarithm: float) -> float:
        factor = math.exp(logarithm)
        try:
            return flies.peak(factor, flies.stretch(factor, seconds)) - mach
        except UserMistakes:  # it doesn't lift off, or turns over while it burns
            return -mach

    root = _secant(over, math.log(guess), mach)
    bounds = _bracketed(over, math.log(guess)) if root is None else None
    if bounds is not None:
        root = float(brentq(over, *bounds, xtol=_CLOSE))
    # a jump down to what can't fly is no root
    return None if root is None or abs(over(root)) > 10.0 * _CLOSE * mach else math.exp(root)


def _secant(over: Callable[[float], float], start: float, mach: float) -> float | None:
    """Return the logarithm of the factor by the secant rule; None if it strays."""
    last, here = start, start - over(start) / mach
    for _ in range(_TRIES):
        before, value = over(last), over(here)
        if abs(value) <= _CLOSE * mach:
            return here
        if value <= -mach or value == before or abs(here - start) > 1.0:
            return None
        last, here = here, here - value * (here - last) / (value - before)
    return None


def _bracketed(over: Callable[[float], float], start: float) -> tuple[float, float] | None:
    """Return two logarithms of a factor between which ``over`` turns from below 0 to above it."""
    step, here = 0.05, start
    value = over(here)
    while math.log(_FACTORS[0]) < here < math.log(_FACTORS[1]):
        there = here - step if value > 0.0 else here + step
        reached = over(there)
        if (reached > 0.0) != (value > 0.0):
            return min(here, there), max(here, there)
        here, value, step = there, reached, 2.0 * step
    return None
