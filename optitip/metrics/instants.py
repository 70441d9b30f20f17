"""The few instants of a flight at which the walls are judged."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from optitip.arrays import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Instant:
    """One instant: what it is, and its place in the time axis."""

    name: str
    index: int


def pick_instants(
    time: FloatArray, *, moments: Mapping[str, float], peaks: Mapping[str, FloatArray]
) -> tuple[Instant, ...]:
    """Return the instants in the order of time, each index once; two that coincide share their names.

    Args:
        time: (n_t,) [s], rising.
        moments: times by name, such as burnout [s]; the nearest place of the time axis is taken.
        peaks: histories (n_t,) by name, such as the highest metal temperature; their first maximum is taken.

    >>> time = np.array([0.0, 1.0, 2.0, 3.0])
    >>> heat = np.array([300.0, 380.0, 420.0, 400.0])
    >>> for instant in pick_instants(time, moments={"burnout": 1.9}, peaks={"hottest metal": heat}):
    ...     print(instant.index, instant.name)
    2 burnout, hottest metal
    """
    named: dict[int, list[str]] = {}
    for name, moment in moments.items():
        named.setdefault(int(np.argmin(np.abs(time - moment))), []).append(name)
    for name, history in peaks.items():
        named.setdefault(int(np.argmax(history)), []).append(name)
    return tuple(Instant(name=", ".join(named[index]), index=index) for index in sorted(named))
