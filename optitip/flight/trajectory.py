"""What a flight is to the rest of the package: histories on one time grid."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import IntEnum

import numpy as np

from optitip.arrays import FloatArray, IntArray, frozen, frozen_index
from optitip.flight.atmosphere import GAMMA, GAS_CONSTANT
from optitip.inputs.study_tables import Attitude


class Phase(IntEnum):
    """The parts of a flight, in their order."""

    PAD = 0
    BOOST = 1
    COAST = 2
    DESCENT = 3
    SOAK = 4


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Flight:
    """One flight from the pad to the end of the soak; between its times everything is linear.

    >>> flight = Flight(time=[0.0, 1.0], altitude=[0.0, 50.0], speed=[0.0, 100.0], temperature=[288.15] * 2,
    ...     pressure=[101325.0] * 2, density=[1.225] * 2, axial_acceleration=[110.0, 110.0], phase=[1, 1],
    ...     events={}, kinks=(), attitude=Attitude.ACROSS, warnings=())
    >>> print(f"{flight.mach[1]:.4f}, {flight.dynamic_pressure[1]:.0f} Pa")  # 100/340.294; 1.225 100^2/2
    0.2939, 6125 Pa
    """

    time: FloatArray
    """(n_t,) [s] from lift-off, strictly increasing; negative on the pad"""
    altitude: FloatArray
    """(n_t,) [m above sea level]"""
    speed: FloatArray
    """(n_t,) [m/s] through the air, never negative"""
    temperature: FloatArray
    """(n_t,) [K] of the air met there, at rest"""
    pressure: FloatArray
    """(n_t,) [Pa] of the air met there, at rest"""
    density: FloatArray
    """(n_t,) [kg/m3] of the air met there, at rest"""
    axial_acceleration: FloatArray
    """(n_t,) [m/s2] as felt along the axis (all forces but gravity, over mass), positive pushing the
    tip fore; on the pad it is g times the sine of the elevation"""
    phase: IntArray
    """(n_t,) the ``Phase`` that holds from each time to the next"""
    events: Mapping[str, float]
    """[s] burnout, apogee, main, landing, end"""
    kinks: tuple[float, ...]
    """[s] where the acceleration jumps: steps in time should land on them"""
    attitude: Attitude
    """of the tip in ``Phase.DESCENT``"""
    warnings: tuple[str, ...]
    """what a person should know about how the flight was read or reckoned"""

    def __post_init__(self) -> None:
        """Copy and freeze the arrays."""
        for name in ("time", "altitude", "speed", "temperature", "pressure", "density", "axial_acceleration"):
            object.__setattr__(self, name, frozen(getattr(self, name)))
        object.__setattr__(self, "phase", frozen_index(self.phase))
        object.__setattr__(self, "events", dict(self.events))

    @property
    def mach(self) -> FloatArray:
        """Return the flight Mach number (n_t,), speed / sqrt(1.4 R T)."""
        return np.asarray(self.speed / np.sqrt(GAMMA * GAS_CONSTANT * self.temperature), dtype=np.float64)

    @property
    def peak_mach(self) -> float:
        """Return the greatest Mach number on the way up."""
        return float(self.mach[self.time <= self.events["apogee"]].max())

    @property
    def dynamic_pressure(self) -> FloatArray:
        """Return rho V^2 / 2 (n_t,) [Pa]."""
        return np.asarray(0.5 * self.density * self.speed**2, dtype=np.float64)
