"""The few instants of a flight at which the walls are judged."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from optitip.arrays import FloatArray

TOGETHER = 0.02
"""[s]: instants no further apart are one"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Instant:
    """One instant of a flight and all that it is.

    >>> Instant(time=2.0, names=("burnout", "hottest metal")).name
    'burnout, hottest metal'
    """

    time: float
    names: tuple[str, ...]

    @property
    def name(self) -> str:
        """Return all that it is, in one line."""
        return ", ".join(self.names)


def pick_instants(
    time: FloatArray, *, moments: Mapping[str, float], peaks: Mapping[str, FloatArray]
) -> tuple[Instant, ...]:
    """Return the instants in the order of time; two that are together are one with both names.

    Args:
        time: (n_t,) [s], rising.
        moments: times by name, such as burnout [s]; held within the ends of ``time``.
        peaks: histories (n_t,) by name, such as the highest metal temperature; their first maximum is taken.

    >>> time = np.array([0.0, 1.0, 2.0, 3.0])
    >>> heat = np.array([300.0, 380.0, 420.0, 400.0])
    >>> for instant in pick_instants(time, moments={"burnout": 1.99}, peaks={"hottest metal": heat}):
    ...     print(instant.time, instant.name)
    1.99 burnout, hottest metal
    """
    found = [(float(np.clip(moment, time[0], time[-1])), name) for name, moment in moments.items()]
    found += [(float(time[int(np.argmax(history))]), name) for name, history in peaks.items()]
    groups: list[tuple[float, list[str]]] = []
    for moment, name in sorted(found, key=lambda pair: pair[0]):
        if groups and moment - groups[-1][0] <= TOGETHER:
            groups[-1][1].append(name)
        else:
            groups.append((moment, [name]))
    return tuple(Instant(time=moment, names=tuple(names)) for moment, names in groups)
