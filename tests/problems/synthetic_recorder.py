"""A plain flight and the files that recorders of invented makes would write of it."""

from dataclasses import dataclass

import numpy as np

GRAVITY = 9.80665
FOOT = 0.3048


@dataclass(frozen=True, kw_only=True)
class Flown:
    """A flight straight up, in SI; ``felt`` is what an accelerometer along the axis reads."""

    time: np.ndarray
    altitude: np.ndarray
    speed: np.ndarray
    felt: np.ndarray
    pressure: np.ndarray

    def __len__(self):
        return self.time.size


def fly(*, rate=20.0, pad=5.0, end=120.0, burn=2.0, push=120.0, drag=4e-4, sink=20.0):
    """Return a flight: rest for ``pad`` [s], a push [m/s2], a coast against drag, a sink at constant rate."""
    fine = 1e-3
    t = np.arange(-pad, end, fine)
    z, v, a = np.zeros((3, t.size))
    down = False
    for i in range(1, t.size):
        if t[i] <= 0.0:
            continue
        down = down or (v[i - 1] <= 0.0 and t[i] > burn)
        force = (push if t[i] <= burn else 0.0) - drag * v[i - 1] * abs(v[i - 1])
        if down:
            v[i] = -sink if z[i - 1] > 0.0 else 0.0
        else:
            v[i] = v[i - 1] + (force - GRAVITY) * fine
            a[i] = force
        z[i] = max(z[i - 1] + v[i] * fine, 0.0)
    felt = np.where(t <= 0.0, GRAVITY, np.where(a != 0.0, a, GRAVITY))
    rows = np.arange(0, t.size, round(1.0 / (rate * fine)))
    pressure = 101325.0 * (1.0 - 2.25577e-5 * z) ** 5.25588
    return Flown(
        time=t[rows] + pad, altitude=z[rows], speed=v[rows], felt=felt[rows], pressure=pressure[rows]
    )


def lines(*columns, mark=",", formats="{:.3f}"):
    """Return the rows of several columns as text."""
    formats = [formats] * len(columns) if isinstance(formats, str) else formats
    rows = zip(*columns, strict=True)
    return [mark.join(form.format(cell) for form, cell in zip(formats, row, strict=True)) for row in rows]
