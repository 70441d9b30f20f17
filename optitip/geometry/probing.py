"""The straight way of a probe from aft, through what is open, to the back of the slab."""

import math
from dataclasses import dataclass

import numpy as np

from optitip.arrays import FloatArray

_ROUNDS = 30  # the tilt settles in a few: its clearance follows it weakly
_FLAT = 1e3  # of a tilt's tangent: across the axis, which is no way
_AHEAD = 1e-9  # [m]


@dataclass(frozen=True, slots=True, kw_only=True)
class Path:
    """A straight way: its tilt to the axis [rad], its length [m], and where it ends [m]."""

    tilt: float
    length: float
    radius: float
    axial: float

    @property
    def nearest(self) -> float:
        """Return how near its middle comes to the axis [m]; it leans that way, and across it has no room."""
        end = self.radius - self.length * math.sin(self.tilt)
        return max(end, 0.0) * math.cos(self.tilt)


def straight_path(back: FloatArray, *, walls: FloatArray, diameter: float) -> Path | None:
    """Return the way [m] of a round probe to the back of a slab that leans least to the axis; None for none.

    From a point (r0, z0) of the back the probe's axis runs r = r0 - m (z - z0) aft, on the meridian plane and
    across the axis if need be. It keeps (d/2) sqrt(1 + m^2) from each point of the walls on either side. If
    the least m that clears one side doesn't clear the other, none does. The way that leans least doesn't run
    into the back again: from a point in its way another would lean less.

    back: ``(n, 2)`` [m] columns r, z, fore to aft. walls: ``(k, 2)`` [m] those of the cavity aft of the slab,
    the last one at the open end. diameter: [m].
    Valid for walls straight between their points. Source: plain geometry.

    >>> tube = np.array([[0.01, 0.02], [0.01, 0.04]])
    >>> way = straight_path(np.array([[0.02, 0.0]]), walls=tube, diameter=2e-3)
    >>> round(math.tan(way.tilt), 3)
    0.557
    """
    along = walls[None, :, 1] - back[:, None, 1]
    ahead = along > _AHEAD
    along = np.where(ahead, along, 1.0)
    drop = back[:, None, 0] - walls[None, :, 0]
    lean = np.zeros(len(back))
    for _ in range(_ROUNDS):
        keep = 0.5 * diameter * np.sqrt(1.0 + lean[:, None] ** 2)
        before, lean = lean, np.where(ahead, (drop + keep) / along, 0.0).max(axis=1, initial=0.0)
        lean = np.minimum(lean, _FLAT)
        if np.abs(lean - before).max() < 1e-6:
            break
    far = back[:, None, 0] - lean[:, None] * along + walls[None, :, 0] - keep
    fits = np.all((far >= 0.0) | ~ahead, axis=1) & (lean < _FLAT)
    if not fits.any():
        return None
    best = int(np.lexsort((back[:, 0], np.where(fits, lean, np.inf)))[0])
    tilt = math.atan(float(lean[best]))
    reach = float(walls[-1, 1] - back[best, 1])
    return Path(
        tilt=tilt,
        length=reach / math.cos(tilt),
        radius=float(back[best, 0]),
        axial=float(back[best, 1]),
    )
