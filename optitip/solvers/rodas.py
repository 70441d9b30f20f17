"""One step of RODAS3, an L-stable Rosenbrock method of order 3 with an error estimate of order 2.

(M/(g h) - J) k_i = F(t + a_i h, y + sum A_ij k_j) + M sum (C_ij/h) k_j + g_i h F_t,    y1 = y + sum m_i k_i

Source: Sandu, Verwer, Blom, Spee, Carmichael & Potra 1997, Atmos. Environ. 31, 3459.
"""

from typing import NamedTuple, Protocol

from optitip.arrays import FloatArray

GAMMA = 0.5


class Solver(Protocol):
    """The factorised left-hand side."""

    def __call__(self, right: FloatArray) -> FloatArray:
        """Return k of (M/(g h) - J) k = right, as a new array."""


class Linearised(Protocol):
    """The system at one instant: its rate, the rate's slope in time, and its Jacobian ready to factorise."""

    @property
    def time(self) -> float:
        """Return the instant [s]."""

    @property
    def state(self) -> FloatArray:
        """Return y."""

    @property
    def rate(self) -> FloatArray:
        """Return F(t, y)."""

    @property
    def rate_slope(self) -> FloatArray:
        """Return the partial derivative of F in time."""

    def solver(self, length: float) -> Solver:
        """Return the solver of M/length - J."""


class System(Protocol):
    """M y' = F(t, y) with a diagonal M."""

    @property
    def mass(self) -> FloatArray:
        """Return the diagonal of M."""

    def rate(self, time: float, state: FloatArray) -> FloatArray:
        """Return F(t, y), as a new array."""


class Step(NamedTuple):
    """The state after a step, the embedded estimate of its error, and the state's slope in time at both ends.

    The slopes come from the stages, not from the rate: in the rate a stiff pair multiplies what is left of
    its error by its own stiffness, in the stages it stays bounded. ``slope_after`` is the one just after the
    start: where the heating bends there, a stiff node's slope before and after aren't the same.
    """

    state: FloatArray
    error: FloatArray
    slope: FloatArray
    slope_after: FloatArray


def step(system: System, *, start: Linearised, length: float) -> Step:
    """Return the state ``length`` [s] after ``start``: one factorisation, four solves, two new rates.

    The first two stages share the rate at the start, the last two stand at the end of the step.
    """
    solve = start.solver(GAMMA * length)
    mass = system.mass / length
    end = start.time + length
    kick = (0.5 * length) * start.rate_slope
    k1 = solve(start.rate + kick)
    kick *= 3.0
    kick += start.rate
    k2 = solve(kick + (4.0 * mass) * k1)
    state = start.state + 2.0 * k1
    # 3/2 of the first and -1/2 of the second stage's rate: their mean instants, h/2 and 3h/2, cancel
    slope_after = (5.0 * k1 - k2) / length
    k1 -= k2
    k3 = solve(system.rate(end, state) + mass * k1)
    state += k3
    k1 -= (8.0 / 3.0) * k3
    k4 = solve(system.rate(end, state) + mass * k1)
    state += k4
    return Step(state, k4, (k4 / GAMMA - k1) / length, slope_after)
