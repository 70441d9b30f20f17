"""TR-BDF2 with steps of its own choice, for the libraries that assemble but don't march.

One trapezoidal stage to t + gamma h, one backward differentiation stage to t + h; both are implicit equations
of one form, V (e(T) - base)/(a h) = F(t, T), so that a library only needs to solve that one; a = gamma/2 is
the same in both. Second order, L-stable, one step long: kinks of the heating cost it nothing.

Source: Bank, Coughran, Fichtner, Grosse, Rose & Smith 1985, IEEE Trans. Electron Devices 32, 1992; the error
estimate of Hosea & Shampine 1996, Appl. Numer. Math. 20, 21 (both from memory; the order is tested).
"""

from math import cbrt, isfinite, sqrt
from typing import Protocol

import numpy as np
from marched import Course, Marched

GAMMA = 2.0 - sqrt(2.0)
A = 0.5 * GAMMA
_W = 0.25 * sqrt(2.0)
# of the rates at t, t + gamma h and t + h: the scheme's weights less those of order 3
_ERROR = (_W - (1.0 - _W) / 3.0, _W - (3.0 * _W + 1.0) / 3.0, A - A / 3.0)
_NEW = 1.0 / (GAMMA * (2.0 - GAMMA))
_GROWTH, _SHRINK, _SAFETY = 3.0, 0.2, 0.85


class Implicit(Protocol):
    """What a library does: one implicit solve."""

    marched: Marched

    def enthalpy(self, temperature):
        """Return the enthalpy of every unknown [J/m3]."""

    def solve(self, time, *, guess, base, length, fresh):
        """Return the temperatures T of V (e(T) - base)/length = F(time, T), from a guess of second order.

        fresh: the first stage of a step; the second one may keep its factors.
        """

    def kelvin(self, rate, temperature):
        """Return a rate of enthalpy as one of temperature."""

    def worst(self, kelvin):
        """Return the largest root mean square of the parts."""


def march(body: Implicit, *, start, tolerance, landing=True) -> Course:
    """Return the course at a tolerance [K] on the error of a step, as the worst part's root mean square.

    landing: steps end on the knots of the heating.
    """
    given = body.marched
    time, end = given.start_time, given.end_time
    stops = given.stops if landing else [end]
    temperature, length = start, 1e-3 * (end - time)
    rate = _first_rate(body, time=time, start=start)
    kept = [(time, temperature, body.kelvin(rate, temperature))]
    while time < end:
        stop = next(one for one in stops if one > time)
        rest = stop - time
        cut = length >= rest * (1.0 - 1e-9)
        trial = rest if cut else min(length, 0.5 * rest)
        new, new_rate, error = _step(body, time=time, temperature=temperature, rate=rate, length=trial)
        factor = _SAFETY * cbrt(tolerance / error) if error > 0.0 else _GROWTH
        factor = min(max(factor, _SHRINK), _GROWTH) if isfinite(error) else _SHRINK
        if not error <= tolerance:
            length = trial * min(factor, 0.9)
            if time + length == time:
                raise ArithmeticError(f"the steps shrink to nothing at {time:.4g} s")
            continue
        time = stop if cut else time + trial
        temperature, rate = new, new_rate
        length = max(length, trial * factor) if cut else trial * factor
        kept.append((time, temperature, body.kelvin(rate, temperature)))
    times, temperatures, slopes = (np.array(one) for one in zip(*kept, strict=True))
    return Course(time=times, temperature=temperatures, slope=slopes, steps=len(times) - 1)


def _first_rate(body: Implicit, *, time, start):
    """Return e' at the start, by a backward Euler step too short to matter."""
    length, base = 1e-4, body.enthalpy(start)
    ahead = body.solve(time, guess=start, base=base, length=length, fresh=True)
    return (body.enthalpy(ahead) - base) / length


def _step(body: Implicit, *, time, temperature, rate, length):
    """Return temperatures and rate after a step, and the estimate of its error [K]."""
    h, before = A * length, body.enthalpy(temperature)
    slope = body.kelvin(rate, temperature)
    guess = temperature + GAMMA * length * slope
    base = before + h * rate
    middle = body.solve(time + GAMMA * length, guess=guess, base=base, length=h, fresh=True)
    half = body.enthalpy(middle)
    middle_rate = (half - base) / h
    bend = (middle - guess) / GAMMA**2
    base = _NEW * half + (1.0 - _NEW) * before
    guess = temperature + length * slope + bend
    new = body.solve(time + length, guess=guess, base=base, length=h, fresh=False)
    new_rate = (body.enthalpy(new) - base) / h
    error = sum(share * one for share, one in zip(_ERROR, (rate, middle_rate, new_rate), strict=True))
    return new, new_rate, body.worst(body.kelvin(length * error, new))
