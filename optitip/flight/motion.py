"""A point mass in a vertical plane: one Runge-Kutta step, and a step that ends on an event."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from optitip.flight.atmosphere import HIGHEST, LOWEST, Atmosphere

State: TypeAlias = tuple[float, float, float, float]
"""downrange [m], altitude [m above sea level], velocity downrange [m/s], velocity up [m/s]"""
Acceleration: TypeAlias = Callable[[float, State], tuple[float, float]]
"""(time [s], state) -> acceleration downrange and up [m/s2]"""

_SPACING = 25.0  # [m]: linear between, density errs by (25/8400)^2/8 = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class AirColumn:
    """The air tabulated for scalar look-up, which numpy is slow at."""

    densities: list[float]
    sound_speeds: list[float]

    def at(self, altitude: float) -> tuple[float, float]:
        """Return density [kg/m3] and sound speed [m/s]; beyond the column's ends the end value holds."""
        place = min(max((altitude - LOWEST) / _SPACING, 0.0), len(self.densities) - 1.000001)
        i = int(place)
        w = place - i
        rho, a = self.densities, self.sound_speeds
        return rho[i] + w * (rho[i + 1] - rho[i]), a[i] + w * (a[i + 1] - a[i])


def air_column(atmosphere: Atmosphere) -> AirColumn:
    """Return ``atmosphere`` tabulated every 25 m over its whole range."""
    air = atmosphere.at(np.arange(LOWEST, HIGHEST + 1.0, _SPACING))
    return AirColumn(densities=air.density.tolist(), sound_speeds=air.sound_speed.tolist())


def advance(acceleration: Acceleration, *, time: float, state: State, step: float) -> State:
    """Return the state ``step`` seconds on, by the classical fourth-order Runge-Kutta rule.

    Source: Kutta 1901, the classical rule (from memory), on x' = v, v' = a(t, x, v).

    >>> fall = advance(lambda t, state: (0.0, -10.0), time=0.0, state=(0.0, 100.0, 3.0, 0.0), step=2.0)
    >>> [round(x, 9) for x in fall]  # 100 - 10 2^2/2 = 80, -10 2 = -20
    [6.0, 80.0, 3.0, -20.0]
    """
    x, z, u, w = state
    h, h2, h6 = step, 0.5 * step, step / 6.0
    au1, aw1 = acceleration(time, state)
    u2, w2 = u + h2 * au1, w + h2 * aw1
    au2, aw2 = acceleration(time + h2, (x + h2 * u, z + h2 * w, u2, w2))
    u3, w3 = u + h2 * au2, w + h2 * aw2
    au3, aw3 = acceleration(time + h2, (x + h2 * u2, z + h2 * w2, u3, w3))
    u4, w4 = u + h * au3, w + h * aw3
    au4, aw4 = acceleration(time + h, (x + h * u3, z + h * w3, u4, w4))
    return (
        x + h6 * (u + 2.0 * (u2 + u3) + u4),
        z + h6 * (w + 2.0 * (w2 + w3) + w4),
        u + h6 * (au1 + 2.0 * (au2 + au3) + au4),
        w + h6 * (aw1 + 2.0 * (aw2 + aw3) + aw4),
    )


def step_onto(
    acceleration: Acceleration,
    *,
    time: float,
    state: State,
    step: float,
    gauge: Callable[[State], float],
) -> tuple[float, State]:
    """Return the step [s] and the state at which ``gauge`` falls to 0.

    ``gauge`` is positive at ``state`` and not after the whole ``step``; bisected to round-off.

    >>> drop = dict(time=0.0, state=(0.0, 100.0, 0.0, 0.0), step=5.0, gauge=lambda state: state[1] - 80.0)
    >>> length, state = step_onto(lambda t, state: (0.0, -10.0), **drop)
    >>> round(length, 9), round(state[1], 9)
    (2.0, 80.0)
    """
    low, high = 0.0, step
    for _ in range(50):
        middle = 0.5 * (low + high)
        reached = advance(acceleration, time=time, state=state, step=middle)
        low, high = (middle, high) if gauge(reached) > 0.0 else (low, middle)
    return high, advance(acceleration, time=time, state=state, step=high)
