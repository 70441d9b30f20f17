"""What a material stands beside its yield strength: being crushed, being cooked, and time in the heat."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from optitip.arrays import FloatArray

_HOUR = 3600.0


@dataclass(frozen=True, slots=True, kw_only=True)
class CrushingStrength:
    """The stress [Pa] that crushes or breaks a sample in compression: low, expected and high of its kind."""

    low: float
    expected: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Shrinkage:
    """The linear strain [1] by which a sample shortens for good as it warms from ``low`` to ``high`` [K]."""

    strain: float
    low: float
    high: float

    def strain_at(self, hottest: ArrayLike) -> FloatArray:
        """Return the dimensionless linear strain of what has been as hot as ``hottest`` [K], any shape.

        e = strain (T - low) / (high - low), 0 before and all of it after; not taken back on cooling.
        Valid for any temperature: a rule of the house, straight between the two ends.

        Source: the material's file.

        >>> meat = Shrinkage(strain=0.2, low=330.0, high=350.0)
        >>> meat.strain_at([300.0, 340.0, 400.0]).tolist()
        [0.0, 0.1, 0.2]
        """
        T = np.asarray(hottest, dtype=np.float64)
        return np.asarray(self.strain * np.clip((T - self.low) / (self.high - self.low), 0.0, 1.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Exposure:
    """How long a heat-treated alloy may be hot, one pair: ``time`` [s] at ``temperature`` [K].

    Past it the cold strength has fallen below the table's for good. ``constant`` is Larson and Miller's.
    """

    temperature: float
    time: float
    constant: float

    def time_at(self, temperature: ArrayLike) -> FloatArray:
        """Return the time [s] allowed at other temperatures [K], any shape.

        T (C + log10 t) = T0 (C + log10 t0), t in hours. Shares of it used up at one temperature after
        another add up to 1 where all of it is used. Never above 1e300 s: in the cold nothing happens.
        Valid between the temperatures it was fitted to and some 50 K about them; outside it is carried on.

        Source: Larson & Miller 1952, equation 4, with logarithms to base ten (from memory).

        >>> pair = Exposure(temperature=473.15, time=7200.0, constant=20.0)
        >>> f"{float(pair.time_at(473.15)):.0f}", f"{float(pair.time_at(523.15)):.0f}"
        ('7200', '83')
        """
        T = np.maximum(np.asarray(temperature, dtype=np.float64), 1.0)
        fixed = self.temperature * (self.constant + math.log10(self.time / _HOUR))
        power = np.minimum(fixed / T - self.constant, 296.0)
        return np.asarray(_HOUR * 10.0**power)
