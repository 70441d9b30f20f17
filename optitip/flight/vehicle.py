"""What carries the tip: thrust curve, masses and drag table."""

from dataclasses import dataclass

import numpy as np

from optitip.arrays import FloatArray, frozen
from optitip.errors import Mistake


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Vehicle:
    """A vehicle with one motor and one drag table."""

    thrust_time: FloatArray
    """(n,) [s] from ignition, strictly increasing"""
    thrust: FloatArray
    """(n,) [N] straight between its times, none after the last"""
    start_mass: float
    """[kg] at ignition, propellant and all"""
    propellant_mass: float
    """[kg] burnt in proportion to the impulse delivered"""
    diameter: float
    """[m] whose circle the drag coefficient is referred to"""
    drag_mach: FloatArray
    """(m,) strictly increasing"""
    drag_coefficient: FloatArray
    """(m,) straight between its Mach numbers, the end values hold beyond them"""

    def __post_init__(self) -> None:
        """Copy and freeze the arrays."""
        for name in ("thrust_time", "thrust", "drag_mach", "drag_coefficient"):
            object.__setattr__(self, name, frozen(getattr(self, name)))

    def mistakes(self, place: str) -> list[Mistake]:
        """Return what can't be in this vehicle, each under its key below ``place``."""
        thrusts = _is_table(self.thrust_time, self.thrust) and self.thrust.max() > 0.0
        drags = _is_table(self.drag_mach, self.drag_coefficient)
        checks = [
            ("thrust", thrusts, "the table is no thrust curve", "times that rise, thrusts from zero up"),
            (
                "drag",
                drags,
                "the table is no drag table",
                "Mach numbers that rise, coefficients from zero up",
            ),
            ("start_mass", self.start_mass > 0.0, f"{self.start_mass:g} kg", "a mass above zero"),
            (
                "propellant_mass",
                0.0 < self.propellant_mass < self.start_mass,
                f"{self.propellant_mass:g} kg of propellant in {self.start_mass:g} kg",
                "more than zero and less than the start mass",
            ),
            ("diameter", 0.0 < self.diameter < 5.0, f"{self.diameter:g} m", "the body's diameter, below 5 m"),
        ]
        return [
            Mistake(f"{place}.{key}", wrong, f"Give {remedy}")
            for key, good, wrong, remedy in checks
            if not good
        ]

    @property
    def impulse(self) -> FloatArray:
        """Return the impulse (n,) [N s] delivered up to each of the curve's times.

        >>> table = dict(start_mass=2.0, propellant_mass=1.0, diameter=0.1, drag_mach=[0, 1],
        ...     drag_coefficient=[0, 0])
        >>> Vehicle(thrust_time=[0.0, 1.0, 3.0], thrust=[0.0, 100.0, 100.0], **table).impulse.tolist()
        [0.0, 50.0, 250.0]
        """
        F = self.thrust
        pieces = 0.5 * (F[1:] + F[:-1]) * np.diff(self.thrust_time)
        return np.asarray(np.concatenate([[0.0], np.cumsum(pieces)]), dtype=np.float64)


def _is_table(argument: FloatArray, value: FloatArray) -> bool:
    shaped = argument.ndim == 1 and argument.size >= 2 and argument.shape == value.shape
    if not (shaped and np.isfinite(argument).all() and np.isfinite(value).all()):
        return False
    return bool(argument[0] >= 0.0 and (np.diff(argument) > 0.0).all() and (value >= 0.0).all())
